//! Which settings what is measured depends on, to tell whether it has to be measured anew.

use crate::settings::Settings;

/// Settings by their bits.
pub type Bits = [u64; 7];

/// The values that each kind of measurement depends on, by their bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Depends {
    /// Those of [`Quick`](super::quick::Quick).
    pub quick: Bits,
    /// Those of [`Cuts`](super::full::Cuts).
    pub cuts: Bits,
    /// Those of [`Hanging`](super::full::Hanging).
    pub hanging: Bits,
}

impl Depends {
    /// Looks the values up.
    pub fn on(settings: &Settings) -> Self {
        // Taken apart in full, so that a new setting has to be thought of.
        let Settings {
            layer_mm,
            first_layer_mm,
            limit_deg,
            bridge_limit_mm,
            bed_mm: [x, y, z],
            line_mm,
            walls,
            infill,
            rate_mm3_s,
            layer_change_s,
            material: _,
            load: _,
            show: _,
            round: _,
            flat: _,
            aim: _,
            weights: _,
            tolerance_mm: _,
        } = *settings;
        let (layer, first, line) = (layer_mm, first_layer_mm, line_mm);
        let (walls, [fill, rate, change]) =
            (f64::from(walls), [infill, rate_mm3_s, layer_change_s]);
        let bits = |list: [f64; 7]| list.map(f64::to_bits);
        Self {
            quick: bits([layer, first, limit_deg, bridge_limit_mm, x, y, z]),
            cuts: bits([layer, first, line, walls, fill, rate, change]),
            hanging: bits([layer, first, line, limit_deg, bridge_limit_mm, 0.0, 0.0]),
        }
    }
}
