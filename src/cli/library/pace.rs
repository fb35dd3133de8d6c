//! How a run over a library goes on: a bar on a terminal, a line now and then elsewhere.

use crate::library::RunObserver;
use crate::words::{count, decimal};
use indicatif::{ProgressBar, ProgressStyle};
use std::cell::{Cell, RefCell};
use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

/// Where no terminal is: a line so often.
const EVERY: Duration = Duration::from_secs(30);
/// Every file costs as much as so many bytes more, so that small ones count too.
const A_FILE: u64 = 100_000;

/// Tells of the progress on standard error.
pub struct Pace {
    bar: Option<ProgressBar>,
    began: Cell<Instant>,
    said: Cell<Instant>,
    parts: Cell<[usize; 2]>,
    /// Parts scored, and the work done and in all; what was kept costs next to nothing.
    scored: Cell<usize>,
    work: RefCell<[u64; 2]>,
}

impl Pace {
    /// Says nothing yet.
    pub fn new() -> Self {
        let now = Instant::now();
        let bar = io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(0);
            let style = ProgressStyle::with_template("{wide_bar} {msg}");
            bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
            bar.enable_steady_tick(Duration::from_millis(500));
            bar
        });
        Self {
            bar,
            began: Cell::new(now),
            said: Cell::new(now),
            parts: Cell::new([0, 0]),
            scored: Cell::new(0),
            work: RefCell::new([0, 0]),
        }
    }

    /// Takes the bar away.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }

    fn words(&self) -> String {
        let [done, all] = self.parts.get();
        let [worked, work] = *self.work.borrow();
        let s = self.began.get().elapsed().as_secs_f64();
        let mut text = format!("{done} of {}", count(all, "part", "parts"));
        if self.scored.get() > 0 && s > 0.0 && done < all {
            let rate = self.scored.get() as f64 / s;
            text.push_str(&format!(", {} a second", decimal(rate, 2)));
            let left = s * (work - worked) as f64 / worked.max(1) as f64;
            text.push_str(&format!(", about {} left", time(left)));
        }
        text
    }

    fn say(&self) {
        if let Some(bar) = &self.bar {
            let [worked, work] = *self.work.borrow();
            bar.set_length(work);
            bar.set_position(worked);
            bar.set_message(self.words());
        } else if self.said.get().elapsed() >= EVERY {
            self.said.set(Instant::now());
            self.line(&self.words());
        }
    }

    fn line(&self, text: &str) {
        if self.bar.is_none() {
            // Nobody is left to tell where standard error is closed.
            let _ = writeln!(io::stderr().lock(), "{text}");
        }
    }
}

impl RunObserver for Pace {
    fn begin(&self, parts: usize, bytes: u64) {
        self.parts.set([0, parts]);
        *self.work.borrow_mut() = [0, bytes + A_FILE * parts as u64];
        self.began.set(Instant::now());
        self.line(&format!("{} found", count(parts, "part", "parts")));
        self.say();
    }

    fn done(&self, bytes: u64, kept: bool) {
        let [done, all] = self.parts.get();
        self.parts.set([done + 1, all]);
        let mut work = self.work.borrow_mut();
        if kept {
            work[1] = work[1].saturating_sub(bytes + A_FILE).max(work[0]);
        } else {
            work[0] = (work[0] + bytes + A_FILE).min(work[1]);
            self.scored.set(self.scored.get() + 1);
        }
        drop(work);
        self.say();
    }

    fn tick(&self) {
        self.say();
    }

    fn exporting(&self) {
        if let Some(bar) = &self.bar {
            bar.set_message("writing the files");
        }
        self.line(&format!("{}; writing the files", self.words()));
    }
}

/// A time that is only guessed, in words.
fn time(seconds: f64) -> String {
    match seconds.max(0.0) {
        s if s < 90.0 => format!("{} s", decimal(s, 0)),
        s if s < 5400.0 => format!("{} min", decimal(s / 60.0, 0)),
        s => format!("{} h", decimal(s / 3600.0, 1)),
    }
}
