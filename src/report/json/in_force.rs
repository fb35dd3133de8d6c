//! Every setting in force, and the tables that the advice rests on.

use crate::advice::precautions::{RULES, Relation, Rule};
use crate::settings::Settings;
use schemars::JsonSchema;
use serde::Serialize;

/// A row of the penalty table: a pose is charged `weight` times `scale` of its figures.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PenaltyRow {
    /// Name, the key in `penalties` of a pose.
    pub name: String,
    /// Weight in force.
    pub weight: f64,
    /// The scale as a formula over figures.
    pub scale: String,
}

/// A rule of the table of precautions.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PrecautionRule {
    /// Name, the key in `precautions_detail` of a pose.
    pub key: &'static str,
    /// The figure it looks at.
    pub figure: &'static str,
    /// How the figure is held against the threshold for the rule to speak.
    pub comparison: Relation,
    /// The threshold under the settings in force.
    pub threshold: f64,
    /// Unit of figure and threshold; empty for counts and ratios.
    pub unit: &'static str,
    /// The rule in words.
    pub rule: &'static str,
    /// Where the threshold comes from.
    pub source: &'static str,
    /// Where too many rules speak, those of the highest ranks are left out.
    pub rank: u32,
}

/// Every value in force.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SettingsInForce {
    /// Settings by themselves.
    #[serde(flatten)]
    pub settings: Settings,
    /// The penalty table.
    pub penalties: Vec<PenaltyRow>,
    /// The table of precautions.
    pub precaution_rules: Vec<PrecautionRule>,
    /// Settings files that were read, the weakest first.
    pub files: Vec<String>,
}

impl SettingsInForce {
    /// Settings and penalty rows as they are shown. `files` are the settings files read.
    pub fn new(settings: &Settings, penalties: Vec<PenaltyRow>, files: Vec<String>) -> Self {
        let rule = |r: &'static Rule| PrecautionRule {
            key: r.key.name(),
            figure: &r.figure,
            comparison: r.is,
            threshold: r.threshold(settings),
            unit: &r.unit,
            rule: &r.rule,
            source: &r.source,
            rank: r.rank,
        };
        Self {
            settings: settings.clone(),
            penalties,
            precaution_rules: RULES.iter().map(rule).collect(),
            files,
        }
    }
}
