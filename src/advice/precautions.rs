//! What to do on the machine: one table of rules, each tied to a figure and a
//! threshold with its source.
//!
//! A rule that speaks gives a sentence with the value in it, so that a person can
//! judge for themselves. The table goes into the JSON as it stands.

mod evals;

use crate::advice::support::{NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2};
use crate::settings::Settings;
pub(super) use evals::RuleInput;
use evals::{DETAILS, LINE_FACTOR, QUICK_LAYER_S, SLENDER_WATCH, Spoken, WATCH_BRIDGE_MM};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Key of the rule that always speaks.
const BRIM: &str = "brim";

/// One rule of the table: a row of `precautions.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Name in the JSON.
    pub key: String,
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
        match self.key.as_str() {
            "too_large" => (|_| 1.0, |g| Some(evals::too_large(g))),
            "open_surface" => (|_| 1.0, |g| Some(evals::open_surface(g))),
            BRIM => (|_| evals::DEMAND, evals::brim),
            "draught" => (evals::draught_mm, evals::draught),
            "support" => (|_| NO_SUPPORT_MM3, evals::support),
            "leave_support_off" => (|_| SPARE_MM2, evals::leave_support_off),
            "trapped_support" => (|_| SHUT_MM3, |g| Some(evals::trapped_support(g))),
            "starts_in_the_air" => (|_| 1.0, evals::starts),
            "bridge" => (|_| WATCH_BRIDGE_MM, evals::bridging),
            "ledge" => (|s| s.line_mm, evals::ledge),
            "slender" => (|_| SLENDER_WATCH, evals::slender),
            "line_on_the_side" => (|_| LINE_FACTOR, evals::line),
            "quick_layers" => (|_| QUICK_LAYER_S, evals::quick_layers),
            "detail_on_the_bed" => (|_| DETAILS as f64, |g| Some(evals::detail_on_the_bed(g))),
            "bores_on_the_bed" => (|_| 1.0, evals::bores),
            // No row is without code: the tests ask for each.
            _ => (|_| f64::NAN, |_| None),
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
pub static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| {
    let file: BTreeMap<String, Vec<Rule>> =
        toml::from_str(include_str!("precautions.toml")).expect("precautions.toml is a table");
    file.into_values().flatten().collect()
});

/// Every rule that speaks, in table order. That of the brim always does: on the other side
/// of its threshold it says that none is needed.
pub(super) fn notes(ground: &RuleInput) -> Vec<Note> {
    let spoken = |rule: &'static Rule| {
        let (threshold, eval) = rule.code();
        let (value, says) = eval(ground)?;
        let threshold = threshold(ground.settings);
        (rule.key == BRIM || rule.is.holds(value, threshold)).then_some(Note {
            key: &rule.key,
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

#[cfg(test)]
mod tests;
