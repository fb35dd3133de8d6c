//! What to do on the machine: one table of rules, each tied to a figure and a
//! threshold with its source.
//!
//! A rule that speaks gives a sentence with the value in it, so that a person can
//! judge for themselves. The table goes into the JSON as it stands.

mod evals;
mod holds;
mod places;

use crate::advice::support::{NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2};
use crate::settings::Settings;
use crate::tables::rows;
use crate::words::named;
pub(super) use evals::RuleInput;
use evals::{DETAILS, LINE_FACTOR, QUICK_LAYER_S, SLENDER_WATCH, Spoken, WATCH_BRIDGE_MM};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

named! {
    /// A rule of the table, in its order.
    Precaution:
    /// Larger than the build volume.
    TooLarge "too_large",
    /// The surface is not closed.
    OpenSurface "open_surface",
    /// Bodies too small to be part of anything.
    StrayCrumbs "stray_crumbs",
    /// Parts side by side in one file.
    SeparateParts "separate_parts",
    /// Bodies that run in another.
    PrintInPlace "print_in_place",
    /// How wide a brim, or that none is needed.
    Brim "brim",
    /// Shrinkage that warps the base.
    Draught "draught",
    /// Support is to be switched on.
    Support "support",
    /// Places that support would spoil.
    SupportKeptOut "support_kept_out",
    /// Overhang that may be left to itself.
    LeaveSupportOff "leave_support_off",
    /// Support that cannot be got out.
    TrappedSupport "trapped_support",
    /// Pieces of a layer that rest on nothing.
    StartsInTheAir "starts_in_the_air",
    /// Bridges within the limit to keep an eye on.
    Bridge "bridge",
    /// Ceilings that are a ring around a hole.
    CeilingHole "ceiling_hole",
    /// Ledges that droop a little.
    Ledge "ledge",
    /// Free-standing stretches.
    Slender "slender",
    /// What no nozzle draws.
    Sliver "sliver",
    /// Layers between which the section changes at once.
    LineOnTheSide "line_on_the_side",
    /// Layers that are done too soon to cool.
    QuickLayers "quick_layers",
    /// Detail that the first layer fills.
    DetailOnTheBed "detail_on_the_bed",
    /// Bores that open on the bed.
    BoresOnTheBed "bores_on_the_bed",
}

/// One rule of the table: a row of `precautions.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Name in the JSON.
    pub key: Precaution,
    /// The figure it looks at, a key of the figures or a sum of them.
    pub figure: String,
    /// How the figure is held against the threshold for the rule to speak.
    pub is: Relation,
    /// Unit of figure and threshold; empty for counts and ratios.
    #[serde(default)]
    pub unit: String,
    /// The rule in words.
    pub rule: String,
    /// Where the threshold comes from.
    pub source: String,
}

/// The threshold under some settings, and the figure's value with what is said of it where
/// all else that the rule asks for is given. The value is held against the threshold in
/// [`notes`].
type Code = (fn(&Settings) -> f64, fn(&RuleInput) -> Spoken);

impl Rule {
    /// The threshold under some settings.
    pub fn threshold(&self, settings: &Settings) -> f64 {
        self.code().0(settings)
    }

    fn code(&self) -> Code {
        match self.key {
            Precaution::TooLarge => (|_| 1.0, |g| Some(evals::too_large(g))),
            Precaution::OpenSurface => (|_| 1.0, |g| Some(evals::open_surface(g))),
            Precaution::StrayCrumbs => (|_| 1.0, holds::crumbs),
            Precaution::SeparateParts => (|_| 2.0, holds::parts),
            Precaution::PrintInPlace => (|_| 1.0, holds::in_place),
            Precaution::Brim => (|_| evals::DEMAND, evals::brim),
            Precaution::Draught => (evals::draught_mm, evals::draught),
            Precaution::Support => (|_| NO_SUPPORT_MM3, holds::support),
            Precaution::SupportKeptOut => (|_| 1.0, holds::kept_out),
            Precaution::LeaveSupportOff => (|_| SPARE_MM2, holds::leave_support_off),
            Precaution::TrappedSupport => (|_| SHUT_MM3, |g| Some(evals::trapped_support(g))),
            Precaution::StartsInTheAir => (|_| 1.0, evals::starts),
            Precaution::Bridge => (|_| WATCH_BRIDGE_MM, evals::bridging),
            Precaution::CeilingHole => (|_| 1.0, places::ceiling_hole),
            Precaution::Ledge => (|s| s.line_mm, evals::ledge),
            Precaution::Slender => (|_| SLENDER_WATCH, evals::slender),
            Precaution::Sliver => (places::sliver_mm, places::sliver),
            Precaution::LineOnTheSide => (|_| LINE_FACTOR, evals::line),
            Precaution::QuickLayers => (|_| QUICK_LAYER_S, evals::quick_layers),
            Precaution::DetailOnTheBed => {
                (|_| DETAILS as f64, |g| Some(evals::detail_on_the_bed(g)))
            }
            Precaution::BoresOnTheBed => (|_| 1.0, evals::bores),
        }
    }
}

/// How a figure is held against a threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
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

/// The table, in the order in which the sentences are printed. The file is part of the
/// program, and a test reads it: it cannot fail to be a table.
pub static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| rows(include_str!("precautions.toml")));

/// Every rule that speaks, in table order. That of the brim always does: on the other side
/// of its threshold it says that none is needed.
pub(super) fn notes(ground: &RuleInput) -> Vec<Note> {
    let spoken = |rule: &'static Rule| {
        let (threshold, eval) = rule.code();
        let (value, says) = eval(ground)?;
        let threshold = threshold(ground.settings);
        (rule.key == Precaution::Brim || rule.is.holds(value, threshold)).then_some(Note {
            key: rule.key.name(),
            figure: &rule.figure,
            value,
            comparison: rule.is,
            threshold,
            unit: &rule.unit,
            source: &rule.source,
            says,
        })
    };
    RULES.iter().filter_map(spoken).collect()
}

/// Width of the brim that the notes ask for, mm; 0 where they ask for none.
pub(super) fn brim_mm(notes: &[Note]) -> f64 {
    let brim = |n: &&Note| n.key == Precaution::Brim.name();
    notes
        .iter()
        .find(brim)
        .map_or(0.0, |n| evals::brim_mm(n.value))
}

#[cfg(test)]
mod tests;
