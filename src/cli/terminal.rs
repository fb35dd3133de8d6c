//! Standard output and standard error: what goes where, how wide, how plain.

use crate::rank::search::{Progress, Stage};
use crate::report::layout::Look;
use crate::session::clock::Clock;
use crate::session::exit::{Exit, Failure};
use crate::words::printable;
use indicatif::{ProgressBar, ProgressStyle};
use std::env;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::time::{Duration, Instant};

/// Columns where the output is no terminal and nothing says otherwise.
const COLUMNS: usize = 80;

/// How results look: `COLUMNS` first, else the terminal's own width. Colour only
/// on a terminal, and not where `NO_COLOR` is set or the terminal is dumb.
pub fn look() -> Look {
    let stated = env::var("COLUMNS")
        .ok()
        .and_then(|c| c.trim().parse::<usize>().ok())
        .filter(|c| *c > 0);
    let terminal = io::stdout().is_terminal();
    let measured = || {
        terminal
            .then(terminal_size::terminal_size)
            .flatten()
            .map(|(w, _)| usize::from(w.0))
    };
    let width = stated.or_else(measured).unwrap_or(COLUMNS);
    let dumb = env::var_os("TERM").is_some_and(|t| t == "dumb");
    Look {
        colour: terminal && !dumb && env::var_os("NO_COLOR").is_none(),
        ..Look::plain(width)
    }
}

/// Whether results go to a terminal that shows more than plain lines.
pub fn is_screen() -> bool {
    io::stdout().is_terminal() && env::var_os("TERM").is_none_or(|t| t != "dumb")
}

/// Writes a result to standard output.
///
/// # Errors
/// Exit 5 where it cannot be written; exit 0 without words where the reader has
/// gone away, which is how `head` ends a pipe.
pub fn result(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .map_err(|e| match e.kind() {
            ErrorKind::BrokenPipe => Failure::new(Exit::Done, "", "", ""),
            _ => Failure::new(
                Exit::Unwritable,
                "standard output",
                format!("cannot be written: {e}"),
                "make room, or send it elsewhere",
            ),
        })
}

/// Tells of a failure on standard error. A reader who has gone away is no failure.
pub fn complain(failure: &Failure) {
    if failure.exit != Exit::Done {
        say(&failure.to_string());
    }
}

/// A remark on standard error.
pub fn note(text: &str) {
    say(&format!("note: {}", printable(text)));
}

/// Says of a part that the time limit cut its search short, where it did.
pub fn note_cut(cut_short: bool, part: &str) {
    if cut_short {
        note(&format!(
            "{part}: the time limit cut the search short; the answer is the best so far"
        ));
    }
}

fn say(text: &str) {
    // Nobody is left to tell where standard error is closed.
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// A bar on standard error that is drawn anew every so many milliseconds; none where that is
/// no terminal.
pub fn bar(template: &str, every_ms: u64) -> Option<ProgressBar> {
    io::stderr().is_terminal().then(|| {
        let style = ProgressStyle::with_template(template);
        let style = style.unwrap_or_else(|_| ProgressStyle::default_bar());
        let bar = ProgressBar::new(0).with_style(style);
        bar.enable_steady_tick(Duration::from_millis(every_ms));
        bar
    })
}

/// Progress on a terminal, silence elsewhere; stops the work after a time limit.
pub struct TerminalProgress {
    bar: Option<ProgressBar>,
    clock: Clock<'static>,
}

impl TerminalProgress {
    /// Begins to watch the work on `name`, which ends at the `deadline`.
    pub fn start(name: &str, deadline: Option<Instant>) -> Self {
        let bar = bar("{prefix}: {msg} {wide_bar} {pos}/{len}", 200);
        Self {
            // One step until it is known how many: an empty bar, not a full one.
            bar: bar.map(|bar| {
                bar.set_length(1);
                bar.with_prefix(printable(name)).with_message("reading")
            }),
            clock: Clock::until(deadline, None),
        }
    }

    /// Seconds until now: those before the first pose was measured, and those since.
    pub fn split(&self) -> [f64; 2] {
        self.clock.split()
    }

    /// Takes the bar away. True where the time limit cut the work short.
    pub fn finish(&self) -> bool {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
        self.clock.cut()
    }
}

/// What the search is at, as the desk says it too.
fn said(stage: Stage) -> &'static str {
    match stage {
        Stage::Candidates => "looking at directions",
        Stage::Refinement => "tilting the best",
        Stage::Poses => "measuring the best",
    }
}

impl Progress for TerminalProgress {
    fn step(&self, stage: Stage, done: usize, of: usize) {
        self.clock.step(stage, done, of);
        if let Some(bar) = &self.bar {
            bar.set_message(said(stage));
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        }
    }

    fn cancelled(&self) -> bool {
        self.clock.cancelled()
    }
}
