//! Material rows: what the estimates need, each with its source and range.
//!
//! Handbook values differ by up to a factor of two between sources, so every row
//! states where its number comes from and the range that was seen.

use crate::tables::rows;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// Temperature of the room to which a print cools, °C (a house value).
pub const AMBIENT_C: f64 = 25.0;

/// Stress that a base holds back below which no corner lifts, N/mm² (a house value): stiff plastics
/// come to 7 and more, rubbery ones to a fraction of one.
const LIFTS_MPA: f64 = 2.0;
/// Contraction of a plastic that is printed in a warm, closed machine (a house value).
const WARPS: f64 = 0.005;

/// How much of its fan a bridge gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Fan {
    /// All of it.
    Full,
    /// About half.
    Half,
    /// Little or none.
    Little,
}

/// What dries a filament.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
pub struct Drying {
    /// Temperature.
    pub at_c: f64,
    /// Hours at it.
    pub hours: f64,
    /// Before every print, not only after it stood open.
    pub always: bool,
}

/// A row of the material table.
///
/// Its name is the trade's, in upper case. What is said of each number here is what the
/// JSON Schema says of it.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[schemars(rename = "MaterialRow", description = "A row of the material table.")]
pub struct Material {
    /// Trade name of the polymer.
    pub name: String,
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
    /// How much of its fan a bridge gets.
    pub fan: Fan,
    /// What dries the filament; null where it prints as it comes.
    #[serde(default)]
    pub drying: Option<Drying>,
    /// Where the numbers were read.
    pub source: String,
}

/// The table, the default first. `materials.toml` is part of the program, and a test reads it:
/// it cannot fail to be a table.
pub static MATERIALS: LazyLock<Vec<Material>> = LazyLock::new(|| {
    let whole = |mut row: toml::Table| {
        let stiffens_c = row["stiffens_c"].as_float().unwrap_or(AMBIENT_C);
        row.insert("ambient_c".into(), AMBIENT_C.into());
        row.insert("cooling_k".into(), (stiffens_c - AMBIENT_C).into());
        row.try_into()
            .expect("a row of materials.toml is a material")
    };
    let rows = rows(include_str!("materials.toml")).into_iter();
    rows.map(whole).collect()
});

impl Material {
    /// Finds a row by name, whatever the case. `None` for an unknown name.
    pub fn find(name: &str) -> Option<&'static Material> {
        MATERIALS
            .iter()
            .find(|m| m.name.eq_ignore_ascii_case(name.trim()))
    }

    /// The row of a name, whatever the case, or a refusal that lists the known ones.
    ///
    /// # Errors
    /// The end of a sentence such as "is not a known material (PLA, PETG, …)".
    pub fn named(name: &str) -> Result<&'static Material, String> {
        Self::find(name).ok_or_else(|| {
            let known: Vec<&str> = MATERIALS.iter().map(|m| m.name.as_str()).collect();
            format!("'{name}' is not a known material ({})", known.join(", "))
        })
    }

    /// Free linear contraction α·ΔT on cooling to a room of [`AMBIENT_C`], without unit.
    pub fn contraction(&self) -> f64 {
        self.alpha_e6_per_k * 1e-6 * self.cooling_k
    }

    /// Whether what it holds back as it cools, E·α·ΔT, lifts corners: that of a rubbery plastic
    /// is too soft to.
    pub fn lifts(&self) -> bool {
        self.e_mpa * self.contraction() >= LIFTS_MPA
    }

    /// Whether it is printed in a warm, closed machine.
    pub fn warps(&self) -> bool {
        self.lifts() && self.contraction() >= WARPS
    }

    /// How to set the fan for a bridge, as a clause: "full fan".
    pub fn bridge_fan(&self) -> String {
        match self.fan {
            Fan::Full => "full fan".into(),
            Fan::Half => "fan at about half".into(),
            Fan::Little => format!("little or no fan ({} warps)", self.name),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ΔL = α·L·ΔT, worked by hand: 100 mm of ABS from 105 to 25 °C at 90 × 10⁻⁶/K
    /// is 0.72 mm; PLA from 60 to 25 °C at 68 × 10⁻⁶/K is 0.238 mm.
    #[test]
    fn free_contraction_of_a_hundred_millimetres() {
        for (name, mm) in [("ABS", 0.72), ("pla", 0.238)] {
            let row = Material::find(name).expect("a row");
            assert!((100.0 * row.contraction() - mm).abs() < 1e-12, "{name}");
        }
    }

    /// What warps is printed with little or no fan, what does not with more; a rubbery plastic
    /// contracts and yet lifts nothing: 60 N/mm² · 150 × 10⁻⁶/K · 25 K is 0.2 N/mm².
    #[test]
    fn fan_and_warping_go_together_and_what_is_soft_lifts_nothing() {
        for m in MATERIALS.iter() {
            assert_eq!(m.warps(), m.fan == Fan::Little, "{}", m.name);
            assert_eq!(m.lifts(), m.name != "TPU", "{}", m.name);
        }
        let fan = |name| Material::find(name).expect("a row").bridge_fan();
        assert_eq!(fan("PLA"), "full fan");
        assert_eq!(fan("PETG"), "fan at about half");
        assert_eq!(fan("ABS"), "little or no fan (ABS warps)");
    }

    #[test]
    fn every_row_lies_in_its_own_range_and_says_its_source() {
        for m in MATERIALS.iter() {
            let within = |v: f64, [lo, hi]: [f64; 2]| lo <= v && v <= hi;
            assert!(
                within(m.alpha_e6_per_k, m.alpha_range_e6_per_k),
                "{}",
                m.name
            );
            assert!(within(m.stiffens_c, m.stiffens_range_c), "{}", m.name);
            assert!(m.cooling_k > 0.0 && m.source.len() > 20, "{}", m.name);
        }
    }
}
