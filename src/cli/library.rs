//! `wayup library`: every part of a folder or a list, once.

mod pace;

use super::args::LibraryArgs;
use super::gate::{RequirementGate, Take};
use crate::checks::judged::Judged;
use crate::cli::terminal;
use crate::library::record::Record;
use crate::library::scorer::Scorer;
use crate::library::store::Store;
use crate::library::walk::{self, PartFile};
use crate::library::{self, LibraryRun, Outcome};
use crate::mesh::{Glance, glance};
use crate::session::config::TOP;
use crate::session::exit::{Exit, Failure};
use crate::words::count;
use crate::words::printable;
use pace::Pace;
use std::fs;
use std::io::{self, BufRead, Read};
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// The word for standard input.
const STANDARD_INPUT: &str = "-";

/// Scores a library.
///
/// With `--out` the records are kept there and files are made of them; without it they
/// are printed as they are done.
///
/// # Errors
/// Flags that are off, a folder or list that cannot be read, an output that cannot be
/// written, another run in the same folder.
pub fn run(args: &LibraryArgs) -> Result<Exit, Failure> {
    let asked = args.common.asked()?;
    if asked.named.is_some() {
        // The same for every part: better told once than of each.
        asked.resolve(None)?;
    }
    if args.recheck && args.out.is_none() {
        let defect = "scores again what a folder holds, and no --out names one";
        let hint = "add --out FOLDER, or leave --recheck out";
        return Err(Failure::new(Exit::Words, "--recheck", defect, hint));
    }
    let gate = RequirementGate::check(&args.checks)?;
    let threads = args.common.run.threads.map_or_else(
        || std::thread::available_parallelism().map_or(1, usize::from),
        |n| n as usize,
    );
    let stop = AtomicBool::new(false);
    let top = args.top.unwrap_or(TOP) as usize;
    let scorer = Scorer::new(asked, top, args.common.given.seconds, &stop);
    let scorer = if args.sheets {
        scorer.with_sheets()
    } else {
        scorer
    };
    match &args.out {
        Some(out) => keep(args, out, &gate, threads, &scorer),
        None => print(args, &gate, threads, &scorer),
    }
}

/// Keeps the records in a folder.
fn keep(
    args: &LibraryArgs,
    out: &Path,
    gate: &RequirementGate,
    threads: usize,
    scorer: &Scorer,
) -> Result<Exit, Failure> {
    fs::create_dir_all(out).map_err(|e| {
        let defect = format!("the folder cannot be made ({e})");
        let hint = "name a folder that you may write to";
        Failure::new(Exit::Unwritable, out.display().to_string(), defect, hint)
    })?;
    let source = Source::find(&args.source, Some(out))?;
    let mut pace = Pace::new();
    let task = LibraryRun {
        parts: source.paths.map(PartFile::new).collect(),
        out,
        recheck: args.recheck,
        threads,
    };
    let outcome = library::keep(task, scorer, &mut pace);
    pace.finish();
    let outcome = outcome?;
    terminal::result(&closing(&outcome, source.others, out))?;
    let unread = outcome.counts.unread > 0 || source.shut;
    if !gate.wanted() {
        return Ok(exit(unread, Exit::Done));
    }
    let store = Store::read(out)?;
    let met = gate.finish(&|take: Take<'_>| {
        store.each(|record: Record| take(&Judged::of_line(&record.line, &gate.demands)))
    })?;
    Ok(exit(unread, met))
}

/// Why the records could not be gone through again.
impl From<Failure> for io::Error {
    fn from(failure: Failure) -> Self {
        Self::other(failure.defect)
    }
}

/// A requirement that is missed is more than a part that could not be read.
fn exit(unread: bool, met: Exit) -> Exit {
    match met {
        Exit::Done if unread => Exit::SomeUnread,
        met => met,
    }
}

/// Prints each record as it is done.
fn print(
    args: &LibraryArgs,
    gate: &RequirementGate,
    threads: usize,
    scorer: &Scorer,
) -> Result<Exit, Failure> {
    let source = Source::find(&args.source, None)?;
    let mut judged = Vec::new();
    let unread = library::stream(source.paths, threads, scorer, |record: &Record| {
        if gate.wanted() {
            judged.push(Judged::of_line(&record.line, &gate.demands));
        }
        terminal::result(&format!("{}\n", record.line))
    })?;
    // Done in any order, reported in one.
    judged.sort_by(|a, b| a.path.cmp(&b.path));
    let met = gate.finish(&|take: Take<'_>| judged.iter().try_for_each(take))?;
    Ok(exit(unread || source.shut, met))
}

/// What the first word names.
struct Source {
    paths: Box<dyn Iterator<Item = PathBuf> + Send>,
    /// Files that were skipped.
    others: usize,
    /// Some folder could not be looked into.
    shut: bool,
}

/// Largest list that is read, bytes: ten million paths or so.
const LARGEST_LIST: u64 = 1 << 30;

impl Source {
    /// The files that are named; those of a library that is kept in the folder `out` once each.
    /// Folders that could not be looked into are told of.
    fn find(named: &Path, out: Option<&Path>) -> Result<Self, Failure> {
        let cannot = |e: io::Error| unread(named, &e);
        let listed = |paths: Box<dyn Iterator<Item = PathBuf> + Send>| Self {
            paths,
            others: 0,
            shut: false,
        };
        if named.as_os_str() == STANDARD_INPUT {
            if out.is_none() {
                return Ok(listed(Box::new(lines())));
            }
            let mut text = Vec::new();
            io::stdin().lock().read_to_end(&mut text).map_err(cannot)?;
            return Ok(listed(Box::new(walk::list(&text).into_iter())));
        }
        let meta = fs::metadata(named).map_err(cannot)?;
        if meta.is_dir() {
            let walk = walk::folder(named, out).map_err(cannot)?;
            for (folder, why) in &walk.shut {
                terminal::note(&format!("{}: left out: {why}", folder.display()));
            }
            return Ok(Self {
                paths: Box::new(walk.parts.into_iter().map(|p| p.path)),
                others: walk.others,
                shut: !walk.shut.is_empty(),
            });
        }
        let off = |defect: &str, hint: &str| {
            let named = named.display().to_string();
            Err(Failure::new(Exit::Words, named, defect, hint))
        };
        if meta.is_file() && matches!(glance(named), Ok(Glance::Mesh(_) | Glance::Named)) {
            return off(
                "is a mesh, not a list of them",
                "name a folder, or a text file with a path on each line; for one part there is wayup advise",
            );
        }
        if meta.len() > LARGEST_LIST {
            return off(
                "is too long for a list of paths",
                "name a text file with a path on each line",
            );
        }
        let text = fs::read(named).map_err(cannot)?;
        Ok(listed(Box::new(walk::list(&text).into_iter())))
    }
}

/// Paths on standard input, as they come. What cannot be read ends them.
fn lines() -> impl Iterator<Item = PathBuf> + Send {
    std::iter::from_fn(|| {
        loop {
            let mut line = Vec::new();
            let read = io::stdin().lock().read_until(b'\n', &mut line);
            if !matches!(read, Ok(n) if n > 0) {
                return None;
            }
            if let Some(path) = walk::line(&line) {
                return Some(path);
            }
        }
    })
}

fn unread(named: &Path, error: &io::Error) -> Failure {
    Failure::new(
        Exit::Words,
        named.display().to_string(),
        match error.kind() {
            io::ErrorKind::NotFound => "no such folder or file".into(),
            _ => format!("cannot be read ({error})"),
        },
        "name a folder, a list of paths, or - for paths on standard input",
    )
}

/// What is printed at the end.
fn closing(outcome: &Outcome, others: usize, out: &Path) -> String {
    let c = &outcome.counts;
    let parts = |n: u64| count(n as usize, "part", "parts");
    let mut text = format!(
        "{}: {} scored now, {} unchanged.",
        parts(c.parts),
        outcome.scored,
        outcome.kept
    );
    let mut more = |n: u64, one: &str, many: &str| {
        if n > 0 {
            text.push_str(&format!(" {}.", count(n as usize, one, many)));
        }
    };
    more(c.unread, "could not be read", "could not be read");
    more(
        c.does_not_fit,
        "fits the bed in no pose",
        "fit the bed in no pose",
    );
    more(c.needs_support, "needs support", "need support");
    more(
        c.sways,
        "has a feature that sways",
        "have a feature that sways",
    );
    more(
        c.stored_poor,
        "is stored in a poor pose",
        "are stored in a poor pose",
    );
    more(
        c.cut_short,
        "was stopped by the time limit",
        "were stopped by the time limit",
    );
    more(
        c.gone,
        "is gone; its record stays, marked as gone",
        "are gone; their records stay, marked as gone",
    );
    more(
        others as u64,
        "other file was skipped",
        "other files were skipped",
    );
    let look = terminal::look();
    look.paragraph(&text)
        + &format!(
            "{}\n",
            printable(&out.join("summary.html").display().to_string())
        )
}
