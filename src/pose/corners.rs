//! Looking up the corners of a surface by place and outward direction.
//!
//! Source: G. Thürmer and C. A. Wüthrich, *Computing vertex normals from polygonal
//! facets*, 1998: normals weighted by the angle at the vertex do not depend on how a flat
//! is cut into triangles.

use crate::mesh::{Part, each};
use nalgebra::{Matrix3, Point3, Vector3};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Triangles a task, fixed.
const CHUNK: usize = 1 << 14;

/// A vertex whose normals agree to this share lies within a flat and says nothing.
const FLAT_REL: f64 = 1e-6;

/// Two corners are alike if their angle-weighted normals, in full turns, are this close.
const ALIKE_TURNS: f64 = 0.02;

/// Cells an axis fit into 21 bits of the key.
const CELLS: f64 = 2_097_151.0;

/// The vertices of a part where the surface bends, sorted into a grid of cells.
pub(super) struct Corners {
    /// Place relative to the centroid, and angle-weighted normal in full turns.
    places: Vec<(Vector3<f64>, Vector3<f64>)>,
    /// Cell of each corner with its index, ascending.
    cells: Vec<(u64, u32)>,
    low: Vector3<f64>,
    cell_mm: f64,
    within_mm: f64,
}

impl Corners {
    /// Corners of `part` about its centroid, to be matched `within_mm`.
    pub fn new(part: &Part, within_mm: f64) -> Self {
        let mesh = &part.mesh;
        let angles: Vec<[f64; 3]> = each(&mesh.triangles, CHUNK, |t| {
            let p = t.map(|v| mesh.vertices[v as usize]);
            std::array::from_fn(|k| angle(&p[k], &p[(k + 1) % 3], &p[(k + 2) % 3]))
        });
        let mut sums = vec![(Vector3::zeros(), 0.0); mesh.vertices.len()];
        for ((t, angle), n) in mesh.triangles.iter().zip(&angles).zip(&part.normals) {
            for (&v, a) in t.iter().zip(angle) {
                let sum = &mut sums[v as usize];
                sum.0 += n * *a;
                sum.1 += a;
            }
        }
        let centre = part.mass.centroid;
        let corners: Vec<(Vector3<f64>, Vector3<f64>)> = mesh
            .vertices
            .iter()
            .zip(&sums)
            .filter(|(_, (n, a))| n.norm() < (1.0 - FLAT_REL) * a)
            .map(|(p, (n, _))| (p - centre, n / TAU))
            .collect();
        let (mut low, mut high) = (Vector3::zeros(), Vector3::zeros());
        for (p, _) in &corners {
            (low, high) = (p.inf(&low), p.sup(&high));
        }
        low.add_scalar_mut(-2.0 * within_mm);
        let extent: f64 = (high - low).max() + 4.0 * within_mm;
        // About one corner a cell on a surface, and a cell never smaller than the tolerance.
        let even = extent / (corners.len() as f64).sqrt().max(1.0);
        let cell_mm = even.max(4.0 * within_mm).max(extent / CELLS);
        let mut grid = Self {
            places: corners,
            cells: Vec::new(),
            low,
            cell_mm,
            within_mm,
        };
        let places = grid.places.iter().zip(0..);
        grid.cells = places.map(|((p, _), i)| (grid.cell(p), i)).collect();
        grid.cells.par_sort_unstable();
        grid
    }

    /// Number of corners.
    pub fn len(&self) -> usize {
        self.places.len()
    }

    fn cell(&self, p: &Vector3<f64>) -> u64 {
        (p - self.low).iter().fold(0, |key, c| {
            key << 21 | (c / self.cell_mm).clamp(0.0, CELLS) as u64
        })
    }

    /// Whether there is a corner at `p` with this normal.
    fn holds(&self, p: &Vector3<f64>, normal: &Vector3<f64>) -> bool {
        let mut last = None;
        // The cells that the box of the tolerance around `p` touches, up to eight.
        (0..8).any(|k: u8| {
            let step = Vector3::from_fn(|i, _| {
                if k >> i & 1 == 1 {
                    self.within_mm
                } else {
                    -self.within_mm
                }
            });
            let key = self.cell(&(p + step));
            if last.replace(key) == Some(key) {
                return false;
            }
            let from = self.cells.partition_point(|c| c.0 < key);
            self.cells[from..]
                .iter()
                .take_while(|c| c.0 == key)
                .any(|&(_, i)| {
                    let (q, n) = &self.places[i as usize];
                    (q - p).norm() <= self.within_mm && (n - normal).norm() <= ALIKE_TURNS
                })
        })
    }

    /// Whether `map` (orthogonal) carries every corner, or every `stride`-th one, onto one.
    pub fn maps(&self, map: &Matrix3<f64>, stride: usize) -> bool {
        self.places
            .iter()
            .step_by(stride.max(1))
            .all(|(p, n)| self.holds(&(map * p), &(map * n)))
    }
}

/// Angle at `a` between `b` and `c`, radians.
fn angle(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>) -> f64 {
    let (u, v) = (b - a, c - a);
    libm::atan2(u.cross(&v).norm(), u.dot(&v))
}
