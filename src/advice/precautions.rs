//! What to do on the machine: one table of rules, each tied to a figure and a
//! threshold with its source.
//!
//! A rule that speaks gives a sentence with the value in it, so that a person can
//! judge for themselves. The table goes into the JSON as it stands.

mod evals;

use crate::advice::support::{FREE_LEDGE_MM, NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2, hangs, spare};
use crate::rank::FailedGate;
use crate::settings::Settings;
use crate::words;
pub(super) use evals::RuleInput;
use evals::{DETAILS, LINE_FACTOR, QUICK_LAYER_S, SLENDER_WATCH, WATCH_BRIDGE_MM};
use schemars::JsonSchema;
use serde::Serialize;

/// Key of the rule that always speaks.
const BRIM: &str = "brim";

/// One rule of the table.
pub struct Rule {
    /// Name in the JSON.
    pub key: &'static str,
    /// The figure it looks at, a key of the figures or a sum of them.
    pub figure: &'static str,
    /// How the figure is held against the threshold for the rule to speak.
    pub is: Relation,
    /// The threshold under some settings.
    pub threshold: fn(&Settings) -> f64,
    /// Unit of figure and threshold; empty for counts and ratios.
    pub unit: &'static str,
    /// The rule in words.
    pub rule: &'static str,
    /// Where the threshold comes from.
    pub source: &'static str,
    /// The figure's value and what is said of it, where all else that the rule asks for is
    /// given. The threshold is held against it here, in [`notes`].
    eval: fn(&RuleInput) -> Option<(f64, String)>,
}

/// How a figure is held against a threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub enum Relation {
    /// Less than the threshold.
    #[serde(rename = "<")]
    Below,
    /// The threshold or more.
    #[serde(rename = ">=")]
    AtLeast,
    /// More than the threshold.
    #[serde(rename = ">")]
    Above,
}

impl Relation {
    fn holds(self, value: f64, threshold: f64) -> bool {
        match self {
            Self::Below => value < threshold,
            Self::AtLeast => value >= threshold,
            Self::Above => value > threshold,
        }
    }
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
    /// How it is held against the threshold for the rule to speak.
    pub comparison: Relation,
    /// The threshold under the settings in force.
    pub threshold: f64,
    /// Unit of value and threshold; empty for counts and ratios.
    pub unit: &'static str,
    /// Where the threshold comes from.
    pub source: &'static str,
    /// What to do, with the numbers.
    pub says: String,
}

/// The table, in the order in which the sentences are printed.
pub const RULES: &[Rule] = &[
    Rule {
        key: "too_large",
        figure: "gates.does_not_fit",
        is: Relation::AtLeast,
        threshold: |_| 1.0,
        unit: "",
        rule: "larger than the build volume at every yaw",
        source: "the build volume",
        eval: |g| {
            let outside = g.gates.contains(&FailedGate::DoesNotFit);
            let says = "Cut the part in two or use a larger machine.";
            Some((f64::from(outside), says.into()))
        },
    },
    Rule {
        key: "open_surface",
        figure: "closed",
        is: Relation::Below,
        threshold: |_| 1.0,
        unit: "",
        rule: "the surface is not closed",
        source: "a surface with holes has no inside",
        eval: |g| {
            let says = "Mend the open surface first: volume and support are guesses until then.";
            Some((f64::from(g.part.closed), says.into()))
        },
    },
    Rule {
        key: BRIM,
        figure: "demand",
        is: Relation::Above,
        threshold: |_| evals::DEMAND,
        unit: "",
        rule: "demand = the largest of shrink_pull / 0.45 mm, 4 mm × height / contact × (1 + sway / (1 mm/N), at most 2), 15° / tip angle; a brim where it is above 1, 4 mm × (1 + ln demand) wide, between 4 and 12 mm",
        source: "common practice; the numbers are house values",
        eval: evals::brim,
    },
    Rule {
        key: "draught",
        figure: "shrink_pull_mm",
        is: Relation::AtLeast,
        threshold: evals::draught_mm,
        unit: "mm",
        rule: "free contraction across the base from 0.3 mm for a material that contracts 0.5 % or more, from 0.6 mm for any",
        source: "common practice; the numbers are house values",
        eval: evals::draught,
    },
    Rule {
        key: "support",
        figure: "support_needed_mm3",
        is: Relation::Above,
        threshold: |_| NO_SUPPORT_MM3,
        unit: "mm³",
        rule: "support above 1 mm³, unless the overhang may be left to itself",
        source: "common practice",
        eval: evals::support,
    },
    Rule {
        key: "leave_support_off",
        figure: "overhang_charged_mm2 + overhang_wide_mm2",
        is: Relation::Below,
        threshold: |_| SPARE_MM2,
        unit: "mm²",
        rule: "less than 100 mm² of overhang after bridges, no ledge longer than 1.5 mm, no bridge over the limit, nothing that begins in the air",
        source: "ledges of 0.5–1.5 mm print free (literature on extrusion limits); the area is a house value",
        eval: |g| {
            let f = g.figures;
            (spare(f, g.settings) && hangs(f)).then(|| {
                (
                    f.overhang_needed_mm2(),
                    format!(
                        "Leave support off: the {} beyond {} lie in small roofs that close by themselves and sag by a hair.",
                        words::area(f.overhang_needed_mm2()),
                        words::degrees(g.settings.limit_deg)
                    ),
                )
            })
        },
    },
    Rule {
        key: "trapped_support",
        figure: "support_trapped_mm3",
        is: Relation::Above,
        threshold: |_| SHUT_MM3,
        unit: "mm³",
        rule: "more than 20 mm³ of support in a void that nothing joins to the outside",
        source: "geometry; the volume is a house value",
        eval: |g| {
            let v = g.figures.support_trapped_mm3;
            let says = format!(
                "{} of the support stand in a closed cavity and cannot be got out: they stay in the part for good.",
                words::volume(v)
            );
            Some((v, says))
        },
    },
    Rule {
        key: "starts_in_the_air",
        figure: "floating_starts",
        is: Relation::AtLeast,
        threshold: |_| 1.0,
        unit: "",
        rule: "a piece of a layer rests on nothing",
        source: "geometry",
        eval: evals::starts,
    },
    Rule {
        key: "bridge",
        figure: "bridges.span_mm",
        is: Relation::Above,
        threshold: |_| WATCH_BRIDGE_MM,
        unit: "mm",
        rule: "a bridge within the limit that is longer than 3 mm",
        source: "common practice",
        eval: evals::bridging,
    },
    Rule {
        key: "ledge",
        figure: "ledge_longest_mm",
        is: Relation::Above,
        threshold: |s| s.line_mm,
        unit: "mm",
        rule: "a ledge of one line to 1.5 mm that no support holds",
        source: "0.5–1.5 mm in the literature on extrusion limits",
        eval: |g| {
            let f = g.figures;
            let reach = f.ledge_longest_mm;
            let bare = !hangs(f);
            (bare && reach <= FREE_LEDGE_MM).then(|| {
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
        is: Relation::AtLeast,
        threshold: |_| SLENDER_WATCH,
        unit: "",
        rule: "a free-standing stretch from 8 times its width on; brace it from 15 times on",
        source: "no sourced number was found: house values",
        eval: evals::slender,
    },
    Rule {
        key: "line_on_the_side",
        figure: "story.jumps",
        is: Relation::AtLeast,
        threshold: |_| LINE_FACTOR,
        unit: "",
        rule: "the section area changes by a factor of 2 or more from one layer to the next, further than 1 mm from bed and top",
        source: "common practice; the factor is a house value",
        eval: evals::line,
    },
    Rule {
        key: "quick_layers",
        figure: "layer time",
        is: Relation::Below,
        threshold: |_| QUICK_LAYER_S,
        unit: "s",
        rule: "layers of less than 6 s (area × layer / rate + layer change) over 2 mm of height or more",
        source: "common practice; the numbers are house values",
        eval: evals::quick_layers,
    },
    Rule {
        key: "detail_on_the_bed",
        figure: "contact section",
        is: Relation::AtLeast,
        threshold: |_| DETAILS as f64,
        unit: "",
        rule: "three or more islands or holes of the contact section are gone 2 mm above the bed",
        source: "common practice; the count is a house value",
        eval: |g| {
            let n = g.near.islands + g.near.grooves;
            let says = format!(
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
            );
            Some((n as f64, says))
        },
    },
    Rule {
        key: "bores_on_the_bed",
        figure: "bores that open on the bed",
        is: Relation::AtLeast,
        threshold: |_| 1.0,
        unit: "",
        rule: "an upright bore of full diameter opens on the bed without a chamfer",
        source: "common practice: the first layer is pressed 0.1–0.3 mm wide",
        eval: evals::bores,
    },
];

/// Every rule that speaks, in table order. That of the brim always does: on the other side
/// of its threshold it says that none is needed.
pub(super) fn notes(ground: &RuleInput) -> Vec<Note> {
    let spoken = |rule: &Rule| {
        let (value, says) = (rule.eval)(ground)?;
        let threshold = (rule.threshold)(ground.settings);
        (rule.key == BRIM || rule.is.holds(value, threshold)).then_some(Note {
            key: rule.key,
            figure: rule.figure,
            value,
            comparison: rule.is,
            threshold,
            unit: rule.unit,
            source: rule.source,
            says,
        })
    };
    RULES.iter().filter_map(spoken).collect()
}

#[cfg(test)]
mod tests;
