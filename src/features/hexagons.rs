//! Pockets with six even walls: where a nut or a bolt's head goes.
//!
//! Six plane faces, each meeting the next at 60° in an inner edge, all along one axis and as
//! far from it. A pocket with rounded corners or an open side is none.

use super::bores::Bore;
use super::regions::Regions;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Point3, Vector3};

/// Cosine of the turn from wall to wall, and how far it may be off.
const TURN: f64 = 0.5;
const TURN_OFF: f64 = 0.02;
/// Walls are square to the axis to within this, cosine.
const SQUARE: f64 = 0.01;
/// The three distances between walls agree to this, mm.
const EVEN_MM: f64 = 0.06;
/// Axes agree to this cosine (2°), and lie as near to each other as this, mm.
const COAXIAL: f64 = 0.999_4;
const BESIDE_MM: f64 = 0.3;
/// A hole begins so far from the end of a pocket at most, mm: a chamfer or a sacrificial layer
/// may lie between (house value).
const NEXT_MM: f64 = 1.0;

/// A pocket with six even walls. Part frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Hexagon {
    /// Distance between opposite walls.
    pub across_mm: f64,
    /// Length along the axis.
    pub depth_mm: f64,
    /// Its middle.
    pub centre: Point3<f64>,
    /// Direction of the axis, unit.
    pub axis: Vector3<f64>,
}

impl Hexagon {
    /// Diameter of the hole that goes on from it along the same axis, as for the bolt of a nut, mm: the key
    /// socket of a screw has none.
    pub fn hole_mm(&self, bores: &[Bore]) -> Option<f64> {
        let goes_on = |b: &&Bore| {
            let off = b.centre - self.centre;
            let along = off.dot(&self.axis);
            let beside = (off - self.axis * along).norm();
            let apart = along.abs() - f64::midpoint(b.length_mm, self.depth_mm);
            b.hole
                && b.axis.dot(&self.axis).abs() >= COAXIAL
                && beside <= BESIDE_MM
                && 2.0 * b.radius_mm < self.across_mm
                && apart <= NEXT_MM
        };
        bores.iter().find(goes_on).map(|b| 2.0 * b.radius_mm)
    }
}

/// Finds them, in the order of their first wall. O(n log n).
pub(super) fn hexagons(part: &Part, regions: &Regions) -> Vec<Hexagon> {
    let mut meet: Vec<(u32, u32)> = Vec::new();
    for (h, &across) in part.opposite.iter().enumerate() {
        if across == NO_NEIGHBOUR || (across as usize) < h {
            continue;
        }
        let (t, u) = (h / 3, across as usize / 3);
        let (a, b) = (regions.of[t], regions.of[u]);
        let [na, nb] = [a, b].map(|r| regions.list[r as usize].normal);
        if a == b || (na.dot(&nb) - TURN).abs() > TURN_OFF {
            continue;
        }
        let far = part.mesh.corners(u)[(across as usize % 3 + 2) % 3];
        if (far - part.mesh.corners(t)[h % 3]).dot(&part.normals[t]) > 0.0 {
            meet.extend([(a, b), (b, a)]);
        }
    }
    meet.sort_unstable();
    meet.dedup();
    let next = |r: u32| {
        let from = meet.partition_point(|m| m.0 < r);
        meet[from..]
            .iter()
            .take_while(move |m| m.0 == r)
            .map(|m| m.1)
    };
    let mut seen = vec![false; regions.list.len()];
    let mut rings: Vec<[u32; 6]> = Vec::new();
    for start in meet.iter().map(|m| m.0) {
        let mut ring = vec![start];
        while let Some(&last) = ring.last() {
            seen[last as usize] = true;
            let fresh = next(last).find(|&r| !seen[r as usize]);
            let Some(r) = fresh.filter(|_| ring.len() < 6) else {
                break;
            };
            ring.push(r);
        }
        // Six in a round, and nothing else meets any of them so.
        let round = next(start).any(|r| Some(&r) == ring.last());
        let alone = ring.iter().all(|&r| next(r).count() == 2);
        let whole = <[u32; 6]>::try_from(ring);
        rings.extend(whole.ok().filter(|_| round && alone));
    }
    if rings.is_empty() {
        return Vec::new();
    }
    let facets = regions.facets();
    (rings.iter())
        .filter_map(|ring| pocket(part, regions, ring, &facets))
        .collect()
}

fn pocket(part: &Part, regions: &Regions, ring: &[u32; 6], facets: &[Vec<u32>]) -> Option<Hexagon> {
    let walls = ring.map(|r| &regions.list[r as usize]);
    let axis = walls[0].normal.cross(&walls[1].normal).normalize();
    if walls.iter().any(|w| w.normal.dot(&axis).abs() > SQUARE) {
        return None;
    }
    let apart = [0, 1, 2].map(|k| (walls[k + 3].centre - walls[k].centre).dot(&walls[k].normal));
    let across_mm = apart.iter().sum::<f64>() / 3.0;
    if apart.iter().any(|d| (d - across_mm).abs() > EVEN_MM) {
        return None;
    }
    let middle = walls
        .iter()
        .map(|w| w.centre.coords)
        .sum::<nalgebra::Vector3<f64>>()
        / 6.0;
    let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
    for t in ring.iter().flat_map(|&r| &facets[r as usize]) {
        for p in part.mesh.corners(*t as usize) {
            let h = (p.coords - middle).dot(&axis);
            (lo, hi) = (lo.min(h), hi.max(h));
        }
    }
    (across_mm > 0.0).then(|| Hexagon {
        across_mm,
        depth_mm: hi - lo,
        centre: Point3::from(middle + axis * f64::midpoint(lo, hi)),
        axis,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::features::regions::regions;
    use crate::mesh::Mesh;
    use approx::assert_relative_eq;

    /// A tube about Z between two even polygons of `n` sides.
    fn tube(inner: f64, outer: f64, height: f64, n: u32) -> Part {
        let mut mesh = Mesh::default();
        for (r, z) in [(inner, 0.0), (outer, 0.0), (outer, height), (inner, height)] {
            for k in 0..n {
                let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
                mesh.vertices.push(Point3::new(r * c, r * s, z));
            }
        }
        for ring in 0..4 {
            for k in 0..n {
                let at = |ring: u32, k: u32| (ring % 4) * n + k % n;
                let [a, b, c, d] = [
                    at(ring, k),
                    at(ring, k + 1),
                    at(ring + 1, k + 1),
                    at(ring + 1, k),
                ];
                mesh.triangles.extend([[a, c, b], [a, d, c]]);
            }
        }
        Part::new(mesh).expect("a solid").0
    }

    fn of(part: &Part) -> Vec<Hexagon> {
        hexagons(part, &regions(part))
    }

    /// Across flats is √3 times the circle of the corners.
    #[test]
    fn a_pocket_of_six_walls_is_found_and_a_head_of_six_is_none() {
        let corner = 5.7 / 3.0_f64.sqrt();
        let [found] = &of(&tube(corner, 9.0, 4.0, 6))[..] else {
            panic!("one pocket");
        };
        assert_relative_eq!(found.across_mm, 5.7, max_relative = 1e-9);
        assert_relative_eq!(found.depth_mm, 4.0, max_relative = 1e-9);
        assert_relative_eq!(found.centre, Point3::new(0.0, 0.0, 2.0), epsilon = 1e-9);
    }

    #[test]
    fn pockets_of_four_eight_and_many_walls_are_none() {
        for n in [4, 8, 12, 48] {
            assert_eq!(of(&tube(3.3, 9.0, 4.0, n)), [], "{n}");
        }
    }
}
