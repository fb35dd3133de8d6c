//! A part made ready for drawing, once for all poses and views.

use crate::mesh::{NO_NEIGHBOUR, Part, each};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Facets that meet at more than this angle meet in an edge, degrees. A circle of twelve
/// sides or more comes out smooth (a house value).
const EDGE_DEG: f64 = 30.0;

/// Half-edges a task, fixed.
const CHUNK: usize = 1 << 15;

/// Edges of a part and the normals that facets are drawn with.
pub struct DrawingModel<'a> {
    /// The part.
    pub part: &'a Part,
    /// Unit normal of every triangle, part frame; a triangle without area has that of
    /// its neighbour across its longest edge.
    pub normals: Vec<Vector3<f64>>,
    /// Half-edges that are edges whatever the view: sharp ones and open ones, ascending.
    pub edges: Vec<u32>,
    /// Root mean square length of all triangle sides, mm.
    pub side_mm: f64,
}

impl<'a> DrawingModel<'a> {
    /// Finds the edges. O(n), parallel.
    pub fn new(part: &'a Part) -> Self {
        let normals = filled_normals(part);
        let limit = libm::cos(EDGE_DEG.to_radians());
        let edges = half_edges(part, |t, other| {
            other.is_none_or(|u| normals[t].dot(&normals[u]) < limit)
        });
        let squares: f64 = part
            .mesh
            .triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| part.mesh.vertices[v as usize]);
                (b - a).norm_squared() + (c - b).norm_squared() + (a - c).norm_squared()
            })
            .sum();
        let sides = (3 * part.mesh.triangles.len()).max(1);
        Self {
            part,
            normals,
            edges,
            side_mm: (squares / sides as f64).sqrt(),
        }
    }

    /// Half-edges across which the surface turns away from one who looks from
    /// `toward` (part frame), without those of [`Self::edges`] that do so; ascending.
    pub fn contours(&self, toward: &Vector3<f64>) -> Vec<u32> {
        let faces = each(&self.normals, CHUNK, |n| n.dot(toward) > 1e-6);
        half_edges(self.part, |t, other| {
            other.is_some_and(|u| faces[t] != faces[u])
        })
    }

    /// Both vertices of a half-edge.
    pub fn ends(&self, h: u32) -> [usize; 2] {
        let t = &self.part.mesh.triangles[h as usize / 3];
        let i = h as usize % 3;
        [t[i] as usize, t[(i + 1) % 3] as usize]
    }
}

/// Half-edges that are wanted by their triangle and the one across, if there is one, each
/// edge once; ascending.
fn half_edges(part: &Part, wanted: impl Fn(usize, Option<usize>) -> bool + Sync) -> Vec<u32> {
    (part.opposite.par_iter().with_min_len(CHUNK).enumerate())
        .filter(|&(h, &other)| match other {
            NO_NEIGHBOUR => wanted(h / 3, None),
            other => h < other as usize && wanted(h / 3, Some(other as usize / 3)),
        })
        .map(|(h, _)| h as u32)
        .collect()
}

fn filled_normals(part: &Part) -> Vec<Vector3<f64>> {
    let mut normals = part.normals.clone();
    for (t, normal) in normals.iter_mut().enumerate() {
        if part.areas[t] > 0.0 {
            continue;
        }
        let corners = part.mesh.corners(t);
        let length = |i: usize| -> f64 {
            let next: &Point3<f64> = &corners[(i + 1) % 3];
            (next - corners[i]).norm()
        };
        let longest = (0..3).fold(0, |a, b| if length(b) > length(a) { b } else { a });
        let across = part.opposite[3 * t + longest];
        if across != NO_NEIGHBOUR {
            *normal = part.normals[across as usize / 3];
        }
    }
    normals
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::draw::fixture::cuboid;

    #[test]
    fn a_box_has_twelve_edges_and_no_diagonals() {
        let part = cuboid(10.0, 20.0, 30.0);
        let model = DrawingModel::new(&part);
        assert_eq!(model.edges.len(), 12);
        // Seen along a space diagonal six of them are the outline.
        let toward = Vector3::new(-1.0, -1.0, 1.0).normalize();
        assert_eq!(model.contours(&toward).len(), 6);
    }
}
