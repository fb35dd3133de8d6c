//! Upright holes of a pose: what a screw, a pin or an insert goes into.

use crate::features::Features;
use crate::pose::Pose;

/// A hole goes all the way round, radians (345°): what is open at its side is a clip or a rim.
const WHOLE_RAD: f64 = 6.02;
/// Smallest and largest hole that is drilled or reamed to size, mm (house values).
const SIZES_MM: (f64, f64) = (2.0, 30.0);
/// A hole less deep than this, or than this share of its diameter, is a recess (house values).
const LEAST_DEEP_MM: f64 = 1.0;
const LEAST_DEEP_SHARE: f64 = 0.1;
/// An axis this near to the vertical is upright, cosine (2°).
const UPRIGHT: f64 = 0.999_4;

/// An upright round hole. Build frame, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UprightHole {
    /// Diameter.
    pub diameter_mm: f64,
    /// Height of its lower end above the bed.
    pub from_mm: f64,
    /// Height of its upper end.
    pub to_mm: f64,
}

impl UprightHole {
    /// Its length.
    pub fn deep_mm(&self) -> f64 {
        self.to_mm - self.from_mm
    }
}

/// Whole round holes of a size that something goes into, upright in `pose`; none on a scan.
pub fn upright_holes(features: &Features, pose: &Pose) -> Vec<UprightHole> {
    if features.is_scan() {
        return Vec::new();
    }
    let holes = features.bores.iter().filter_map(|b| {
        let diameter_mm = 2.0 * b.radius_mm;
        let deep = b.length_mm >= LEAST_DEEP_MM.max(LEAST_DEEP_SHARE * diameter_mm);
        let whole = b.hole && b.turn_rad >= WHOLE_RAD;
        let sized = (SIZES_MM.0..=SIZES_MM.1).contains(&diameter_mm);
        let upright = (pose.rotation() * b.axis).z.abs() >= UPRIGHT;
        let middle = (pose.build_from_part * b.centre).z;
        (deep && whole && sized && upright).then_some(UprightHole {
            diameter_mm,
            from_mm: middle - b.length_mm / 2.0,
            to_mm: middle + b.length_mm / 2.0,
        })
    });
    holes.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::{Mesh, Part};
    use nalgebra::{Point3, Vector3};

    /// A tube about Z.
    fn tube(inner: f64, outer: f64, height: f64) -> Part {
        let (n, mut mesh) = (60, Mesh::default());
        for (r, z) in [(inner, 0.0), (outer, 0.0), (outer, height), (inner, height)] {
            for k in 0..n {
                let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
                mesh.vertices.push(Point3::new(r * c, r * s, z));
            }
        }
        for ring in 0..4 {
            for k in 0..n {
                let at = |ring: u32, k: u32| (ring % 4) * n + k % n;
                let [a, b] = [at(ring, k), at(ring, k + 1)];
                let [c, d] = [at(ring + 1, k + 1), at(ring + 1, k)];
                mesh.triangles.extend([[a, c, b], [a, d, c]]);
            }
        }
        Part::new(mesh).expect("a solid").0
    }

    fn of(part: &Part, down: Vector3<f64>) -> Vec<UprightHole> {
        let down = nalgebra::Unit::new_normalize(down);
        let pose = Pose::new(&down, &part.mesh.vertices);
        upright_holes(&Features::new(part), &pose)
    }

    #[test]
    fn a_hole_has_its_size_and_a_rim_or_an_outside_is_none() {
        let [hole] = of(&tube(2.5, 6.0, 8.0), -Vector3::z())[..] else {
            panic!("one hole");
        };
        assert!((hole.diameter_mm - 5.0).abs() < 0.01, "{hole:?}");
        assert!(hole.from_mm.abs() < 1e-9 && (hole.deep_mm() - 8.0).abs() < 1e-9);
        // Ø 80 of a lid, a shallow recess, and the hole lying.
        assert_eq!(of(&tube(40.0, 42.0, 12.0), -Vector3::z()), []);
        assert_eq!(of(&tube(10.0, 14.0, 0.8), -Vector3::z()), []);
        assert_eq!(of(&tube(2.5, 6.0, 8.0), -Vector3::x()), []);
    }
}
