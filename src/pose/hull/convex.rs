//! The hull itself: its corners, triangles and flats.

use super::cull;
use super::quick::{self, Boundary, Degenerate};
use crate::plane::rect::{hull2d_ids, span};
use crate::pose::{Pose, bounds};
use nalgebra::{Point2, Point3, Unit, Vector3};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Coordinates larger than this have no exact sign in double precision, mm.
const LARGEST_MM: f64 = 1e60;
/// Coordinates smaller than this count as zero: their products would underflow, mm.
const SMALLEST_MM: f64 = 1e-80;

/// A flat of the hull.
#[derive(Debug, Clone, PartialEq)]
pub struct Facet {
    /// Outward unit normal, part frame.
    pub normal: Unit<Vector3<f64>>,
    /// Height of its plane: `p · normal` for points of the facet, mm.
    pub offset_mm: f64,
    /// Corners as indices into [`Hull::vertices`], counter-clockwise seen from outside.
    pub polygon: Vec<u32>,
    /// Area of the polygon, mm².
    pub area_mm2: f64,
}

impl Facet {
    /// Two unit vectors that span the plane: right-handed with the normal.
    pub fn basis(&self) -> [Vector3<f64>; 2] {
        plane_basis(&self.normal)
    }

    /// Corners in the coordinates of [`Facet::basis`], counter-clockwise, mm.
    pub fn outline(&self, hull: &Hull) -> Vec<Point2<f64>> {
        let basis = self.basis();
        (self.polygon.iter())
            .filter_map(|&i| hull.vertices.get(i as usize))
            .map(|p| in_plane(&basis, p))
            .collect()
    }
}

/// Two unit vectors that make a right-handed frame with `normal`; exact for axes.
pub(crate) fn plane_basis(normal: &Vector3<f64>) -> [Vector3<f64>; 2] {
    let least = normal.iamin();
    let mut e = Vector3::zeros();
    e[least] = 1.0;
    let u = normal.cross(&e).normalize();
    [u, normal.cross(&u)]
}

/// Coordinates of a point along two unit vectors.
pub(crate) fn in_plane([u, v]: &[Vector3<f64>; 2], p: &Point3<f64>) -> Point2<f64> {
    Point2::new(p.coords.dot(u), p.coords.dot(v))
}

/// A convex hull, part frame, mm: the boundary as triangles.
///
/// Every vertex is a corner (none lies within an edge or a flat) and every input
/// point lies inside or on the surface, both exactly.
#[derive(Debug, Clone)]
pub struct Hull {
    /// Corners, in the order of the input.
    pub vertices: Vec<Point3<f64>>,
    /// Index of each corner in the input, ascending.
    pub vertex_ids: Vec<u32>,
    /// Triangles over `vertices`, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// All points lie exactly in one plane: the hull is that polygon, seen from
    /// both sides, and encloses no volume.
    pub flat: bool,
    /// Triangle across the edge from corner i to corner i + 1.
    pub(super) neighbours: Vec<[u32; 3]>,
    /// Filled when first asked for.
    pub(super) facets: OnceLock<Vec<Facet>>,
}

impl Hull {
    /// Extents along X and Y of the build frame of a pose, mm; zero without points.
    pub fn footprint_mm(&self, pose: &Pose) -> [f64; 2] {
        bounds(pose.shadow(&self.vertices)).map_or([0.0; 2], |[lo, hi]| [hi.x - lo.x, hi.y - lo.y])
    }

    /// Hull of `points`; repeats and interior points are welcome. O(n log n).
    ///
    /// # Errors
    /// [`Degenerate`] where the points span less than a plane, or are not finite.
    pub fn new(points: &[Point3<f64>]) -> Result<Self, Degenerate> {
        // A point with a NaN fails the comparison too.
        if !points
            .iter()
            .all(|p| p.iter().all(|c| c.abs() <= LARGEST_MM))
        {
            return Err(Degenerate::OutOfRange);
        }
        let ids = cull::survivors(points);
        let flush = |c: f64| if c.abs() < SMALLEST_MM { 0.0 } else { c };
        let few: Vec<Point3<f64>> = ids.iter().map(|&i| points[i as usize].map(flush)).collect();
        let (boundary, flat) = match quick::quickhull(&few) {
            Ok(boundary) => (boundary, false),
            Err(None) => (plate(&few)?, true),
            Err(Some(degenerate)) => return Err(degenerate),
        };
        let mut used: Vec<u32> = boundary.triangles.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        let place = |v: u32| used.partition_point(|&u| u < v) as u32;
        let vertex_ids: Vec<u32> = used.iter().map(|&v| ids[v as usize]).collect();
        Ok(Self {
            vertices: vertex_ids.iter().map(|&i| points[i as usize]).collect(),
            triangles: boundary.triangles.iter().map(|t| t.map(place)).collect(),
            vertex_ids,
            flat,
            neighbours: boundary.neighbours,
            facets: OnceLock::new(),
        })
    }

    /// The three corners of triangle `t`.
    pub(crate) fn corners(&self, t: usize) -> [Point3<f64>; 3] {
        self.triangles[t].map(|v| self.vertices[v as usize])
    }

    /// Lowest and highest `p · direction` over the hull, mm for a unit direction.
    pub fn range_along(&self, direction: &Vector3<f64>) -> (f64, f64) {
        span(self.vertices.iter().map(|p| p.coords.dot(direction)))
    }

    /// Length to which tolerances refer, mm: the largest extent along an axis, or the largest
    /// coordinate where the hull lies further from the origin than it is large (a
    /// single-precision file rounds by the coordinate, not by the size).
    pub fn scale_mm(&self) -> f64 {
        let mut reach = 0.0f64;
        for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
            let (lo, hi) = self.range_along(&axis);
            reach = reach.max(hi - lo).max(hi.abs()).max(lo.abs());
        }
        reach
    }
}

/// The hull of points that lie exactly in one plane, seen from both sides.
fn plate(points: &[Point3<f64>]) -> Result<Boundary, Degenerate> {
    // The shadow on an axis plane keeps turns exact; the one of largest area is not a line.
    let (mut outline, mut area) = (Vec::new(), 0.0);
    for k in 0..3 {
        let shadow: Vec<Point2<f64>> = points
            .iter()
            .map(|p| Point2::new(p[(k + 1) % 3], p[(k + 2) % 3]))
            .collect();
        let ids = hull2d_ids(&shadow);
        let corners: Vec<Point2<f64>> = ids.iter().map(|&i| shadow[i as usize]).collect();
        let here = crate::plane::polygon::area(&corners);
        if ids.len() >= 3 && (outline.is_empty() || here > area) {
            (outline, area) = (ids, here);
        }
    }
    let n = outline.len() as u32;
    if n < 3 {
        return Err(Degenerate::Line);
    }
    let corner = |i: u32| outline[(i % n) as usize];
    // The front is a fan from corner 0, the back one from corner 1, so that no inner edge is
    // shared between them.
    let front = (0..n - 2).map(|i| [corner(0), corner(i + 1), corner(i + 2)]);
    let back = (0..n - 2).map(|i| [corner(1), corner(i + 3), corner(i + 2)]);
    let triangles: Vec<[u32; 3]> = front.chain(back).collect();
    let edge = |t: &[u32; 3], k: usize| (t[k], t[(k + 1) % 3]);
    let owner: BTreeMap<(u32, u32), u32> = (triangles.iter().zip(0..))
        .flat_map(|(t, i)| [0, 1, 2].map(|k| (edge(t, k), i)))
        .collect();
    let across = |t: &[u32; 3]| {
        [0, 1, 2].map(|k| {
            let (from, to) = edge(t, k);
            owner.get(&(to, from)).copied().unwrap_or_default()
        })
    };
    Ok(Boundary {
        neighbours: triangles.iter().map(across).collect(),
        triangles,
    })
}
