//! Material rows: what the estimates need, each with its source and range.
//!
//! Handbook values differ by up to a factor of two between sources, so every row
//! states where its number comes from and the range that was seen.

use serde::Serialize;

/// Temperature of the room to which a print cools, °C (a house value).
pub const AMBIENT_C: f64 = 25.0;

/// One material for extrusion printing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Material {
    /// Trade name of the polymer, upper case.
    pub name: &'static str,
    /// Density in g/cm³.
    pub density_g_cm3: f64,
    /// Coefficient of linear thermal expansion in 10⁻⁶/K.
    pub alpha_e6_per_k: f64,
    /// Lowest and highest coefficient seen in the sources, 10⁻⁶/K.
    pub alpha_range_e6_per_k: (f64, f64),
    /// Temperature at which the plastic stiffens, °C: the glass transition, or the
    /// bed for those that are soft above it anyway (PA, TPU).
    pub stiffens_c: f64,
    /// Lowest and highest such temperature seen in the sources, °C.
    pub stiffens_range_c: (f64, f64),
    /// Young's modulus in `MPa`, N/mm², as moulded.
    pub e_mpa: f64,
    /// Where the numbers were read.
    pub source: &'static str,
}

/// The table. Sources: (a) makeitfrom.com material page for PLA; (b) Crawford,
/// *Plastics Engineering*, table 1.8; (c) manufacturer data sheets collected by
/// omnexus and Netzsch; (d) from memory of plastics handbooks, usual values.
pub const MATERIALS: &[Material] = &[
    Material {
        name: "PLA",
        density_g_cm3: 1.24,
        alpha_e6_per_k: 68.0,
        alpha_range_e6_per_k: (68.0, 101.0),
        stiffens_c: 60.0,
        stiffens_range_c: (53.0, 65.0),
        e_mpa: 3500.0,
        source: "density, modulus, glass transition 60 °C: makeitfrom.com (53–65 elsewhere; density 1.3 there, 1.24 usual for filament, from memory); expansion: handbook value from memory, 101 on one data sheet",
    },
    Material {
        name: "PETG",
        density_g_cm3: 1.27,
        alpha_e6_per_k: 60.0,
        alpha_range_e6_per_k: (60.0, 70.0),
        stiffens_c: 80.0,
        stiffens_range_c: (75.0, 85.0),
        e_mpa: 2100.0,
        source: "density 1.25–1.29, glass transition 75–85 °C: additive.tools; expansion and modulus: from memory",
    },
    Material {
        name: "ABS",
        density_g_cm3: 1.04,
        alpha_e6_per_k: 90.0,
        alpha_range_e6_per_k: (70.0, 150.0),
        stiffens_c: 105.0,
        stiffens_range_c: (105.0, 115.0),
        e_mpa: 2200.0,
        source: "density, expansion: Crawford, Plastics Engineering, table 1.8; range: omnexus; glass transition 115 °C there, 105 °C usual, and modulus: from memory",
    },
    Material {
        name: "ASA",
        density_g_cm3: 1.07,
        alpha_e6_per_k: 95.0,
        alpha_range_e6_per_k: (60.0, 110.0),
        stiffens_c: 100.0,
        stiffens_range_c: (100.0, 105.0),
        e_mpa: 2000.0,
        source: "range of the expansion: omnexus; the rest, glass transition 100 °C too, from memory",
    },
    Material {
        name: "PA",
        density_g_cm3: 1.13,
        alpha_e6_per_k: 90.0,
        alpha_range_e6_per_k: (80.0, 110.0),
        stiffens_c: 100.0,
        stiffens_range_c: (80.0, 110.0),
        e_mpa: 1700.0,
        source: "density 1.12–1.15, expansion 80–95 (PA6): Netzsch, handbook table; a 100 °C bed, above the glass transition of 45–80 °C, and modulus: from memory",
    },
    Material {
        name: "PC",
        density_g_cm3: 1.20,
        alpha_e6_per_k: 68.0,
        alpha_range_e6_per_k: (65.0, 70.0),
        stiffens_c: 149.0,
        stiffens_range_c: (145.0, 150.0),
        e_mpa: 2300.0,
        source: "expansion 65–70, glass transition 149 °C: Crawford; density and modulus: from memory",
    },
    Material {
        name: "TPU",
        density_g_cm3: 1.21,
        alpha_e6_per_k: 150.0,
        alpha_range_e6_per_k: (130.0, 180.0),
        stiffens_c: 50.0,
        stiffens_range_c: (40.0, 60.0),
        e_mpa: 60.0,
        source: "density 1.10–1.25, expansion 130–180: Netzsch; a 50 °C bed and modulus (85–95 Shore A): from memory",
    },
];

impl Material {
    /// Finds a row by name, whatever the case. `None` for an unknown name.
    pub fn find(name: &str) -> Option<&'static Material> {
        MATERIALS
            .iter()
            .find(|m| m.name.eq_ignore_ascii_case(name.trim()))
    }

    /// Cooling from where the plastic stiffens to a room of [`AMBIENT_C`], K.
    pub fn cooling_k(&self) -> f64 {
        self.stiffens_c - AMBIENT_C
    }

    /// Free linear contraction α·ΔT on cooling to a room of [`AMBIENT_C`], without unit.
    pub fn contraction(&self) -> f64 {
        self.alpha_e6_per_k * 1e-6 * self.cooling_k()
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
            let within = |v: f64, (lo, hi): (f64, f64)| lo <= v && v <= hi;
            assert!(
                within(m.alpha_e6_per_k, m.alpha_range_e6_per_k),
                "{}",
                m.name
            );
            assert!(within(m.stiffens_c, m.stiffens_range_c), "{}", m.name);
            assert!(m.cooling_k() > 0.0 && m.source.len() > 20, "{}", m.name);
        }
    }
}
