//! Files and surfaces: from bytes to one welded, oriented, weighed part in mm.

use nalgebra::{Matrix3, Point, Point3, Vector3};
use rayon::prelude::*;

/// An indexed triangle mesh in the part frame, mm.
///
/// After [`Part`] has been made: vertices are welded, every index is in range,
/// every coordinate finite, no triangle has a repeated index, and triangles are
/// counter-clockwise seen from outside wherever the surface is closed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Vertex positions, mm.
    pub vertices: Vec<Point3<f64>>,
    /// Three vertex indices a triangle.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// The three corners of triangle `t`.
    pub fn corners(&self, t: usize) -> [Point3<f64>; 3] {
        self.triangles[t].map(|v| self.vertices[v as usize])
    }

    /// Lowest and highest corner of the axis-aligned box, or `None` without vertices.
    pub fn bounds(&self) -> Option<(Point3<f64>, Point3<f64>)> {
        bounds(self.vertices.iter().copied()).map(<[_; 2]>::into)
    }

    /// Box of some triangles; without any, from plus to minus infinity.
    pub(crate) fn bounds_of(&self, triangles: &[u32]) -> Bounds {
        let corners = triangles.iter().flat_map(|&t| self.corners(t as usize));
        let none = [f64::INFINITY, f64::NEG_INFINITY].map(|c| Vector3::repeat(c).into());
        bounds(corners).unwrap_or(none).into()
    }
}

/// What a function says of each entry of a list, in order, from all threads at once; none
/// takes fewer than `least` entries.
pub(crate) fn each<T: Sync, R: Send>(
    list: &[T],
    least: usize,
    says: impl Fn(&T) -> R + Send + Sync,
) -> Vec<R> {
    list.par_iter().with_min_len(least).map(says).collect()
}

/// Sum of what a function says of each number below `count`, in tasks of fixed size: the same
/// for any number of threads.
pub(crate) fn sum(count: usize, task: usize, says: impl Fn(usize) -> f64 + Sync) -> f64 {
    let tasks = (0..count.div_ceil(task)).into_par_iter();
    let sums = tasks.map(|k| (k * task..count.min((k + 1) * task)).map(&says).sum());
    sums.collect::<Vec<f64>>().iter().sum()
}

/// Lowest and highest corner of the box around points; `None` without points.
pub(crate) fn bounds<const D: usize>(
    points: impl IntoIterator<Item = Point<f64, D>>,
) -> Option<[Point<f64, D>; 2]> {
    let corners = points.into_iter().map(|p| [p, p]);
    corners.reduce(|[lo, hi], [p, _]| [lo.inf(&p), hi.sup(&p)])
}

/// Lowest and highest corner of a box.
pub(crate) type Bounds = (Point3<f64>, Point3<f64>);

/// Volume, area and moments of a surface, part frame, unit density.
#[derive(Debug, Clone, PartialEq)]
pub struct Mass {
    /// Enclosed volume, mm³ (of the welded surface; an open one has none worth the name).
    pub volume_mm3: f64,
    /// Surface area, mm².
    pub area_mm2: f64,
    /// Centroid of the volume, or of the surface where the mesh is open, mm.
    pub centroid: Point3<f64>,
    /// Inertia tensor about the centroid at unit density, mm⁵.
    pub inertia_mm5: Matrix3<f64>,
}

/// One connected shell of the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Triangle indices into [`Mesh::triangles`], ascending.
    pub triangles: Vec<u32>,
    /// Signed volume after turning, mm³: negative for a cavity.
    pub volume_mm3: f64,
    /// Whether every edge is shared by exactly two oppositely running triangles.
    pub closed: bool,
    /// Lies wholly inside another body and faces inward.
    pub cavity: bool,
    /// Was turned the right way on reading.
    pub turned: bool,
}

/// No triangle across this half-edge ([`Part::opposite`]).
pub const NO_NEIGHBOUR: u32 = u32::MAX;

/// A printable part: the mesh and all that is known without choosing a pose.
#[derive(Debug, Clone)]
pub struct Part {
    /// Welded, oriented mesh, mm.
    pub mesh: Mesh,
    /// Unit outward normal of every triangle.
    pub normals: Vec<Vector3<f64>>,
    /// Area of every triangle, mm².
    pub areas: Vec<f64>,
    /// Half-edge `3t + i` runs from corner i to corner i + 1 of triangle t; this is
    /// the half-edge of the neighbour that runs the other way along the same
    /// edge, or [`NO_NEIGHBOUR`]. Symmetric. Where more than two triangles share
    /// an edge, oppositely running half-edges are paired, each at most once.
    pub opposite: Vec<u32>,
    /// Volume, area, centroid, inertia.
    pub mass: Mass,
    /// Connected shells.
    pub bodies: Vec<Body>,
    /// Every edge is shared by exactly two oppositely running triangles.
    pub closed: bool,
    /// Bodies may overlap (their boxes do, other than a cavity in its body), or
    /// a body overlaps itself: sections need a union by non-zero winding.
    pub overlapping: bool,
}

impl Part {
    /// Largest extent of the axis-aligned box, mm.
    pub fn extent(&self) -> f64 {
        self.mesh.bounds().map_or(0.0, |(lo, hi)| (hi - lo).max())
    }
}

pub mod bvh;
mod clean;
mod defect;
mod edges;
mod error;
pub(crate) mod lines;
mod mass;
mod nesting;
mod part;
mod read;
mod shells;
mod stray;
mod units;
mod weld;
mod write;

pub use defect::{Defect, DefectKind};
pub use error::{Place, ReadError, ReadFault};
pub(crate) use lines::behind;
pub use read::{ArrayFault, from_arrays};
pub use read::{
    Format, Glance, Loaded, ReadOptions, checksum, file_bytes, glance, named_as_mesh, read_bytes,
    read_path,
};
pub use units::{Units, UnitsOrigin};
pub use write::write_to;
