//! Why a pose stands where it stands, in sentences with the numbers in them.
//!
//! The first sentences say how the pose lies and what holds it up. The next are
//! built from the largest differences between its penalties and those of the pose
//! it is compared with, not from a fixed list of figures.

use super::penalties::ROWS;
use super::search::Scored;
use super::{Gate, Origin};
use crate::figures::Figures;
use crate::settings::Settings;
use crate::words;

/// Differences smaller than this are not worth a sentence, in units of penalty.
const WORTH_SAYING: f64 = 0.15;

/// Support below this volume is none, mm³: less than one line across a finger's
/// width.
pub const NO_SUPPORT_MM3: f64 = 1.0;

/// Sentences for one entry. `rival` is the runner-up for the first place, the
/// first place for all others; `None` with a single pose.
pub fn reasons(
    entry: &Scored,
    rank: usize,
    rival: Option<(&Scored, usize)>,
    settings: &Settings,
) -> Vec<String> {
    let mut out: Vec<String> = entry
        .candidate
        .gates
        .iter()
        .map(|g| gate(*g, entry, settings))
        .collect();
    out.push(lies(entry));
    out.push(holds(&entry.figures, settings));
    if let Some((rival, rival_rank)) = rival {
        out.extend(against(entry, rank, rival, rival_rank, settings));
    }
    out
}

fn gate(gate: Gate, entry: &Scored, settings: &Settings) -> String {
    let f = &entry.figures;
    match gate {
        Gate::DoesNotFit => {
            let [x, y, z] = settings.bed_mm;
            format!(
                "Does not fit the build volume of {} × {} × {} mm at any yaw: it is {} × {} and {} tall.",
                words::three(x),
                words::three(y),
                words::three(z),
                words::length(f.footprint_mm[0]),
                words::length(f.footprint_mm[1]),
                words::length(f.height_mm)
            )
        }
        Gate::NoContact => "Touches the bed with no area at all.".into(),
        Gate::Tips => format!(
            "Falls over by itself: its centroid lies outside its base, which would have to tilt by {} to carry it.",
            words::degrees(-f.tip_angle_deg)
        ),
    }
}

fn lies(entry: &Scored) -> String {
    let f = &entry.figures;
    let side = words::side(&entry.candidate.down);
    let area = words::area(f.contact_area_mm2);
    match entry.candidate.origin {
        Origin::Resting | Origin::Helped | Origin::Loaded | Origin::Named
            if f.contact_patches <= 1 =>
        {
            format!("Lies on its {side}, with {area} on the bed.")
        }
        _ => format!(
            "Stands on its {side}, with {area} on the bed in {}.",
            words::count(f.contact_patches as usize, "piece", "pieces")
        ),
    }
}

fn holds(f: &Figures, settings: &Settings) -> String {
    let limit = words::degrees(settings.limit_deg);
    let within = f
        .bridges
        .iter()
        .filter(|b| b.span_mm <= settings.bridge_limit_mm)
        .count();
    let longest = f
        .bridges
        .iter()
        .map(|b| b.span_mm)
        .filter(|s| *s <= settings.bridge_limit_mm)
        .fold(0.0, f64::max);
    let bridges = match within {
        0 => String::new(),
        1 => format!("one ceiling bridges {}", words::length(longest)),
        n => format!("{n} ceilings bridge, the widest {}", words::length(longest)),
    };
    if f.support_needed_mm3 > NO_SUPPORT_MM3 {
        let mut text = format!(
            "Needs {} of support under {} that leans beyond {limit}",
            words::volume(f.support_needed_mm3),
            words::area(f.overhang_charged_mm2 + f.overhang_wide_mm2)
        );
        if f.support_wide_mm3 > NO_SUPPORT_MM3 {
            text.push_str(&format!(
                " ({} less where spans of {} bridge)",
                words::volume(f.support_wide_mm3),
                words::length(2.0 * settings.bridge_limit_mm)
            ));
        }
        if !bridges.is_empty() {
            text.push_str("; ");
            text.push_str(&bridges);
        }
        text.push('.');
        return text;
    }
    if f.support_after_bridges_mm3 > NO_SUPPORT_MM3 {
        let mut text = format!(
            "Needs no support: {} beyond {limit} are roofs of small holes and thin ledges",
            words::area(f.overhang_light_mm2)
        );
        if !bridges.is_empty() {
            text.push_str("; ");
            text.push_str(&bridges);
        }
        text.push('.');
        return text;
    }
    if within > 0 {
        return format!("Needs no support: {bridges}.");
    }
    if f.overhang_area_mm2 > 0.5 {
        format!(
            "Needs no support: the {} beyond {limit} lies within a layer of what is below.",
            words::area(f.overhang_area_mm2)
        )
    } else {
        format!("Needs no support: nothing leans beyond {limit}.")
    }
}

/// What sets two poses apart, largest first: what speaks for the better one, and
/// what it costs.
fn against(
    entry: &Scored,
    rank: usize,
    rival: &Scored,
    rival_rank: usize,
    settings: &Settings,
) -> Vec<String> {
    let mut rows: Vec<(usize, f64)> = (0..ROWS.len())
        .map(|i| (i, rival.charges[i] - entry.charges[i]))
        .filter(|(_, d)| d.abs() >= WORTH_SAYING)
        .collect();
    rows.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    let phrase =
        |(i, _): &(usize, f64)| compare(ROWS[*i].name, &entry.figures, &rival.figures, settings);
    let better: Vec<String> = rows
        .iter()
        .filter(|r| r.1 > 0.0)
        .take(3)
        .filter_map(phrase)
        .collect();
    let worse: Vec<String> = rows
        .iter()
        .filter(|r| r.1 < 0.0)
        .take(3)
        .filter_map(phrase)
        .collect();
    let other = format!(
        "place {rival_rank} ({})",
        words::side_down(&rival.candidate.down)
    );
    let mut out = Vec::new();
    let (first, second) = if rank < rival_rank {
        (("Ahead of", &better), ("What it costs against", &worse))
    } else {
        (("Behind", &worse), ("Better than", &better))
    };
    for (lead, list) in [first, second] {
        if !list.is_empty() {
            out.push(format!("{lead} {other}: {}.", list.join("; ")));
        }
    }
    if out.is_empty() {
        out.push(format!(
            "No figure sets it apart from {other} by more than a hair."
        ));
    }
    out
}

/// One row in words, this pose first; `None` where the words would be the same.
fn compare(row: &str, a: &Figures, b: &Figures, settings: &Settings) -> Option<String> {
    let pair = |what: &str, x: String, y: String| (x != y).then(|| format!("{what} {x} to {y}"));
    match row {
        "contact" => pair(
            "contact",
            words::area(a.contact_area_mm2),
            words::area(b.contact_area_mm2),
        ),
        "overhang" => pair(
            "overhang",
            words::area(a.overhang_charged_mm2),
            words::area(b.overhang_charged_mm2),
        ),
        "bridge" => pair(
            "bridged ceiling, small roofs and ledges",
            words::area(a.overhang_light_mm2),
            words::area(b.overhang_light_mm2),
        ),
        "wide" => pair(
            "ceilings beyond the bridge limit",
            words::area(a.overhang_wide_mm2),
            words::area(b.overhang_wide_mm2),
        ),
        "support" => pair(
            "support",
            words::volume(a.support_needed_mm3 - a.support_wide_mm3),
            words::volume(b.support_needed_mm3 - b.support_wide_mm3),
        ),
        "underside" => pair(
            "slanted underside",
            words::area(a.underside_area_mm2),
            words::area(b.underside_area_mm2),
        ),
        "bores" => pair(
            "bore walls that lie",
            words::area(a.bores_lying_mm2),
            words::area(b.bores_lying_mm2),
        ),
        "trapped" => pair(
            "support that cannot be got out",
            words::volume(a.support_trapped_mm3),
            words::volume(b.support_trapped_mm3),
        ),
        "slender" => pair(
            "free-standing height over width",
            words::three(a.slender_ratio),
            words::three(b.slender_ratio),
        ),
        "sway" => pair(
            "sway",
            format!("{} mm/N", words::three(a.sway_mm_per_n)),
            format!("{} mm/N", words::three(b.sway_mm_per_n)),
        ),
        "tip" => pair(
            "tips at",
            words::degrees(a.tip_angle_deg),
            words::degrees(b.tip_angle_deg),
        ),
        "height" => pair(
            "height",
            words::length(a.height_mm),
            words::length(b.height_mm),
        ),
        "stairs" => pair(
            "mean step",
            format!("{} µm", words::three(a.stair_mean_um)),
            format!("{} µm", words::three(b.stair_mean_um)),
        ),
        "scar" => {
            let sum =
                |f: &Figures| words::area(f.support_scar_mm2.above + f.support_scar_mm2.below);
            pair("support marks", sum(a), sum(b))
        }
        "time" => pair(
            "time about",
            words::duration(a.print_min),
            words::duration(b.print_min),
        ),
        "load" => {
            let share = |f: &Figures| {
                format!(
                    "{} %",
                    words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0)
                )
            };
            pair("pull across the layers", share(a), share(b))
        }
        "show" => {
            debug_assert!(!settings.show.is_empty());
            let marked = |f: &Figures| words::area(f.show_marked_mm2.unwrap_or(0.0));
            pair("marks on the sides to be shown", marked(a), marked(b))
        }
        _ => None,
    }
}
