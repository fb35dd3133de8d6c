//! How long a search has run, when it began to measure, and when its time is over.

use crate::rank::search::{Progress, Stage};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// The clock of one search: by itself a [`Progress`] that says nothing and stops the search in
/// time; whoever has more to tell asks it.
#[derive(Debug)]
pub struct Clock<'a> {
    began: Instant,
    deadline: Option<Instant>,
    /// When the candidates were known and full measuring began.
    measuring: OnceLock<Instant>,
    /// Ends the work before its time, where somebody may.
    stop: Option<&'a AtomicBool>,
    cut: AtomicBool,
}

/// The moment when so many seconds from now are over; without them there is none.
pub fn deadline(seconds: Option<f64>) -> Option<Instant> {
    Instant::now().checked_add(Duration::try_from_secs_f64(seconds?).ok()?)
}

impl<'a> Clock<'a> {
    /// Starts now; without `seconds` the time is never over. `stop` ends it sooner.
    pub fn start(seconds: Option<f64>, stop: Option<&'a AtomicBool>) -> Self {
        Self::until(deadline(seconds), stop)
    }

    /// Starts now; the time is over at `deadline`. `stop` ends it sooner.
    pub fn until(deadline: Option<Instant>, stop: Option<&'a AtomicBool>) -> Self {
        Self {
            began: Instant::now(),
            deadline,
            measuring: OnceLock::new(),
            stop,
            cut: AtomicBool::new(false),
        }
    }

    /// Whether the work was ever told to stop.
    pub fn cut(&self) -> bool {
        self.cut.load(Ordering::Relaxed)
    }

    /// Seconds until now: those before the first pose was measured, and those since.
    pub fn split(&self) -> [f64; 2] {
        let all = self.began.elapsed().as_secs_f64();
        let before = self.measuring.get();
        let before = before.map_or(all, |at| (*at - self.began).as_secs_f64());
        [before, all - before]
    }
}

impl Progress for Clock<'_> {
    fn step(&self, stage: Stage, _: usize, _: usize) {
        if stage == Stage::Poses {
            self.measuring.get_or_init(Instant::now);
        }
    }

    /// Whether to stop: the time is over, or it was asked for. A yes is remembered.
    fn cancelled(&self) -> bool {
        let stopped = self.stop.is_some_and(|s| s.load(Ordering::Relaxed));
        let over = stopped || self.deadline.is_some_and(|d| Instant::now() >= d);
        if over {
            self.cut.store(true, Ordering::Relaxed);
        }
        over
    }
}
