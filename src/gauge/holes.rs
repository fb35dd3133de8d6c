//! Upright holes of a pose: what a screw, a pin or an insert goes into.

use crate::features::{Bore, Features};
use crate::mesh::Part;
use crate::pose::Pose;
use nalgebra::Point3;

/// A hole goes all the way round, radians (345°): what is open at its side is a clip or a rim.
pub(crate) const WHOLE_RAD: f64 = 6.02;
/// Smallest and largest hole that is drilled or reamed to size, mm (house values).
const SIZES_MM: (f64, f64) = (2.0, 40.0);
/// … and the largest that is a seat: at its upper or lower end a smaller hole goes on from it, at
/// least so wide for its own width (house values).
const SEAT_MM: f64 = 100.0;
const SHOULDER_SHARE: f64 = 0.5;
/// A hole less deep than this, or than this share of its diameter, is a recess (house values).
const LEAST_DEEP_MM: f64 = 1.0;
const LEAST_DEEP_SHARE: f64 = 0.1;
/// An axis this near to the vertical is upright, cosine (2°).
pub(crate) const UPRIGHT: f64 = 0.999_4;

/// An axis leaning less than this above the bed lies, sine of 30°.
const LYING: f64 = 0.5;
/// A hole less deep than this share of its diameter is the seat of a screw's head (house value).
const HEAD_DEEP_SHARE: f64 = 0.6;

/// Larger holes are not drilled by hand, mm (a common chuck takes 13; common practice).
pub const MOST_DRILLED_MM: f64 = 13.0;

/// A hole whose facets leave less than this share of its diameter clear is drawn coarsely: one of 10 sides has
/// 0.95.
const COARSE: f64 = 0.96;

/// Heights that agree to this are the same, mm.
const SAME_MM: f64 = 0.05;
/// Holes of which it is found out whether they are closed: so many, up to this diameter, mm.
const MOST_CLOSED: usize = 16;
const CLOSED_MM: f64 = 7.0;

/// An upright round hole. Build frame, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UprightHole {
    /// Diameter.
    pub diameter_mm: f64,
    /// Height of its lower end above the bed.
    pub from_mm: f64,
    /// Height of its upper end.
    pub to_mm: f64,
    /// A level face closes it at one end; asked of a few small holes only.
    pub blind: bool,
    /// It is the seat of a screw's head, or as shallow.
    pub seat: bool,
}

impl UprightHole {
    /// Its length.
    pub fn deep_mm(&self) -> f64 {
        self.to_mm - self.from_mm
    }
}

/// What goes into a hole, mm: its diameter, or what is clear between the few facets that it is drawn with.
fn width_mm(part: &Part, b: &Bore) -> f64 {
    let (diameter_mm, clear_mm) = (2.0 * b.radius_mm, b.clear_mm(part));
    if clear_mm < COARSE * diameter_mm {
        clear_mm
    } else {
        diameter_mm
    }
}

/// Whole round holes of a size that something goes into, upright in `pose`; none on a scan.
pub fn upright_holes(part: &Part, features: &Features, pose: &Pose) -> Vec<UprightHole> {
    if features.is_scan() {
        return Vec::new();
    }
    let mut holes: Vec<UprightHole> = Vec::new();
    let mut asked = 0;
    for b in &features.bores {
        let diameter_mm = width_mm(part, b);
        let deep = b.length_mm >= LEAST_DEEP_MM.max(LEAST_DEEP_SHARE * diameter_mm);
        let whole = b.hole && b.turn_rad >= WHOLE_RAD;
        let sized = (SIZES_MM.0..=SIZES_MM.1).contains(&diameter_mm)
            || diameter_mm <= SEAT_MM && is_seat(features, b);
        let upright = (pose.rotation() * b.axis).z.abs() >= UPRIGHT;
        let centre = pose.build_from_part * b.centre;
        if !(deep && whole && sized && upright) {
            continue;
        }
        let (from_mm, to_mm) = (centre.z - b.length_mm / 2.0, centre.z + b.length_mm / 2.0);
        let sure = diameter_mm <= CLOSED_MM && asked < MOST_CLOSED;
        asked += usize::from(sure);
        let blind = sure && is_closed(features, pose, &centre, [from_mm, to_mm], b.radius_mm);
        holes.push(UprightHole {
            diameter_mm,
            from_mm,
            to_mm,
            blind,
            seat: is_head_deep(b) && (blind || is_seat(features, b)),
        });
    }
    holes
}

/// Diameters of the round holes that lie and that a drill goes through, mm: no heads' seats; none on a scan.
pub fn lying_holes(part: &Part, features: &Features, pose: &Pose) -> Vec<f64> {
    if features.is_scan() {
        return Vec::new();
    }
    let lies = |b: &&Bore| {
        let diameter_mm = width_mm(part, b);
        let is_head = is_head_deep(b) && is_seat(features, b);
        let deep = b.length_mm >= LEAST_DEEP_MM && !is_head;
        let drilled = (SIZES_MM.0..=MOST_DRILLED_MM).contains(&diameter_mm);
        b.hole
            && deep
            && drilled
            && b.turn_rad >= WHOLE_RAD
            && (pose.rotation() * b.axis).z.abs() <= LYING
    };
    let lying = features.bores.iter().filter(lies);
    lying.map(|b| width_mm(part, b)).collect()
}

/// Whether a hole of a drill's size is no deeper than the seat of a screw's head.
pub fn is_head_deep(b: &Bore) -> bool {
    let diameter_mm = 2.0 * b.radius_mm;
    diameter_mm <= MOST_DRILLED_MM && b.length_mm < HEAD_DEEP_SHARE * diameter_mm
}

/// Whether a smaller hole goes on from one: what is pressed into it, a bearing say, sits on the
/// shoulder.
fn is_seat(features: &Features, seat: &Bore) -> bool {
    features.bores.iter().any(|b| {
        let off = b.centre - seat.centre;
        let along = off.dot(&seat.axis);
        let share = b.radius_mm / seat.radius_mm;
        let ends = f64::midpoint(b.length_mm, seat.length_mm);
        b.hole
            && b.axis.dot(&seat.axis).abs() >= UPRIGHT
            && (SHOULDER_SHARE..1.0 - SAME_MM).contains(&share)
            && (off - seat.axis.into_inner() * along).norm() <= SAME_MM
            && (along.abs() - ends).abs() <= SAME_MM
    })
}

/// Whether a level face in the middle of a hole closes either end. O(n).
fn is_closed(
    features: &Features,
    pose: &Pose,
    centre: &Point3<f64>,
    ends_mm: [f64; 2],
    radius_mm: f64,
) -> bool {
    let room = std::f64::consts::PI * radius_mm * radius_mm;
    features.regions.list.iter().any(|face| {
        let at = pose.build_from_part * face.centre;
        let beside = (at.xy() - centre.xy()).norm() < 0.1 * radius_mm;
        let end = ends_mm.iter().any(|z| (at.z - z).abs() < SAME_MM);
        let level = (pose.rotation() * face.normal).z.abs() >= UPRIGHT;
        // That of the hole alone, not a plate all round it.
        beside && end && level && (face.area_mm2 / room - 1.0).abs() < 0.1
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::{Mesh, Part};
    use nalgebra::Vector3;

    /// A tube about Z.
    fn tube(inner: f64, outer: f64, height: f64) -> Part {
        round(&[(inner, 0.0), (outer, 0.0), (outer, height), (inner, height)])
    }

    /// Rings of 60 about Z from (radius, height), each joined to the next and the last to the first.
    fn round(rings: &[(f64, f64)]) -> Part {
        let (n, mut mesh) = (60, Mesh::default());
        let count = rings.len() as u32;
        for &(r, z) in rings {
            for k in 0..n {
                let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
                mesh.vertices.push(Point3::new(r * c, r * s, z));
            }
        }
        for ring in 0..count {
            for k in 0..n {
                let at = |ring: u32, k: u32| (ring % count) * n + k % n;
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
        upright_holes(part, &Features::new(part), &pose)
    }

    /// A cup: the floor of the hole closes it (a pin of a thousandth keeps the mesh a ring).
    #[test]
    fn a_floor_makes_a_hole_blind() {
        let [hole] = of(&tube(2.0, 6.0, 8.0), -Vector3::z())[..] else {
            panic!("one hole");
        };
        assert!(!hole.blind);
        let cup = [
            (0.001, 0.0),
            (6.0, 0.0),
            (6.0, 8.0),
            (2.0, 8.0),
            (2.0, 2.0),
            (0.001, 2.0),
        ];
        let [hole] = of(&round(&cup), -Vector3::z())[..] else {
            panic!("one hole");
        };
        assert!(
            hole.blind && (hole.deep_mm() - 6.0).abs() < 1e-9,
            "{hole:?}"
        );
    }

    #[test]
    fn a_hole_has_its_size_and_a_rim_or_an_outside_is_none() {
        let [hole] = of(&tube(2.5, 6.0, 8.0), -Vector3::z())[..] else {
            panic!("one hole");
        };
        assert!((hole.diameter_mm - 5.0).abs() < 0.01, "{hole:?}");
        assert!(hole.from_mm.abs() < 1e-9 && (hole.deep_mm() - 8.0).abs() < 1e-9);
        // A seat Ø 47 of a bearing, 14 deep, with a shoulder Ø 42 above it.
        let seat = [
            (23.5, 0.0),
            (30.0, 0.0),
            (30.0, 20.0),
            (21.0, 20.0),
            (21.0, 14.0),
            (23.5, 14.0),
        ];
        let [seat] = of(&round(&seat), -Vector3::z())[..] else {
            panic!("one seat");
        };
        assert!((seat.diameter_mm - 47.0).abs() < 0.1, "{seat:?}");
        assert!(seat.from_mm.abs() < 1e-9 && (seat.deep_mm() - 14.0).abs() < 1e-9);
        // Ø 80 of a lid, a shallow recess, and the hole lying.
        assert_eq!(of(&tube(40.0, 42.0, 12.0), -Vector3::z()), []);
        assert_eq!(of(&tube(10.0, 14.0, 0.8), -Vector3::z()), []);
        assert_eq!(of(&tube(2.5, 6.0, 8.0), -Vector3::x()), []);
    }
}
