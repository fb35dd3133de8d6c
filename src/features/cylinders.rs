//! Bores and bosses whose facets are no strips side by side: those with slanted mouths, and those of
//! meshes that were triangulated anew.
//!
//! The normals of a cylinder are square to its axis: that is the direction in which the normals of a
//! patch of soft edges have the least moment. Seen along it, all corners lie on one circle,
//! which is fitted by least squares (I. Kåsa, *A circle fitting procedure and its error analysis*, 1976).
//! What runs on softly into something else is none of these.

use super::bores::{AGREE, Bore, LEAST_TURN_DEG, MOST_TURN_DEG};
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Matrix3, Point3, SymmetricEigen, Unit, Vector2, Vector3};

/// Neighbours of a patch turn by less than this, degrees: a mouth at a slant is no soft edge.
const SOFT_DEG: f64 = 30.0;
/// Fewer facets are none.
const LEAST_FACETS: usize = 16;
/// Parts of more facets are not looked at: scans.
const MOST_FACETS: usize = 300_000;
/// Mean of the normals' share along the axis, by area.
const ALONG: f64 = 0.03;

/// Cylinders among the facets that are not `taken`. O(n log n).
pub(super) fn cylinders(part: &Part, taken: &[Bore]) -> Vec<Bore> {
    let count = part.mesh.triangles.len();
    if count > MOST_FACETS {
        return Vec::new();
    }
    let mut free = vec![true; count];
    for bore in taken {
        for &t in &bore.triangles {
            free[t as usize] = false;
        }
    }
    let soft = libm::cos(SOFT_DEG.to_radians());
    let mut out = Vec::new();
    for seed in 0..count {
        let mut patch: Vec<u32> = Vec::new();
        let mut next = vec![seed];
        while let Some(t) = next.pop() {
            if !std::mem::take(&mut free[t]) {
                continue;
            }
            patch.push(t as u32);
            for &across in &part.opposite[3 * t..3 * t + 3] {
                let other = across as usize / 3;
                if across != NO_NEIGHBOUR
                    && free[other]
                    && part.normals[t].dot(&part.normals[other]) >= soft
                {
                    next.push(other);
                }
            }
        }
        if patch.len() >= LEAST_FACETS {
            patch.sort_unstable();
            out.extend(cylinder(part, patch));
        }
    }
    out
}

/// A patch as a bore or boss, if it is one.
fn cylinder(part: &Part, triangles: Vec<u32>) -> Option<Bore> {
    let facets = || triangles.iter().map(|&t| t as usize);
    let area_mm2: f64 = facets().map(|t| part.areas[t]).sum();
    let moment: Matrix3<f64> = facets()
        .map(|t| part.normals[t] * part.normals[t].transpose() * part.areas[t])
        .sum();
    let eigen = SymmetricEigen::new(moment);
    let least = eigen.eigenvalues.imin();
    let mut axis = Unit::try_new(eigen.eigenvectors.column(least).into_owned(), 1e-9)?;
    let off: f64 = facets()
        .map(|t| part.normals[t].dot(&axis).abs() * part.areas[t])
        .sum();
    if off > ALONG * area_mm2 {
        return None;
    }
    let leading = axis.iter().copied().find(|c| c.abs() > 1e-9)?;
    if leading < 0.0 {
        axis = -axis;
    }
    let aside = Unit::new_normalize(axis.cross(&Vector3::ith(axis.iamin(), 1.0)));
    let across = axis.cross(&aside);
    let corners: Vec<Point3<f64>> = facets().flat_map(|t| part.mesh.corners(t)).collect();
    let plane = |p: &Point3<f64>| Vector2::new(p.coords.dot(&aside), p.coords.dot(&across));
    let n = corners.len() as f64;
    let mean = corners.iter().map(plane).sum::<Vector2<f64>>() / n;
    // |q|² = 2 c·q + k of all corners about their mean, whose first sums vanish.
    let (mut square, mut right) = (nalgebra::Matrix2::zeros(), Vector2::zeros());
    let mut of_radius = 0.0;
    for p in &corners {
        let q = plane(p) - mean;
        square += 2.0 * q * q.transpose();
        right += q * q.norm_squared();
        of_radius += q.norm_squared() / n;
    }
    let middle = square.try_inverse()? * right;
    let radius_mm = (of_radius + middle.norm_squared()).sqrt();
    let about = |p: &Point3<f64>| plane(p) - mean - middle;
    let is_on = |p: &Point3<f64>| (about(p).norm() - radius_mm).abs() <= AGREE * radius_mm;
    if !(radius_mm > 0.0 && corners.iter().all(is_on)) {
        return None;
    }
    let turn_rad = turn(corners.iter().map(about));
    if turn_rad < LEAST_TURN_DEG.to_radians() {
        return None;
    }
    let outwards: f64 = facets()
        .map(|t| {
            let [a, b, c] = part.mesh.corners(t);
            let out = about(&nalgebra::center(&a, &nalgebra::center(&b, &c)));
            let normal = part.normals[t];
            out.dot(&Vector2::new(normal.dot(&aside), normal.dot(&across))) * part.areas[t]
        })
        .sum();
    let along = corners.iter().map(|p| p.coords.dot(&axis));
    let (lo, hi) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), h| {
        (lo.min(h), hi.max(h))
    });
    let centre = mean + middle;
    let centre = *aside * centre.x + across * centre.y + *axis * f64::midpoint(lo, hi);
    Some(Bore {
        axis,
        centre: Point3::from(centre),
        radius_mm,
        length_mm: hi - lo,
        turn_rad,
        hole: outwards < 0.0,
        triangles,
        area_mm2,
    })
}

/// How far points go round the origin, radians: all the way but for the largest gap, if that is one.
fn turn(points: impl Iterator<Item = Vector2<f64>>) -> f64 {
    let mut angles: Vec<f64> = points.map(|q| libm::atan2(q.y, q.x)).collect();
    angles.sort_unstable_by(f64::total_cmp);
    let whole = std::f64::consts::TAU;
    let (Some(first), Some(last)) = (angles.first(), angles.last()) else {
        return 0.0;
    };
    let round = first + whole - last;
    let largest = angles.windows(2).map(|w| w[1] - w[0]).fold(round, f64::max);
    if largest <= MOST_TURN_DEG.to_radians() {
        whole
    } else {
        whole - largest
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::features::bores::bores;
    use crate::features::regions::regions;
    use crate::figures::fixture;
    use approx::assert_relative_eq;

    /// A tube along X whose inner wall is a band of triangles, the ring at one end turned by half a
    /// step, one mouth at a slant: no two facets share a plane.
    fn tube(slant: f64) -> Vec<[Point3<f64>; 3]> {
        let n = 24;
        let step = std::f64::consts::TAU / f64::from(n);
        let at = |r: f64, k: f64, x: f64| {
            let (y, z) = (r * libm::cos(k * step), r * libm::sin(k * step));
            Point3::new(x + slant * y, y, z)
        };
        let mut out = Vec::new();
        for k in (0..n).map(f64::from) {
            let (a, b) = (at(3.0, k, 0.0), at(3.0, k + 1.0, 0.0));
            let far = |k: f64| {
                let p = at(3.0, k + 0.5, 0.0);
                Point3::new(20.0, p.y, p.z)
            };
            let (c, d) = (far(k), far(k + 1.0));
            out.extend([[a, c, b], [b, c, d]]);
            let (p, q) = (at(6.0, k, 0.0), at(6.0, k + 1.0, 0.0));
            let end = |k: f64| {
                let p = at(6.0, k + 0.5, 0.0);
                Point3::new(20.0, p.y, p.z)
            };
            let (r, s) = (end(k), end(k + 1.0));
            out.extend([[p, q, r], [q, s, r]]);
            out.extend([[a, b, q], [a, q, p], [c, r, s], [c, s, d]]);
        }
        out
    }

    #[test]
    fn a_wall_of_triangles_is_a_bore_with_a_slanted_mouth_too() {
        for slant in [0.0, 0.7] {
            let part = fixture::part_of(&tube(slant));
            let taken = bores(&part, &regions(&part));
            let found = cylinders(&part, &taken);
            let holes: Vec<&Bore> = found.iter().filter(|b| b.hole).collect();
            let [hole] = holes[..] else {
                panic!("{slant}: {found:?}")
            };
            assert_relative_eq!(2.0 * hole.radius_mm, 6.0, max_relative = 1e-6);
            assert!(hole.axis.x > 0.999, "{hole:?}");
            assert_relative_eq!(hole.turn_rad, std::f64::consts::TAU, max_relative = 1e-9);
            assert_relative_eq!(hole.length_mm, 20.0 + 3.0 * slant, max_relative = 1e-3);
            assert_eq!(hole.triangles.len(), 48);
        }
    }

    /// A sphere and a cone are none.
    #[test]
    fn other_round_things_are_no_cylinders() {
        let ball = fixture::part_of(&fixture::sphere(10.0, 24));
        let cone = fixture::part_of(&fixture::revolved(
            &[[0.0, 0.0], [10.0, 0.0], [6.0, 20.0], [0.0, 20.0]],
            48,
        ));
        for part in [ball, cone] {
            assert_eq!(cylinders(&part, &[]), []);
        }
    }
}
