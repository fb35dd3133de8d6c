//! Which facet is seen where: a depth buffer over the plane of a view.
//!
//! Rows are shared out in bands of fixed height and every band is filled on its
//! own, so the buffer does not depend on the number of threads.

use crate::mesh::bounds;
use nalgebra::Point2;
use rayon::prelude::*;

/// Rows of a band.
const BAND: usize = 48;

/// No facet.
pub const NOTHING: u32 = u32::MAX;

/// Pixels kept free around the part.
const MARGIN_PX: f64 = 3.0;

/// A grid of square pixels over the (u, v) plane of a view; row 0 is the lowest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Lower left corner, mm.
    pub lo: [f64; 2],
    /// Side of a pixel, mm.
    pub step_mm: f64,
    /// Columns.
    pub nx: usize,
    /// Rows.
    pub ny: usize,
}

impl Frame {
    /// The frame around the points with `longest_px` pixels along its longer side.
    /// `None` where the points have no extent in the view.
    pub fn around(points: &[[f64; 3]], longest_px: usize) -> Option<Self> {
        let [lo, hi] = bounds(points.iter().map(|p| Point2::new(p[0], p[1])))?;
        let size = hi - lo;
        let step_mm = size.max() / longest_px.max(1) as f64;
        if !(step_mm.is_finite() && step_mm > 0.0) {
            return None;
        }
        let count = |s: f64| ((s / step_mm).ceil() + 2.0 * MARGIN_PX) as usize;
        Some(Self {
            lo: [lo.x, lo.y].map(|x| x - MARGIN_PX * step_mm),
            step_mm,
            nx: count(size.x),
            ny: count(size.y),
        })
    }

    /// A point in pixels; its depth stays in mm.
    pub fn px(&self, [u, v, depth]: [f64; 3]) -> [f64; 3] {
        let [x, y] = self.flat_px(&[u, v]);
        [x, y, depth]
    }

    /// A point of the view plane in pixels.
    pub fn flat_px(&self, p: &[f64; 2]) -> [f64; 2] {
        [0, 1].map(|k| (p[k] - self.lo[k]) / self.step_mm)
    }

    /// Index of the pixel at a place, if it lies in the frame.
    pub fn at(&self, [x, y]: [f64; 2]) -> Option<usize> {
        let inside = x >= 0.0 && y >= 0.0 && x < self.nx as f64 && y < self.ny as f64;
        inside.then(|| y as usize * self.nx + x as usize)
    }

    /// The same and the four pixels beside it.
    pub fn around_pixel(&self, [x, y]: [f64; 2]) -> [Option<usize>; 5] {
        [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]
            .map(|(dx, dy)| self.at([x + dx, y + dy]))
    }

    /// The point of the view plane at a place in pixels, mm.
    pub fn mm(&self, p: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|k| self.lo[k] + p[k] * self.step_mm)
    }
}

/// What is seen at each pixel.
#[derive(Debug, Clone)]
pub struct Depth {
    /// The pixels.
    pub frame: Frame,
    /// How near the surface is, mm towards the one who looks; −∞ where nothing is.
    pub near: Vec<f32>,
    /// The facet seen, or [`NOTHING`].
    pub face: Vec<u32>,
}

impl Depth {
    /// Fills the buffer. `points` are vertices in pixels ([`Frame::px`]). Facets that
    /// turn away are left out where the surface is `closed`.
    pub fn new(frame: Frame, points: &[[f64; 3]], triangles: &[[u32; 3]], closed: bool) -> Self {
        let bands = frame.ny.div_ceil(BAND).max(1);
        let mut listed: Vec<Vec<u32>> = vec![Vec::new(); bands];
        for (t, tri) in triangles.iter().enumerate() {
            let [a, b, c] = tri.map(|v| points[v as usize]);
            let turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            if turn == 0.0 || (closed && turn < 0.0) {
                continue;
            }
            let (lo, hi) = (a[1].min(b[1]).min(c[1]), a[1].max(b[1]).max(c[1]));
            let band = |y: f64| (y.max(0.0) as usize / BAND).min(bands - 1);
            for list in &mut listed[band(lo - 1.0)..=band(hi + 1.0)] {
                list.push(t as u32);
            }
        }
        let mut near = vec![f32::NEG_INFINITY; frame.nx * frame.ny];
        let mut face = vec![NOTHING; frame.nx * frame.ny];
        near.par_chunks_mut(BAND * frame.nx)
            .zip(face.par_chunks_mut(BAND * frame.nx))
            .zip(&listed)
            .enumerate()
            .for_each(|(band, ((near, face), list))| {
                let mut strip = Strip {
                    first: band * BAND,
                    nx: frame.nx,
                    near,
                    face,
                };
                for &t in list {
                    strip.fill(t, triangles[t as usize].map(|v| points[v as usize]));
                }
            });
        Self { frame, near, face }
    }

    /// Whether a point of an edge is seen: here or one pixel beside it nothing lies
    /// nearer by more than two pixels.
    pub fn sees(&self, p: [f64; 3]) -> bool {
        let limit = (p[2] + 2.0 * self.frame.step_mm) as f32;
        (self.frame.around_pixel([p[0], p[1]]).iter())
            .any(|at| at.is_none_or(|i| self.near[i] <= limit))
    }

    /// Whether nothing at all is nearer than this point at its pixel.
    pub fn clear(&self, p: [f64; 3]) -> bool {
        let limit = (p[2] + self.frame.step_mm) as f32;
        (self.frame.at([p[0], p[1]])).is_none_or(|i| self.near[i] <= limit)
    }

    /// The surface point seen at a pixel as (u, v, d), mm, with its facet.
    pub fn point(&self, i: usize) -> Option<([f64; 3], u32)> {
        let face = self.face[i];
        (face != NOTHING).then(|| {
            let (x, y) = (i % self.frame.nx, i / self.frame.nx);
            let [u, v] = self.frame.mm([x as f64 + 0.5, y as f64 + 0.5]);
            ([u, v, f64::from(self.near[i])], face)
        })
    }
}

/// The rows of one band.
struct Strip<'a> {
    first: usize,
    nx: usize,
    near: &'a mut [f32],
    face: &'a mut [u32],
}

impl Strip<'_> {
    /// Enters a triangle at the pixels whose middles it covers.
    fn fill(&mut self, t: u32, [a, mut b, mut c]: [[f64; 3]; 3]) {
        let mut turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if turn < 0.0 {
            std::mem::swap(&mut b, &mut c);
            turn = -turn;
        }
        let rows = self.near.len() / self.nx;
        let (first, last) = (self.first as f64, (self.first + rows) as f64);
        let lo = |k: usize| a[k].min(b[k]).min(c[k]);
        let hi = |k: usize| a[k].max(b[k]).max(c[k]);
        let (x0, x1) = ((lo(0) - 0.5).max(0.0), (hi(0) + 0.5).min(self.nx as f64));
        let (y0, y1) = ((lo(1) - 0.5).max(first), (hi(1) + 0.5).min(last));
        if x0 >= x1 || y0 >= y1 {
            return;
        }
        // Depth as a plane, held to the depths of the corners where it is steep.
        let gx = ((b[2] - a[2]) * (c[1] - a[1]) - (c[2] - a[2]) * (b[1] - a[1])) / turn;
        let gy = ((c[2] - a[2]) * (b[0] - a[0]) - (b[2] - a[2]) * (c[0] - a[0])) / turn;
        let (low, high) = (lo(2), hi(2));
        let side = |p: [f64; 3], q: [f64; 3], x: f64, y: f64| {
            (q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0])
        };
        for j in y0 as usize..(y1.ceil() as usize).min(self.first + rows) {
            let y = j as f64 + 0.5;
            let row = (j - self.first) * self.nx;
            for i in x0 as usize..(x1.ceil() as usize).min(self.nx) {
                let x = i as f64 + 0.5;
                let least = side(a, b, x, y).min(side(b, c, x, y)).min(side(c, a, x, y));
                if least < -1e-9 {
                    continue;
                }
                let d = (a[2] + gx * (x - a[0]) + gy * (y - a[1])).clamp(low, high) as f32;
                if d > self.near[row + i] {
                    self.near[row + i] = d;
                    self.face[row + i] = t;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_triangle_covers_its_area_and_the_nearer_one_wins() {
        let points = [
            [0.0, 0.0, 0.0],
            [400.0, 0.0, 0.0],
            [0.0, 300.0, 0.0],
            [0.0, 0.0, 5.0],
            [200.0, 0.0, 5.0],
            [0.0, 150.0, 5.0],
        ];
        let frame = Frame {
            lo: [0.0; 2],
            step_mm: 1.0,
            nx: 400,
            ny: 300,
        };
        let depth = Depth::new(frame, &points, &[[0, 1, 2], [3, 4, 5]], true);
        let count = |t: u32| depth.face.iter().filter(|f| **f == t).count() as f64;
        // Half base times height, each; the second hides part of the first.
        assert!((count(1) - 15_000.0).abs() < 250.0);
        assert!((count(0) - 45_000.0).abs() < 500.0);
        // Turned away it is not there, unless the surface is open.
        assert!(
            Depth::new(frame, &points, &[[0, 2, 1]], true)
                .face
                .iter()
                .all(|f| *f == NOTHING)
        );
        assert!(
            Depth::new(frame, &points, &[[0, 2, 1]], false)
                .face
                .contains(&0)
        );
    }

    #[test]
    fn a_tilted_plane_has_the_depth_of_its_equation() {
        let points = [[0.0, 0.0, 0.0], [100.0, 0.0, 10.0], [0.0, 100.0, 30.0]];
        let frame = Frame {
            lo: [0.0; 2],
            step_mm: 1.0,
            nx: 100,
            ny: 100,
        };
        let depth = Depth::new(frame, &points, &[[0, 1, 2]], true);
        let i = frame.at([20.5, 40.5]).expect("inside");
        assert!((f64::from(depth.near[i]) - (2.05 + 12.15)).abs() < 1e-4);
    }
}
