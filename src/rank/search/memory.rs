//! Answers before the search is complete, from the poses that were measured so far.

use super::{Candidate, Found, Scored, Search, by_key, in_order, origin};
use crate::figures::stop::Stop;
use crate::pose::standing;
use crate::rank::{Candidates, Origin};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

/// Faces of the hull that are looked at where there is no time for more.
const FACES: usize = 12;
/// How long those beyond the poses that are told are looked at.
const A_LOOK: Duration = Duration::from_millis(50);

impl Search<'_> {
    /// Poses that this search has measured, those known from before left out.
    pub fn measured_anew(&self) -> usize {
        self.anew.load(Ordering::Relaxed)
    }

    /// What is known of the poses that were measured before, under the settings in force:
    /// as if the search had been stopped there. None where there is no such pose.
    pub fn from_memory(&self) -> Option<Found> {
        let settings = self.bench.settings;
        let mut scored: Vec<Scored> = Vec::new();
        for (down, origin) in self.known.measured_under(settings) {
            let candidate = self.candidate(down, origin);
            let (sliced, footprint_mm) = self.stand(&candidate);
            let before = self.known.before(&sliced.pose, settings);
            if before.complete() {
                let never = Stop::never();
                scored.push(self.scored(candidate, &sliced, footprint_mm, &before, &never));
            }
        }
        let stored = scored
            .iter()
            .find(|s| s.candidate.origin == Origin::Stored)?
            .clone();
        Some(self.found(self.distinct(&scored), stored, scored.len()))
    }

    /// The pose of the file and the best of the largest faces of the hull by their quick figures
    /// alone, at most `top`: what is known where there was no time to measure one pose.
    pub fn first_look(&self, top: usize) -> (Candidate, Vec<Candidate>) {
        let stored = self.candidate(-Vector3::z_axis(), Origin::Stored);
        let rests = standing::standing(self.bench.hull(), &self.bench.part.mass.centroid, FACES);
        // The time is over already: the largest faces, and of the others what is soon done.
        let end = Instant::now() + A_LOOK;
        let mut found: Vec<Candidate> = (rests.into_par_iter().enumerate())
            .filter(|(at, _)| *at < top || Instant::now() < end)
            .map(|(_, rest)| self.candidate(rest.down, origin(&rest)))
            .collect();
        found.sort_by(|a, b| by_key(&a.key(), &b.key()));
        let found = self.apart(found.iter(), top);
        (stored, found)
    }

    /// What entries and the stored pose come to; of lattice and refinement nothing is said.
    pub(super) fn found(&self, entries: Vec<Scored>, stored: Scored, measured: usize) -> Found {
        let better = |e: &&Scored| {
            in_order(e, &stored).is_lt() && !self.same(&e.candidate.down, &stored.candidate.down)
        };
        Found {
            better_than_stored: entries.iter().filter(better).count(),
            judged: entries.clone(),
            left: None,
            cut: false,
            entries,
            stored,
            counts: Candidates {
                resting: self.bench.hull().facets().len(),
                fully_scored: measured,
                ..Candidates::default()
            },
        }
    }
}
