//! What to do on the machine: one table of rules, each tied to a figure and a
//! threshold with its source.
//!
//! A rule that speaks gives a sentence with the value in it, so that a person can
//! judge for themselves. The table goes into the JSON as it stands.

use super::Gate;
use super::near::NearBed;
use crate::figures::Figures;
use crate::figures::story::Story;
use crate::mesh::Part;
use crate::settings::Settings;
use crate::words;
use schemars::JsonSchema;
use serde::Serialize;

/// Support below this volume is none, mm³: less than one line across a finger's
/// width.
pub const NO_SUPPORT_MM3: f64 = 1.0;
/// Support in closed voids below this volume is none, mm³: the columns see that much
/// in the corners of voids that close by themselves.
pub const SHUT_MM3: f64 = 20.0;
/// Support lower than this on average hardly comes off, mm (house value).
const THIN_MM: f64 = 1.0;
/// Overhang after bridges that prints without support all the same, if no ledge is
/// longer than [`FREE_LEDGE_MM`]: the crown of a screw hole or a small vault, mm².
const SPARE_MM2: f64 = 100.0;
/// Longest ledge that prints without support with a drooping edge, mm.
const FREE_LEDGE_MM: f64 = 1.5;
/// Contact below this for each millimetre of height is little, mm²/mm.
const CONTACT_PER_HEIGHT: f64 = 4.0;
/// Tip angle below which a knock is a danger, degrees.
const SAFE_TIP_DEG: f64 = 15.0;
/// Free contraction across the base that pulls a corner off its line: one line, mm.
const PULL_MM: f64 = 0.45;
/// Sway that doubles the lever of a knock, mm/N.
const SWAY_MM_PER_N: f64 = 1.0;
/// Narrowest and widest brim, mm.
const BRIM_MM: (f64, f64) = (4.0, 12.0);
/// Contraction of a material that is printed in a warm, closed machine.
const SHRINKER: f64 = 0.005;
/// Free contraction across the base from which draught matters: of such a material,
/// and of any, mm.
const DRAUGHT_MM: (f64, f64) = (0.3, 0.6);
/// Bridges longer than this are worth a look, mm.
const WATCH_BRIDGE_MM: f64 = 3.0;
/// Height over width from which a free-standing feature is named, and braced.
const SLENDER_WATCH: f64 = 8.0;
const SLENDER_BRACE: f64 = 15.0;
/// Change of section area that draws a line one is told of, as a factor.
const LINE_FACTOR: f64 = 2.0;
/// … further than this from bed and top, mm.
const LINE_CLEAR_MM: f64 = 1.0;
/// A layer done sooner than this is still soft under the next one, s.
const QUICK_LAYER_S: f64 = 6.0;
/// … over at least this height, mm.
const QUICK_HEIGHT_MM: f64 = 2.0;
/// Raised islands or sunk grooves on the bed from which a face counts as detailed.
const DETAILS: usize = 3;

/// What the rules look at.
pub(super) struct Ground<'a> {
    pub figures: &'a Figures,
    pub gates: &'a [Gate],
    pub part: &'a Part,
    pub settings: &'a Settings,
    pub near: &'a NearBed,
    /// Diameters of upright bores that open on the bed, mm.
    pub bores_on_bed: &'a [f64],
    /// The height story, where it was told.
    pub story: Option<&'a Story>,
}

/// One rule of the table.
pub struct Rule {
    /// Name in the JSON.
    pub key: &'static str,
    /// The figure it looks at, a key of the figures or a sum of them.
    pub figure: &'static str,
    /// From which value on it speaks, in the figure's unit.
    pub threshold: f64,
    /// The rule in words.
    pub rule: &'static str,
    /// Where the threshold comes from.
    pub source: &'static str,
    eval: fn(&Ground) -> Option<(f64, String)>,
}

/// One rule that spoke.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Note {
    /// Name of the rule.
    pub key: &'static str,
    /// The figure it looked at.
    pub figure: &'static str,
    /// Its value.
    pub value: f64,
    /// The value from which the rule speaks.
    pub threshold: f64,
    /// Where the threshold comes from.
    pub source: &'static str,
    /// What to do, with the numbers.
    pub says: String,
}

/// The table, in the order in which the sentences are printed.
pub const RULES: &[Rule] = &[
    Rule {
        key: "too_large",
        figure: "footprint_mm, height_mm",
        threshold: 0.0,
        rule: "larger than the build volume at every yaw",
        source: "the build volume",
        eval: |g| {
            g.gates.contains(&Gate::DoesNotFit).then(|| {
                (
                    g.figures.height_mm,
                    "Cut the part in two or use a larger machine.".into(),
                )
            })
        },
    },
    Rule {
        key: "open_surface",
        figure: "closed",
        threshold: 1.0,
        rule: "the surface is not closed",
        source: "a surface with holes has no inside",
        eval: |g| {
            (!g.part.closed).then(|| {
                (
                    0.0,
                    "Mend the open surface first: volume and support are guesses until then."
                        .into(),
                )
            })
        },
    },
    Rule {
        key: "brim",
        figure: "demand",
        threshold: 1.0,
        rule: "demand = the largest of shrink_pull / 0.45 mm, 4 mm × height / contact × (1 + sway / (1 mm/N), at most 2), 15° / tip angle; a brim where it is above 1, 4 mm × (1 + ln demand) wide, between 4 and 12 mm",
        source: "common practice; the numbers are house values",
        eval: brim,
    },
    Rule {
        key: "draught",
        figure: "shrink_pull_mm",
        threshold: DRAUGHT_MM.0,
        rule: "free contraction across the base from 0.3 mm for a material that contracts 0.5 % or more, from 0.6 mm for any",
        source: "common practice; the numbers are house values",
        eval: draught,
    },
    Rule {
        key: "support",
        figure: "support_after_bridges_mm3",
        threshold: NO_SUPPORT_MM3,
        rule: "support above 1 mm³, unless the overhang may be left to itself",
        source: "common practice",
        eval: support,
    },
    Rule {
        key: "leave_support_off",
        figure: "overhang_after_bridges_mm2",
        threshold: SPARE_MM2,
        rule: "less than 100 mm² of overhang after bridges, no ledge longer than 1.5 mm, no bridge over the limit, nothing that begins in the air",
        source: "ledges of 0.5–1.5 mm print free (literature on extrusion limits); the area is a house value",
        eval: |g| {
            let f = g.figures;
            (spare(f, g.settings) && f.support_after_bridges_mm3 > NO_SUPPORT_MM3).then(|| {
                (
                    f.overhang_after_bridges_mm2,
                    format!(
                        "Leave support off: the {} beyond {} lie in small roofs that close by themselves and sag by a hair.",
                        words::area(f.overhang_after_bridges_mm2),
                        words::degrees(g.settings.limit_deg)
                    ),
                )
            })
        },
    },
    Rule {
        key: "trapped_support",
        figure: "support_trapped_mm3",
        threshold: SHUT_MM3,
        rule: "more than 20 mm³ of support in a void that nothing joins to the outside",
        source: "geometry; the volume is a house value",
        eval: |g| {
            let v = g.figures.support_trapped_mm3;
            (v > SHUT_MM3).then(|| {
                (
                    v,
                    format!(
                        "{} of the support stand in a closed cavity and cannot be got out: they stay in the part for good.",
                        words::volume(v)
                    ),
                )
            })
        },
    },
    Rule {
        key: "starts_in_the_air",
        figure: "floating_starts",
        threshold: 1.0,
        rule: "a piece of a layer rests on nothing",
        source: "geometry",
        eval: starts,
    },
    Rule {
        key: "bridge",
        figure: "bridges.span_mm",
        threshold: WATCH_BRIDGE_MM,
        rule: "a bridge within the limit that is longer than 3 mm",
        source: "common practice",
        eval: bridging,
    },
    Rule {
        key: "ledge",
        figure: "ledge_longest_mm",
        threshold: 0.45,
        rule: "a ledge of one line to 1.5 mm that no support holds",
        source: "0.5–1.5 mm in the literature on extrusion limits",
        eval: |g| {
            let f = g.figures;
            let reach = f.ledge_longest_mm;
            let bare = f.support_after_bridges_mm3 <= NO_SUPPORT_MM3;
            (bare && reach > g.settings.line_mm && reach <= FREE_LEDGE_MM).then(|| {
                (
                    reach,
                    format!(
                        "A ledge reaches out {} with one end free: its edge droops a little.",
                        words::length(reach)
                    ),
                )
            })
        },
    },
    Rule {
        key: "slender",
        figure: "slender_ratio",
        threshold: SLENDER_WATCH,
        rule: "a free-standing stretch from 8 times its width on; brace it from 15 times on",
        source: "no sourced number was found: house values",
        eval: slender,
    },
    Rule {
        key: "line_on_the_side",
        figure: "story.jumps",
        threshold: LINE_FACTOR,
        rule: "the section area changes by a factor of 2 or more from one layer to the next, further than 1 mm from bed and top",
        source: "common practice; the factor is a house value",
        eval: line,
    },
    Rule {
        key: "quick_layers",
        figure: "layer time, s",
        threshold: QUICK_LAYER_S,
        rule: "layers of less than 6 s (area × layer / rate + layer change) over 2 mm of height or more",
        source: "common practice; the numbers are house values",
        eval: quick_layers,
    },
    Rule {
        key: "detail_on_the_bed",
        figure: "contact section",
        threshold: DETAILS as f64,
        rule: "three or more islands or holes of the contact section are gone 2 mm above the bed",
        source: "common practice; the count is a house value",
        eval: |g| {
            let n = g.near.islands + g.near.grooves;
            (n >= DETAILS).then(|| {
                (
                    n as f64,
                    format!(
                        "The side on the bed carries detail ({}): the first layer presses it flat and fills it. Turn another side down if it is to be read.",
                        match (g.near.islands, g.near.grooves) {
                            (i, 0) => words::count(i, "raised spot", "raised spots"),
                            (0, h) => words::count(h, "sunk spot", "sunk spots"),
                            (i, h) => format!(
                                "{}, {}",
                                words::count(i, "raised spot", "raised spots"),
                                words::count(h, "sunk spot", "sunk spots")
                            ),
                        }
                    ),
                )
            })
        },
    },
    Rule {
        key: "bores_on_the_bed",
        figure: "bores that open on the bed",
        threshold: 1.0,
        rule: "an upright bore of full diameter opens on the bed without a chamfer",
        source: "common practice: the first layer is pressed 0.1–0.3 mm wide",
        eval: bores,
    },
];

/// Every rule that speaks, in table order.
pub(super) fn notes(ground: &Ground) -> Vec<Note> {
    RULES
        .iter()
        .filter_map(|rule| {
            (rule.eval)(ground).map(|(value, says)| Note {
                key: rule.key,
                figure: rule.figure,
                value,
                threshold: rule.threshold,
                source: rule.source,
                says,
            })
        })
        .collect()
}

/// Whether the overhang that bridges leave may be left to itself.
pub fn spare(f: &Figures, settings: &Settings) -> bool {
    f.overhang_after_bridges_mm2 < SPARE_MM2
        && f.ledge_longest_mm <= FREE_LEDGE_MM
        && f.bridge_longest_mm <= settings.bridge_limit_mm
        && f.floating_starts.is_empty()
        && f.support_trapped_mm3 <= SHUT_MM3
}

/// Whether a person would switch support on.
pub fn needs_support(f: &Figures, settings: &Settings) -> bool {
    f.support_after_bridges_mm3 > NO_SUPPORT_MM3 && !spare(f, settings)
}

/// How much the base has to hold against what it can, and why; see the table.
fn brim_demand(f: &Figures) -> (f64, &'static str) {
    let pull = f.shrink_pull_mm / PULL_MM;
    let sway = (1.0 + f.sway_mm_per_n / SWAY_MM_PER_N).min(2.0);
    let small = CONTACT_PER_HEIGHT * f.height_mm / f.contact_area_mm2.max(1e-6) * sway;
    let tip = SAFE_TIP_DEG / f.tip_angle_deg.max(0.5);
    [(pull, "pull"), (small, "small"), (tip, "tip")]
        .into_iter()
        .reduce(|a, b| if b.0 > a.0 { b } else { a })
        .unwrap_or((0.0, "pull"))
}

/// Width of the brim for a demand, whole mm; 0 for none.
fn brim_mm(demand: f64) -> f64 {
    if demand > 1.0 {
        (BRIM_MM.0 * (1.0 + demand.ln()))
            .round()
            .clamp(BRIM_MM.0, BRIM_MM.1)
    } else {
        0.0
    }
}

fn brim(g: &Ground) -> Option<(f64, String)> {
    let f = g.figures;
    if !g.gates.is_empty() {
        return None;
    }
    let (demand, why) = brim_demand(f);
    let hold = format!(
        "{} hold {} of height",
        words::area(f.contact_area_mm2),
        words::length(f.height_mm)
    );
    let wide = brim_mm(demand);
    if wide == 0.0 {
        return Some((demand, format!("No brim: {hold}.")));
    }
    let why = match why {
        "pull" => format!(
            "{} would shrink {} across this base if it were free, and that lifts the ends",
            g.settings.material.name,
            words::length(f.shrink_pull_mm)
        ),
        "tip" => format!(
            "a tilt of {} tips it",
            words::degrees(f.tip_angle_deg.max(0.0))
        ),
        _ => format!("only {hold}"),
    };
    Some((demand, format!("Brim {} wide: {why}.", words::length(wide))))
}

fn draught(g: &Ground) -> Option<(f64, String)> {
    let material = g.settings.material;
    let pull = g.figures.shrink_pull_mm;
    let shrinks = material.contraction() >= SHRINKER;
    let least = if shrinks { DRAUGHT_MM.0 } else { DRAUGHT_MM.1 };
    (pull >= least && g.gates.is_empty()).then(|| {
        let what = if shrinks {
            "Print it in a closed, warm machine and let it cool on the bed"
        } else {
            "Keep draught off it"
        };
        (
            pull,
            format!(
                "{what}: {} contracts {} % on cooling, {} across this base (α {}, seen {} to {}, × 10⁻⁶/K).",
                material.name,
                words::decimal(100.0 * material.contraction(), 2),
                words::length(pull),
                words::three(material.alpha_e6_per_k),
                words::three(material.alpha_range_e6_per_k.0),
                words::three(material.alpha_range_e6_per_k.1)
            ),
        )
    })
}

fn support(g: &Ground) -> Option<(f64, String)> {
    let f = g.figures;
    if !needs_support(f, g.settings) {
        return None;
    }
    let mut text = format!(
        "Switch support on: {} under {} beyond {}",
        words::volume(f.support_after_bridges_mm3),
        words::area(f.overhang_after_bridges_mm2),
        words::degrees(g.settings.limit_deg)
    );
    let too_long: Vec<&crate::figures::Bridge> = f
        .bridges
        .iter()
        .filter(|b| b.span_mm > g.settings.bridge_limit_mm)
        .collect();
    if let Some(first) = too_long.first() {
        let longest = too_long.iter().map(|b| b.span_mm).fold(0.0, f64::max);
        text.push_str(&format!(
            ", a span of {} from z = {} on",
            words::length(longest),
            words::length(first.z_mm)
        ));
    }
    let below = f.support_scar_mm2.below;
    if below > 1.0 {
        text.push_str(&format!(
            ". It stands on the part with {} and marks it there",
            words::area(below)
        ));
    } else if f.support_trapped_mm3 <= SHUT_MM3 {
        text.push_str(". It stands on the bed and comes off from outside");
    }
    text.push('.');
    let mean = f.support_after_bridges_mm3 / f.overhang_after_bridges_mm2.max(1e-6);
    if mean < THIN_MM {
        text.push_str(&format!(
            " It is only {} high on average and hardly comes off: fill that hollow in the model, or let it sag if the face does not matter.",
            words::length(mean)
        ));
    }
    Some((f.support_after_bridges_mm3, text))
}

fn starts(g: &Ground) -> Option<(f64, String)> {
    let starts = &g.figures.floating_starts;
    let first = starts.first()?;
    let largest = starts.iter().map(|s| s.area_mm2).fold(0.0, f64::max);
    let text = if starts.len() == 1 {
        format!(
            "At z = {} a piece of {} begins in the air: without support under it the print is lost there.",
            words::length(first.z_mm),
            words::area(first.area_mm2)
        )
    } else {
        format!(
            "{} pieces begin in the air, the first at z = {}, the largest {}: without support under them they are lost.",
            starts.len(),
            words::length(first.z_mm),
            words::area(largest)
        )
    };
    Some((starts.len() as f64, text))
}

fn bridging(g: &Ground) -> Option<(f64, String)> {
    let over: Vec<(f64, f64)> = g
        .figures
        .bridges
        .iter()
        .filter(|b| b.span_mm <= g.settings.bridge_limit_mm && b.span_mm > WATCH_BRIDGE_MM)
        .map(|b| (b.z_mm, b.span_mm))
        .collect();
    let (first, _) = over.first()?;
    let longest = over.iter().map(|b| b.1).fold(0.0, f64::max);
    let (last, _) = over.last()?;
    let near = last - first < g.settings.layer_mm / 2.0;
    let at = if over.len() == 1 {
        format!("at z = {}", words::length(*first))
    } else if near {
        format!(
            "at z = {} ({})",
            words::length(*first),
            words::count(over.len(), "ceiling", "ceilings")
        )
    } else {
        format!(
            "between z = {} and {} ({})",
            words::decimal(*first, 1),
            words::length(*last),
            words::count(over.len(), "ceiling", "ceilings")
        )
    };
    Some((
        longest,
        format!(
            "Watch the bridging {at}, up to {} across: full fan, and no faster than your machine bridges well.",
            words::length(longest)
        ),
    ))
}

fn slender(g: &Ground) -> Option<(f64, String)> {
    let s = g.figures.slender.filter(|s| s.ratio >= SLENDER_WATCH)?;
    let end = if s.ratio >= SLENDER_BRACE {
        "brace it, or slow down from there to the top"
    } else {
        "slow down towards the top"
    };
    Some((
        s.ratio,
        format!(
            "From z = {} a piece {} wide stands free for {} ({} : 1); the softest tip gives {} mm to a push of 1 N: {end}.",
            words::length(s.from_mm),
            words::length(s.width_mm),
            words::length(s.to_mm - s.from_mm),
            words::decimal(s.ratio, 1),
            words::three(g.figures.sway_mm_per_n),
        ),
    ))
}

fn line(g: &Ground) -> Option<(f64, String)> {
    let top = g.figures.height_mm - LINE_CLEAR_MM;
    let jump = g
        .story?
        .jumps
        .iter()
        .filter(|j| j.ratio() >= LINE_FACTOR && j.z_mm > LINE_CLEAR_MM && j.z_mm < top)
        .reduce(|a, b| {
            let change = |j: &crate::figures::story::Jump| (j.to_mm2 - j.from_mm2).abs();
            if change(b) > change(a) { b } else { a }
        })?;
    Some((
        jump.ratio(),
        format!(
            "A line may show on the sides at z = {}: the section goes from {} to {} there, and with it time and shrinkage of a layer.",
            words::length(jump.z_mm),
            words::area(jump.from_mm2),
            words::area(jump.to_mm2)
        ),
    ))
}

fn quick_layers(g: &Ground) -> Option<(f64, String)> {
    let story = g.story?;
    let s = g.settings;
    let seconds = |area: f64| area * s.layer_mm / s.rate_mm3_s + s.layer_change_s;
    // The highest run of quick layers.
    let mut run: Option<(f64, f64, f64)> = None;
    let mut best: Option<(f64, f64, f64)> = None;
    for (&z, &area) in story.z_mm.iter().zip(&story.area_mm2) {
        let t = seconds(area);
        run = if area > 0.0 && t < QUICK_LAYER_S {
            Some(run.map_or((z, z, t), |(from, _, least)| (from, z, least.min(t))))
        } else {
            None
        };
        if let Some(r) = run {
            if best.is_none_or(|b| r.1 - r.0 >= b.1 - b.0) {
                best = Some(r);
            }
        }
    }
    let (from, to, least) = best.filter(|b| b.1 - b.0 >= QUICK_HEIGHT_MM)?;
    let whole = from <= s.first_layer_mm && to >= g.figures.height_mm - s.layer_mm;
    let place = if whole {
        "Every layer is".to_string()
    } else {
        format!(
            "From z = {} to {} a layer is",
            words::decimal(from, 1),
            words::length(to)
        )
    };
    Some((
        least,
        format!(
            "{place} done in as little as {} s and still soft under the next one: print two at once, or let the machine slow down.",
            words::decimal(least, 0)
        ),
    ))
}

fn bores(g: &Ground) -> Option<(f64, String)> {
    let mut sizes = g.bores_on_bed.to_vec();
    sizes.sort_by(f64::total_cmp);
    let n = sizes.len();
    if n == 0 || !g.gates.is_empty() {
        return None;
    }
    sizes.dedup_by(|a, b| (*a - *b).abs() < 0.05);
    let listed: Vec<String> = sizes
        .iter()
        .take(4)
        .map(|d| words::decimal(*d, 2))
        .collect();
    Some((
        n as f64,
        format!(
            "{} on the bed without a chamfer (Ø {}{} mm): the first layer presses {} 0.1–0.3 mm narrower. Where something has to fit, ream or model a chamfer of 0.4 mm.",
            words::count(n, "bore opens", "bores open"),
            listed.join(", "),
            if sizes.len() > 4 { " …" } else { "" },
            if n == 1 { "it" } else { "them" }
        ),
    ))
}

#[cfg(test)]
mod tests;
