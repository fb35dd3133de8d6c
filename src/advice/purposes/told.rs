//! Which purposes would put another pose first, in figures and in words.

use super::find::{self, Wish};
use super::kind::{PurposeKind, typed};
use crate::advice::support::needs_support;
use crate::figures::Figures;
use crate::figures::purpose::{is_on_bed, is_upright};
use crate::figures::quick::Bench;
use crate::figures::stop::Stop;
use crate::figures::strength::load_across_layers;
use crate::rank::Origin;
use crate::rank::penalties::row;
use crate::rank::search::{Found, Scored, Search};
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words;
use nalgebra::{Unit, Vector3};
use schemars::JsonSchema;
use serde::Serialize;

/// Purposes told at most.
const MOST: usize = 5;
/// A pose this far behind the first in its total is not told: whatever the purpose, one would
/// rather change the part (house value; the labelled part that goes against the largest
/// difference lies 11 behind).
const TOO_FAR: f64 = 12.0;
/// For so many poses that the search measured one more may be measured.
const MEASURED_FOR_ONE: usize = 10;
/// Further poses measured at most.
const MOST_MORE: usize = 2;
/// Times that differ by less than this share of the first are the same (house value).
const SAME_TIME: f64 = 0.05;
/// Contact that falls below this share of the first is worth a word (house value).
const LESS_CONTACT: f64 = 0.7;
/// Differences of support up to this are none, mm³ (house value).
const SAME_SUPPORT_MM3: f64 = 50.0;

/// One purpose that would put another pose first.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Purpose {
    /// round, flat or pull.
    #[schemars(with = "String")]
    pub kind: PurposeKind,
    /// What it is about, in words: "the 22 mm bore".
    pub what: String,
    /// Where in the part that is.
    pub at_mm: [f64; 3],
    /// Axis, outward direction of the side, or direction of the pull; part frame.
    pub direction: [f64; 3],
    /// The flag that makes it count.
    pub flag: String,
    /// Rank of the pose that would come first; null where it was measured for this alone.
    pub pose: Option<usize>,
    /// Direction of the part that goes down in it.
    pub down: [f64; 3],
    /// How far its total lies behind that of the first pose, without the purpose.
    pub behind: f64,
    /// Support more than in the first pose, where support is on.
    pub support_mm3: f64,
    /// Printing time more than in the first pose, support included.
    pub print_min: f64,
    /// All of it in a sentence.
    pub says: String,
}

/// What is wanted, and whether a pose meets it.
impl Wish {
    /// What the purpose adds to the total of a pose: the least over the directions that are
    /// equal to it by symmetry.
    fn charge(&self, search: &Search, settings: &Settings, entry: &Scored) -> f64 {
        let one = |down: &Unit<Vector3<f64>>| match self.kind {
            PurposeKind::Round => f64::from(u8::from(!is_upright(down, &self.direction))),
            PurposeKind::Flat => f64::from(u8::from(!is_on_bed(down, &self.direction))),
            PurposeKind::Pull => load_across_layers(down, &self.direction),
        };
        let images = search.images(&entry.candidate.down);
        let least = images.iter().map(one).fold(f64::INFINITY, f64::min);
        row(self.penalty()).weight_in(settings) * least
    }

    fn penalty(&self) -> Penalty {
        match self.kind {
            PurposeKind::Round => Penalty::Round,
            PurposeKind::Flat => Penalty::Flat,
            PurposeKind::Pull => Penalty::Load,
        }
    }

    /// Directions to stand on that meet it; of a pull there are too many.
    fn downs(&self) -> Vec<Unit<Vector3<f64>>> {
        match self.kind {
            PurposeKind::Round => vec![self.direction, -self.direction],
            PurposeKind::Flat => vec![self.direction],
            PurposeKind::Pull => Vec::new(),
        }
    }

    fn flag(&self) -> String {
        let flag = match self.kind {
            PurposeKind::Round => "--round",
            PurposeKind::Flat => "--flat",
            PurposeKind::Pull => "--load",
        };
        format!("{flag} {}", typed(&self.direction))
    }

    fn condition(&self) -> String {
        match self.kind {
            PurposeKind::Round => format!("If {} must be round", self.what),
            PurposeKind::Flat => format!("If {} must be flat", self.what),
            PurposeKind::Pull => format!("If {}", self.what),
        }
    }
}

/// The purposes that would put another pose first, nearest to the first pose first, at most
/// five. `place` gives the rank of a pose; those beyond `listed` are told with their side.
/// None while the search goes on, of a crumb, and where no pose can be printed.
pub fn purposes(
    bench: &Bench,
    search: &Search,
    found: &Found,
    listed: usize,
    place: &dyn Fn(&Scored) -> Option<usize>,
) -> Vec<Purpose> {
    let printable: Vec<&Scored> = (found.judged.iter())
        .filter(|e| e.candidate.gates.is_empty())
        .collect();
    let Some(first) = printable.first().copied() else {
        return Vec::new();
    };
    if bench.is_crumb() || found.left.is_none() {
        return Vec::new();
    }
    let mut more = MOST_MORE.min(found.counts.fully_scored / MEASURED_FOR_ONE);
    let mut told: Vec<(f64, Purpose)> = Vec::new();
    for wish in find::wishes(bench, search, first) {
        let charge = |e: &Scored| wish.charge(search, bench.settings, e);
        let total = |e: &Scored| e.total + charge(e);
        let best = |a: &&&Scored, b: &&&Scored| total(a).total_cmp(&total(b));
        let Some(winner) = printable.iter().min_by(best).copied() else {
            continue;
        };
        let meets = |e: &Scored| charge(e) < charge(first);
        let measured;
        let winner = if meets(winner) {
            winner
        } else if more > 0 && total(first) > first.total {
            let candidates = (wish.downs().into_iter()).map(|d| search.candidate(d, Origin::Named));
            let near = candidates
                .filter(|c| c.gates.is_empty() && c.bound < first.total + TOO_FAR)
                .min_by(|a, b| a.bound.total_cmp(&b.bound));
            let Some(candidate) = near else { continue };
            more -= 1;
            let Some((scored, _)) = search.score_until(candidate, &Stop::never()) else {
                continue;
            };
            measured = scored;
            &measured
        } else {
            continue;
        };
        let behind = winner.total - first.total;
        if total(winner) >= total(first) || behind > TOO_FAR {
            continue;
        }
        told.push((
            behind,
            purpose(
                &wish,
                bench.settings,
                [first, winner],
                (place(winner), listed),
            ),
        ));
    }
    told.sort_by(|a, b| a.0.total_cmp(&b.0));
    told.into_iter().take(MOST).map(|t| t.1).collect()
}

/// A purpose in words and figures.
fn purpose(
    wish: &Wish,
    settings: &Settings,
    [first, winner]: [&Scored; 2],
    (rank, listed): (Option<usize>, usize),
) -> Purpose {
    let of = |e: &Scored| {
        let on = needs_support(&e.figures, settings);
        let support_mm3 = if on {
            e.figures.support_needed_mm3
        } else {
            0.0
        };
        let print_min = e.figures.print_min + if on { e.figures.support_min } else { 0.0 };
        (support_mm3, print_min)
    };
    let ((support_a, time_a), (support_b, time_b)) = (of(first), of(winner));
    let side = words::side_down(&winner.candidate.down);
    let pose = match rank {
        Some(rank) if rank <= listed => format!("print pose {rank}"),
        _ => format!("print it with the {side}"),
    };
    let cost = cost(
        [&first.figures, &winner.figures],
        support_b - support_a,
        time_b - time_a,
    );
    Purpose {
        kind: wish.kind,
        what: wish.what.clone(),
        at_mm: wish.at_mm,
        direction: wish.direction.into_inner().into(),
        flag: wish.flag(),
        pose: rank,
        down: winner.candidate.down.into_inner().into(),
        behind: winner.total - first.total,
        support_mm3: support_b - support_a,
        print_min: time_b - time_a,
        says: format!("{}, {pose}: {cost}.", wish.condition()),
    }
}

/// What the second pose costs beside the first: support, time, and contact where that is less.
fn cost([a, b]: [&Figures; 2], support_mm3: f64, print_min: f64) -> String {
    let mut parts = Vec::new();
    if support_mm3.abs() > SAME_SUPPORT_MM3 {
        let sign = if support_mm3 > 0.0 { "+" } else { "−" };
        parts.push(format!(
            "support {sign}{}",
            words::volume(support_mm3.abs())
        ));
    }
    if print_min.abs() > SAME_TIME * a.print_min {
        let way = if print_min > 0.0 { "longer" } else { "shorter" };
        parts.push(format!("{} {way}", words::duration(print_min.abs())));
    }
    if b.contact_area_mm2 < LESS_CONTACT * a.contact_area_mm2 {
        let [here, there] = [b, a].map(|f| words::area(f.contact_area_mm2));
        parts.push(format!("{here} of contact instead of {there}"));
    }
    if parts.is_empty() {
        return "it costs hardly more support or time".into();
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests;
