//! The answers to one question: the first, those so far, the last.

use super::AppState;
use super::outbox::Outbox;
use crate::desk::engine::advice::{self, FullAdvice};
use crate::desk::engine::part::{DeskPart, Direction};
use crate::rank::search::{Progress, Stage};
use crate::settings::Settings;
use crate::sync::held;
use serde_json::json;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Progress is told no more often than this.
const PROGRESS_EVERY: Duration = Duration::from_millis(100);

/// A ranking that is asked for.
pub(super) struct RankingJob {
    pub(super) settings: Settings,
    pub(super) began: Instant,
    pub(super) stop: Arc<AtomicBool>,
}

/// The quick ranking of a part, then the full one, unless a newer job stops it or the part is closed.
pub(super) fn rank(
    desk: &AppState,
    out: &Outbox,
    ranked: &Mutex<Vec<Direction>>,
    (part, job): (&DeskPart, &RankingJob),
) {
    let stopped = || part.is_closed() || job.stop.load(Ordering::Relaxed);
    let seconds = || job.began.elapsed().as_secs_f64();
    if stopped() {
        return;
    }
    let message = |answer: &FullAdvice, last: bool| {
        let ranks: Vec<_> = answer.advice.poses.iter().map(|p| p.pose.down).collect();
        part.put_ranked(&ranks);
        *held(ranked) = ranks;
        advice::message(part, &job.settings, answer, (last, seconds()))
    };
    let first = desk.first.install(|| {
        advice::from_memory(part, &job.settings).map_or_else(
            || advice::quick_message(part, &job.settings, seconds),
            |answer| message(&answer, false),
        )
    });
    out.say(&first);
    let watch = SearchProgress {
        id: part.id,
        stopped: &stopped,
        out,
        told: Mutex::new(None),
    };
    let so_far = |answer: FullAdvice| {
        if !stopped() {
            // Where too much waits already, the next one will do.
            out.mention(&message(&answer, false));
        }
    };
    let full = desk
        .search
        .install(|| advice::full(part, &job.settings, &watch, &so_far));
    let Some(full) = full.ok().filter(|_| !stopped()) else {
        return;
    };
    let last = desk.first.install(|| message(&full, true));
    if !stopped() {
        out.say(&last);
    }
}

/// Tells the page how far the search is, and the search when to stop.
struct SearchProgress<'a> {
    id: u64,
    stopped: &'a (dyn Fn() -> bool + Sync),
    out: &'a Outbox,
    told: Mutex<Option<Instant>>,
}

impl Progress for SearchProgress<'_> {
    fn step(&self, stage: Stage, done: usize, of: usize) {
        let mut told = held(&self.told);
        if told.is_some_and(|at| at.elapsed() < PROGRESS_EVERY) {
            return;
        }
        *told = Some(Instant::now());
        let message = json!({"say": "progress", "part": self.id, "what": stage.name(), "done": done, "of": of});
        self.out.mention(&message);
    }

    fn cancelled(&self) -> bool {
        (self.stopped)()
    }
}
