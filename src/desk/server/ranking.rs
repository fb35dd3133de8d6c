//! The answers to one question: the first, those so far, the last.

use super::Desk;
use super::socket::{Job, say};
use crate::desk::engine::advice::{self, Answer, Circumstances};
use crate::desk::engine::part::Direction;
use crate::rank::search::{Progress, Stage};
use crate::sync::held;
use serde_json::json;
use std::sync::Mutex;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};
use tokio::sync::mpsc;

/// Progress is told no more often than this.
const PROGRESS_EVERY: Duration = Duration::from_millis(100);

/// The quick ranking, then the full one, unless a newer job stops it.
pub(super) fn rank(
    desk: &Desk,
    out: &mpsc::Sender<String>,
    ranked: &Mutex<Vec<Direction>>,
    job: &Job,
) {
    let id = job.part.id;
    let stopped = || job.stop.load(Ordering::Relaxed);
    let seconds = || job.began.elapsed().as_secs_f64();
    if stopped() {
        return;
    }
    let message = |answer: &Answer, last: bool| {
        let ranks: Vec<_> = answer.advice.poses.iter().map(|p| p.pose.down).collect();
        job.part.put_ranked(&ranks);
        *held(ranked) = ranks;
        let about = Circumstances {
            last,
            seconds: seconds(),
        };
        advice::message(&job.part, &job.settings, answer, &about)
    };
    let first = desk.first.install(|| {
        advice::from_memory(&job.part, &job.settings).map_or_else(
            || advice::quick_message(&job.part, &job.settings, seconds),
            |answer| message(&answer, false),
        )
    });
    say(out, id, first);
    let watch = Watch {
        job,
        out,
        told: Mutex::new(None),
    };
    let so_far = |answer: Answer| {
        if !stopped() {
            if let Ok(text) = message(&answer, false) {
                // Where too much waits already, the next one will do.
                let _ = out.try_send(text);
            }
        }
    };
    let full = desk
        .search
        .install(|| advice::full(&job.part, &job.settings, &watch, &so_far));
    let Some(full) = full.ok().filter(|_| !stopped()) else {
        return;
    };
    let text = desk.first.install(|| message(&full, true));
    if !stopped() {
        say(out, id, text);
    }
}

/// Tells the page how far the search is, and the search when to stop.
struct Watch<'a> {
    job: &'a Job,
    out: &'a mpsc::Sender<String>,
    told: Mutex<Option<Instant>>,
}

impl Progress for Watch<'_> {
    fn step(&self, stage: Stage, done: usize, of: usize) {
        let mut told = held(&self.told);
        if told.is_some_and(|at| at.elapsed() < PROGRESS_EVERY) {
            return;
        }
        *told = Some(Instant::now());
        let id = self.job.part.id;
        let message =
            json!({"say": "progress", "part": id, "what": stage.name(), "done": done, "of": of});
        // Where too much waits already, this is left out.
        let _ = self.out.try_send(message.to_string());
    }

    fn cancelled(&self) -> bool {
        self.job.stop.load(Ordering::Relaxed)
    }
}
