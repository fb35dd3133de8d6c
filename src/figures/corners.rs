//! Sharp edges that run straight up a pose: where the seam of the layers hides.

use super::slicing;
use crate::mesh::NO_NEIGHBOUR;
use crate::plane::polygon;
use crate::pose::Posed;
use nalgebra::Point2;
use std::collections::BTreeMap;

/// An edge within this of the vertical runs straight up, cosine (1°).
const UPRIGHT: f64 = 0.999_85;
/// Facets that turn by more than this meet at a sharp edge, cosine (60°).
const SHARP: f64 = 0.5;
/// Edges that are tried, the best first.
const MOST_ASKED: usize = 16;
/// Edges whose places agree to this are one, mm.
const SAME_PLACE_MM: f64 = 0.05;

/// The edge that suits a seam best: one that runs up most of the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct UprightEdge {
    /// Where, build frame, mm.
    pub at_mm: [f64; 2],
    /// Length of it that is sharp and upright.
    pub length_mm: f64,
    /// An inner corner.
    pub inner: bool,
}

/// The longest upright edge, an inner one before an outer one where it is nearly as long; of
/// equal ones the furthest back (+Y), then the furthest left. None where no sharp edge runs straight up. O(n log n).
pub(crate) fn upright_edge(posed: &Posed) -> Option<UprightEdge> {
    let part = posed.part;
    let mut found: BTreeMap<(bool, [i64; 2]), (f64, f64)> = BTreeMap::new();
    for (h, &across) in part.opposite.iter().enumerate() {
        if across == NO_NEIGHBOUR || (across as usize) < h {
            continue;
        }
        let (t, u, i) = (h / 3, across as usize / 3, h % 3);
        if part.normals[t].dot(&part.normals[u]) > SHARP {
            continue;
        }
        let corners = part.mesh.triangles[t].map(|v| posed.vertices[v as usize]);
        let (a, b) = (corners[i], corners[(i + 1) % 3]);
        let length = (b - a).norm();
        if length <= 0.0 || (b.z - a.z).abs() < UPRIGHT * length {
            continue;
        }
        let far = part.mesh.corners(u)[(across as usize % 3 + 2) % 3];
        let near = part.mesh.corners(t)[i];
        let inner = (far - near).dot(&part.normals[t]) > 0.0;
        let middle = nalgebra::center(&a, &b);
        let place = [middle.x, middle.y].map(|v| (v / SAME_PLACE_MM).round() as i64);
        let edge = found.entry((inner, place)).or_insert((0.0, middle.z));
        edge.0 += (b.z - a.z).abs();
    }
    let height = posed.height_mm;
    let edge = |((inner, place), (length, z_mm)): (&(bool, [i64; 2]), &(f64, f64))| {
        let edge = UprightEdge {
            at_mm: place.map(|v| v as f64 * SAME_PLACE_MM),
            length_mm: length.min(height),
            inner: *inner,
        };
        (edge, *z_mm)
    };
    // Whole tenths of the height, so that a hair of length does not decide.
    let tenths = |e: &UprightEdge| (10.0 * e.length_mm / height).round() as i64;
    let key = |e: &UprightEdge| (tenths(e), e.inner);
    let mut edges: Vec<(UprightEdge, f64)> = found.iter().map(edge).collect();
    edges.sort_by(|(a, _), (b, _)| {
        let place = b.at_mm[1].total_cmp(&a.at_mm[1]);
        let left = a.at_mm[0].total_cmp(&b.at_mm[0]);
        key(b).cmp(&key(a)).then(place).then(left)
    });
    // Of a socket each layer has a seam of its own, where something is to fit.
    let suits = |(edge, z_mm): &(UprightEdge, f64)| is_outside(posed, edge.at_mm, *z_mm);
    (edges.into_iter().take(MOST_ASKED).find(suits)).map(|(edge, _)| edge)
}

/// Whether a place lies on the outer outline of a piece at that height, not on that of a hole in it.
fn is_outside(posed: &Posed, at_mm: [f64; 2], z_mm: f64) -> bool {
    let at = Point2::from(at_mm);
    let cut = slicing::cut(posed, &[z_mm]);
    let pieces = cut.sections.iter().flat_map(|s| &s.pieces);
    let near = |ring: &[Point2<f64>]| {
        polygon::edges(ring).any(|edge| polygon::from_edge(edge, at).norm() <= 2.0 * SAME_PLACE_MM)
    };
    pieces.into_iter().any(|p| near(&p.outer))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::fixture::{boxes, part, posed, revolved};
    use crate::mesh::Part;
    use nalgebra::{Point3, UnitQuaternion};

    fn of(soup: &[[Point3<f64>; 3]]) -> Option<UprightEdge> {
        let part = Part::new(part(soup, false).mesh).expect("a solid").0;
        upright_edge(&posed(&part, UnitQuaternion::identity()))
    }

    #[test]
    fn an_inner_corner_comes_before_an_outer_one() {
        let bar = [[0.0, 0.0, 0.0], [30.0, 10.0, 8.0]];
        let plain = of(&boxes(&[bar], &[])).expect("an edge");
        assert_eq!((plain.inner, plain.at_mm), (false, [0.0, 10.0]));
        assert!((plain.length_mm - 8.0).abs() < 1e-9);
        let ell = of(&boxes(&[bar, [[0.0, 10.0, 0.0], [10.0, 30.0, 8.0]]], &[]));
        let ell = ell.expect("an edge");
        assert_eq!((ell.inner, ell.at_mm), (true, [10.0, 10.0]));
    }

    /// The corners of a square socket are inner ones, and none for a seam.
    #[test]
    fn a_socket_has_no_corner_for_a_seam() {
        let block = [[0.0, 0.0, 0.0], [30.0, 30.0, 20.0]];
        let socket = [[10.0, 10.0, -1.0], [20.0, 20.0, 21.0]];
        let edge = of(&boxes(&[block], &[socket])).expect("an edge");
        assert_eq!((edge.inner, edge.at_mm), (false, [0.0, 30.0]));
    }

    #[test]
    fn a_round_part_has_none() {
        let profile = [[0.0, 0.0], [10.0, 0.0], [10.0, 20.0], [0.0, 20.0]];
        assert_eq!(of(&revolved(&profile, 40)), None);
    }
}
