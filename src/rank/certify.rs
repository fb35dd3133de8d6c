//! How much better than the winner any direction could be, over the whole sphere.
//!
//! Branch and bound (A. H. Land and A. G. Doig, *An automatic method of solving discrete programming
//! problems*, 1960, from memory): the sphere is parted into the faces of a cube, and each part into
//! four, the one with the lowest bound first. The bound of a part is what no direction of the cap
//! around it undercuts ([`Bench::at_least`]). It ends where no part that is left can hold a
//! direction better than the winner by more than is asked for, or where parting no longer helps.
//! The gap to what is left is true in either case: rows that no bound knows (support, sway, time and
//! the like) count as nothing, so that it is too large by what the winner pays for them.

use super::penalties::{Scene, booked};
use super::search::angle_deg;
use crate::figures::cap::Cap;
use crate::figures::quick::Bench;
use crate::figures::stop::Stop;
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::f64::consts::FRAC_PI_4;

/// Parts of the sphere parted at once: so many whatever the number of threads.
const BATCH: usize = 64;
/// Caps looked at, at most.
const MOST_CAPS: usize = 1 << 16;
/// How often a face of the cube is halved, at most: to a fiftieth of a degree.
const DEEPEST: u32 = 12;
/// What rounding may do to an angle.
const SLACK_RAD: f64 = 1e-9;

/// What is certain of all directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Certificate {
    /// No direction has a total below this.
    pub least: f64,
    /// No direction's total is lower than the winner's by more than this share of it.
    pub gap: f64,
    /// Caps that were looked at.
    pub caps: usize,
}

/// A part of the sphere: a square on a face of a cube, seen from its middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Square {
    depth: u32,
    face: u8,
    at: [u32; 2],
}

impl Square {
    fn quarters(self) -> [Self; 4] {
        [[0, 0], [1, 0], [0, 1], [1, 1]].map(|more| Self {
            depth: self.depth + 1,
            at: [0, 1].map(|k| 2 * self.at[k] + more[k]),
            ..self
        })
    }

    /// A direction in it, by its place from 0 to 1 along both sides.
    fn direction(self, place: [f64; 2]) -> Unit<Vector3<f64>> {
        let sides = f64::from(1_u32 << self.depth);
        // Even in angle, so that squares are of about one size.
        let [u, v] = [0, 1].map(|k| {
            let along = (f64::from(self.at[k]) + place[k]) / sides;
            libm::tan(FRAC_PI_4 * (2.0 * along - 1.0))
        });
        let side = if self.face % 2 == 0 { 1.0 } else { -1.0 };
        Unit::new_normalize(match self.face / 2 {
            0 => Vector3::new(side, u, v),
            1 => Vector3::new(u, side, v),
            _ => Vector3::new(u, v, side),
        })
    }

    /// The cap around it: its sides are great circles, so that no point of it lies farther from its
    /// middle than a corner.
    fn cap(self) -> Cap {
        let middle = self.direction([0.5, 0.5]);
        let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
        let angles = corners.map(|place| {
            let corner = self.direction(place);
            angle_deg(&middle, &corner).to_radians()
        });
        Cap {
            middle,
            radius_rad: angles.into_iter().fold(0.0, f64::max) + SLACK_RAD,
        }
    }
}

/// What the total of no direction of a cap undercuts. The part must be closed.
pub fn least_total(bench: &Bench, cap: &Cap) -> f64 {
    let mut least = bench.at_least(cap);
    booked(bench, &mut least.figures, least.open_mm2);
    Scene::new(bench.part, bench.settings, &least.figures).total()
}

/// How far the totals of all directions may lie below `winner`, looked for until that is no more than
/// `wanted` of it. None for an open part, of which no section is certain.
///
/// The same on any number of threads, unless it is stopped.
pub fn certify(bench: &Bench, winner: f64, wanted: f64, stop: &Stop) -> Option<Certificate> {
    if !bench.part.closed {
        return None;
    }
    let target = winner * (1.0 - wanted);
    // Bounds are not below zero, where the order of their bits is theirs.
    let bounded = |(square, above): (Square, f64)| {
        let least = least_total(bench, &square.cap());
        (least.max(above).to_bits(), square)
    };
    let faces = (0..6).map(|face| Square {
        depth: 0,
        face,
        at: [0, 0],
    });
    let mut open: BTreeSet<(u64, Square)> = faces.map(|s| bounded((s, 0.0))).collect();
    let mut caps = open.len();
    // The lowest bound of what is too small to be parted.
    let mut smallest = f64::INFINITY;
    loop {
        let first = open.first().map_or(f64::INFINITY, |s| f64::from_bits(s.0));
        let least = first.min(smallest);
        if least >= target || smallest <= first || caps >= MOST_CAPS || stop.asked() {
            let gap = if winner > 0.0 {
                1.0 - least / winner
            } else {
                0.0
            };
            return Some(Certificate {
                least: least.min(winner),
                gap: gap.max(0.0),
                caps,
            });
        }
        let mut parts = Vec::new();
        while parts.len() < 4 * BATCH {
            let Some((bits, square)) = open.pop_first() else {
                break;
            };
            let bound = f64::from_bits(bits);
            if bound >= target {
                open.insert((bits, square));
                break;
            }
            if square.depth == DEEPEST {
                smallest = smallest.min(bound);
            } else {
                parts.extend(square.quarters().map(|quarter| (quarter, bound)));
            }
        }
        caps += parts.len();
        let parts: Vec<(u64, Square)> = parts.into_par_iter().map(bounded).collect();
        open.extend(parts);
    }
}
