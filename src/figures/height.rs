//! Number of layers of a part of a given height.

use crate::settings::Settings;
use crate::tol::LAYER_COUNT_TOL;

/// Layers that a part is cut into at the most: 26 m at 0.2 mm. A section of each is kept,
/// for a few poses at a time, so this bounds the memory.
pub const MOST_LAYERS: u32 = 1 << 17;

/// Layers that a height takes: the first has its own thickness, the rest is
/// divided by the layer height and rounded up.
///
/// A remainder below [`LAYER_COUNT_TOL`] of a layer is rounding of the file and
/// no layer: 2.7 mm at 0.3 mm is 9 layers, not 10. 0 for a height that is not
/// above zero.
pub fn layer_count(height_mm: f64, settings: &Settings) -> u32 {
    if height_mm > 0.0 {
        let rest = (height_mm - settings.first_layer_mm) / settings.layer_mm;
        // The cast saturates, so no height overflows.
        ((rest - LAYER_COUNT_TOL).ceil().max(0.0) as u32).saturating_add(1)
    } else {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(height: f64, first: f64, layer: f64) -> u32 {
        layer_count(
            height,
            &Settings {
                layer_mm: layer,
                first_layer_mm: first,
                ..Settings::default()
            },
        )
    }

    #[test]
    fn height_in_layers_is_not_fooled_by_rounding() {
        // T9: a plain ceiling gives 10 and 8.
        assert_eq!(count(2.7, 0.3, 0.3), 9);
        assert_eq!(count(1.05, 0.15, 0.15), 7);
        // The same heights from a single-precision file.
        assert_eq!(count(f64::from(2.7_f32), 0.3, 0.3), 9);
        assert_eq!(count(f64::from(1.05_f32), 0.15, 0.15), 7);
        assert_eq!(count(2.71, 0.3, 0.3), 10);
    }

    #[test]
    fn height_counts_the_first_layer_by_its_own_thickness() {
        assert_eq!(count(10.3, 0.3, 0.2), 51);
        assert_eq!(count(10.0, 0.3, 0.2), 50, "0.3 and 48.5 layers");
        assert_eq!(count(0.25, 0.3, 0.2), 1);
        assert_eq!(count(0.3, 0.3, 0.2), 1);
        assert_eq!(count(0.31, 0.3, 0.2), 2);
    }

    #[test]
    fn height_of_nothing_has_no_layers() {
        assert_eq!(count(0.0, 0.2, 0.2), 0);
        assert_eq!(count(-1.0, 0.2, 0.2), 0);
        assert_eq!(count(f64::NAN, 0.2, 0.2), 0);
        assert_eq!(count(f64::INFINITY, 0.2, 0.2), u32::MAX);
    }
}
