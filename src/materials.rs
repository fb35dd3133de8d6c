//! Material rows: what the estimates need, each with its source and range.
//!
//! Handbook values differ by up to a factor of two between sources, so every row
//! states where its number comes from and the range that was seen.

use serde::Serialize;

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
    /// Cooling from where the plastic stiffens (glass transition, or the bed for
    /// the semi-crystalline ones) to a 25 °C room, in K.
    pub cooling_k: f64,
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
        cooling_k: 35.0,
        e_mpa: 3500.0,
        source: "density, modulus, glass transition 60 °C: makeitfrom.com (density 1.3 there, 1.24 usual for filament, from memory); expansion: handbook value from memory, 101 on one data sheet",
    },
    Material {
        name: "PETG",
        density_g_cm3: 1.27,
        alpha_e6_per_k: 60.0,
        alpha_range_e6_per_k: (60.0, 70.0),
        cooling_k: 55.0,
        e_mpa: 2100.0,
        source: "density 1.25–1.29, glass transition 75–85 °C: additive.tools; expansion and modulus: from memory",
    },
    Material {
        name: "ABS",
        density_g_cm3: 1.04,
        alpha_e6_per_k: 90.0,
        alpha_range_e6_per_k: (70.0, 150.0),
        cooling_k: 80.0,
        e_mpa: 2200.0,
        source: "density, expansion: Crawford, Plastics Engineering, table 1.8; range: omnexus; glass transition 105 °C and modulus: from memory",
    },
    Material {
        name: "ASA",
        density_g_cm3: 1.07,
        alpha_e6_per_k: 95.0,
        alpha_range_e6_per_k: (60.0, 110.0),
        cooling_k: 75.0,
        e_mpa: 2000.0,
        source: "range: omnexus; the rest from memory",
    },
    Material {
        name: "PA",
        density_g_cm3: 1.13,
        alpha_e6_per_k: 90.0,
        alpha_range_e6_per_k: (80.0, 110.0),
        cooling_k: 75.0,
        e_mpa: 1700.0,
        source: "density 1.12–1.15, expansion 80–95 (PA6): Netzsch, handbook table; cooling from a 100 °C bed and modulus: from memory",
    },
    Material {
        name: "PC",
        density_g_cm3: 1.20,
        alpha_e6_per_k: 68.0,
        alpha_range_e6_per_k: (65.0, 70.0),
        cooling_k: 124.0,
        e_mpa: 2300.0,
        source: "expansion 65–70, glass transition 149 °C: Crawford; density and modulus: from memory",
    },
    Material {
        name: "TPU",
        density_g_cm3: 1.21,
        alpha_e6_per_k: 150.0,
        alpha_range_e6_per_k: (130.0, 180.0),
        cooling_k: 25.0,
        e_mpa: 60.0,
        source: "density 1.10–1.25, expansion 130–180: Netzsch; cooling from a 50 °C bed and modulus (85–95 Shore A): from memory",
    },
];

impl Material {
    /// Finds a row by name, whatever the case. `None` for an unknown name.
    pub fn find(name: &str) -> Option<&'static Material> {
        MATERIALS
            .iter()
            .find(|m| m.name.eq_ignore_ascii_case(name.trim()))
    }

    /// Free linear contraction α·ΔT on cooling to a 25 °C room, without unit.
    pub fn contraction(&self) -> f64 {
        self.alpha_e6_per_k * 1e-6 * self.cooling_k
    }
}
