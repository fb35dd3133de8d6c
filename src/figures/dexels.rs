//! Dexels: vertical lines through a posed part, and where each enters and leaves the solid.
//!
//! A regular grid of vertical lines is laid over the plan of the part. Vertices
//! are snapped to whole fractions of a cell, and a triangle covers, in each grid
//! row, the lines from the rounded-up crossing of one edge to the rounded-up
//! crossing of the other. Both triangles at an edge compute that number from the
//! same integers, so no line slips between them or is counted twice: on a closed
//! surface every line enters as often as it leaves. Vertical triangles cover no
//! line. This is the half-open scan conversion of Foley & van Dam, *Computer
//! Graphics*, "Filling polygons" (from memory), in exact integers.
//!
//! Rows are worked off in strips, so that memory does not grow with the grid.

use super::buckets::Buckets;
use super::stop::Stop;
use crate::pose::{Posed, bounds};
use nalgebra::{Point2, Point3};
use std::ops::Range;

/// Facets, and lines, after which it is asked whether to stop.
const ASKED_EVERY: usize = 64;

/// Columns worked on at a time: what a processor cache holds with its crossings.
const STRIP_COLUMNS: usize = 1 << 15;

/// Most lines along one side of a grid.
const SIDE_MAX: usize = 1 << 20;

/// A regular grid of vertical lines over the plan, at any angle to build X.
///
/// Line `(i, j)`, with `i` in `0..nx` and `j` in `0..ny`, stands at
/// `origin + i·cell·e + j·cell·f`, where `e` is build X turned by the grid's
/// angle about Z and `f` is `e` turned by a right angle.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Spacing of the lines, mm.
    pub cell_mm: f64,
    /// Lines along `e`.
    pub nx: usize,
    /// Lines along `f`.
    pub ny: usize,
    /// Cosine and sine of the angle from build X to `e`.
    turn: [f64; 2],
    /// Position of line (0, 0) along `e` and `f`, mm.
    origin: [f64; 2],
}

impl Grid {
    /// Covers the footprint of `posed` with lines `cell_mm` apart, the grid
    /// turned by `turn_rad`. The first line stands the share `shift` (each in
    /// 0 to 1) of a cell inside the footprint's box in the grid's frame.
    ///
    /// `None` without triangles, for a cell that is not positive and finite, or
    /// if a side would need more than a million lines.
    pub fn over(posed: &Posed, cell_mm: f64, turn_rad: f64, shift: [f64; 2]) -> Option<Self> {
        let turn = [libm::cos(turn_rad), libm::sin(turn_rad)];
        let [lo, hi] = footprint(posed, turn)?;
        if !(cell_mm.is_finite() && cell_mm > 0.0) {
            return None;
        }
        let count = |a: usize| {
            let lines = ((hi[a] - lo[a]) / cell_mm - shift[a]).floor() + 1.0;
            (lines <= SIDE_MAX as f64).then_some(lines.max(1.0) as usize)
        };
        let origin = [0, 1].map(|a| lo[a] + shift[a] * cell_mm);
        Some(Self {
            cell_mm,
            nx: count(0)?,
            ny: count(1)?,
            turn,
            origin,
        })
    }

    /// Spacing at which a grid turned by `turn_rad` has about `columns` lines
    /// within the box of the footprint, mm; `None` where the plan has no area.
    pub fn cell_for(posed: &Posed, columns: usize, turn_rad: f64) -> Option<f64> {
        let [lo, hi] = footprint(posed, [libm::cos(turn_rad), libm::sin(turn_rad)])?;
        let area = (hi[0] - lo[0]) * (hi[1] - lo[1]);
        (area.is_finite() && area > 0.0 && columns > 0).then(|| (area / columns as f64).sqrt())
    }

    /// Position of line `(i, j)` in the build frame, mm.
    pub fn line(&self, i: usize, j: usize) -> Point2<f64> {
        let [c, s] = self.turn;
        let e = self.origin[0] + i as f64 * self.cell_mm;
        let f = self.origin[1] + j as f64 * self.cell_mm;
        Point2::new(c * e - s * f, s * e + c * f)
    }

    /// Plan area that one line stands for, mm².
    pub fn cell_mm2(&self) -> f64 {
        self.cell_mm * self.cell_mm
    }
}

/// The box of the footprint in axes turned by `turn`.
fn footprint(posed: &Posed, turn: [f64; 2]) -> Option<[Point2<f64>; 2]> {
    if posed.part.mesh.triangles.is_empty() {
        return None;
    }
    let plan = bounds(posed.vertices.iter().map(|p| turned(turn, p.x, p.y).into()));
    plan.filter(|around| around.iter().all(|p| p.iter().all(|x| x.is_finite())))
}

fn turned([c, s]: [f64; 2], x: f64, y: f64) -> [f64; 2] {
    [c * x + s * y, c * y - s * x]
}

/// One crossing of a vertical line with the surface.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Crossing {
    /// Height above the bed, mm.
    pub z_mm: f64,
    /// Index into the triangles of the mesh.
    pub triangle: u32,
    /// Going up, the line enters here (the surface faces down) rather than leaves.
    pub enters: bool,
}

/// The crossings of a run of whole grid rows, each line's sorted from the bed up.
#[derive(Debug, Clone, Default)]
pub struct Dexels {
    /// Grid rows held.
    pub rows: Range<usize>,
    nx: usize,
    crossings: Buckets<Crossing>,
    loose: Vec<(u32, Crossing)>,
}

impl Dexels {
    /// Crossings of line `(i, j)`, from the bed up; at one height those that
    /// enter come first. Empty for a line that is not held.
    pub fn line(&self, i: usize, j: usize) -> &[Crossing] {
        if i >= self.nx || !self.rows.contains(&j) {
            return &[];
        }
        self.crossings.of((j - self.rows.start) * self.nx + i)
    }
}

/// A part made ready to be cut by the lines of one grid.
#[derive(Debug)]
pub struct Raster<'a> {
    posed: &'a Posed<'a>,
    grid: &'a Grid,
    /// Vertices in whole fractions of a cell.
    snapped: Vec<[i32; 2]>,
    /// Fractions a cell, a power of two.
    one: i64,
    /// Rows a strip.
    strip_rows: usize,
    /// Triangles that may cover a line of each strip, ascending.
    listed: Buckets<u32>,
}

impl<'a> Raster<'a> {
    /// Snaps the vertices and deals the triangles out to strips of rows.
    pub fn new(posed: &'a Posed<'a>, grid: &'a Grid) -> Self {
        // Coordinates stay below 2³⁰ so that products of two fit an i64.
        let side = grid.nx.max(grid.ny) + 2;
        let power = 29 - side.next_power_of_two().trailing_zeros();
        let one = 1_i64 << power;
        // `line_at_or_after`, for a power of two.
        let first_line = |n: i32| (i64::from(n) + one - 1) >> power;
        let scale = one as f64 / grid.cell_mm;
        let snap = |p: &Point3<f64>| {
            let at = turned(grid.turn, p.x, p.y);
            [0, 1].map(|k| ((at[k] - grid.origin[k]) * scale).round() as i32)
        };
        let snapped: Vec<[i32; 2]> = posed.vertices.iter().map(snap).collect();
        let strip_rows = (STRIP_COLUMNS / grid.nx).clamp(1, grid.ny);
        let strips = grid.ny.div_ceil(strip_rows);
        let mut kept: Vec<(u32, Range<usize>)> = Vec::new();
        for (t, tri) in posed.part.mesh.triangles.iter().enumerate() {
            let [a, b, c] = tri.map(|v| snapped[v as usize]);
            let span = |k: usize, most: usize| {
                let lo = first_line(a[k].min(b[k]).min(c[k]));
                let hi = first_line(a[k].max(b[k]).max(c[k]));
                (lo.max(0), hi.min(most as i64))
            };
            let (j0, j1) = span(1, grid.ny);
            if j0 >= j1 {
                continue;
            }
            let (i0, i1) = span(0, grid.nx);
            if i0 >= i1 {
                continue;
            }
            let strips = j0 as usize / strip_rows..(j1 as usize).div_ceil(strip_rows);
            kept.push((t as u32, strips));
        }
        let dealt = (kept.iter()).flat_map(|(t, strips)| strips.clone().map(|s| (s, *t)));
        let listed = Buckets::new(strips, dealt);
        Self {
            posed,
            grid,
            snapped,
            one,
            strip_rows,
            listed,
        }
    }

    /// Number of strips.
    pub fn strips(&self) -> usize {
        self.listed.len()
    }

    /// Cuts the part by the lines of one strip; `out` is overwritten and its
    /// memory used again. A strip out of range leaves no rows, nor does one that is stopped:
    /// where many large facets lie over each other, one takes seconds.
    pub fn strip(&self, strip: usize, out: &mut Dexels, stop: Stop) {
        let first = (strip * self.strip_rows).min(self.grid.ny);
        let rows = first..(first + self.strip_rows).min(self.grid.ny);
        out.loose.clear();
        (out.nx, out.rows) = (self.grid.nx, first..first);
        if strip < self.strips() {
            for (k, &t) in self.listed.of(strip).iter().enumerate() {
                if k % ASKED_EVERY == 0 && stop.asked() {
                    return;
                }
                self.scan(t, &rows, &mut out.loose);
            }
        }
        if stop.asked() {
            return;
        }
        let lines = rows.len() * self.grid.nx;
        let loose = out
            .loose
            .iter()
            .map(|(at, crossing)| (*at as usize, *crossing));
        out.crossings.deal(lines, loose);
        for line in 0..lines {
            if line % ASKED_EVERY == 0 && stop.asked() {
                return;
            }
            out.crossings.of_mut(line).sort_unstable_by(upward);
        }
        out.rows = rows;
    }

    /// Appends what triangle `t` crosses within `rows`, by place in the strip.
    fn scan(&self, t: u32, rows: &Range<usize>, out: &mut Vec<(u32, Crossing)>) {
        let tri = self.posed.part.mesh.triangles[t as usize];
        let facet = Outline {
            triangle: t,
            corner: tri.map(|v| self.snapped[v as usize].map(i64::from)),
            height: tri.map(|v| self.posed.vertices[v as usize].z),
        };
        let rows = rows.start as i64..rows.end as i64;
        facet.scan(self.one, 0, self.grid.nx, &rows, out);
    }
}

/// A triangle seen from above.
pub(super) struct Outline {
    /// Index into the triangles of the mesh.
    pub triangle: u32,
    /// Its corners in whole fractions of a cell.
    pub corner: [[i64; 2]; 3],
    /// Their heights, mm.
    pub height: [f64; 3],
}

impl Outline {
    /// Appends where it is crossed by the lines of some rows, `nx` each and `one` fractions apart,
    /// by their numbers from the first row on. Odd rows begin `shift` further on.
    pub(super) fn scan(
        &self,
        one: i64,
        shift: i64,
        nx: usize,
        rows: &Range<i64>,
        out: &mut Vec<(u32, Crossing)>,
    ) {
        let (corner, height) = (&self.corner, &self.height);
        let [ax, ay] = [corner[1][0] - corner[0][0], corner[1][1] - corner[0][1]];
        let [bx, by] = [corner[2][0] - corner[0][0], corner[2][1] - corner[0][1]];
        let area = ax * by - ay * bx;
        if area == 0 {
            return;
        }
        let [az, bz] = [height[1] - height[0], height[2] - height[0]];
        let slope_e = (az * by as f64 - bz * ay as f64) / area as f64;
        let slope_f = (bz * ax as f64 - az * bx as f64) / area as f64;
        let z_lo = height[0].min(height[1]).min(height[2]);
        let z_hi = height[0].max(height[1]).max(height[2]);
        let f_lo = corner[0][1].min(corner[1][1]).min(corner[2][1]);
        let f_hi = corner[0][1].max(corner[1][1]).max(corner[2][1]);
        let j0 = line_at_or_after(f_lo, one).max(rows.start);
        let j1 = line_at_or_after(f_hi, one).min(rows.end);
        for j in j0..j1 {
            let (f, begin) = (j * one, if j % 2 == 0 { 0 } else { shift });
            let mut ends = [i64::MAX, i64::MIN];
            for k in 0..3 {
                let (mut p, mut q) = (corner[k], corner[(k + 1) % 3]);
                if p[1] > q[1] {
                    std::mem::swap(&mut p, &mut q);
                }
                if p[1] <= f && f < q[1] {
                    let rise = q[1] - p[1];
                    let along = (p[0] - begin) * rise + (f - p[1]) * (q[0] - p[0]);
                    let i = line_at_or_after(along, rise * one);
                    ends = [ends[0].min(i), ends[1].max(i)];
                }
            }
            let row = (j - rows.start) as usize * nx;
            let z_row = height[0] + slope_f * (f - corner[0][1]) as f64;
            for i in ends[0].max(0)..ends[1].min(nx as i64) {
                let z = z_row + slope_e * (i * one + begin - corner[0][0]) as f64;
                let crossing = Crossing {
                    z_mm: z.clamp(z_lo, z_hi),
                    triangle: self.triangle,
                    enters: area < 0,
                };
                out.push(((row + i as usize) as u32, crossing));
            }
        }
    }
}

/// The first whole number at or after `n / d`, for `d` > 0.
fn line_at_or_after(n: i64, d: i64) -> i64 {
    -(-n).div_euclid(d)
}

/// Order of the crossings of a line; at one height those that enter come first, so that
/// bodies that touch leave no void between them.
pub(super) fn upward(a: &Crossing, b: &Crossing) -> std::cmp::Ordering {
    (a.z_mm.total_cmp(&b.z_mm))
        .then(b.enters.cmp(&a.enters))
        .then(a.triangle.cmp(&b.triangle))
}

/// A stretch of a vertical line outside the solid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Void {
    /// Lower end, mm.
    pub from_mm: f64,
    /// Upper end, mm; infinite above the last surface.
    pub to_mm: f64,
    /// Which crossing of the line is the floor; `None` for the bed.
    pub floor: Option<u32>,
    /// Which crossing of the line is the ceiling; `None` above the last surface.
    pub ceiling: Option<u32>,
}

/// Appends the voids of one line, from the bed up, by non-zero winding: the
/// solid is where the line has not left as often as it has entered, so that
/// bodies that overlap count once. A void no longer than `tol_mm` is none.
///
/// False if the line does not leave as often as it enters, as on an open
/// surface. Then an exit without an entry is a floor, and the solid above an
/// entry without an exit ends nowhere.
pub fn voids(line: &[Crossing], tol_mm: f64, out: &mut Vec<Void>) -> bool {
    let balance: i64 = line.iter().map(|c| if c.enters { 1 } else { -1 }).sum();
    let mut winding = 0_i64;
    let mut from_mm = 0.0;
    let mut floor = None;
    for (k, crossing) in line.iter().enumerate() {
        let was = winding;
        winding += if crossing.enters { 1 } else { -1 };
        if balance != 0 {
            winding = winding.max(0);
        }
        if was == 0 && winding != 0 && crossing.z_mm - from_mm > tol_mm {
            out.push(Void {
                from_mm,
                to_mm: crossing.z_mm,
                floor,
                ceiling: Some(k as u32),
            });
        }
        if winding == 0 {
            from_mm = crossing.z_mm;
            floor = Some(k as u32);
        }
    }
    if winding == 0 {
        out.push(Void {
            from_mm,
            to_mm: f64::INFINITY,
            floor,
            ceiling: None,
        });
    }
    balance == 0
}

#[cfg(test)]
#[path = "dexels_tests.rs"]
mod tests;
