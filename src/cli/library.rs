//! `wayup library`: every part of a folder or a list, once.

mod pace;

use super::args::LibraryArgs;
use super::gate::{RequirementGate, Take};
use crate::checks::judged::Judged;
use crate::cli::terminal;
use crate::library::record::Record;
use crate::library::scorer::Scorer;
use crate::library::store::Store;
use crate::library::walk::{self, PartFile, Walk};
use crate::library::{self, LibraryRun, Outcome, Trouble};
use crate::mesh::{Glance, glance};
use crate::report::layout::printable;
use crate::session::config::TOP;
use crate::session::exit::{Exit, Failure};
use crate::words::count;
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
        return Err(Failure::new(
            Exit::Words,
            "--recheck",
            "scores again what a folder holds, and no --out names one",
            "add --out FOLDER, or leave --recheck out",
        ));
    }
    let gate = RequirementGate::check(&args.checks)?;
    let threads = args.common.run.threads.map_or_else(
        || std::thread::available_parallelism().map_or(1, usize::from),
        |n| n as usize,
    );
    let stop = AtomicBool::new(false);
    let top = args.top.unwrap_or(TOP) as usize;
    let scorer = Scorer::new(asked, top, args.common.given.seconds, &stop);
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
    let unwritable = |e: io::Error| {
        Failure::new(
            Exit::Unwritable,
            out.display().to_string(),
            format!("the folder cannot be made ({e})"),
            "name a folder that you may write to",
        )
    };
    fs::create_dir_all(out).map_err(unwritable)?;
    let walk = match source(&args.source)? {
        Source::Folder => {
            walk::folder(&args.source, Some(out)).map_err(|e| unread(&args.source, &e))?
        }
        Source::List(text) => listed(&text),
        Source::Input => {
            let mut text = Vec::new();
            let read = io::stdin().lock().read_to_end(&mut text);
            read.map_err(|e| unread(&args.source, &e))?;
            listed(&text)
        }
    };
    let (others, shut) = (walk.others, walk.shut.clone());
    tell_shut(&shut);
    let mut pace = Pace::new();
    let task = LibraryRun {
        parts: walk.parts,
        out,
        recheck: args.recheck,
        threads,
    };
    let outcome = library::keep(task, scorer, &mut pace);
    pace.finish();
    let outcome = outcome?;
    terminal::result(&closing(&outcome, others, out))?;
    let read = read(outcome.counts.unread > 0 || !shut.is_empty());
    if !gate.wanted() {
        return Ok(read);
    }
    let store = Store::read(out)?;
    let met = gate.finish(&|take: Take<'_>| {
        store.each(|record: Record| take(&Judged::of_line(&record.line, &gate.demands)))
    })?;
    Ok(worse(read, met))
}

/// Why the records could not be gone through again.
impl From<Trouble> for io::Error {
    fn from(trouble: Trouble) -> Self {
        Self::other(Failure::from(trouble).defect)
    }
}

/// Folders that could not be looked into.
fn tell_shut(shut: &[(PathBuf, String)]) {
    for (folder, why) in shut {
        terminal::note(&format!("{}: left out: {why}", folder.display()));
    }
}

fn read(some_unread: bool) -> Exit {
    if some_unread {
        Exit::SomeUnread
    } else {
        Exit::Done
    }
}

/// A requirement that is missed is more than a part that could not be read.
fn worse(read: Exit, met: Exit) -> Exit {
    if met == Exit::Done { read } else { met }
}

/// Prints each record as it is done.
fn print(
    args: &LibraryArgs,
    gate: &RequirementGate,
    threads: usize,
    scorer: &Scorer,
) -> Result<Exit, Failure> {
    let mut shut = Vec::new();
    let paths: Box<dyn Iterator<Item = PathBuf> + Send> = match source(&args.source)? {
        Source::Input => Box::new(lines()),
        Source::List(text) => Box::new(walk::list(&text).into_iter()),
        Source::Folder => {
            let walk = walk::folder(&args.source, None).map_err(|e| unread(&args.source, &e))?;
            shut = walk.shut;
            Box::new(walk.parts.into_iter().map(|p| p.path))
        }
    };
    tell_shut(&shut);
    let mut some_unread = !shut.is_empty();
    let mut judged = Vec::new();
    some_unread |= library::stream(paths, threads, scorer, |record: &Record| {
        if gate.wanted() {
            judged.push(Judged::of_line(&record.line, &gate.demands));
        }
        terminal::result(&format!("{}\n", record.line))
    })?;
    // Done in any order, reported in one.
    judged.sort_by(|a, b| a.path.cmp(&b.path));
    let met = gate.finish(&|take: Take<'_>| judged.iter().try_for_each(take))?;
    Ok(worse(read(some_unread), met))
}

/// What the first word names.
enum Source {
    Folder,
    /// The bytes of a list.
    List(Vec<u8>),
    Input,
}

/// Largest list that is read, bytes: ten million paths or so.
const LARGEST_LIST: u64 = 1 << 30;

fn source(named: &Path) -> Result<Source, Failure> {
    if named.as_os_str() == STANDARD_INPUT {
        return Ok(Source::Input);
    }
    let meta = fs::metadata(named).map_err(|e| unread(named, &e))?;
    if meta.is_dir() {
        return Ok(Source::Folder);
    }
    let off = |defect: &str, hint: &str| {
        Err(Failure::new(
            Exit::Words,
            named.display().to_string(),
            defect,
            hint,
        ))
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
    fs::read(named)
        .map(Source::List)
        .map_err(|e| unread(named, &e))
}

fn listed(text: &[u8]) -> Walk {
    Walk {
        parts: walk::list(text).into_iter().map(PartFile::new).collect(),
        ..Walk::default()
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
        format!("cannot be read ({error})"),
        "name a folder, a list of paths, or - for paths on standard input",
    )
}

impl From<Trouble> for Failure {
    fn from(trouble: Trouble) -> Self {
        match trouble {
            Trouble::Busy(folder) => Self::new(
                Exit::Unwritable,
                folder.display().to_string(),
                "another run is at work in this folder",
                "wait for it to end, or name another --out",
            ),
            Trouble::Foreign(file) => Self::new(
                Exit::Unwritable,
                file.display().to_string(),
                "is not the database of a library that this version made",
                "name another --out, or move that file away and score all parts again",
            ),
            Trouble::Unwritable { file, defect } => Self::new(
                Exit::Unwritable,
                file.display().to_string(),
                format!("cannot be written: {defect}"),
                "make room or allow writing there, then run the same again: it goes on from where it stopped",
            ),
            Trouble::Threads(e) => Self::new(
                Exit::Words,
                "--threads",
                format!("so many threads cannot be started ({e})"),
                "give a smaller number",
            ),
        }
    }
}

/// What is printed at the end.
fn closing(outcome: &Outcome, others: usize, out: &Path) -> String {
    let c = &outcome.counts;
    let parts = |n: u64| count(n as usize, "part", "parts");
    let mut text = format!(
        "{}: {} scored now, {} known from before.",
        parts(c.parts),
        outcome.scored,
        outcome.kept
    );
    let mut more = |n: u64, says: &str| {
        if n > 0 {
            text.push_str(&format!(" {n} {says}."));
        }
    };
    more(c.unread, "could not be read");
    more(c.does_not_fit, "fit the bed in no pose");
    more(c.needs_support, "need support");
    more(c.sways, "have a piece that sways");
    more(c.loaded_poor, "lie poorly in their file");
    more(c.cut_short, "were cut short by the time limit");
    more(c.gone, "are gone; their records stay, marked");
    more(others as u64, "other files were passed over");
    let look = terminal::look();
    look.paragraph(&text)
        + &format!(
            "{}\n",
            printable(&out.join("summary.html").display().to_string())
        )
}
