//! What to do on the machine: one table of rules, each tied to a figure and a
//! threshold with its source.
//!
//! A rule that speaks gives a sentence with the value in it, so that a person can
//! judge for themselves. The table goes into the JSON as it stands.

mod evals;
mod holds;
mod places;
mod traits;

use crate::advice::support::{NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2, WATCH_BRIDGE_MM};
use crate::settings::Settings;
use crate::tables::rows;
use crate::words::named;
pub(super) use evals::RuleInput;
use evals::bed::{DEMAND, DETAILS, FLAT_SHARE};
use evals::surface::QUICK_LAYER_S;
use evals::{SLENDER_WATCH, Spoken, after, bed, material, surface};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;
use traits::LINE_FACTOR;
pub(super) use traits::PoseTraits;

named! {
    /// A rule of the table, in its order: file, turning, machine, after the print.
    Precaution:
    /// The surface is not closed.
    OpenSurface "open_surface",
    /// Bodies too small to be part of anything.
    StrayCrumbs "stray_crumbs",
    /// Parts side by side in one file.
    SeparateParts "separate_parts",
    /// Larger than the build volume.
    TooLarge "too_large",
    /// Detail that the first layer fills.
    DetailOnTheBed "detail_on_the_bed",
    /// Bodies that run in another.
    PrintInPlace "print_in_place",
    /// Filament that has to be dry.
    Drying "drying",
    /// Hardly any of it lies flat on the bed.
    StandsOnEdges "stands_on_edges",
    /// How wide a brim, or that none is needed.
    Brim "brim",
    /// Shrinkage that warps the base.
    Draught "draught",
    /// Holes that open on the bed.
    BoresOnTheBed "bores_on_the_bed",
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
    /// Layers that are done too soon to cool.
    QuickLayers "quick_layers",
    /// Layers between which the section changes at once.
    LineOnTheSide "line_on_the_side",
    /// Where the layers begin.
    LayerSeam "layer_seam",
    /// Holes that come out too small.
    UndersizeHoles "undersize_holes",
    /// Holes that lie.
    SaggingHoles "sagging_holes",
    /// Pockets for nuts and bolt heads.
    NutFit "nut_fit",
    /// Holes for heat-set inserts.
    InsertFit "insert_fit",
    /// What has to come off.
    CleanUp "clean_up",
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
    /// What is left out where too many speak: those of the highest numbers.
    #[serde(default = "middle_rank")]
    pub rank: u32,
}

/// Sentences that a pose gets at most: what is longer is not read (a house value).
pub const MOST_NOTES: usize = 8;

fn middle_rank() -> u32 {
    50
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
            Precaution::OpenSurface => (|_| 1.0, |g| Some(evals::open_surface(g))),
            Precaution::StrayCrumbs => (|_| 1.0, holds::crumbs),
            Precaution::SeparateParts => (|_| 2.0, holds::parts),
            Precaution::PrintInPlace => (|_| 1.0, holds::in_place),
            Precaution::SupportKeptOut => (|_| 1.0, holds::kept_out),
            Precaution::TooLarge => (|_| 1.0, |g| Some(evals::too_large(g))),
            Precaution::DetailOnTheBed => (|_| DETAILS as f64, |g| Some(bed::detail_on_the_bed(g))),
            Precaution::Drying => (|_| 0.0, material::drying),
            Precaution::StandsOnEdges => (|_| FLAT_SHARE, bed::edges),
            Precaution::Brim => (|_| DEMAND, bed::brim),
            Precaution::Draught => (bed::draught_mm, bed::draught),
            Precaution::BoresOnTheBed => (|_| 1.0, bed::bores),
            Precaution::Support => (|_| NO_SUPPORT_MM3, holds::support),
            Precaution::LeaveSupportOff => (|_| SPARE_MM2, holds::leave_support_off),
            Precaution::TrappedSupport => (|_| SHUT_MM3, |g| Some(evals::trapped_support(g))),
            Precaution::StartsInTheAir => (|_| 1.0, evals::starts),
            Precaution::Bridge => (|_| WATCH_BRIDGE_MM, evals::bridging),
            Precaution::CeilingHole => (|_| 1.0, places::ceiling_hole),
            Precaution::Ledge => (evals::droops_mm, evals::ledge),
            Precaution::Slender => (|_| SLENDER_WATCH, evals::slender),
            Precaution::Sliver => (places::sliver_mm, places::sliver),
            Precaution::QuickLayers => (|_| QUICK_LAYER_S, surface::quick_layers),
            Precaution::LineOnTheSide => (|_| LINE_FACTOR, surface::line),
            Precaution::LayerSeam => (|_| 0.0, surface::seam),
            Precaution::UndersizeHoles => (|_| 1.0, after::undersize),
            Precaution::SaggingHoles => (|_| 1.0, after::lying),
            Precaution::NutFit => (|_| 1.0, after::nuts),
            Precaution::InsertFit => (|_| after::LEAST_INSERTS as f64, after::inserts),
            Precaution::CleanUp => (|_| 1.0, after::clean_up),
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

/// The rules that speak, in table order, the [`MOST_NOTES`] that matter most.
pub(super) fn notes(ground: &RuleInput) -> Vec<Note> {
    let spoken = |rule: &'static Rule| {
        let (threshold, eval) = rule.code();
        let (value, says) = eval(ground)?;
        let threshold = threshold(ground.settings);
        if !rule.is.holds(value, threshold) {
            return None;
        }
        let note = Note {
            key: rule.key.name(),
            figure: &rule.figure,
            value,
            comparison: rule.is,
            threshold,
            unit: &rule.unit,
            source: &rule.source,
            says,
        };
        Some((rule.rank, note))
    };
    let mut all: Vec<(u32, Note)> = RULES.iter().filter_map(spoken).collect();
    while all.len() > MOST_NOTES {
        let ranks = all.iter().map(|(rank, _)| *rank).enumerate();
        // Of equal ones the later.
        let Some((least, _)) = ranks.max_by_key(|(i, rank)| (*rank, *i)) else {
            break;
        };
        all.remove(least);
    }
    all.into_iter().map(|(_, note)| note).collect()
}

/// Width of the brim that the notes ask for, mm; 0 where they ask for none.
pub(super) fn brim_mm(notes: &[Note]) -> f64 {
    let brim = |n: &&Note| n.key == Precaution::Brim.name();
    notes
        .iter()
        .find(brim)
        .map_or(0.0, |n| bed::width_mm(n.value))
}

#[cfg(test)]
mod tests;
