//! How much of a pull acts across the layers, where the print is weakest.

use nalgebra::{Unit, Vector3};

/// Share of a pull along `load` that acts normal to the layers: cos² of the angle
/// between load and build direction, 0 (along the layers) to 1 (straight across).
///
/// Both directions in one frame, usually the part's; the sense of either does not
/// matter. Source: normal stress on an inclined plane, σ·cos²θ (Gere, *Mechanics
/// of Materials*, from memory).
pub fn load_across_layers(down: &Unit<Vector3<f64>>, load: &Unit<Vector3<f64>>) -> f64 {
    down.dot(load).powi(2).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn strength_of_an_inclined_layer_follows_the_square_of_the_cosine() {
        // 30° gives 0.75 (Gere, from memory).
        let down = -Vector3::z_axis();
        for (degrees, share) in [
            (0.0_f64, 1.0),
            (30.0, 0.75),
            (45.0, 0.5),
            (60.0, 0.25),
            (90.0, 0.0),
        ] {
            let (s, c) = libm::sincos(degrees.to_radians());
            for load in [Vector3::new(s, 0.0, c), Vector3::new(0.0, -s, -c)] {
                let load = Unit::new_normalize(load);
                assert_relative_eq!(load_across_layers(&down, &load), share, epsilon = 1e-15);
            }
        }
    }
}
