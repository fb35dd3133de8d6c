//! Settings in force: resolved, checked values, in the units their names carry.

pub mod overrides;
pub mod table;
pub mod triple;
pub mod weights;

use crate::materials::Material;
use crate::words::named;
use nalgebra::{Unit, Vector3};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};
use std::str::FromStr;
use weights::Weights;

named! {
    /// What the person wants most from this part.
    #[derive(Default, Serialize)]
    Aim:
    /// A print that succeeds: the default.
    #[default]
    Sound "sound",
    /// Clean surfaces before all else.
    Clean "clean",
    /// Little time and material.
    Quick "quick",
    /// Strength before all else.
    Strong "strong",
}

impl FromStr for Aim {
    type Err = String;

    /// The aim of a word, whatever the case; the error is the end of a sentence.
    fn from_str(word: &str) -> Result<Self, String> {
        let known = || format!("is none of {}", Self::ALL.map(Self::name).join(", "));
        Self::called(word).ok_or_else(known)
    }
}

/// Every value that can change a figure or a rank, in the units that the names carry.
///
/// What is said of each here is what the JSON Schema says of it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Settings {
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
    pub material: &'static Material,
    /// Unit direction of the load in the part frame; null without one.
    #[serde(serialize_with = "load")]
    #[schemars(with = "Option<[f64; 3]>")]
    pub load: Option<Unit<Vector3<f64>>>,
    /// Outward unit directions of the cosmetic sides.
    #[serde(serialize_with = "show")]
    #[schemars(with = "Vec<[f64; 3]>")]
    pub show: Vec<Unit<Vector3<f64>>>,
    /// Unit directions of the axes of bores and bosses that must come out round.
    #[serde(serialize_with = "show")]
    #[schemars(with = "Vec<[f64; 3]>")]
    pub round: Vec<Unit<Vector3<f64>>>,
    /// Outward unit directions of the sides that must come out flat.
    #[serde(serialize_with = "show")]
    #[schemars(with = "Vec<[f64; 3]>")]
    pub flat: Vec<Unit<Vector3<f64>>>,
    /// sound, clean, quick or strong.
    #[schemars(with = "String")]
    pub aim: Aim,
    /// Weights of the penalty table in place of its own; the JSON has them in that table.
    #[serde(skip)]
    pub weights: Weights,
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
}

#[allow(clippy::ref_option, reason = "what serde asks for")]
fn load<S: Serializer>(load: &Option<Unit<Vector3<f64>>>, to: S) -> Result<S::Ok, S::Error> {
    load.map(|d| [d.x, d.y, d.z]).serialize(to)
}

fn show<S: Serializer>(show: &[Unit<Vector3<f64>>], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(show.iter().map(|d| [d.x, d.y, d.z]))
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            layer_mm: 0.2,
            first_layer_mm: 0.2,
            line_mm: 0.45,
            limit_deg: 45.0,
            bridge_limit_mm: 10.0,
            bed_mm: [220.0, 220.0, 250.0],
            material: &crate::materials::MATERIALS[0],
            load: None,
            show: Vec::new(),
            round: Vec::new(),
            flat: Vec::new(),
            aim: Aim::Sound,
            weights: Weights::default(),
            walls: 3,
            infill: 0.15,
            rate_mm3_s: 5.0,
            layer_change_s: 2.0,
            // Common practice for a fast machine; 0.05 on a well-tuned slow one.
            tolerance_mm: 0.25,
        }
    }
}

impl Settings {
    /// Touch height t, mm: what lies below rests on the bed.
    pub fn touch_mm(&self) -> f64 {
        self.first_layer_mm / 2.0
    }

    /// Lean beyond which a downward surface is an overhang, radians
    /// (limit plus the margin of [`crate::tol::OVERHANG_MARGIN_DEG`]).
    pub fn overhang_lean_rad(&self) -> f64 {
        (self.limit_deg + crate::tol::OVERHANG_MARGIN_DEG).to_radians()
    }

    /// A surface with unit normal n is too steep to print free where
    /// `-n_z > sin(limit + margin)`; this is that sine.
    pub fn overhang_sin(&self) -> f64 {
        libm::sin(self.overhang_lean_rad())
    }
}
