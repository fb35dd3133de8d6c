//! Volume, area and their moments.
//!
//! A closed surface is summed as tetrahedra from one origin near the part: V = Σ d/6,
//! first moments Σ d·s/24, second moments Σ d·(s sᵀ + a aᵀ + b bᵀ + c cᵀ)/120, with
//! d = det(a, b, c) and s = a + b + c. The result is that of Mirtich, *Fast and
//! accurate computation of polyhedral mass properties*, 1996 (from memory).

use super::{Mass, Mesh};
use nalgebra::{Matrix3, Point3, Vector3};
use rayon::prelude::*;

/// Triangles summed before their sums are added up, in order: the same for any
/// number of threads.
const CHUNK: usize = 4096;

/// Moments of a set of triangles about [`Moments::origin`].
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Moments {
    pub(crate) origin: Point3<f64>,
    pub(crate) volume: f64,
    first: Vector3<f64>,
    second: Matrix3<f64>,
    pub(crate) area: f64,
    area_first: Vector3<f64>,
}

impl Moments {
    pub(crate) fn zero(origin: Point3<f64>) -> Self {
        Self {
            origin,
            ..Self::default()
        }
    }

    /// Sums over the triangles of `list`.
    pub(crate) fn of(mesh: &Mesh, list: &[u32], origin: Point3<f64>) -> Self {
        let sums: Vec<Self> = list
            .par_chunks(CHUNK)
            .map(|chunk| {
                let mut sum = Self::zero(origin);
                for &t in chunk {
                    sum.add_triangle(mesh.corners(t as usize));
                }
                sum
            })
            .collect();
        sums.iter().fold(Self::zero(origin), |mut all, part| {
            all.add(part);
            all
        })
    }

    fn add_triangle(&mut self, corners: [Point3<f64>; 3]) {
        let [a, b, c] = corners.map(|p| p - self.origin);
        let det = a.dot(&b.cross(&c));
        let s = a + b + c;
        let area = (b - a).cross(&(c - a)).norm() / 2.0;
        self.volume += det / 6.0;
        self.first += s * (det / 24.0);
        let squares = s * s.transpose() + a * a.transpose() + b * b.transpose() + c * c.transpose();
        self.second += squares * (det / 120.0);
        self.area += area;
        self.area_first += s * (area / 3.0);
    }

    /// Adds moments about the same origin.
    pub(crate) fn add(&mut self, other: &Self) {
        self.volume += other.volume;
        self.first += other.first;
        self.second += other.second;
        self.area += other.area;
        self.area_first += other.area_first;
    }

    /// As if every triangle ran the other way.
    pub(crate) fn turn(&mut self) {
        self.volume = -self.volume;
        self.first = -self.first;
        self.second = -self.second;
    }

    /// Centroid of the surface.
    pub(crate) fn area_centroid(&self) -> Point3<f64> {
        if self.area > 0.0 {
            self.origin + self.area_first / self.area
        } else {
            self.origin
        }
    }

    /// About the centroid: of the volume where the surface is closed, else of the surface.
    pub(crate) fn mass(&self, closed: bool) -> Mass {
        let by_volume = closed && self.volume > 0.0;
        let centroid = if by_volume {
            self.origin + self.first / self.volume
        } else {
            self.area_centroid()
        };
        // Moving the second moments from the origin to the centroid.
        let r = centroid - self.origin;
        let moved = self.second - self.first * r.transpose() - r * self.first.transpose()
            + r * r.transpose() * self.volume;
        Mass {
            volume_mm3: self.volume,
            area_mm2: self.area,
            centroid,
            inertia_mm5: Matrix3::identity() * moved.trace() - moved,
        }
    }
}
