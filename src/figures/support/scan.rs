//! Sampling overhang along the lines of one grid.

use super::patches::{NONE, Patches};
use crate::figures::dexels::{Crossing, Dexels, Grid, Raster, Void, voids};
use crate::figures::join::Join;
use crate::figures::stop::Stop;
use crate::pose::Posed;

/// The void that everything outside the part belongs to.
const OUTSIDE: u32 = 0;

/// One line meeting one overhang.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    /// Number of the line, row by row.
    pub line: u32,
    /// Triangle met.
    pub triangle: u32,
    /// Height at which it is met, mm.
    pub z_mm: f64,
    /// Length of the void below; zero where the overhang lies inside another body.
    pub length_mm: f64,
    /// What lies below.
    pub below: Below,
    /// A bridge carries the overhang here.
    pub carried: bool,
    /// Set of voids that the void below belongs to.
    void: u32,
}

impl Sample {
    /// A line entering the solid above a void, or inside another body.
    pub fn new(line: u32, crossing: &Crossing, void: Option<&Void>) -> Self {
        Self {
            line,
            triangle: crossing.triangle,
            z_mm: crossing.z_mm,
            length_mm: void.map_or(0.0, |v| v.to_mm - v.from_mm),
            below: match void {
                None => Below::Solid,
                Some(v) if v.floor.is_none() => Below::Bed,
                Some(_) => Below::Part,
            },
            carried: false,
            void: OUTSIDE,
        }
    }
}

/// Tells of every crossing that enters, from the bed up: how many of the line's voids end below
/// it, and the void that ends there.
pub(super) fn ceilings(
    line: &[Crossing],
    voids: &[Void],
    mut each: impl FnMut(usize, &Crossing, Option<&Void>),
) {
    let mut next = 0;
    for (k, crossing) in line.iter().enumerate() {
        let passed = |v: &Void| v.ceiling.is_some_and(|c| (c as usize) < k);
        while voids.get(next).is_some_and(passed) {
            next += 1;
        }
        if crossing.enters {
            let void = voids.get(next).filter(|v| v.ceiling == Some(k as u32));
            each(next, crossing, void);
        }
    }
}

/// What a line finds under an overhang.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Below {
    /// Solid: the overhang lies inside another body or touches one.
    Solid,
    /// Void down to the bed.
    Bed,
    /// Void down to the part.
    Part,
}

/// Every meeting of the lines of a grid with overhang, in the order of the lines.
#[derive(Debug, Default)]
pub(super) struct Scan {
    pub samples: Vec<Sample>,
    /// Lines that do not leave the solid as often as they enter it.
    pub unmatched: u64,
    joined: Join,
}

/// What every scan of a posed part has in common.
pub(super) struct Sampling<'a> {
    pub posed: &'a Posed<'a>,
    pub patches: &'a Patches,
    pub touch_mm: f64,
    pub tol_mm: f64,
    pub carried: &'a (dyn Fn(f64, f64, f64) -> bool + Sync),
    pub stop: Stop<'a>,
}

impl Scan {
    /// Follows every line of `grid`. With `flood`, voids of neighbouring lines
    /// that overlap in height are joined, so that [`Scan::trapped`] can tell.
    pub fn new(sampling: &Sampling, grid: &Grid, flood: bool) -> Self {
        let mut scan = Self::default();
        scan.joined.push();
        let raster = Raster::new(sampling.posed, grid);
        let mut dexels = Dexels::default();
        let mut found: Vec<Void> = Vec::new();
        let mut front = Front::default();
        for strip in 0..raster.strips() {
            if sampling.stop.asked() {
                break;
            }
            raster.strip(strip, &mut dexels, sampling.stop);
            for j in dexels.rows.clone() {
                if sampling.stop.asked() {
                    break;
                }
                for i in 0..grid.nx {
                    let line = dexels.line(i, j);
                    found.clear();
                    if !voids(line, sampling.tol_mm, &mut found) {
                        scan.unmatched += 1;
                    }
                    let first = front.row.len();
                    if flood {
                        let edge = i == 0 || j == 0 || i + 1 == grid.nx || j + 1 == grid.ny;
                        front.add(&found, edge, &mut scan.joined, sampling.tol_mm);
                    }
                    ceilings(line, &found, |next, crossing, void| {
                        let patch = sampling.patches.of[crossing.triangle as usize];
                        if patch == NONE || crossing.z_mm <= sampling.touch_mm {
                            return;
                        }
                        let at = grid.line(i, j);
                        let carried =
                            void.is_some() && (sampling.carried)(at.x, at.y, crossing.z_mm);
                        scan.samples.push(Sample {
                            carried,
                            void: front.row.get(first + next).map_or(OUTSIDE, |v| v.1),
                            ..Sample::new((j * grid.nx + i) as u32, crossing, void)
                        });
                    });
                }
                front.next_row();
            }
        }
        scan
    }

    /// Whether the void below a sample is joined to no void outside, through the
    /// voids of lines one cell apart. Only after a flood.
    pub fn trapped(&mut self, sample: &Sample) -> bool {
        sample.below == Below::Part && self.joined.root(sample.void) != OUTSIDE
    }
}

/// A void with the set it belongs to.
type Joined = (Void, u32);

/// The voids of the row at work and of the one before it.
#[derive(Debug, Default)]
struct Front {
    row: Vec<Joined>,
    ends: Vec<usize>,
    last_row: Vec<Joined>,
    last_ends: Vec<usize>,
}

impl Front {
    /// Adds the voids of the next line of the row and joins them to those of
    /// its neighbours. A void that stands on the bed is outside: the part comes
    /// off the bed before its support does.
    fn add(&mut self, found: &[Void], edge: bool, joined: &mut Join, tol_mm: f64) {
        let i = self.ends.len();
        let first = self.row.len();
        for v in found {
            let open = edge || v.floor.is_none() || v.ceiling.is_none();
            let set = if open { OUTSIDE } else { joined.push() };
            self.row.push((*v, set));
        }
        self.ends.push(self.row.len());
        let range = |ends: &[usize], i: usize| {
            let from = if i == 0 { 0 } else { ends[i - 1] };
            from..ends.get(i).copied().unwrap_or(from)
        };
        let (before, here) = self.row.split_at(first);
        if i > 0 {
            unite_overlaps(&before[range(&self.ends, i - 1)], here, joined, tol_mm);
        }
        if !self.last_ends.is_empty() {
            let beside = &self.last_row[range(&self.last_ends, i)];
            unite_overlaps(beside, here, joined, tol_mm);
        }
    }

    fn next_row(&mut self) {
        std::mem::swap(&mut self.row, &mut self.last_row);
        std::mem::swap(&mut self.ends, &mut self.last_ends);
        self.row.clear();
        self.ends.clear();
    }
}

/// Joins the voids of two lines wherever they share more than `tol_mm` of height.
fn unite_overlaps(a: &[Joined], b: &[Joined], joined: &mut Join, tol_mm: f64) {
    let (mut i, mut j) = (0, 0);
    while let (Some((x, of_x)), Some((y, of_y))) = (a.get(i), b.get(j)) {
        if x.to_mm.min(y.to_mm) - x.from_mm.max(y.from_mm) > tol_mm && of_x != of_y {
            joined.unite(*of_x, *of_y);
        }
        if x.to_mm < y.to_mm {
            i += 1;
        } else {
            j += 1;
        }
    }
}
