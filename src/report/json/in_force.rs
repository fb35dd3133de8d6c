//! Every setting in force, and the tables that the advice rests on.

use crate::advice::precautions::{RULES, Relation};
use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use schemars::JsonSchema;
use serde::Serialize;

/// A row of the material table.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MaterialRow {
    /// Trade name of the polymer.
    pub name: &'static str,
    /// Density.
    pub density_g_cm3: f64,
    /// Coefficient of linear thermal expansion, 10⁻⁶/K.
    pub alpha_e6_per_k: f64,
    /// Lowest and highest coefficient seen in the sources.
    pub alpha_range_e6_per_k: [f64; 2],
    /// Temperature at which it stiffens: glass transition, or the bed where that is higher.
    pub stiffens_c: f64,
    /// Lowest and highest such temperature seen in the sources.
    pub stiffens_range_c: [f64; 2],
    /// Temperature of the room.
    pub ambient_c: f64,
    /// Cooling from where the plastic stiffens to the room.
    pub cooling_k: f64,
    /// Young's modulus.
    pub e_mpa: f64,
    /// Where the numbers were read.
    pub source: &'static str,
}

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
}

/// Every value in force.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SettingsInForce {
    /// Layer height.
    pub layer_mm: f64,
    /// First layer height; half of it is the touch height.
    pub first_layer_mm: f64,
    /// Extrusion width.
    pub line_mm: f64,
    /// Overhang limit from the vertical.
    pub limit_deg: f64,
    /// Longest bridge that needs no support.
    pub bridge_limit_mm: f64,
    /// Build volume X, Y, Z.
    pub bed_mm: [f64; 3],
    /// Material row.
    pub material: MaterialRow,
    /// Unit direction of the load in the part frame; null without one.
    pub load: Option<[f64; 3]>,
    /// Outward unit directions of the sides that must come out clean.
    pub show: Vec<[f64; 3]>,
    /// sound, clean, quick or strong.
    pub aim: &'static str,
    /// Wall thickness in lines.
    pub walls: u32,
    /// Share of the interior that is filled, 0 to 1.
    pub infill: f64,
    /// Deposition rate.
    pub rate_mm3_s: f64,
    /// Time added per layer.
    pub layer_change_s: f64,
    /// How far a printed length may be off before it counts.
    pub tolerance_mm: f64,
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
        // Taken apart in full, so that a new setting cannot be left out here.
        let Settings {
            layer_mm,
            first_layer_mm,
            line_mm,
            limit_deg,
            bridge_limit_mm,
            bed_mm,
            material,
            load,
            show,
            aim,
            walls,
            infill,
            rate_mm3_s,
            layer_change_s,
            tolerance_mm,
            // Shown row by row in the penalty table.
            weights: _,
        } = settings;
        Self {
            layer_mm: *layer_mm,
            first_layer_mm: *first_layer_mm,
            line_mm: *line_mm,
            limit_deg: *limit_deg,
            bridge_limit_mm: *bridge_limit_mm,
            bed_mm: *bed_mm,
            material: MaterialRow {
                name: material.name,
                density_g_cm3: material.density_g_cm3,
                alpha_e6_per_k: material.alpha_e6_per_k,
                alpha_range_e6_per_k: material.alpha_range_e6_per_k.into(),
                stiffens_c: material.stiffens_c,
                stiffens_range_c: material.stiffens_range_c.into(),
                ambient_c: AMBIENT_C,
                cooling_k: material.cooling_k(),
                e_mpa: material.e_mpa,
                source: material.source,
            },
            load: load.map(|d| [d.x, d.y, d.z]),
            show: show.iter().map(|d| [d.x, d.y, d.z]).collect(),
            aim: aim.word(),
            walls: *walls,
            infill: *infill,
            rate_mm3_s: *rate_mm3_s,
            layer_change_s: *layer_change_s,
            tolerance_mm: *tolerance_mm,
            penalties,
            precaution_rules: RULES
                .iter()
                .map(|r| PrecautionRule {
                    key: r.key,
                    figure: r.figure,
                    comparison: r.is,
                    threshold: (r.threshold)(settings),
                    unit: r.unit,
                    rule: r.rule,
                    source: r.source,
                })
                .collect(),
            files,
        }
    }
}
