//! Convex hull of a point set in space, decided by exact signs.
//!
//! Sources: see `quick` (the algorithm), `cull` (what is thrown away first) and
//! `facets` (triangles merged to flats).

mod cull;
mod facets;
mod quick;

pub use facets::Facet;
pub(crate) use facets::plane_basis;

use crate::plane::rect::hull2d_ids;
use nalgebra::{Point2, Point3, Vector3};
use quick::{Span, Surface};
use std::sync::OnceLock;

/// Coordinates larger than this have no exact sign in double precision, mm.
const LARGEST_MM: f64 = 1e60;
/// Coordinates smaller than this count as zero: their products would underflow, mm.
const SMALLEST_MM: f64 = 1e-80;

/// Why a point set has no hull to stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Degenerate {
    /// No points at all.
    #[error("there are no points")]
    Empty,
    /// All points coincide.
    #[error("all points coincide")]
    Point,
    /// All points lie exactly on one line.
    #[error("all points lie on one line")]
    Line,
    /// A coordinate is not a number or lies beyond the range of exact arithmetic.
    #[error("a coordinate is not finite or is larger than 1e60 mm")]
    OutOfRange,
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
    neighbours: Vec<[u32; 3]>,
    /// Filled when first asked for.
    facets: OnceLock<Vec<Facet>>,
}

impl Hull {
    /// Extents along X and Y of the build frame of a pose, mm; zero without points.
    pub fn footprint_mm(&self, pose: &super::Pose) -> [f64; 2] {
        let shadow = pose.shadow(&self.vertices);
        let first = shadow.first().copied().unwrap_or_default();
        let (lo, hi) = shadow
            .iter()
            .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
        [hi.x - lo.x, hi.y - lo.y]
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
        let (surface, flat) = match quick::quickhull(&few) {
            Ok(surface) => (surface, false),
            Err(Span::Plane) => (plate(&few)?, true),
            Err(Span::Empty) => return Err(Degenerate::Empty),
            Err(Span::Point) => return Err(Degenerate::Point),
            Err(Span::Line) => return Err(Degenerate::Line),
            Err(Span::Broken) => return Err(Degenerate::OutOfRange),
        };
        let mut place = vec![u32::MAX; few.len()];
        surface
            .triangles
            .iter()
            .flatten()
            .for_each(|&v| place[v as usize] = 0);
        let used: Vec<u32> = (0..few.len() as u32)
            .filter(|&v| place[v as usize] == 0)
            .collect();
        for (new, &old) in used.iter().enumerate() {
            place[old as usize] = new as u32;
        }
        let vertex_ids: Vec<u32> = used.iter().map(|&v| ids[v as usize]).collect();
        Ok(Self {
            vertices: vertex_ids.iter().map(|&i| points[i as usize]).collect(),
            vertex_ids,
            triangles: surface
                .triangles
                .iter()
                .map(|t| t.map(|v| place[v as usize]))
                .collect(),
            flat,
            neighbours: surface.neighbours,
            facets: OnceLock::new(),
        })
    }

    /// The three corners of triangle `t`.
    pub(crate) fn corners(&self, t: usize) -> [Point3<f64>; 3] {
        self.triangles[t].map(|v| self.vertices[v as usize])
    }

    /// Index into `vertices` of the corner furthest along `direction` (any length);
    /// of several, the first.
    pub fn support(&self, direction: &Vector3<f64>) -> u32 {
        let mut best = (f64::NEG_INFINITY, 0);
        for (i, p) in self.vertices.iter().enumerate() {
            let s = p.coords.dot(direction);
            if s > best.0 {
                best = (s, i as u32);
            }
        }
        best.1
    }

    /// Lowest and highest `p · direction` over the hull, mm for a unit direction.
    pub fn range_along(&self, direction: &Vector3<f64>) -> (f64, f64) {
        self.vertices
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
                let s = p.coords.dot(direction);
                (lo.min(s), hi.max(s))
            })
    }

    /// Extent along a unit `direction`, mm.
    pub fn extent_along(&self, direction: &Vector3<f64>) -> f64 {
        let (lo, hi) = self.range_along(direction);
        hi - lo
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
fn plate(points: &[Point3<f64>]) -> Result<Surface, Degenerate> {
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
    let m = n - 2;
    let corner = |i: u32| outline[i as usize];
    let mut surface = Surface {
        triangles: Vec::new(),
        neighbours: Vec::new(),
    };
    // Side k runs from corner k to k + 1. The front is a fan from corner 0, the back one
    // from corner 1, so that no inner edge is shared between them.
    let front = |side: u32| side.saturating_sub(1).min(m - 1);
    let back = |side: u32| {
        m + if side == 0 {
            m - 1
        } else {
            side.saturating_sub(2)
        }
    };
    for i in 0..m {
        surface
            .triangles
            .push([corner(0), corner(i + 1), corner(i + 2)]);
        let before = if i == 0 { back(0) } else { i - 1 };
        let after = if i + 1 == m { back(n - 1) } else { i + 1 };
        surface.neighbours.push([before, back(i + 1), after]);
    }
    for i in 0..m {
        surface
            .triangles
            .push([corner(1), corner((i + 3) % n), corner(i + 2)]);
        let before = if i + 1 == m { front(0) } else { m + i + 1 };
        let after = if i == 0 { front(1) } else { m + i - 1 };
        surface.neighbours.push([before, front(i + 2), after]);
    }
    Ok(surface)
}

#[cfg(test)]
mod tests;
