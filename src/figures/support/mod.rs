//! Support: void below overhang, where it ends, and whether it can be got out.
//!
//! `support_volume_mm3` is, over every vertical line, the length of each void
//! whose ceiling is an overhang, down to the next surface or the bed, integrated
//! over the plan. `support_after_bridges_mm3` leaves out overhang that a bridge
//! carries. The other figures concern the support that is then printed.
//!
//! Lines are laid on two grids at once, turned to build X by angles whose
//! tangents are the golden ratio's inverse and √2 − 1. Numbers that fractions
//! approximate badly spread the lines evenly against straight edges along X, Y
//! and the diagonals, where a grid along X would gain or lose whole rows
//! (Drmota & Tichy, *Sequences, Discrepancies and Applications*, 1997, from
//! memory). The grids are refined until the error is small.

mod estimate;
mod patches;
mod scan;
mod survey;

pub use survey::{Survey, SurveyedSupport};

use crate::figures::SupportMarks;
use crate::figures::dexels::Grid;
use crate::figures::stop::Stop;
use crate::mesh::Part;
use crate::pose::Posed;
use crate::settings::Settings;
use crate::tol;
use estimate::{Estimate, Quantity, estimate};
use patches::Patches;
use scan::Sampling;

/// How closely it is looked at.
#[derive(Debug, Clone, Copy)]
struct Effort {
    /// Lines within the footprint's box to begin with.
    columns_first: usize,
    /// Lines at most.
    columns_most: usize,
    /// Error that is small enough, as a share of the volume.
    error_share: f64,
}

/// For one pose in full.
const FULL: Effort = Effort {
    columns_first: 1 << 13,
    columns_most: 1 << 20,
    error_share: 0.005,
};

/// Error that is small enough whatever the volume, mm³.
const ERROR_MM3: f64 = 1.0;

/// Standard errors that a stated error spans.
const ERROR_SIGMAS: f64 = 2.6;

/// Cells that a feature may fill and yet lie between the lines of both grids.
const UNSEEN_CELLS: f64 = 0.5;

/// Angle to build X and share of a cell to the first line, of each grid.
const GRIDS: [(f64, [f64; 2]); 2] = [
    (
        0.553_574_358_897_045_3,
        [0.754_877_666_246_692_7, 0.569_840_290_998_053_2],
    ),
    (
        -std::f64::consts::FRAC_PI_8,
        [0.324_717_957_244_746, 0.245_122_333_753_307_2],
    ),
];

/// The support of one pose. Lengths mm, areas mm², volumes mm³.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Support {
    /// Void below overhang.
    pub volume_mm3: f64,
    /// The same less what bridges carry: the support that is printed.
    pub after_bridges_mm3: f64,
    /// Bound on the error of both volumes, met in 99 cases of 100.
    pub error_mm3: f64,
    /// Spacing of the lines at which that error was reached, mm.
    pub cell_mm: f64,
    /// False if the error is larger than 0.5 % and 1 mm³ at the finest grid allowed.
    pub resolved: bool,
    /// Marks that printed support leaves.
    pub scar: SupportMarks,
    /// Bound on the error of `scar.below`.
    pub scar_below_error_mm2: f64,
    /// Printed support in a void that nothing joins to the outside: in a cavity, or
    /// walled in by several bodies. Voids are joined through lines one cell apart,
    /// so beside a cavity a way narrower than a cell does not count. A void that
    /// opens to the bed is not trapped: the part comes off the bed first.
    pub trapped_mm3: f64,
    /// Overhang area that is the ceiling of a void.
    pub exposed_overhang_mm2: f64,
    /// Bound on the error of the exposed area.
    pub exposed_error_mm2: f64,
    /// Overhang area inside other bodies, or touching them.
    pub hidden_overhang_mm2: f64,
    /// Lines, of both grids, that do not leave the solid as often as they enter
    /// it: not zero only for an open surface.
    pub unmatched_columns: u64,
}

/// Measures the support of a posed part.
///
/// `carried(x, y, z)` says whether a bridge carries the overhang at a point of
/// the build frame, mm. It is asked only about ceilings of voids.
///
/// All zero for a part without overhang. For an open surface the figures are
/// doubtful, see [`Support::unmatched_columns`]. Where it is stopped, they mean nothing.
pub fn support(
    posed: &Posed,
    settings: &Settings,
    carried: &(dyn Fn(f64, f64, f64) -> bool + Sync),
    stop: Stop,
) -> Support {
    let touch_mm = settings.touch_mm();
    let patches = Patches::new(posed, settings.overhang_sin(), touch_mm);
    let none = Support {
        resolved: true,
        ..Support::default()
    };
    if patches.exact.is_empty() || stop.asked() {
        return none;
    }
    let Some(first_mm) = Grid::cell_for(posed, FULL.columns_first, GRIDS[0].0) else {
        return none;
    };
    let finest_mm = FULL.finest_mm(first_mm);
    let tol_mm = tol::length(posed.part.extent());
    let sampling = Sampling {
        posed,
        patches: &patches,
        touch_mm,
        tol_mm,
        carried,
        stop,
    };
    let level = Level::refined(FULL, first_mm, stop, |cell_mm| both(&sampling, cell_mm));
    let cell_mm = level.cell_mm;
    let [a, b] = &level.estimates;
    let trapped_mm3 = if (a.enclosed || b.enclosed) && may_trap(posed.part) {
        trapped(&sampling, cell_mm.min(settings.line_mm).max(finest_mm))
    } else {
        0.0
    };
    let mean = |f: fn(&Estimate) -> f64| 0.5 * (f(a) + f(b));
    let exposed = mean(|e| e.exposed.value);
    let whole: f64 = patches.exact.iter().map(|p| p.area_mm2).sum();
    let volume_mm3 = mean(|e| e.volume.value);
    // Both are estimates: what is left is never more than the whole.
    let after_bridges_mm3 = mean(|e| e.after.value).min(volume_mm3);
    Support {
        volume_mm3,
        after_bridges_mm3,
        error_mm3: level.error(|e| e.volume).max(level.error(|e| e.after)),
        cell_mm,
        resolved: level.resolved(),
        scar: SupportMarks {
            below: mean(|e| e.scar_below.value),
            above: mean(|e| e.scar_above_mm2),
        },
        scar_below_error_mm2: level.error(|e| e.scar_below),
        trapped_mm3: trapped_mm3.min(after_bridges_mm3),
        exposed_overhang_mm2: exposed,
        exposed_error_mm2: level.error(|e| e.exposed),
        hidden_overhang_mm2: (whole - exposed).max(0.0),
        unmatched_columns: a.unmatched + b.unmatched,
    }
}

impl Effort {
    /// Spacing at the most lines, from that at the first ones, mm.
    fn finest_mm(self, first_mm: f64) -> f64 {
        first_mm * (self.columns_first as f64 / self.columns_most as f64).sqrt()
    }
}

/// What both grids find at one spacing.
fn both(sampling: &Sampling, cell_mm: f64) -> [Estimate; 2] {
    let one = |(turn_rad, shift): (f64, [f64; 2])| {
        if sampling.stop.asked() {
            return Estimate::default();
        }
        let grid = Grid::over(sampling.posed, cell_mm, turn_rad, shift);
        grid.map_or_else(Estimate::default, |grid| estimate(sampling, &grid, false))
    };
    let (a, b) = rayon::join(|| one(GRIDS[0]), || one(GRIDS[1]));
    [a, b]
}

/// Both grids at one spacing.
struct Level {
    estimates: [Estimate; 2],
    cell_mm: f64,
    effort: Effort,
}

impl Level {
    /// From the first spacing on, closer and closer until the error is small.
    fn refined(
        effort: Effort,
        first_mm: f64,
        stop: Stop,
        both: impl Fn(f64) -> [Estimate; 2],
    ) -> Self {
        let finest_mm = effort.finest_mm(first_mm);
        let at = |cell_mm: f64| Self {
            estimates: both(cell_mm),
            cell_mm,
            effort,
        };
        let mut level = at(first_mm);
        while !level.resolved() && level.cell_mm > finest_mm && !stop.asked() {
            // The error falls about as the cell to the power 1.5.
            let wanted = libm::pow(0.85 / level.excess(), 1.0 / 1.5);
            level = at((level.cell_mm * wanted.clamp(0.2, 0.7)).max(finest_mm));
        }
        level
    }

    /// Bound on the error of the mean of both grids: what the variances give, or
    /// what the grids differ by, if more; and what both may have missed.
    fn error(&self, of: fn(&Estimate) -> Quantity) -> f64 {
        let [a, b] = self.estimates.map(|e| of(&e));
        let spread = ERROR_SIGMAS * 0.5 * (a.variance + b.variance).sqrt();
        let missed = 0.5 * (a.cell + b.cell) * UNSEEN_CELLS;
        spread.max((a.value - b.value).abs()) + missed
    }

    /// Error over what is small enough; above 1 is too large.
    fn excess(&self) -> f64 {
        let share = |of: fn(&Estimate) -> Quantity| {
            let value = 0.5 * (of(&self.estimates[0]).value + of(&self.estimates[1]).value);
            self.error(of) / (self.effort.error_share * value).max(ERROR_MM3)
        };
        share(|e| e.volume).max(share(|e| e.after))
    }

    fn resolved(&self) -> bool {
        self.excess() <= 1.0
    }
}

/// Whether any void can be cut off from the outside. Around one closed body bounded by
/// one surface all void hangs together, however narrow the ways are; several
/// bodies may wall some in.
fn may_trap(part: &Part) -> bool {
    part.bodies.len() != 1 || part.overlapping || !part.closed
}

/// Support in voids that are not joined to the outside. The cell is no wider
/// than a printed line, so that no wall that can be printed slips between two
/// neighbouring lines.
fn trapped(sampling: &Sampling, cell_mm: f64) -> f64 {
    let (turn_rad, shift) = GRIDS[0];
    Grid::over(sampling.posed, cell_mm, turn_rad, shift)
        .map_or(0.0, |grid| estimate(sampling, &grid, true).trapped_mm3)
}

#[cfg(test)]
mod error_tests;
#[cfg(test)]
mod tests;
