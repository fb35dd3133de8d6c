//! Thin arms with a catch at the free end: snap fits.
//!
//! The face of an arm meets a small face that looks back along it in an inner edge; the arm is
//! thin, several times as long, no wider than long, free at both of its long edges, and ends
//! shortly behind that small face. Whether it is meant to bend the shape does not say.

use super::regions::Regions;
use crate::mesh::bvh::FacetBvh;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Point3, Unit, Vector3};

/// Arms are no thicker, mm (house value).
const THICKEST_MM: f64 = 4.0;
/// … at least this many times as long as thick; common practice is five and more.
const SLIM: f64 = 3.0;
/// … no longer, mm (house value).
const LONGEST_MM: f64 = 80.0;
/// A catch stands out by this much, mm: less is a step in the mesh, more is a wall (house values).
const CATCH_MM: [f64; 2] = [0.3, 5.0];
/// … and looks back along the arm at least so steeply, cosine of 50° to it.
const STEEP: f64 = 0.64;
/// The arm ends so far behind the catch at most, as a share of its length.
const END: f64 = 0.5;
/// Faces of more facets are neither arm nor catch, so that the work stays linear.
const MOST_FACETS: usize = 200;
/// Inner edges along an arm that is held at its side, as a share of its length.
const HELD: f64 = 0.25;

/// A thin arm with a catch. Part frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Hook {
    /// From the root of the face to the catch.
    pub length_mm: f64,
    /// Thickness of the arm at the middle of its face.
    pub thick_mm: f64,
    /// Where on the arm's face that is.
    pub centre: Point3<f64>,
    /// From the catch towards the root, unit.
    pub along: Unit<Vector3<f64>>,
}

/// An inner edge between two plane regions, seen from one of them.
struct Inner {
    arm: u32,
    catch: u32,
    at: [Point3<f64>; 2],
}

/// Finds them, longest first. O(n log n), and two rays for each inner edge that may be a catch.
pub(super) fn hooks(part: &Part, bvh: &FacetBvh, regions: &Regions) -> Vec<Hook> {
    let inner = inner_edges(part, regions);
    let facets = regions.facets();
    let mut found: Vec<Hook> = Vec::new();
    for edges in inner.chunk_by(|a, b| a.arm == b.arm) {
        let arm = Arm {
            part,
            bvh,
            regions,
            facets: &facets,
            edges,
        };
        found.extend(edges.iter().find_map(|edge| arm.hook(edge)));
    }
    // Both faces of one arm may carry a catch.
    let mut out: Vec<Hook> = Vec::new();
    for hook in found {
        let same = |h: &Hook| {
            h.along.dot(&hook.along) > STEEP
                && (h.centre - hook.centre).norm() <= h.thick_mm + hook.thick_mm
        };
        if !out.iter().any(same) {
            out.push(hook);
        }
    }
    out.sort_by(|a, b| b.length_mm.total_cmp(&a.length_mm));
    out
}

/// Of each region its inner edges, seen from it, in the order of the regions.
fn inner_edges(part: &Part, regions: &Regions) -> Vec<Inner> {
    let mut out = Vec::new();
    for (h, &across) in part.opposite.iter().enumerate() {
        if across == NO_NEIGHBOUR {
            continue;
        }
        let (t, u) = (h / 3, across as usize / 3);
        let (arm, catch) = (regions.of[t], regions.of[u]);
        if arm == catch {
            continue;
        }
        let corners = part.mesh.corners(t);
        let at = [corners[h % 3], corners[(h % 3 + 1) % 3]];
        let far = part.mesh.corners(u)[(across as usize % 3 + 2) % 3];
        if (far - at[0]).dot(&part.normals[t]) > 0.0 {
            out.push(Inner { arm, catch, at });
        }
    }
    out.sort_by_key(|e| e.arm);
    out
}

struct Arm<'a> {
    part: &'a Part,
    bvh: &'a FacetBvh,
    regions: &'a Regions,
    facets: &'a [Vec<u32>],
    edges: &'a [Inner],
}

impl Arm<'_> {
    /// Least and largest coordinate of a region along a direction.
    fn extent(&self, region: u32, way: &Vector3<f64>) -> [f64; 2] {
        let facets = self.facets[region as usize].iter();
        let corners = facets.flat_map(|t| self.part.mesh.corners(*t as usize));
        corners.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], p| {
            let x = p.coords.dot(way);
            [lo.min(x), hi.max(x)]
        })
    }

    /// Into the solid from a point of a region, mm; none where nothing is hit.
    fn depth_mm(&self, from: &Point3<f64>, region: u32) -> Option<f64> {
        let into = -self.regions.list[region as usize].normal;
        let other = |t: usize| self.regions.of[t] != region;
        let hit = self.bvh.first_hit(&self.part.mesh, from, &into, |hit| {
            other(hit.triangle) && hit.apart_mm > 0.0
        });
        hit.map(|h| h.apart_mm)
    }

    /// How far a step stands out of the face, and from where it looks back along the face.
    fn step(&self, edge: &Inner) -> Option<(f64, Unit<Vector3<f64>>)> {
        if self.facets[edge.catch as usize].len() > MOST_FACETS {
            return None;
        }
        let [face, step] = [edge.arm, edge.catch].map(|r| &self.regions.list[r as usize]);
        let normal = face.normal.into_inner();
        let back = step.normal.into_inner();
        let along = Unit::try_new(back - normal * back.dot(&normal), STEEP)?;
        let [_, top] = self.extent(edge.catch, &normal);
        let catch_mm = top - edge.at[0].coords.dot(&normal);
        (CATCH_MM[0]..=CATCH_MM[1])
            .contains(&catch_mm)
            .then_some((catch_mm, along))
    }

    /// Whether the part ends shortly behind a step.
    fn ends_behind(&self, edge: &Inner, length_mm: f64) -> bool {
        let centre = &self.regions.list[edge.catch as usize].centre;
        let depth_mm = self.depth_mm(centre, edge.catch);
        depth_mm.is_some_and(|d| d <= END * length_mm)
    }

    /// Whether the part goes on behind the back of the arm, below a step.
    fn is_root(&self, edge: &Inner, thick_mm: f64) -> bool {
        let [normal, back] = [edge.arm, edge.catch].map(|r| self.regions.list[r as usize].normal);
        let middle = nalgebra::center(&edge.at[0], &edge.at[1]);
        let from = middle - *normal * (thick_mm / 2.0) - *back * (thick_mm / 2.0);
        let hit = (self.bvh).first_hit(&self.part.mesh, &from, &-normal, |hit| hit.apart_mm > 0.0);
        hit.is_some_and(|h| h.apart_mm > thick_mm)
    }

    fn hook(&self, edge: &Inner) -> Option<Hook> {
        if self.facets[edge.arm as usize].len() > MOST_FACETS {
            return None;
        }
        let (catch_mm, along) = self.step(edge)?;
        let face = &self.regions.list[edge.arm as usize];
        let [a, b] = edge.at;
        let at = a.coords.dot(&along);
        let [start, end] = self.extent(edge.arm, &along);
        let length_mm = end - at;
        // The face lies between catch and root, and the catch is small.
        if length_mm > LONGEST_MM || at - start > 0.1 * length_mm || catch_mm > length_mm / SLIM {
            return None;
        }
        let across = face.normal.cross(&along);
        let [wide_mm, catch_wide_mm] = [edge.arm, edge.catch].map(|region| {
            let [lo, hi] = self.extent(region, &across);
            hi - lo
        });
        if wide_mm > length_mm || !(0.5..=1.5).contains(&(catch_wide_mm / wide_mm)) {
            return None;
        }
        let thick_mm = self.depth_mm(&face.centre, edge.arm)?;
        if thick_mm > THICKEST_MM || length_mm < SLIM * thick_mm {
            return None;
        }
        if !self.ends_behind(edge, length_mm) || (b - a).norm() < 0.5 * wide_mm {
            return None;
        }
        // Held along a side it is a rib or the floor of a channel.
        let held: f64 = (self.edges.iter())
            .map(|e| (e.at[1] - e.at[0]).dot(&along).abs())
            .sum();
        // With the same at its other end it is the floor between two rims.
        let rim = |e: &Inner| {
            let back = self.step(e).is_some_and(|s| s.1.dot(&along) < -STEEP);
            back && self.ends_behind(e, length_mm) && !self.is_root(e, thick_mm)
        };
        let floor = held > HELD * length_mm || self.edges.iter().any(rim);
        (!floor).then_some(Hook {
            length_mm,
            thick_mm,
            centre: face.centre,
            along,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::features::regions::regions;
    use crate::figures::fixture::{boxes, part_of};
    use nalgebra::Rotation3;

    fn found(solids: &[[[f64; 3]; 2]], turned: bool) -> Vec<Hook> {
        let mut soup = boxes(solids, &[]);
        if turned {
            let turn = Rotation3::from_euler_angles(0.3, 0.7, -1.1);
            for p in soup.iter_mut().flatten() {
                *p = turn * *p;
            }
        }
        let part = part_of(&soup);
        let bvh = FacetBvh::new(&part.mesh);
        hooks(&part, &bvh, &regions(&part))
    }

    const FOOT: [[f64; 3]; 2] = [[0.0, 0.0, 0.0], [30.0, 12.0, 4.0]];
    const ARM: [[f64; 3]; 2] = [[10.0, 3.0, 4.0], [12.0, 9.0, 24.0]];
    /// Two layers wide at the top of the arm, 1.2 mm out.
    const CATCH: [[f64; 3]; 2] = [[12.0, 3.0, 21.0], [13.2, 9.0, 24.0]];

    #[test]
    fn an_arm_with_a_catch_is_found_however_it_lies() {
        for turned in [false, true] {
            let all = found(&[FOOT, ARM, CATCH], turned);
            let [hook] = &all[..] else { panic!("{all:?}") };
            assert!((hook.length_mm - 17.0).abs() < 1e-9, "{hook:?}");
            assert!((hook.thick_mm - 2.0).abs() < 1e-9, "{hook:?}");
            assert!(turned || hook.along.z < -0.999_999, "{hook:?}");
        }
    }

    #[test]
    fn catches_on_both_faces_are_one_arm_and_two_arms_are_two() {
        let other = [[8.8, 3.0, 21.0], [10.0, 9.0, 24.0]];
        assert_eq!(found(&[FOOT, ARM, CATCH, other], false).len(), 1);
        let moved = |b: [[f64; 3]; 2]| b.map(|[x, y, z]| [x + 14.0, y, z]);
        assert_eq!(
            found(&[FOOT, ARM, CATCH, moved(ARM), moved(CATCH)], false).len(),
            2
        );
    }

    #[test]
    fn what_cannot_bend_or_has_no_catch_is_none() {
        let thick = [[7.0, 3.0, 4.0], [12.0, 9.0, 24.0]];
        let short = [[10.0, 3.0, 4.0], [12.0, 9.0, 8.0]];
        let on_short = [[12.0, 3.0, 7.0], [13.2, 9.0, 8.0]];
        // A rib along the arm, and a wall that the arm runs into.
        let rib = [[12.0, 5.0, 4.0], [14.0, 6.0, 21.0]];
        let roof = [[0.0, 3.0, 24.0], [12.0, 9.0, 60.0]];
        let bar = [[12.0, 3.0, 21.0], [13.2, 9.0, 60.0]];
        let lid = [[0.0, 0.0, 0.0], [60.0, 40.0, 2.0]];
        let rim = [[0.0, 0.0, 2.0], [2.0, 40.0, 4.0]];
        for solids in [
            vec![FOOT, ARM],
            vec![FOOT, thick, CATCH],
            vec![FOOT, short, on_short],
            vec![FOOT, ARM, CATCH, rib],
            vec![FOOT, ARM, roof, bar],
            vec![lid, rim, rim.map(|[x, y, z]| [x + 58.0, y, z])],
        ] {
            assert_eq!(found(&solids, false), [], "{solids:?}");
        }
    }
}
