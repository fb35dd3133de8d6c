//! Settings in force: resolved, checked values, in the units their names carry.

pub mod overrides;
pub mod triple;
pub mod weights;

use crate::materials::Material;
use nalgebra::{Unit, Vector3};
use weights::Weights;

/// What the person wants most from this part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Aim {
    /// A print that succeeds: the default.
    #[default]
    Sound,
    /// Clean surfaces before all else.
    Clean,
    /// Little time and material.
    Quick,
    /// Strength before all else.
    Strong,
}

impl Aim {
    /// Every aim, the default first.
    pub const ALL: [Aim; 4] = [Aim::Sound, Aim::Clean, Aim::Quick, Aim::Strong];

    /// The word for it on the command line and in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sound => "sound",
            Self::Clean => "clean",
            Self::Quick => "quick",
            Self::Strong => "strong",
        }
    }

    /// The aim of a word, whatever the case. `None` for another word.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|a| a.word().eq_ignore_ascii_case(word.trim()))
    }
}

/// Every value that can change a figure or a rank.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Layer height, mm.
    pub layer_mm: f64,
    /// First layer height, mm. Half of it is the touch height.
    pub first_layer_mm: f64,
    /// Extrusion width, mm.
    pub line_mm: f64,
    /// Overhang limit from the vertical, degrees.
    pub limit_deg: f64,
    /// Longest bridge that needs no support, mm.
    pub bridge_limit_mm: f64,
    /// Build volume X, Y, Z, mm.
    pub bed_mm: [f64; 3],
    /// Material row.
    pub material: &'static Material,
    /// Direction of the load the part carries, part frame.
    pub load: Option<Unit<Vector3<f64>>>,
    /// Outward directions (part frame) of sides that must come out clean.
    pub show: Vec<Unit<Vector3<f64>>>,
    /// What matters most.
    pub aim: Aim,
    /// Weights of the penalty table in place of its own.
    pub weights: Weights,
    /// Solid wall thickness in lines, for the deposit estimate.
    pub walls: u32,
    /// Share of the interior that is filled, 0 to 1, for the deposit estimate.
    pub infill: f64,
    /// Deposition rate, mm³/s, for the time estimate.
    pub rate_mm3_s: f64,
    /// Time added per layer, s, for the time estimate.
    pub layer_change_s: f64,
    /// How far a printed length may be off before it counts, mm.
    pub tolerance_mm: f64,
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
        self.overhang_lean_rad().sin()
    }

    /// How far a layer may reach past the one below and carry itself, mm.
    pub fn self_carry_mm(&self) -> f64 {
        self.layer_mm * self.limit_deg.to_radians().tan()
    }
}
