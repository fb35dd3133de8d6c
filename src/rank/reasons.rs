//! Why a pose stands where it stands, in sentences with the numbers in them.
//!
//! The first sentences say how the pose lies and what holds it up. The next are
//! built from the largest differences between its penalties and those of the pose
//! it is compared with. Rows of the table that are about one thing (overhang,
//! support and its marks, say) are added up and spoken of once.

use super::penalties::ROWS;
use super::precautions::{NO_SUPPORT_MM3, SHUT_MM3, needs_support, spare};
use super::search::Scored;
use super::verdict::faults;
use super::{Gate, Origin};
use crate::figures::Figures;
use crate::settings::Settings;
use crate::words;

/// Differences smaller than this are not worth a sentence, in units of penalty.
const WORTH_SAYING: f64 = 0.15;

/// Support beyond this share of the part's volume ends the talk about a pose.
const HOPELESS_SHARE: f64 = 0.5;

/// What is said of a pose.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reasons {
    /// Everything, a sentence each.
    pub full: Vec<String>,
    /// The gist in one line.
    pub brief: String,
}

/// What rows of the penalty table are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Matter {
    Grip,
    Air,
    Steady,
    Size,
    Finish,
    Load,
    Show,
    /// A row that none of the others covers.
    Row(usize),
}

fn matter(row: usize) -> Matter {
    match ROWS[row].name {
        "contact" | "tip" => Matter::Grip,
        "overhang" | "bridge" | "support" | "trapped" | "scar" => Matter::Air,
        "slender" | "sway" => Matter::Steady,
        "height" | "time" => Matter::Size,
        "stairs" => Matter::Finish,
        "load" => Matter::Load,
        "show" => Matter::Show,
        _ => Matter::Row(row),
    }
}

/// A matter with the difference of its penalties: the other's less this one's.
type Difference = (Matter, f64);

/// Sentences for one entry. `rival` is the runner-up for the first place, the
/// first place for all others; `None` with a single pose.
pub fn reasons(
    entry: &Scored,
    rank: usize,
    rival: Option<(&Scored, usize)>,
    volume_mm3: f64,
    settings: &Settings,
) -> Reasons {
    let f = &entry.figures;
    let gates: Vec<String> = entry
        .candidate
        .gates
        .iter()
        .map(|g| gate(*g, entry, settings))
        .collect();
    if rank > 1 && !gates.is_empty() {
        return Reasons {
            brief: gates.join(" "),
            full: gates,
        };
    }
    let share = f.support_after_bridges_mm3 / volume_mm3;
    if rank > 1 && needs_support(f, settings) && share > HOPELESS_SHARE {
        let brief = format!(
            "Needs {} of support, {} % of the part's own volume.",
            words::volume(f.support_after_bridges_mm3),
            words::decimal(100.0 * share, 0)
        );
        return Reasons {
            full: vec![lies(entry), brief.clone()],
            brief,
        };
    }
    let mut full = gates;
    full.push(lies(entry));
    full.push(holds(f, settings));
    if let Some(load) = f.load_across_layers {
        full.push(format!(
            "Of the pull you named, {} % go across the layers, where a print is weakest.",
            words::decimal(100.0 * load, 0)
        ));
    }
    let mut brief = full.iter().take(2).cloned().collect::<Vec<_>>().join(" ");
    if let Some((rival, rival_rank)) = rival {
        let rows = differences(entry, rival);
        full.extend(against(entry, rank, rival, rival_rank, &rows, settings));
        if rank < rival_rank && faults(rival, volume_mm3, settings).is_empty() {
            full.extend(change(entry, rival, rival_rank, &rows));
        }
        if rank > rival_rank {
            brief = one_line(entry, rival, rival_rank, &rows, settings);
        }
    }
    Reasons { full, brief }
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
            "Falls over by itself: its centroid lies outside its base, {} too far.",
            words::degrees(-f.tip_angle_deg)
        ),
    }
}

fn lies(entry: &Scored) -> String {
    let f = &entry.figures;
    let side = words::side(&entry.candidate.down);
    let area = words::area(f.contact_area_mm2);
    let tall = words::length(f.height_mm);
    let patches = f.contact_patches as usize;
    let plain = !matches!(entry.candidate.origin, Origin::Lattice | Origin::Refined);
    if plain && patches <= 1 {
        format!("Lies on its {side}: {area} on the bed, {tall} tall.")
    } else {
        format!(
            "Stands on its {side}: {area} on the bed in {}, {tall} tall.",
            words::count(patches, "piece", "pieces")
        )
    }
}

/// Longest bridge within the limit, mm; 0 without one.
pub fn longest_bridge(f: &Figures, settings: &Settings) -> f64 {
    f.bridges
        .iter()
        .map(|b| b.span_mm)
        .filter(|s| *s <= settings.bridge_limit_mm)
        .fold(0.0, f64::max)
}

fn holds(f: &Figures, settings: &Settings) -> String {
    let limit = words::degrees(settings.limit_deg);
    let longest = longest_bridge(f, settings);
    let within = f
        .bridges
        .iter()
        .filter(|b| b.span_mm <= settings.bridge_limit_mm)
        .count();
    let bridges = match within {
        0 => String::new(),
        1 => format!("one ceiling bridges {}", words::length(longest)),
        n => format!("{n} ceilings bridge, the widest {}", words::length(longest)),
    };
    if needs_support(f, settings) {
        let tail = if bridges.is_empty() {
            String::new()
        } else {
            format!("; {bridges}")
        };
        return format!(
            "Needs {} of support under {} that leans beyond {limit}{tail}.",
            words::volume(f.support_after_bridges_mm3),
            words::area(f.overhang_after_bridges_mm2)
        );
    }
    if f.support_after_bridges_mm3 > NO_SUPPORT_MM3 && spare(f, settings) {
        return format!(
            "Needs no support: all that leans beyond {limit} is {} in small roofs that close by themselves.",
            words::area(f.overhang_after_bridges_mm2)
        );
    }
    if within > 0 {
        return format!("Needs no support: {bridges}.");
    }
    if f.overhang_area_mm2 > 0.5 {
        format!(
            "Needs no support: the {} beyond {limit} lie within a layer of what is below.",
            words::area(f.overhang_area_mm2)
        )
    } else {
        format!("Needs no support: nothing leans beyond {limit}.")
    }
}

/// What sets two poses apart, the largest difference first.
fn differences(entry: &Scored, rival: &Scored) -> Vec<Difference> {
    let mut sums: Vec<Difference> = Vec::new();
    for row in 0..ROWS.len() {
        let m = matter(row);
        let d = rival.charges[row] - entry.charges[row];
        if let Some(sum) = sums.iter_mut().find(|s| s.0 == m) {
            sum.1 += d;
        } else {
            sums.push((m, d));
        }
    }
    sums.retain(|s| s.1.abs() >= WORTH_SAYING);
    sums.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    sums
}

/// Clauses of the matters on one side of a comparison, largest first.
fn clauses(
    rows: &[Difference],
    better: bool,
    most: usize,
    entry: &Scored,
    rival: &Scored,
    settings: &Settings,
) -> Vec<String> {
    rows.iter()
        .filter(|r| (r.1 > 0.0) == better)
        .take(most)
        .map(|r| clause(r.0, entry, rival, settings))
        .collect()
}

fn against(
    entry: &Scored,
    rank: usize,
    rival: &Scored,
    rival_rank: usize,
    rows: &[Difference],
    settings: &Settings,
) -> Vec<String> {
    let other = format!(
        "place {rival_rank} ({})",
        words::side_down(&rival.candidate.down)
    );
    let better = clauses(rows, true, 3, entry, rival, settings);
    let worse = clauses(rows, false, 3, entry, rival, settings);
    if better.is_empty() && worse.is_empty() {
        return vec![format!(
            "As good as {other} in every figure: let the side that shows decide."
        )];
    }
    let mut out = Vec::new();
    if rank < rival_rank {
        if !better.is_empty() {
            out.push(format!("Ahead of {other}: {}.", better.join("; ")));
        }
        if worse.is_empty() {
            out.push(format!("It costs nothing against {other}."));
        } else {
            out.push(format!("What it costs: {}.", worse.join("; ")));
        }
    } else {
        if !worse.is_empty() {
            out.push(format!("Behind {other}: {}.", worse.join("; ")));
        }
        if !better.is_empty() {
            out.push(format!("What speaks for it: {}.", better.join("; ")));
        }
    }
    out
}

/// What would change the answer, where the two are near enough for it to.
fn change(
    entry: &Scored,
    rival: &Scored,
    rival_rank: usize,
    rows: &[Difference],
) -> Option<String> {
    let gained = rows.iter().find(|r| r.1 > 0.0)?;
    let paid = rows.iter().find(|r| r.1 < 0.0)?;
    let near = rival.total - entry.total <= 1.5 * -paid.1;
    near.then(|| {
        format!(
            "Take place {rival_rank} if {} matters more to you here than {}.",
            wish(paid.0),
            wish(gained.0)
        )
    })
}

fn wish(matter: Matter) -> String {
    match matter {
        Matter::Grip => "a wide stand".into(),
        Matter::Air => "less overhang".into(),
        Matter::Steady => "steadiness while it prints".into(),
        Matter::Size => "a low, quick print".into(),
        Matter::Finish => "smooth sides".into(),
        Matter::Load => "strength along the pull".into(),
        Matter::Show => "the side to be shown".into(),
        Matter::Row(row) => ROWS[row].name.replace('_', " "),
    }
}

/// One line on a pose further down: what it needs, and what speaks for it.
fn one_line(
    entry: &Scored,
    rival: &Scored,
    rival_rank: usize,
    rows: &[Difference],
    settings: &Settings,
) -> String {
    let worse = clauses(rows, false, 2, entry, rival, settings);
    let better = clauses(rows, true, 1, entry, rival, settings);
    let mut out = match worse.as_slice() {
        [] => format!("As good as place {rival_rank} in every figure."),
        list => {
            let mut text = list.join("; ");
            if let Some(first) = text.get(..1).map(str::to_uppercase) {
                text.replace_range(..1, &first);
            }
            format!("{text}.")
        }
    };
    if let ([clause], false) = (better.as_slice(), worse.is_empty()) {
        out.push_str(&format!(" For it: {clause}."));
    }
    out
}

/// What one matter comes to here and there, as part of a sentence.
fn clause(matter: Matter, here: &Scored, there: &Scored, settings: &Settings) -> String {
    let (a, b) = (&here.figures, &there.figures);
    let charged = |name: &str| {
        ROWS.iter()
            .position(|r| r.name == name)
            .map_or(0.0, |i| (there.charges[i] - here.charges[i]).abs())
    };
    let instead = |what: &str, x: String, y: String| format!("{what}{x} instead of {y}");
    match matter {
        Matter::Grip => {
            if charged("tip") > charged("contact") {
                instead(
                    "tips at ",
                    words::degrees(a.tip_angle_deg),
                    words::degrees(b.tip_angle_deg),
                )
            } else {
                instead(
                    "",
                    words::area(a.contact_area_mm2),
                    words::area(b.contact_area_mm2),
                ) + " on the bed"
            }
        }
        Matter::Air => air(a, b, settings),
        Matter::Steady => steady(a, b),
        Matter::Size => {
            if charged("time") > charged("height") {
                instead(
                    "about ",
                    words::duration(a.print_min),
                    words::duration(b.print_min),
                )
            } else {
                instead("", words::length(a.height_mm), words::length(b.height_mm)) + " tall"
            }
        }
        Matter::Finish => instead(
            "steps of ",
            words::three(a.stair_mean_um),
            format!("{} µm on its slopes", words::three(b.stair_mean_um)),
        ),
        Matter::Load => {
            let share =
                |f: &Figures| words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0);
            instead("", share(a), share(b)) + " % of the pull across the layers"
        }
        Matter::Show => {
            let marked = |f: &Figures| words::area(f.show_marked_mm2.unwrap_or(0.0));
            instead("", marked(a), marked(b)) + " marked of the sides to be shown"
        }
        Matter::Row(row) => {
            let name = ROWS[row].name.replace('_', " ");
            instead(
                &format!("{name} charged at "),
                words::three(here.charges[row]),
                words::three(there.charges[row]),
            )
        }
    }
}

/// Overhang, bridges and support, whichever tells the two apart.
fn air(a: &Figures, b: &Figures, settings: &Settings) -> String {
    let amount = |f: &Figures| {
        if needs_support(f, settings) {
            words::volume(f.support_after_bridges_mm3)
        } else {
            "none".into()
        }
    };
    if (a.support_trapped_mm3 > SHUT_MM3) != (b.support_trapped_mm3 > SHUT_MM3) {
        return if a.support_trapped_mm3 > SHUT_MM3 {
            format!(
                "{} of support shut in for good",
                words::volume(a.support_trapped_mm3)
            )
        } else {
            format!(
                "no support shut in for good instead of {}",
                words::volume(b.support_trapped_mm3)
            )
        };
    }
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => format!(
            "{} of overhang instead of {}, though neither needs support",
            words::area(a.overhang_area_mm2),
            words::area(b.overhang_area_mm2)
        ),
        (false, true) => format!(
            "no support instead of {} under {}",
            amount(b),
            words::area(b.overhang_after_bridges_mm2)
        ),
        (true, _) => format!(
            "{} of support under {} instead of {}",
            amount(a),
            words::area(a.overhang_after_bridges_mm2),
            if needs_support(b, settings) {
                format!(
                    "{} under {}",
                    amount(b),
                    words::area(b.overhang_after_bridges_mm2)
                )
            } else {
                amount(b)
            }
        ),
    }
}

/// Free-standing pieces: the slender one in full, the other by its ratio.
fn steady(a: &Figures, b: &Figures) -> String {
    let ratio = |f: &Figures| words::decimal(f.slender_ratio, 1);
    let detail = |f: &Figures| {
        f.slender.map_or_else(String::new, |s| {
            format!(
                " ({} wide, free for {}, giving {} mm to 1 N)",
                words::length(s.width_mm),
                words::length(s.to_mm - s.from_mm),
                words::three(f.sway_mm_per_n)
            )
        })
    };
    let (here, there) = if a.slender_ratio > b.slender_ratio {
        (detail(a), String::new())
    } else {
        (String::new(), detail(b))
    };
    format!(
        "the slimmest free piece {} : 1{here} instead of {} : 1{there}",
        ratio(a),
        ratio(b)
    )
}
