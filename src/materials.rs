//! Material rows: what the estimates need, each with its source and range.
//!
//! Handbook values differ by up to a factor of two between sources, so every row
//! states where its number comes from and the range that was seen.

use schemars::JsonSchema;
use serde::Serialize;

/// Temperature of the room to which a print cools, °C (a house value).
pub const AMBIENT_C: f64 = 25.0;

/// A row of the material table.
///
/// Its name is the trade's, in upper case. What is said of each number here is what the
/// JSON Schema says of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "MaterialRow", description = "A row of the material table.")]
pub struct Material {
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

/// The table: density in g/cm³; coefficient of expansion in 10⁻⁶/K with the lowest and
/// highest seen; temperature at which the plastic stiffens in °C (the bed for those that are
/// soft above it anyway: PA, TPU) with the lowest and highest seen; Young's modulus in N/mm²,
/// as moulded.
///
/// Sources: (a) makeitfrom.com material page for PLA; (b) Crawford,
/// *Plastics Engineering*, table 1.8; (c) manufacturer data sheets collected by
/// omnexus and Netzsch; (d) from memory of plastics handbooks, usual values.
pub const MATERIALS: &[Material] = &[
    row(
        "PLA",
        [1.24, 68.0, 68.0, 101.0, 60.0, 53.0, 65.0, 3500.0],
        "density, modulus, glass transition 60 °C: makeitfrom.com (53–65 elsewhere; density 1.3 there, 1.24 usual for filament, from memory); expansion: handbook value from memory, 101 on one data sheet",
    ),
    row(
        "PETG",
        [1.27, 60.0, 60.0, 70.0, 80.0, 75.0, 85.0, 2100.0],
        "density 1.25–1.29, glass transition 75–85 °C: additive.tools; expansion and modulus: from memory",
    ),
    row(
        "ABS",
        [1.04, 90.0, 70.0, 150.0, 105.0, 105.0, 115.0, 2200.0],
        "density, expansion: Crawford, Plastics Engineering, table 1.8; range: omnexus; glass transition 115 °C there, 105 °C usual, and modulus: from memory",
    ),
    row(
        "ASA",
        [1.07, 95.0, 60.0, 110.0, 100.0, 100.0, 105.0, 2000.0],
        "range of the expansion: omnexus; the rest, glass transition 100 °C too, from memory",
    ),
    row(
        "PA",
        [1.13, 90.0, 80.0, 110.0, 100.0, 80.0, 110.0, 1700.0],
        "density 1.12–1.15, expansion 80–95 (PA6): Netzsch, handbook table; a 100 °C bed, above the glass transition of 45–80 °C, and modulus: from memory",
    ),
    row(
        "PC",
        [1.20, 68.0, 65.0, 70.0, 149.0, 145.0, 150.0, 2300.0],
        "expansion 65–70, glass transition 149 °C: Crawford; density and modulus: from memory",
    ),
    row(
        "TPU",
        [1.21, 150.0, 130.0, 180.0, 50.0, 40.0, 60.0, 60.0],
        "density 1.10–1.25, expansion 130–180: Netzsch; a 50 °C bed and modulus (85–95 Shore A): from memory",
    ),
];

/// A row by its columns.
const fn row(name: &'static str, columns: [f64; 8], source: &'static str) -> Material {
    let [
        density_g_cm3,
        alpha_e6_per_k,
        alpha_lo,
        alpha_hi,
        stiffens_c,
        stiffens_lo,
        stiffens_hi,
        e_mpa,
    ] = columns;
    Material {
        name,
        density_g_cm3,
        alpha_e6_per_k,
        alpha_range_e6_per_k: [alpha_lo, alpha_hi],
        stiffens_c,
        stiffens_range_c: [stiffens_lo, stiffens_hi],
        ambient_c: AMBIENT_C,
        cooling_k: stiffens_c - AMBIENT_C,
        e_mpa,
        source,
    }
}

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
            let known: Vec<&str> = MATERIALS.iter().map(|m| m.name).collect();
            format!("'{name}' is not a known material ({})", known.join(", "))
        })
    }

    /// Free linear contraction α·ΔT on cooling to a room of [`AMBIENT_C`], without unit.
    pub fn contraction(&self) -> f64 {
        self.alpha_e6_per_k * 1e-6 * self.cooling_k
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

    #[test]
    fn every_row_lies_in_its_own_range_and_says_its_source() {
        for m in MATERIALS {
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
