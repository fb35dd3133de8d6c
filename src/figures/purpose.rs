//! Bores that must come out round, and sides that must come out flat.
//!
//! A hole is as round as the machine draws circles where its axis stands upright; lying, its
//! roof sags and its wall has layer steps. A side is as flat as the bed where it lies on it
//! (both common practice).

use nalgebra::{Unit, Vector3};

/// An axis this near to upright stands upright, degrees: a bore as deep as it is wide is off
/// by less than a tenth of its width (house value).
pub const UPRIGHT_DEG: f64 = 5.0;
/// A side this near to level lies on the bed, degrees.
pub const LEVEL_DEG: f64 = 1.0;

/// Whether an axis stands upright in the pose with this direction down; its sense does not matter.
pub fn is_upright(down: &Unit<Vector3<f64>>, axis: &Unit<Vector3<f64>>) -> bool {
    within(down, axis, UPRIGHT_DEG) || within(down, &-*axis, UPRIGHT_DEG)
}

/// Whether the side with this outward direction lies on the bed.
pub fn is_on_bed(down: &Unit<Vector3<f64>>, side: &Unit<Vector3<f64>>) -> bool {
    within(down, side, LEVEL_DEG)
}

/// How many of some axes do not stand upright; none where there are none. All directions in
/// one frame, usually the part's.
pub fn round_missed(down: &Unit<Vector3<f64>>, axes: &[Unit<Vector3<f64>>]) -> Option<u32> {
    missed(axes, |axis| is_upright(down, axis))
}

/// How many of some sides do not lie on the bed; none where there are none.
pub fn flat_missed(down: &Unit<Vector3<f64>>, sides: &[Unit<Vector3<f64>>]) -> Option<u32> {
    missed(sides, |side| is_on_bed(down, side))
}

fn missed(wanted: &[Unit<Vector3<f64>>], met: impl Fn(&Unit<Vector3<f64>>) -> bool) -> Option<u32> {
    let count = wanted.iter().filter(|d| !met(d)).count();
    (!wanted.is_empty()).then_some(u32::try_from(count).unwrap_or(u32::MAX))
}

fn within(a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>, most_deg: f64) -> bool {
    // The chord keeps its digits near 0, where the cosine has none.
    (a.into_inner() - b.into_inner()).norm() <= 2.0 * libm::sin(most_deg.to_radians() / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A direction in the X–Z plane, so many degrees off −Z.
    fn off(deg: f64) -> Unit<Vector3<f64>> {
        let (s, c) = libm::sincos(deg.to_radians());
        Unit::new_normalize(Vector3::new(s, 0.0, -c))
    }

    #[test]
    fn an_axis_counts_both_ways_and_a_side_one_way() {
        let (z, x) = (Vector3::z_axis(), Vector3::x_axis());
        assert_eq!(round_missed(&off(4.9), &[z, -z]), Some(0));
        assert_eq!(round_missed(&off(5.1), &[z, x]), Some(2));
        assert_eq!(flat_missed(&off(0.9), &[-z, z]), Some(1));
        assert_eq!(flat_missed(&off(1.1), &[-z]), Some(1));
        assert_eq!(flat_missed(&off(0.0), &[]), None);
    }
}
