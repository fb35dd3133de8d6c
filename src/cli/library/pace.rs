//! How a run over a library goes on: a bar on a terminal, a line now and then elsewhere.

use crate::cli::terminal;
use crate::library::RunObserver;
use crate::words::{count, decimal, duration};
use indicatif::ProgressBar;
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// Where no terminal is: a line so often.
const EVERY: Duration = Duration::from_secs(30);
/// Every file costs as much as so many bytes more, so that small ones count too.
const A_FILE: u64 = 100_000;

/// Tells of the progress on standard error.
pub struct Pace {
    bar: Option<ProgressBar>,
    began: Instant,
    said: Instant,
    parts: [usize; 2],
    /// Parts scored, and the work done and in all; what was kept costs next to nothing.
    scored: usize,
    work: [u64; 2],
}

impl Pace {
    /// Says nothing yet.
    pub fn new() -> Self {
        let now = Instant::now();
        Self {
            bar: terminal::bar("{wide_bar} {msg}", 500),
            began: now,
            said: now,
            parts: [0, 0],
            scored: 0,
            work: [0, 0],
        }
    }

    /// Takes the bar away.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }

    fn words(&self) -> String {
        let [done, all] = self.parts;
        let [worked, work] = self.work;
        let s = self.began.elapsed().as_secs_f64();
        let mut text = format!("{done} of {}", count(all, "part", "parts"));
        if self.scored > 0 && s > 0.0 && done < all {
            let rate = self.scored as f64 / s;
            text.push_str(&format!(", {} a second", decimal(rate, 2)));
            let left = s * (work - worked) as f64 / worked.max(1) as f64;
            text.push_str(&format!(", about {} left", duration(left / 60.0)));
        }
        text
    }

    fn say(&mut self) {
        if let Some(bar) = &self.bar {
            let [worked, work] = self.work;
            bar.set_length(work);
            bar.set_position(worked);
            bar.set_message(self.words());
        } else if self.said.elapsed() >= EVERY {
            self.said = Instant::now();
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
    fn begin(&mut self, parts: usize, bytes: u64) {
        self.parts = [0, parts];
        self.work = [0, bytes + A_FILE * parts as u64];
        self.began = Instant::now();
        self.line(&format!("{} found", count(parts, "part", "parts")));
        self.say();
    }

    fn done(&mut self, bytes: u64, kept: bool) {
        self.parts[0] += 1;
        let work = &mut self.work;
        if kept {
            work[1] = work[1].saturating_sub(bytes + A_FILE).max(work[0]);
        } else {
            work[0] = (work[0] + bytes + A_FILE).min(work[1]);
            self.scored += 1;
        }
        self.say();
    }

    fn tick(&mut self) {
        self.say();
    }

    fn exporting(&mut self) {
        if let Some(bar) = &self.bar {
            bar.set_message("writing the files");
        }
        self.line(&format!("{}; writing the files", self.words()));
    }
}
