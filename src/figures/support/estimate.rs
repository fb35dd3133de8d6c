//! From samples on a grid to areas and volumes.
//!
//! Counting lines alone would be off by the lines that fall in or out along
//! every border. What is known exactly takes that out: each patch of overhang
//! has a known plan area and a known integral of its height, so the mean length
//! of void below it, corrected by its regression on the height, times the known
//! area is the volume (the ratio and regression estimators of Cochran, *Sampling
//! Techniques*, chapters 6 and 7, from memory). A flat ceiling over the bed, or
//! a dome over the bed, comes out exact; only what the voids below a patch do
//! beyond a straight line is left to sampling.

use super::patches::Exact;
use super::scan::{Below, Sample, Sampling, Scan};
use crate::figures::dexels::Grid;

/// Samples below which a patch is counted together with other small ones.
const FEW: f64 = 16.0;

/// What is estimated.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Estimate {
    pub volume: Quantity,
    pub after: Quantity,
    pub exposed: Quantity,
    pub scar_below: Quantity,
    pub scar_above_mm2: f64,
    pub trapped_mm3: f64,
    /// Some of what is printed stands on the part.
    pub enclosed: bool,
    /// Lines that do not leave the solid as often as they enter it.
    pub unmatched: u64,
}

/// A value on one grid.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Quantity {
    pub value: f64,
    /// Square of the standard error.
    pub variance: f64,
    /// What one cell of overhang contributes on average.
    pub cell: f64,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    n: f64,
    z: f64,
    zz: f64,
    length: f64,
    length_z: f64,
    after: f64,
    after_z: f64,
    below: f64,
    trapped: f64,
    slope: f64,
    slope_exposed: f64,
    slope_touched: f64,
}

impl Sums {
    fn add(&mut self, s: &Sample, slope: f64, trapped: bool) {
        let z = s.z_mm;
        let after = if s.carried { 0.0 } else { s.length_mm };
        self.n += 1.0;
        self.z += z;
        self.zz += z * z;
        self.length += s.length_mm;
        self.length_z += s.length_mm * z;
        self.after += after;
        self.after_z += after * z;
        self.slope += slope;
        if s.below != Below::Solid {
            self.slope_exposed += slope;
            if !s.carried {
                self.slope_touched += slope;
            }
        }
        if s.below == Below::Part && !s.carried {
            self.below += 1.0;
        }
        if trapped {
            self.trapped += after;
        }
    }
}

/// Straight line through the samples of a group.
#[derive(Debug, Clone, Copy, Default)]
struct Regression {
    z_mean: f64,
    mean: f64,
    slope: f64,
}

impl Regression {
    fn through(s: &Sums, y: f64, yz: f64) -> Self {
        let (z_mean, mean) = (s.z / s.n, y / s.n);
        let spread = s.zz / s.n - z_mean * z_mean;
        let level = spread <= 1e-9 * (s.zz / s.n) || s.n < FEW;
        let slope = if level {
            0.0
        } else {
            (yz / s.n - z_mean * mean) / spread
        };
        Self {
            z_mean,
            mean,
            slope,
        }
    }

    fn at(&self, z: f64) -> f64 {
        self.mean + self.slope * (z - self.z_mean)
    }
}

#[derive(Debug, Clone, Copy, Default)]
struct Fit {
    length: Regression,
    after: Regression,
    exposed: f64,
    below: f64,
}

/// Sums up samples on `grid`; trapped voids are told only where it is `flooded`.
pub(super) fn estimate(sampling: &Sampling, grid: &Grid, flooded: bool) -> Estimate {
    let mut scan = Scan::new(sampling, grid, flooded);
    let (posed, patches) = (sampling.posed, sampling.patches);
    let samples = std::mem::take(&mut scan.samples);
    let known = OverhangFacts {
        exact: &patches.exact,
        patch: &|t| patches.of[t as usize] as usize,
        slope: &|t| 1.0 / -posed.normal_z[t as usize],
    };
    let unmatched = scan.unmatched;
    let mut trapped = |s: &Sample| flooded && scan.trapped(s);
    Estimate {
        unmatched,
        ..settled(&samples, &known, grid.cell_mm2(), &mut trapped)
    }
}

/// What is known of overhang without samples.
pub(super) struct OverhangFacts<'a> {
    /// Integrals of each patch.
    pub exact: &'a [Exact],
    /// Patch of an overhang triangle.
    pub patch: &'a dyn Fn(u32) -> usize,
    /// Its surface area over its plan area.
    pub slope: &'a dyn Fn(u32) -> f64,
}

/// Sums up samples, in the order of their lines, each of which stands for `cell_mm2` of the plan.
pub(super) fn settled(
    samples: &[Sample],
    known: &OverhangFacts,
    cell_mm2: f64,
    trapped: &mut dyn FnMut(&Sample) -> bool,
) -> Estimate {
    let (patch, slope_of) = (known.patch, known.slope);
    // The last group gathers every patch with few samples.
    let pool = known.exact.len();
    let mut counts = vec![0.0; pool];
    for s in samples {
        counts[patch(s.triangle)] += 1.0;
    }
    let group = |t: u32| Some(patch(t)).filter(|&k| counts[k] >= FEW).unwrap_or(pool);
    let mut sums = vec![Sums::default(); pool + 1];
    for s in samples {
        sums[group(s.triangle)].add(s, slope_of(s.triangle), trapped(s));
    }
    let mut exact = known.exact.to_vec();
    exact.push(Exact::default());
    for k in (0..pool).filter(|&k| counts[k] < FEW) {
        let known = std::mem::take(&mut exact[k]);
        exact[pool].add(&known);
    }
    let mut out = Estimate {
        enclosed: (samples.iter()).any(|s| s.below == Below::Part && !s.carried),
        ..Estimate::default()
    };
    let mut plan_mm2 = 0.0;
    let mut fits = vec![Fit::default(); pool + 1];
    for ((s, known), fit) in sums.iter().zip(&exact).zip(&mut fits) {
        plan_mm2 += known.plan_mm2;
        if s.n == 0.0 {
            // Too small for the grid: at most what stands on the bed.
            for (q, most) in [
                (&mut out.volume, known.under_mm3),
                (&mut out.after, known.under_mm3),
                (&mut out.exposed, known.area_mm2),
            ] {
                q.value += most;
                q.variance += most * most;
            }
            out.scar_above_mm2 += known.area_mm2;
            out.scar_below.variance += known.plan_mm2 * known.plan_mm2;
            continue;
        }
        *fit = Fit {
            length: Regression::through(s, s.length, s.length_z),
            after: Regression::through(s, s.after, s.after_z),
            exposed: s.slope_exposed / s.slope,
            below: s.below / s.n,
        };
        let z = if known.plan_mm2 > 0.0 {
            known.under_mm3 / known.plan_mm2
        } else {
            0.0
        };
        out.volume.value += known.plan_mm2 * fit.length.at(z).max(0.0);
        out.after.value += known.plan_mm2 * fit.after.at(z).max(0.0);
        out.exposed.value += known.area_mm2 * fit.exposed;
        out.scar_above_mm2 += known.area_mm2 * s.slope_touched / s.slope;
        out.scar_below.value += known.plan_mm2 * fit.below;
        out.trapped_mm3 += known.plan_mm2 * s.trapped / s.n;
    }
    let residual = |s: &Sample| {
        let fit = &fits[group(s.triangle)];
        let after = if s.carried { 0.0 } else { s.length_mm };
        let exposed = if s.below == Below::Solid { 0.0 } else { 1.0 };
        [
            s.length_mm - fit.length.at(s.z_mm),
            after - fit.after.at(s.z_mm),
            slope_of(s.triangle) * (exposed - fit.exposed),
            f64::from(s.below == Below::Part && !s.carried) - fit.below,
        ]
    };
    let steps = squared_steps(samples, residual);
    let weight = cell_mm2 * cell_mm2 / 3.0;
    let quantities = [
        &mut out.volume,
        &mut out.after,
        &mut out.exposed,
        &mut out.scar_below,
    ];
    for (q, sum) in quantities.into_iter().zip(steps) {
        q.variance += weight * sum;
        q.cell = if plan_mm2 > 0.0 {
            q.value * cell_mm2 / plan_mm2
        } else {
            0.0
        };
    }
    out
}

/// Sum of the squared differences between neighbouring lines of what the fit
/// leaves over, nothing being left over where there is no overhang. Had every
/// cell been sampled at a random place, the variance of the sum over a cell
/// crossed by a step J would be J²/6 on average, and a cell is crossed along
/// either axis: a third of the sum along rows, times the cell area squared.
fn squared_steps<const N: usize>(
    samples: &[Sample],
    residual: impl Fn(&Sample) -> [f64; N],
) -> [f64; N] {
    let mut sum = [0.0; N];
    let mut last = [0.0; N];
    let mut last_line = None;
    let mut k = 0;
    while k < samples.len() {
        let line = samples[k].line;
        let mut here = [0.0; N];
        while let Some(s) = samples.get(k).filter(|s| s.line == line) {
            for (h, r) in here.iter_mut().zip(residual(s)) {
                *h += r;
            }
            k += 1;
        }
        let next_to_last = last_line.is_some_and(|l: u32| l + 1 == line);
        for n in 0..N {
            sum[n] += if next_to_last {
                (here[n] - last[n]) * (here[n] - last[n])
            } else {
                here[n] * here[n] + last[n] * last[n]
            };
        }
        (last, last_line) = (here, Some(line));
    }
    for n in 0..N {
        sum[n] += last[n] * last[n];
    }
    sum
}
