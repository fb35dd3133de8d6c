//! The map of a part: every direction that was looked at, as JSON and as CSV.

use super::json::{PartFacts, SCHEMA_VERSION, SettingsInForce};
use super::number;
use crate::rank::Origin;
use crate::rank::map::MappedDirection;
use crate::settings::Settings;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

/// What `advise --map FILE.json` writes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Map")]
pub struct DirectionMap {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Every value in force.
    pub settings: SettingsInForce,
    /// Every direction that was looked at.
    pub directions: Vec<DirectionRow>,
}

/// One direction with what is measured of it without layers.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "MapDirection")]
pub struct DirectionRow {
    /// Unit vector of the part that is turned down to the bed.
    pub down: [f64; 3],
    /// Where the direction came from: resting, helped, lattice, refined, stored or named.
    #[schemars(with = "String")]
    pub origin: Origin,
    /// Fits the build volume at some yaw.
    pub fits: bool,
    /// Extent along the build direction.
    pub height_mm: f64,
    /// Section area at half the first layer.
    pub contact_area_mm2: f64,
    /// Smallest tilt that carries the centre of mass over an edge of the contact; negative where
    /// it already lies outside.
    pub tip_angle_deg: f64,
    /// Surface that leans more than the overhang limit, bodies that overlap counted in full.
    pub overhang_area_mm2: f64,
    /// Mean height of the layer steps.
    pub layer_steps_mean_um: f64,
    /// Thermal contraction across the base.
    pub base_shrinkage_mm: f64,
    /// Space under all overhang down to the next surface or the bed, whatever bridges and small
    /// roofs carry.
    pub support_volume_mm3: f64,
    /// Bound on the error of that, met in 99 cases of 100: at most 2 % or 1 mm³, unless
    /// `support_resolved` is false.
    pub support_error_mm3: f64,
    /// The error is as small as that.
    pub support_resolved: bool,
}

/// The columns of the CSV: keys of a row, `down` as three.
const COLUMNS: [&str; 14] = [
    "down_x",
    "down_y",
    "down_z",
    "origin",
    "fits",
    "height_mm",
    "contact_area_mm2",
    "tip_angle_deg",
    "overhang_area_mm2",
    "layer_steps_mean_um",
    "base_shrinkage_mm",
    "support_volume_mm3",
    "support_error_mm3",
    "support_resolved",
];

impl DirectionMap {
    /// A part with its directions and all that they rest on.
    pub fn new(
        part: PartFacts,
        in_force: SettingsInForce,
        settings: &Settings,
        mapped: &[MappedDirection],
    ) -> Self {
        let row = |m: &MappedDirection| {
            let figures = m.quick.figures(settings, &m.down);
            DirectionRow {
                down: m.down.into_inner().into(),
                origin: m.origin,
                fits: m.quick.fits,
                height_mm: figures.height_mm,
                contact_area_mm2: figures.contact_area_mm2,
                tip_angle_deg: figures.tip_angle_deg,
                overhang_area_mm2: figures.overhang_area_mm2,
                layer_steps_mean_um: figures.layer_steps_mean_um,
                base_shrinkage_mm: figures.base_shrinkage_mm,
                support_volume_mm3: m.support.volume_mm3,
                support_error_mm3: m.support.error_mm3,
                support_resolved: m.support.resolved,
            }
        };
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings: in_force,
            directions: mapped.iter().map(row).collect(),
        }
    }

    /// The JSON, one line.
    ///
    /// # Errors
    /// As [`number::line`].
    pub fn json(&self) -> serde_json::Result<String> {
        number::line(self).map(|line| line + "\n")
    }

    /// The directions as CSV (RFC 4180 but for line ends of one character): a header whose names end
    /// in their units, then a row for each; the numbers are those of the JSON.
    ///
    /// # Errors
    /// As [`number::line`].
    pub fn csv(&self) -> serde_json::Result<String> {
        let mut text = COLUMNS.join(",") + "\n";
        for row in &self.directions {
            let tree = number::tree(row)?;
            let cells = COLUMNS.map(|column| match column {
                "down_x" => cell(&tree["down"][0]),
                "down_y" => cell(&tree["down"][1]),
                "down_z" => cell(&tree["down"][2]),
                key => cell(&tree[key]),
            });
            text += &cells.join(",");
            text.push('\n');
        }
        Ok(text)
    }
}

/// A value as it stands in a cell; what has no finite value is empty.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
