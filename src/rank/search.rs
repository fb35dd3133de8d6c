//! From a part to its best poses: candidates, bounds, refinement, full measurement.
//!
//! 1. Candidates: facets of the hull, an even lattice, the pose as stored and the
//!    named ones. All get the quick figures, hence a lower bound of their total
//!    ([`penalties::floor`]).
//! 2. The lattice directions that no neighbour undercuts, and the best facets,
//!    are refined on the sphere: a pattern search on the bound, step halved from
//!    2.5° until 0.1° no longer helps. What ends within 1° of a face of the part becomes
//!    that face.
//! 3. In the order of their bounds, candidates are measured in full until the
//!    next bound is above the best total: what is left cannot win. Then on, until
//!    there are as many distinct entries as asked for. A budget ends it on round parts,
//!    where all directions are much alike; what it leaves unsettled is counted.
//!
//! Batches have a fixed size, so the result does not depend on the number of
//! threads. Pattern search: Hooke & Jeeves, 1961.

mod left;
mod memory;
mod refine;
mod snap;

use super::known::Known;
use super::penalties::{self, Scene};
use super::{Candidates, FailedGate, Origin};
use crate::figures::Figures;
use crate::figures::full::{self, Before, Cuts, Hanging};
use crate::figures::quick::{Bench, Quick};
use crate::figures::sliced::Sliced;
use crate::figures::stop::{Stop, Stopped};
use crate::plane::rect;
use crate::pose::{Pose, Rest, Symmetry, lattice, standing};
use crate::settings::Settings;
use crate::tol;
use crate::words::named;
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Facets of the hull that become candidates, largest first. Smaller ones are
/// reached by the lattice and the refinement.
const MOST_FACETS: usize = 400;
/// The same at a first glance …
const GLANCE_FACETS: usize = 128;
/// … and at one at a part no larger than a line or two.
const CRUMB_FACETS: usize = 8;
/// Directions measured in full at most, unless more entries are asked for. Round
/// parts and scans have hundreds whose bounds lie below the winner's total by less
/// than support and time add to all of them alike; they are counted, not measured.
const MOST_MEASURED: usize = 48;
/// The same in layers to be cut, a facet counting as [`LAYERS_A_FACET`] of one: a part
/// a metre and a half tall has fewer measured than one of a hand's width.
const MOST_LAYERS: f64 = 20_000.0;
/// Cost of one facet as a share of the cost of one layer, measured.
const LAYERS_A_FACET: f64 = 1.0 / 250.0;
/// Candidates measured at once.
const BATCH: usize = 4;
/// Distinct entries that the verdict on a part rests on at least, however few are asked for: as
/// many as are listed where nothing else is said.
pub const JUDGED: usize = 5;
/// A refined direction must undercut the facet that it leaves by this share of
/// the total; less is within what tessellation and rounding do.
const GAIN: f64 = 0.01;

/// Totals that are the same when counted in this are equal: what differs is rounding. A hundredth of
/// the last digit that is printed.
const TIED_TOTAL: f64 = 1e-5;

/// A direction with what is known of it cheaply.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Part direction that goes down.
    pub down: Unit<Vector3<f64>>,
    /// Where it came from.
    pub origin: Origin,
    /// Quick figures.
    pub quick: Quick,
    /// No measurement of this pose can have a total below this.
    pub bound: f64,
    /// Gates it fails.
    pub gates: Vec<FailedGate>,
}

impl Candidate {
    /// Poses that fail a gate come after all others whatever their totals, and
    /// those that no help makes fit after those that help makes stand.
    fn tier(&self) -> u8 {
        if self.gates.contains(&FailedGate::DoesNotFit) {
            2
        } else {
            u8::from(!self.gates.is_empty())
        }
    }

    fn key(&self) -> (u8, f64) {
        (self.tier(), self.bound)
    }
}

/// A candidate with every figure.
#[derive(Debug, Clone)]
pub struct Scored {
    /// The candidate.
    pub candidate: Candidate,
    /// Its pose: the default yaw, or one that fits the bed where that does not.
    pub pose: Pose,
    /// All figures.
    pub figures: Figures,
    /// Penalties in table order.
    pub charges: Vec<f64>,
    /// Their sum.
    pub total: f64,
    /// What its layers show: their profile, what stands free, the detail on the bed.
    pub cuts: Arc<Cuts>,
    /// What hangs over in it.
    pub hanging: Arc<Hanging>,
}

impl Scored {
    fn key(&self) -> (u8, f64) {
        (self.candidate.tier(), self.total)
    }
}

/// What the search found.
#[derive(Debug, Clone)]
pub struct Found {
    /// Fully measured candidates, best first, equivalent ones and near neighbours left out.
    pub entries: Vec<Scored>,
    /// Those of them that a verdict rests on: the same however many are asked for.
    pub judged: Vec<Scored>,
    /// Lower bounds of the totals of the directions that were left unmeasured when those to be
    /// judged were known, lowest first: equivalent ones and neighbours within 10° left out, and
    /// what lies so far behind the first that nobody chooses it. None while the search goes on.
    pub left: Option<Vec<f64>>,
    /// Whether the search was told to end before it was done.
    pub cut: bool,
    /// The pose in which the file is.
    pub stored: Scored,
    /// Number of fully measured candidates that beat the stored pose, equivalent ones and
    /// neighbours within 10° of a better one left out.
    pub better_than_stored: usize,
    /// How many directions were looked at.
    pub counts: Candidates,
}

/// Directions to look at besides the ones found by itself, and how many to show.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Part directions that the user names.
    pub named: Vec<Unit<Vector3<f64>>>,
    /// Entries to return at least, if there are that many.
    pub top: usize,
}

impl Wanted {
    /// So many entries, of the directions that are found by themselves.
    pub fn first(top: usize) -> Self {
        Self {
            named: Vec::new(),
            top,
        }
    }
}

named! {
    /// What a search is at, for a progress bar and for messages.
    Stage:
    /// Quick figures of all directions.
    Candidates "candidates",
    /// Tilting the best ones a little further.
    Refinement "refinement",
    /// Measuring poses in full.
    Poses "poses",
}

/// Told what goes on, and asked whether it should.
pub trait Progress: Sync {
    /// `done` of about `of` steps of a stage are finished. Called from one thread at a time.
    fn step(&self, stage: Stage, done: usize, of: usize);
    /// Whether to stop early with the best answer so far. Asked from many threads, also
    /// in the middle of a pose, which is then left out. A yes must stay a yes.
    fn cancelled(&self) -> bool {
        false
    }
    /// Poses have been measured: `found` makes the answer so far, which takes a moment.
    fn so_far(&self, _found: &dyn Fn() -> Found) {}
}

/// Says nothing and never stops.
pub struct Silent;

impl Progress for Silent {
    fn step(&self, _: Stage, _: usize, _: usize) {}
}

/// The search over one part.
pub struct Search<'a> {
    bench: &'a Bench<'a>,
    known: Arc<Known>,
    /// Those of the part's symmetries that change no figure: load and cosmetic sides keep
    /// their places.
    symmetry: Symmetry,
    /// Faces of the part that would tip over, but by less than a degree.
    steady: Vec<Unit<Vector3<f64>>>,
    anew: AtomicUsize,
}

impl<'a> Search<'a> {
    /// Prepares the search; finds the part's symmetry and what a calliper can hold.
    pub fn new(bench: &'a Bench<'a>) -> Self {
        Self::on(bench, &Arc::new(Known::new(bench.part, &bench.layout)))
    }

    /// Prepares the search over a part that is known already.
    pub fn on(bench: &'a Bench<'a>, known: &Arc<Known>) -> Self {
        Self {
            bench,
            known: Arc::clone(known),
            symmetry: Self::kept(&known.symmetry, bench.settings),
            steady: Self::steady(bench),
            anew: AtomicUsize::new(0),
        }
    }

    /// Symmetries that keep load, cosmetic sides, and what must come out round and flat.
    fn kept(symmetry: &Symmetry, settings: &Settings) -> Symmetry {
        let sides = symmetry.keeping(settings.load, &settings.show);
        let axes = settings.round.iter().map(|axis| Some(*axis));
        let flats = sides.keeping(None, &settings.flat);
        axes.fold(flats, |kept, axis| kept.keeping(axis, &[]))
    }

    /// Directions that are equal to `down` by symmetry, itself included; on a body of revolution
    /// those that are carried onto each other by more than a turn about its axis.
    pub fn images(&self, down: &Unit<Vector3<f64>>) -> Vec<Unit<Vector3<f64>>> {
        let images = self.symmetry.images(down).map(Unit::new_normalize);
        std::iter::once(*down).chain(images).collect()
    }

    /// Number of directions that are equal to `down` by symmetry, itself included.
    pub fn equivalent(&self, down: &Unit<Vector3<f64>>) -> usize {
        self.symmetry.orbit(down)
    }

    /// A candidate with its quick figures, bound and gates.
    pub fn candidate(&self, down: Unit<Vector3<f64>>, origin: Origin) -> Candidate {
        let quick = self.known.quick(self.bench, &down);
        let figures = penalties::floor(self.bench, &quick, &down);
        let bound = Scene::new(self.bench.part, self.bench.settings, &figures).total();
        let mut gates = Vec::new();
        if !quick.fits {
            gates.push(FailedGate::DoesNotFit);
        }
        if quick.contact_area_mm2 <= 0.0 {
            gates.push(FailedGate::NoContact);
        } else if quick.tip_angle_rad <= 0.0
            && quick.propped_tip_rad.is_none()
            && !self.is_steady(&down)
        {
            gates.push(FailedGate::Tips);
        }
        Candidate {
            down,
            origin,
            quick,
            bound,
            gates,
        }
    }

    /// Measures a candidate in full, whatever is known of it.
    pub fn score(&self, candidate: Candidate) -> Scored {
        let (sliced, footprint_mm) = self.stand(&candidate);
        let (before, stop) = (Before::default(), Stop::never());
        self.scored(candidate, &sliced, footprint_mm, &before, &stop)
    }

    /// The same from what is known of the pose, with its layers; none where it is stopped.
    pub fn score_until(&self, candidate: Candidate, stop: &Stop) -> Option<(Scored, Sliced<'a>)> {
        if stop.asked() {
            return None;
        }
        let (mut sliced, footprint_mm) = self.stand(&candidate);
        let (settings, origin) = (self.bench.settings, candidate.origin);
        let before = self.known.before(&sliced.pose, settings);
        if let Some(hanging) = &before.hanging {
            sliced.spans(Arc::clone(&hanging.spanning));
        }
        let scored = self.scored(candidate, &sliced, footprint_mm, &before, stop);
        if !before.complete() {
            if stop.asked() {
                return None;
            }
            self.anew.fetch_add(1, Ordering::Relaxed);
            let known = Before {
                cuts: Some(Arc::clone(&scored.cuts)),
                hanging: Some(Arc::clone(&scored.hanging)),
            };
            self.known.keep(&sliced.pose, origin, settings, known);
        }
        Some((scored, sliced))
    }

    /// The default yaw, or one at which the part fits the bed where that does not; the
    /// footprint is that at the default yaw in either case, mm.
    fn stand(&self, candidate: &Candidate) -> (Sliced<'a>, [f64; 2]) {
        let points = &self.bench.hull().vertices;
        let level = Pose::new(&candidate.down, points);
        let [bed_x, bed_y, _] = self.bench.settings.bed_mm;
        let yaw = rect::fits_at_some_yaw(&rect::hull2d(&level.shadow(points)), bed_x, bed_y);
        let footprint_mm = self.bench.hull().footprint_mm(&level);
        let pose = match yaw {
            // A part that only fits the bed turned stands turned in what is written.
            Some(yaw) if yaw != 0.0 => level.turned(yaw, points),
            _ => level,
        };
        (Sliced::new(self.bench, pose), footprint_mm)
    }

    /// All that is said of a candidate; where it is stopped, it means nothing.
    fn scored(
        &self,
        candidate: Candidate,
        sliced: &Sliced,
        footprint_mm: [f64; 2],
        before: &Before,
        stop: &Stop,
    ) -> Scored {
        let (figures, cuts, hanging) =
            full::measure(self.bench, &candidate.quick, sliced, before, stop);
        let figures = Figures {
            footprint_mm,
            ..figures
        };
        let charges = Scene::new(self.bench.part, self.bench.settings, &figures).charges();
        Scored {
            total: charges.iter().sum(),
            charges,
            candidate,
            pose: sliced.pose.clone(),
            figures,
            cuts,
            hanging,
        }
    }

    /// The facets of the hull with the lowest bounds, at most `top`, best first; of equivalent
    /// directions and of neighbours within 10° only the best. Those that come after it was to stop
    /// are left out.
    pub(crate) fn facets_by_bound(&self, top: usize, stop: &Stop) -> Vec<Candidate> {
        let (hull, part) = (self.bench.hull(), self.bench.part);
        // All of a crumb lies near the bed, so that each facet costs a look at all of it.
        let most = if self.bench.is_crumb() {
            CRUMB_FACETS
        } else {
            GLANCE_FACETS
        };
        let standing = standing::standing(hull, &part.mass.centroid, most);
        let mut all: Vec<Candidate> = standing
            .into_par_iter()
            .filter(|_| !stop.asked())
            .map(|rest| self.candidate(rest.down, origin(&rest)))
            .collect();
        self.snap(&mut all);
        all.sort_by(|a, b| by_key(&a.key(), &b.key()));
        self.apart(all.iter(), top)
    }

    /// The first `most`; of equivalent directions and of neighbours within 10° only the first.
    fn apart<'c>(
        &self,
        candidates: impl Iterator<Item = &'c Candidate>,
        most: usize,
    ) -> Vec<Candidate> {
        let mut kept: Vec<Candidate> = Vec::new();
        for c in candidates {
            if kept.len() == most {
                break;
            }
            if kept
                .iter()
                .all(|k| !self.equivalent_or_near(&k.down, &c.down))
            {
                kept.push(c.clone());
            }
        }
        kept
    }

    /// Runs the whole search.
    ///
    /// # Errors
    /// Stopped before one pose was measured.
    pub fn run(&self, wanted: &Wanted, progress: &dyn Progress) -> Result<Found, Stopped> {
        self.run_to_judge(wanted, wanted.top, progress)
    }

    /// The same, with a verdict to follow: what it rests on is what was measured when there were
    /// so many distinct entries, before any more were looked for.
    ///
    /// # Errors
    /// Stopped before one pose was measured.
    pub fn run_to_judge(
        &self,
        wanted: &Wanted,
        judged: usize,
        progress: &dyn Progress,
    ) -> Result<Found, Stopped> {
        let asked = || progress.cancelled();
        let stop = Stop::when(&asked);
        let candidates = self.candidates(&wanted.named, progress)?;
        let of = |origin| candidates.iter().filter(|c| c.origin == origin).count();
        let (lattice, refined) = (of(Origin::Lattice), of(Origin::Refined));
        progress.step(Stage::Poses, 0, BATCH);
        let (stored, _) = self
            .score_until(candidates[0].clone(), &stop)
            .ok_or(Stopped)?;
        let mut found = self.best(candidates, [judged, wanted.top], &stored, progress);
        (found.counts.lattice, found.counts.refined) = (lattice, refined);
        Ok(found)
    }

    /// All directions that are looked at: the pose of the file first, then the named ones,
    /// the facets of the hull, the lattice, and what refinement makes of the best of these.
    ///
    /// # Errors
    /// Stopped before all of them had their bound.
    pub fn candidates(
        &self,
        named: &[Unit<Vector3<f64>>],
        progress: &dyn Progress,
    ) -> Result<Vec<Candidate>, Stopped> {
        let asked = || progress.cancelled();
        let stop = Stop::when(&asked);
        let (part, hull) = (self.bench.part, self.bench.hull());
        let frame = lattice::canonical_frame(part, hull);
        let mut directions = vec![(-Vector3::z_axis(), Origin::Stored)];
        directions.extend(named.iter().map(|&d| (d, Origin::Named)));
        let Settings { round, flat, .. } = self.bench.settings;
        let upright = round.iter().flat_map(|&axis| [axis, -axis]);
        directions.extend(
            upright
                .chain(flat.iter().copied())
                .map(|d| (d, Origin::Named)),
        );
        let standing = standing::standing(hull, &part.mass.centroid, MOST_FACETS);
        directions.extend(standing.iter().map(|rest| (rest.down, origin(rest))));
        directions.extend(
            lattice::lattice()
                .iter()
                .map(|d| (frame * d, Origin::Lattice)),
        );
        progress.step(Stage::Candidates, 0, directions.len());
        let mut candidates: Vec<Candidate> = directions
            .into_par_iter()
            .map(|(down, origin)| (!stop.asked()).then(|| self.candidate(down, origin)))
            .collect::<Option<_>>()
            .ok_or(Stopped)?;
        let seeds = self.seeds(&candidates);
        progress.step(Stage::Refinement, 0, seeds.len());
        let refined: Vec<Candidate> = seeds
            .into_par_iter()
            .filter_map(|seed| self.refine(seed, &stop))
            .collect();
        candidates.extend(refined);
        self.snap(&mut candidates);
        Ok(candidates)
    }

    /// Measures candidates in the order of their bounds until none that is left
    /// can win and there are enough distinct entries: to judge, then to list.
    fn best(
        &self,
        mut candidates: Vec<Candidate>,
        [judge, list]: [usize; 2],
        stored: &Scored,
        progress: &dyn Progress,
    ) -> Found {
        candidates.sort_by(|a, b| by_key(&a.key(), &b.key()).then(a.origin.cmp(&b.origin)));
        let mut scored = vec![stored.clone()];
        let facets = self.bench.part.mesh.triangles.len() as f64;
        let mut layers = 0.0;
        // Stopped in the middle of their measuring.
        let mut left: Vec<Candidate> = Vec::new();
        let asked = || progress.cancelled();
        let stop = Stop::when(&asked);
        let mut queue = candidates.into_iter();
        let mut judged: Option<(Vec<Scored>, Vec<f64>)> = None;
        loop {
            let least = if judged.is_some() { list } else { judge }.max(2);
            let distinct = self.distinct(&scored);
            let best = distinct.first().map(Scored::key);
            let mut batch: Vec<Candidate> = Vec::new();
            while batch.len() < BATCH {
                let Some(next) = queue.as_slice().first() else {
                    break;
                };
                let key = next.key();
                let cannot_win = best.is_some_and(|b| by_key(&key, &b).is_ge());
                if cannot_win && distinct.len() + batch.len() >= least {
                    break;
                }
                let Some(next) = queue.next() else { break };
                let known = scored.iter().any(|s| {
                    self.same(&s.candidate.down, &next.down)
                        || (s.key() <= key
                            && self.equivalent_or_near(&s.candidate.down, &next.down))
                });
                let in_batch = batch.iter().any(|b| {
                    self.same(&b.down, &next.down)
                        || (cannot_win && self.equivalent_or_near(&b.down, &next.down))
                });
                if !known && !in_batch {
                    batch.push(next);
                }
            }
            let count = scored.len();
            let spent = count >= MOST_MEASURED || layers >= MOST_LAYERS;
            let enough = spent && distinct.len() >= least;
            let stopped = progress.cancelled();
            if (batch.is_empty() || enough) && !stopped && judged.is_none() && list > least {
                let bounds =
                    self.left(&distinct, left.iter().chain(&batch).chain(queue.as_slice()));
                judged = Some((distinct, bounds));
                // Nothing of the batch was measured: the look goes on where it was.
                queue = batch
                    .into_iter()
                    .chain(queue)
                    .collect::<Vec<_>>()
                    .into_iter();
                continue;
            }
            if batch.is_empty() || enough || stopped {
                let unsettled = batch
                    .iter()
                    .chain(&left)
                    .chain(queue.as_slice())
                    .filter(|c| best.is_some_and(|best| by_key(&c.key(), &best).is_lt()))
                    .filter(|c| {
                        !scored.iter().any(|s| {
                            by_key(&s.key(), &c.key()).is_le()
                                && self.equivalent_or_near(&s.candidate.down, &c.down)
                        })
                    })
                    .count();
                let unmeasured = left.iter().chain(&batch).chain(queue.as_slice());
                let bounds = self.left(&distinct, unmeasured);
                let mut found = self.found(distinct, stored.clone(), count);
                found.counts.unsettled = unsettled;
                found.left = Some(bounds);
                found.cut = stopped;
                // A better one that the longer look came upon is what the verdict is on.
                let stays = |j: &(Vec<Scored>, Vec<f64>)| {
                    let same = |a: &Scored, b: &Scored| a.candidate.down == b.candidate.down;
                    j.0.first()
                        .zip(found.entries.first())
                        .is_some_and(|(a, b)| same(a, b))
                };
                if let Some((judged, bounds)) = judged.filter(stays) {
                    found.judged = judged;
                    found.left = Some(bounds);
                }
                return found;
            }
            layers += batch
                .iter()
                .map(|c| c.quick.height_mm / self.bench.settings.layer_mm + facets * LAYERS_A_FACET)
                .sum::<f64>();
            let tried: Vec<(Candidate, Option<Scored>)> = batch
                .into_par_iter()
                .map(|c| (c.clone(), self.score_until(c, &stop).map(|s| s.0)))
                .collect();
            for (candidate, result) in tried {
                match result {
                    Some(s) => scored.push(s),
                    None => left.push(candidate),
                }
            }
            let count = scored.len();
            progress.step(Stage::Poses, count, count + BATCH);
            progress.so_far(&|| self.found(self.distinct(&scored), stored.clone(), count));
        }
    }

    /// Best first; of equivalent directions and of neighbours within 10° only the best, where a
    /// facet stands before a direction that hardly betters it.
    fn distinct(&self, scored: &[Scored]) -> Vec<Scored> {
        let mut order: Vec<&Scored> = scored.iter().collect();
        order.sort_by(|a, b| in_order(a, b));
        let mut kept: Vec<&Scored> = Vec::new();
        for s in order {
            let down = &s.candidate.down;
            if let Some(rival) = kept
                .iter_mut()
                .find(|k| self.equivalent_or_near(&k.candidate.down, down))
            {
                // A facet against a direction a few degrees off: the facet, unless
                // the gain is real.
                let facet = matches!(s.candidate.origin, Origin::Resting)
                    && !matches!(rival.candidate.origin, Origin::Resting)
                    && s.key().0 == rival.key().0;
                if facet && s.total <= rival.total * (1.0 + GAIN) {
                    *rival = s;
                }
                continue;
            }
            kept.push(s);
        }
        // A facet that took its neighbour's place may have a slightly higher total.
        kept.sort_by(|a, b| in_order(a, b));
        kept.into_iter().cloned().collect()
    }

    /// The same direction or, by symmetry, an equal one.
    fn same(&self, a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
        angle_deg(a, b) < 1e-3 || self.symmetry.equivalent(a, b)
    }

    /// Within the separation of entries of the other or of one equivalent to it.
    fn equivalent_or_near(&self, a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
        self.symmetry.apart_deg(a, b) < tol::POSE_SEPARATION_DEG
    }
}

/// Where a facet of the hull comes from.
fn origin(rest: &Rest) -> Origin {
    if rest.stands {
        Origin::Resting
    } else {
        Origin::Helped
    }
}

/// Angle between two directions, degrees.
pub fn angle_deg(a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> f64 {
    // atan2 keeps its digits near 0° and 180°, where the arc cosine has none.
    libm::atan2(a.cross(b).norm(), a.dot(b)).to_degrees()
}

/// Order of measured poses: by tier and total; where these are equal, the pose of the file before
/// all others, so that nobody turns a part for nothing.
fn in_order(a: &Scored, b: &Scored) -> std::cmp::Ordering {
    let rounded = |s: &Scored| (s.candidate.tier(), libm::round(s.total / TIED_TOTAL));
    let origin = |s: &Scored| s.candidate.origin;
    let elsewhere = |s: &Scored| origin(s) != Origin::Stored;
    by_key(&rounded(a), &rounded(b))
        .then(elsewhere(a).cmp(&elsewhere(b)))
        .then(a.total.total_cmp(&b.total))
        .then(origin(a).cmp(&origin(b)))
}

/// Order by tier, then by value.
fn by_key(a: &(u8, f64), b: &(u8, f64)) -> std::cmp::Ordering {
    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests;
