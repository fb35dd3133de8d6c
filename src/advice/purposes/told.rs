//! Which purposes would put another pose first, in figures and in words.

use super::find::{self, Wish};
use super::kind::{PurposeKind, typed};
use crate::advice::marks::UNDER_COS;
use crate::advice::support::{needs_support, on_mm3};
use crate::figures::Figures;
use crate::figures::purpose::{is_on_bed, is_upright};
use crate::figures::quick::Bench;
use crate::figures::show;
use crate::figures::stop::Stop;
use crate::figures::strength::load_across_layers;
use crate::mesh::Part;
use crate::pose::{Pose, Posed};
use crate::rank::Origin;
use crate::rank::penalties::{row, volume_mm3};
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
/// Support that one would rather drill a bore than print: so many mm³ more than in the first pose,
/// and this share of what that needs (house values).
const DEAR_MM3: f64 = 10_000.0;
const DEAR_SHARE: f64 = 0.5;
/// Sides that may lie on the bed, told at most.
const MOST_FLAT: usize = 1;
/// For so many poses that the search measured one more may be measured.
const MEASURED_FOR_ONE: usize = 10;
/// Further poses measured at most.
const MOST_MORE: usize = 2;
/// Times that differ by less than this share of the first are the same (house value).
const SAME_TIME: f64 = 0.05;
/// … and so are those that differ by less than this, min.
const SAME_MIN: f64 = 1.0;
/// Contact that falls below this share of the first is worth a word (house value).
const LESS_CONTACT: f64 = 0.7;
/// Differences of support up to this are none, mm³ (house value).
const SAME_SUPPORT_MM3: f64 = 50.0;

/// Purposes that no pose meets, told at most.
const MOST_UNMET: usize = 2;

/// One purpose that would put another pose first, or that no pose does well by.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Purpose {
    /// round, thread, flat, relief, seen, snap or pull.
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
    /// Whether a pose meets it that one would print; the fields below are null or 0 where none does.
    pub met: bool,
    /// Rank of the pose that would come first; null where it was measured for this alone.
    pub pose: Option<usize>,
    /// Direction of the part that goes down in it.
    pub down: Option<[f64; 3]>,
    /// How far its total lies behind that of the first pose, without the purpose.
    pub behind: Option<f64>,
    /// Support more than in the first pose, where support is on.
    pub support_mm3: f64,
    /// Printing time more than in the first pose, support included.
    pub print_min: f64,
    /// All of it in a sentence.
    pub says: String,
    /// The same as a question to the designer and its answer; what no pose does well by as it is said.
    pub asks: String,
}

/// What is wanted, and whether a pose meets it.
impl Wish {
    /// What the purpose adds to the total of a pose: the least over the directions that are
    /// equal to it by symmetry.
    fn charge(&self, bench: &Bench, search: &Search, entry: &Scored) -> f64 {
        let one = |down: &Unit<Vector3<f64>>| match self.kind {
            PurposeKind::Round | PurposeKind::Thread => {
                f64::from(u8::from(!is_upright(down, &self.direction)))
            }
            PurposeKind::Flat => f64::from(u8::from(!is_on_bed(down, &self.direction))),
            PurposeKind::Snap | PurposeKind::Pull => load_across_layers(down, &self.direction),
            PurposeKind::Relief | PurposeKind::Seen => self.marked(bench, down),
        };
        let images = search.images(&entry.candidate.down);
        let least = images.iter().map(one).fold(f64::INFINITY, f64::min);
        row(self.penalty()).weight_in(bench.settings) * least
    }

    /// Share of the surface of a cosmetic side that is marked: the scale of that row.
    fn marked(&self, bench: &Bench, down: &Unit<Vector3<f64>>) -> f64 {
        let shown = Settings {
            show: vec![self.direction],
            ..bench.settings.clone()
        };
        let pose = Pose::new(down, &bench.hull().vertices);
        let marked_mm2 = show::marked_mm2(&Posed::new(bench.part, pose), &shown);
        marked_mm2 / bench.part.mass.area_mm2.max(f64::MIN_POSITIVE)
    }

    fn penalty(&self) -> Penalty {
        match self.kind {
            PurposeKind::Round | PurposeKind::Thread => Penalty::Round,
            PurposeKind::Flat => Penalty::Flat,
            PurposeKind::Relief | PurposeKind::Seen => Penalty::Show,
            PurposeKind::Snap | PurposeKind::Pull => Penalty::Load,
        }
    }

    /// Directions to stand on that meet it; of a pull there are too many, and a relief may look
    /// any way but down.
    fn downs(&self) -> Vec<Unit<Vector3<f64>>> {
        match self.kind {
            PurposeKind::Round | PurposeKind::Thread => vec![self.direction, -self.direction],
            PurposeKind::Flat => vec![self.direction],
            PurposeKind::Relief | PurposeKind::Seen => vec![-self.direction],
            PurposeKind::Snap | PurposeKind::Pull => Vec::new(),
        }
    }

    fn flag(&self) -> String {
        format!("{} {}", self.kind.flag(), typed(&self.direction))
    }

    fn question(&self) -> String {
        let what = &self.what;
        match self.kind {
            PurposeKind::Round => format!("Must {what} be round?"),
            PurposeKind::Thread => format!("Must {what} fit?"),
            PurposeKind::Flat => format!("Must {what} be as flat and smooth as the bed?"),
            PurposeKind::Relief => format!("Must {what} be crisp?"),
            PurposeKind::Seen => format!("Must {what} look clean? Support marks it in pose 1."),
            PurposeKind::Snap => format!("Must {what} bend as a snap fit?"),
            PurposeKind::Pull => format!("Is it so that {what}?"),
        }
    }

    fn condition(&self) -> String {
        let what = &self.what;
        match self.kind {
            PurposeKind::Round => format!("If {what} must be round"),
            PurposeKind::Thread => format!("If {what} must fit"),
            PurposeKind::Flat => format!("If {what} must be as flat and smooth as the bed"),
            PurposeKind::Relief => format!("If {what} must be crisp"),
            PurposeKind::Seen => {
                format!("If {what} must look clean, which support marks in pose 1")
            }
            PurposeKind::Snap => format!("If {what} must bend as a snap fit"),
            PurposeKind::Pull => format!("If {what}"),
        }
    }

    /// Told where no pose that one would print meets it.
    fn unmet(&self) -> Option<Purpose> {
        let instead = self.instead?;
        let what = &self.what;
        let them = if self.several {
            (instead.replace(" it ", " them ")).replace("a part of its own", "parts of their own")
        } else {
            instead.to_string()
        };
        let says = format!("No pose that prints well stands {what} upright: {them}.");
        Some(Purpose {
            kind: self.kind,
            what: what.clone(),
            at_mm: self.at_mm,
            direction: self.direction.into_inner().into(),
            flag: self.flag(),
            met: false,
            pose: None,
            down: None,
            behind: None,
            support_mm3: 0.0,
            print_min: 0.0,
            asks: says.clone(),
            says,
        })
    }
}

/// The purposes that would put another pose first, nearest to the first pose first, then those
/// that no pose does well by; at most five. `place` gives the rank of a pose; those beyond `listed` are told with their side.
/// None while the search goes on or where it was cut short, of a crumb, and where no pose can be printed.
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
    if bench.is_crumb() || found.left.is_none() || found.cut {
        return Vec::new();
    }
    let mut more = MOST_MORE.min(found.counts.fully_scored / MEASURED_FOR_ONE);
    let mut told: Vec<(f64, Purpose)> = Vec::new();
    let mut unmet: Vec<Purpose> = Vec::new();
    for wish in find::wishes(bench, search, first) {
        let charge = |e: &Scored| wish.charge(bench, search, e);
        let of_first = charge(first);
        if of_first <= 0.0 {
            continue;
        }
        let charged = printable.iter().map(|&e| (e, e.total + charge(e)));
        let Some((winner, least)) = charged.min_by(|a, b| a.1.total_cmp(&b.1)) else {
            continue;
        };
        let measured;
        let (winner, least) = if least - winner.total < of_first {
            (winner, least)
        } else if more > 0 {
            let candidates = (wish.downs().into_iter()).map(|d| search.candidate(d, Origin::Named));
            let near = candidates
                .filter(|c| c.gates.is_empty() && c.bound < first.total + TOO_FAR)
                .min_by(|a, b| a.bound.total_cmp(&b.bound));
            let Some(candidate) = near else {
                unmet.extend(wish.unmet());
                continue;
            };
            more -= 1;
            let Some((scored, _)) = search.score_until(candidate, &Stop::never()) else {
                continue;
            };
            measured = scored;
            (&measured, measured.total + charge(&measured))
        } else {
            continue;
        };
        let behind = winner.total - first.total;
        let dear = is_dear(&wish, bench.part, bench.settings, [first, winner]);
        if least >= first.total + of_first || behind > TOO_FAR || dear {
            unmet.extend(wish.unmet());
            continue;
        }
        told.push((
            behind,
            purpose(&wish, bench, [first, winner], (place(winner), listed)),
        ));
    }
    told.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut flats = 0;
    told.retain(|t| {
        flats += usize::from(t.1.kind == PurposeKind::Flat);
        t.1.kind != PurposeKind::Flat || flats <= MOST_FLAT
    });
    // Alike things along several axes.
    let mut said: Vec<String> = Vec::new();
    unmet.retain(|p| {
        let new = !said.contains(&p.says);
        said.push(p.says.clone());
        new
    });
    let met = told.into_iter().map(|t| t.1);
    met.chain(unmet.into_iter().take(MOST_UNMET))
        .take(MOST)
        .collect()
}

/// Whether a person would rather ream a bore, let support mark a side or file a flat one, than print so
/// much more support.
fn is_dear(wish: &Wish, part: &Part, settings: &Settings, [first, winner]: [&Scored; 2]) -> bool {
    let [here, there] = [first, winner].map(|e| on_mm3(&e.figures, settings));
    // An underside is hardly seen: worth a pose that marks nothing, not one that marks another side.
    let is_under = wish.direction.dot(&first.candidate.down) >= UNDER_COS;
    match wish.kind {
        PurposeKind::Seen if is_under => there > 0.0,
        PurposeKind::Round | PurposeKind::Seen => there - here > DEAR_MM3.max(DEAR_SHARE * here),
        PurposeKind::Flat => there - here > DEAR_MM3.max(volume_mm3(part)),
        _ => false,
    }
}

/// A purpose in words and figures.
fn purpose(
    wish: &Wish,
    bench: &Bench,
    [first, winner]: [&Scored; 2],
    (rank, listed): (Option<usize>, usize),
) -> Purpose {
    let settings = bench.settings;
    let of = |e: &Scored| {
        let on = needs_support(&e.figures, settings);
        let print_min = e.figures.print_min + if on { e.figures.support_min } else { 0.0 };
        (on_mm3(&e.figures, settings), print_min)
    };
    let ((support_a, time_a), (support_b, time_b)) = (of(first), of(winner));
    let side = words::side_down(&winner.candidate.down);
    let pose = match rank {
        Some(rank) if rank <= listed => format!("print pose {rank}"),
        _ => format!("print it with the {side}"),
    };
    let mut cost = cost(
        [&first.figures, &winner.figures],
        support_b - support_a,
        time_b - time_a,
    );
    if wish.kind == PurposeKind::Round
        && let Some(lies) = find::laid_down(bench, [first, winner].map(|e| &e.candidate.down))
    {
        cost += &format!("; {lies}");
    }
    Purpose {
        kind: wish.kind,
        what: wish.what.clone(),
        at_mm: wish.at_mm,
        direction: wish.direction.into_inner().into(),
        flag: wish.flag(),
        met: true,
        pose: rank,
        down: Some(winner.candidate.down.into_inner().into()),
        behind: Some(winner.total - first.total),
        support_mm3: support_b - support_a,
        print_min: time_b - time_a,
        says: format!("{}, {pose}: {cost}.", wish.condition()),
        asks: format!("{} If so, {pose}: {cost}.", wish.question()),
    }
}

/// What the second pose costs beside the first: support, time, and contact where that is less.
fn cost([a, b]: [&Figures; 2], support_mm3: f64, print_min: f64) -> String {
    let mut parts = Vec::new();
    if support_mm3.abs() > SAME_SUPPORT_MM3 {
        let way = if support_mm3 > 0.0 { "more" } else { "less" };
        let volume = words::volume(support_mm3.abs());
        parts.push(format!("{volume} {way} support"));
    }
    if print_min.abs() >= SAME_MIN.max(SAME_TIME * a.print_min) {
        let way = if print_min > 0.0 { "longer" } else { "shorter" };
        parts.push(format!("{} {way}", words::duration(print_min.abs())));
    }
    if b.contact_area_mm2 < LESS_CONTACT * a.contact_area_mm2 {
        let [here, there] = words::areas_compared(b.contact_area_mm2, a.contact_area_mm2);
        parts.push(format!("{here} on the bed instead of {there}"));
    }
    if parts.is_empty() {
        return "support and time hardly change".into();
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests;
