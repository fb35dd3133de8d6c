//! The support volume of one direction among a thousand, to 2 %.
//!
//! The volume is [`Support::volume_mm3`](super::Support::volume_mm3): all void below overhang,
//! down to the next surface or the bed, whatever bridges carry and whatever is too small or too
//! low to need support, which only layers tell.
//!
//! One raster cuts the part by two square grids at once: the rows of lines lie half a cell apart,
//! every other one is shifted by half a cell, the even ones are one grid and the odd ones the
//! other. Each grid gives an estimate, and what they differ by enters the error as it does in
//! full. A triangle that holds no line is left as soon as its box tells. Overhang is summed up in
//! groups that hold for all directions, triangles of one neighbourhood that face one way, in
//! place of the connected patches of one pose.

use super::estimate::{Estimate, OverhangFacts, settled};
use super::patches::{Exact, above};
use super::scan::{Sample, ceilings};
use super::{Effort, GRIDS, Level};
use crate::figures::buckets::Buckets;
use crate::figures::dexels::{Crossing, Outline, Void, upward, voids};
use crate::figures::stop::Stop;
use crate::figures::touch::bed_axes;
use crate::mesh::Part;
use crate::settings::Settings;
use crate::tol;
use nalgebra::{Point3, Unit, Vector3};

/// For one direction among many; it begins with as many lines as cost about what a look at all
/// triangles does.
const BRIEF: Effort = Effort {
    columns_first: 1 << 13,
    columns_most: 1 << 17,
    error_share: 0.02,
};

/// Fewest lines to begin with.
const COLUMNS_FEW: usize = 1 << 12;

/// Triangles to a line to begin with.
const TRIANGLES_A_COLUMN: usize = 32;

/// Neighbourhoods along each side of the part's box.
const NEIGHBOURHOODS: usize = 3;

/// Lines are numbered in 32 bits, and sides kept well below that.
const SIDE_MAX: f64 = 65_536.0;

/// Triangles between two looks at whether to stop.
const STOP_TRIANGLES: usize = 1 << 16;

/// The support volume of one direction.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SurveyedSupport {
    /// Void below overhang, mm³.
    pub volume_mm3: f64,
    /// Bound on its error, met in 99 cases of 100, mm³.
    pub error_mm3: f64,
    /// False if the error is larger than 2 % and 1 mm³ at the most lines allowed.
    pub resolved: bool,
}

/// A part made ready for the support of many directions.
pub struct Survey<'a> {
    part: &'a Part,
    /// Group of each triangle.
    group: Vec<u16>,
    groups: usize,
    tol_mm: f64,
}

impl<'a> Survey<'a> {
    /// Deals the triangles out to groups: O(n).
    pub fn new(part: &'a Part) -> Self {
        let (lo, hi) = part
            .mesh
            .bounds()
            .unwrap_or((Point3::origin(), Point3::origin()));
        let side = |x: f64, k: usize| {
            let share = (x - lo[k]) / (hi[k] - lo[k]);
            ((share * NEIGHBOURHOODS as f64) as usize).min(NEIGHBOURHOODS - 1)
        };
        let group = (part.mesh.triangles.iter().zip(&part.normals))
            .map(|(tri, normal)| {
                let corners = tri.map(|v| part.mesh.vertices[v as usize].coords);
                let middle = corners.iter().sum::<Vector3<f64>>() / 3.0;
                let main = normal.iamax();
                let place = (0..3).fold(0, |at, k| at * NEIGHBOURHOODS + side(middle[k], k));
                (place * 6 + main * 2 + usize::from(normal[main] < 0.0)) as u16
            })
            .collect();
        Self {
            part,
            group,
            groups: NEIGHBOURHOODS.pow(3) * 6,
            tol_mm: tol::length(part.extent()),
        }
    }

    /// The support volume with `down` (part frame) turned to the bed. Takes O(n) and no thread
    /// but its own. Where it is stopped, it means nothing.
    pub fn support(
        &self,
        down: &Unit<Vector3<f64>>,
        settings: &Settings,
        stop: Stop,
    ) -> SurveyedSupport {
        let none = SurveyedSupport {
            resolved: true,
            ..SurveyedSupport::default()
        };
        let Some(shadow) = Shadow::new(self, down, settings, stop) else {
            return none;
        };
        if stop.asked() || shadow.exact.iter().all(|e| e.plan_mm2 <= 0.0) {
            return none;
        }
        let [width, depth] = [0, 1].map(|k| shadow.hi[k] - shadow.lo[k]);
        let area = width * depth;
        if !(area.is_finite() && area > 0.0) {
            return none;
        }
        let lines = self.part.mesh.triangles.len() / TRIANGLES_A_COLUMN;
        let effort = Effort {
            columns_first: lines.clamp(COLUMNS_FEW, BRIEF.columns_first),
            ..BRIEF
        };
        // Both grids together have the lines.
        let first_mm = (2.0 * area / effort.columns_first as f64).sqrt();
        if width.max(depth) / effort.finest_mm(first_mm) > SIDE_MAX {
            return SurveyedSupport {
                resolved: false,
                ..SurveyedSupport::default()
            };
        }
        let level = Level::refined(effort, first_mm, stop, |cell_mm| shadow.estimates(cell_mm));
        let [a, b] = &level.estimates;
        SurveyedSupport {
            volume_mm3: 0.5 * (a.volume.value + b.volume.value),
            error_mm3: level.error(|e| e.volume),
            resolved: level.resolved(),
        }
    }
}

/// A part seen from above.
struct Shadow<'a> {
    survey: &'a Survey<'a>,
    down: Unit<Vector3<f64>>,
    /// Along both axes of the grids, and the height, of each vertex, mm.
    vertices: Vec<[f64; 3]>,
    lo: [f64; 2],
    hi: [f64; 2],
    exact: Vec<Exact>,
    overhang_sin: f64,
    touch_mm: f64,
    stop: Stop<'a>,
}

impl<'a> Shadow<'a> {
    fn new(
        survey: &'a Survey<'a>,
        down: &Unit<Vector3<f64>>,
        settings: &Settings,
        stop: Stop<'a>,
    ) -> Option<Self> {
        let part = survey.part;
        let [x, y] = bed_axes(down);
        let (sin, cos) = libm::sincos(GRIDS[0].0);
        let (e, f) = (x * cos + y * sin, y * cos - x * sin);
        let (mut lo, mut hi) = ([f64::MAX; 3], [f64::MIN; 3]);
        // Written out, here and below: these loops see every vertex and triangle for each of a
        // thousand directions.
        let mut vertices: Vec<[f64; 3]> = Vec::with_capacity(part.mesh.vertices.len());
        for p in &part.mesh.vertices {
            let at = [
                e.x * p.x + e.y * p.y + e.z * p.z,
                f.x * p.x + f.y * p.y + f.z * p.z,
                -(down.x * p.x + down.y * p.y + down.z * p.z),
            ];
            for k in 0..3 {
                if at[k] < lo[k] {
                    lo[k] = at[k];
                }
                if at[k] > hi[k] {
                    hi[k] = at[k];
                }
            }
            vertices.push(at);
        }
        if vertices.is_empty() || !lo.iter().chain(&hi).all(|x| x.is_finite()) {
            return None;
        }
        for p in &mut vertices {
            p[2] -= lo[2];
        }
        let mut shadow = Self {
            survey,
            down: *down,
            vertices,
            lo: [lo[0], lo[1]],
            hi: [hi[0], hi[1]],
            exact: vec![Exact::default(); survey.groups],
            overhang_sin: settings.overhang_sin(),
            touch_mm: settings.touch_mm(),
            stop,
        };
        shadow.sum_up();
        Some(shadow)
    }

    /// Adds up what is known of the overhang of each group.
    fn sum_up(&mut self) {
        let part = self.survey.part;
        for (t, normal) in part.normals.iter().enumerate() {
            let sine = normal.dot(&self.down);
            if sine <= self.overhang_sin {
                continue;
            }
            let [a, b, c] = part.mesh.triangles[t];
            let height = |v: u32| self.vertices[v as usize][2];
            let z = [height(a), height(b), height(c)];
            if z[0] <= self.touch_mm && z[1] <= self.touch_mm && z[2] <= self.touch_mm {
                continue;
            }
            let group = usize::from(self.survey.group[t]);
            self.exact[group].add(&above(z, part.areas[t], sine, self.touch_mm));
        }
    }

    /// What both grids find at one spacing.
    fn estimates(&self, cell_mm: f64) -> [Estimate; 2] {
        let mut lines = Lines::new(self, cell_mm);
        let mut samples: [Vec<Sample>; 2] = [Vec::new(), Vec::new()];
        let mut unmatched = [0; 2];
        let mut found: Vec<Void> = Vec::new();
        let part = self.survey.part;
        let slope = |t: u32| 1.0 / part.normals[t as usize].dot(&self.down);
        for j in 0..lines.ny {
            for i in 0..lines.nx {
                let line = lines.crossings.of_mut(j * lines.nx + i);
                line.sort_unstable_by(upward);
                found.clear();
                if !voids(line, self.survey.tol_mm, &mut found) {
                    unmatched[j % 2] += 1;
                }
                ceilings(line, &found, |_, crossing, void| {
                    let sine = part.normals[crossing.triangle as usize].dot(&self.down);
                    if sine > self.overhang_sin && crossing.z_mm > self.touch_mm {
                        let at = (j / 2 * lines.nx + i) as u32;
                        samples[j % 2].push(Sample::new(at, crossing, void));
                    }
                });
            }
        }
        let known = OverhangFacts {
            exact: &self.exact,
            patch: &|t| usize::from(self.survey.group[t as usize]),
            slope: &slope,
        };
        [0, 1].map(|k| Estimate {
            unmatched: unmatched[k],
            ..settled(&samples[k], &known, cell_mm * cell_mm, &mut |_| false)
        })
    }
}

/// The crossings of the lines of both grids with the surface.
///
/// Vertices are snapped to whole fractions of a cell, as in [`crate::figures::dexels`]: no line
/// slips between two triangles or is counted twice.
struct Lines {
    /// Lines of a row.
    nx: usize,
    /// Rows of both grids.
    ny: usize,
    crossings: Buckets<Crossing>,
}

impl Lines {
    fn new(shadow: &Shadow, cell_mm: f64) -> Self {
        let spacing = [cell_mm, 0.5 * cell_mm];
        // The odd rows begin half a cell further on: less than half a cell to the first line
        // of the even ones.
        let shift = [GRIDS[1].1[1], GRIDS[0].1[1]];
        let [nx, ny] = [0, 1].map(|k| {
            let lines = (shadow.hi[k] - shadow.lo[k]) / spacing[k] - shift[k];
            (lines.floor() + 1.0).max(1.0) as usize
        });
        // Products of two coordinates fit an i64.
        let power = 28 - (nx.max(ny) + 2).next_power_of_two().trailing_zeros();
        let one = 1_i64 << power;
        let scale = spacing.map(|mm| one as f64 / mm);
        let origin = [0, 1].map(|k| shadow.lo[k] + shift[k] * spacing[k]);
        let [scale_e, scale_f] = scale;
        // Shifted, so that all are positive and cutting off rounds.
        let (whole, up) = (one as i32, one as f64 + 0.5);
        let mut snapped: Vec<[i32; 2]> = Vec::with_capacity(shadow.vertices.len());
        for p in &shadow.vertices {
            snapped.push([
                ((p[0] - origin[0]) * scale_e + up) as i32 - whole,
                ((p[1] - origin[1]) * scale_f + up) as i32 - whole,
            ]);
        }
        let mut loose: Vec<(u32, Crossing)> = Vec::new();
        let rows = 0..ny as i64;
        for (t, &[a, b, c]) in shadow.survey.part.mesh.triangles.iter().enumerate() {
            if t % STOP_TRIANGLES == 0 && shadow.stop.asked() {
                break;
            }
            let (p, q, r) = (
                snapped[a as usize],
                snapped[b as usize],
                snapped[c as usize],
            );
            let f_lo = (p[1].min(q[1]).min(r[1]) + whole - 1) >> power;
            let f_hi = (p[1].max(q[1]).max(r[1]) + whole - 1) >> power;
            if f_lo == f_hi {
                continue;
            }
            // Where one row goes through it, only that row's lines count; else those of both kinds
            // of rows, which stand half a cell apart.
            let alone = f_hi == f_lo + 1;
            let begin = whole - 1 - ((f_lo & i32::from(alone)) << (power - 1));
            let step = power - u32::from(!alone);
            let e_lo = p[0].min(q[0]).min(r[0]) + begin;
            let e_hi = p[0].max(q[0]).max(r[0]) + begin;
            if e_lo >> step == e_hi >> step {
                continue;
            }
            let height = |v: u32| shadow.vertices[v as usize][2];
            let wide = |p: [i32; 2]| [i64::from(p[0]), i64::from(p[1])];
            let facet = Outline {
                triangle: t as u32,
                corner: [wide(p), wide(q), wide(r)],
                height: [height(a), height(b), height(c)],
            };
            facet.scan(one, one / 2, nx, &rows, &mut loose);
        }
        let dealt = loose.iter().map(|(at, crossing)| (*at as usize, *crossing));
        Self {
            nx,
            ny,
            crossings: Buckets::new(nx * ny, dealt),
        }
    }
}

#[cfg(test)]
#[path = "survey_tests.rs"]
mod tests;
