//! A whole library of parts: every file scored once, kept in a database, shown on a page.
//!
//! - [`walk`]: which files there are
//! - [`crew`]: who works on what; [`memory`]: how much there is
//! - [`record`]: what is kept of a part; [`columns`]: its columns; [`outline`]: its figure
//! - [`store`]: the database; [`lock`]: one run at a time
//! - [`export`]: the same as JSON lines, CSV and Parquet
//! - [`summary`]: a page to look at
//! - [`crate::checks::require`]: the small language of conditions on figures; [`crate::checks::judged`]: what came of them
//! - [`crate::checks::junit`], [`crate::checks::sarif`]: the same as `JUnit` XML and SARIF 2.1.0
//!
//! How a part is scored is behind [`Judge`], so that a run can be tried with one that is slow or
//! breaks off; [`judge::Scorer`] does it as `advise` does.
//!
//! A run may be stopped at any moment: what is in the database is whole, and the next run
//! goes on from there. A file whose bytes, settings and program version are those of its
//! record is not scored again; nor is a copy of such a file, or one that was moved. The
//! record of a file that is gone stays in the database, marked, and is left out of all
//! that is made from it: should the file come back, nothing is lost.

pub mod columns;
pub mod crew;
pub mod export;
pub mod judge;
pub mod lock;
pub mod memory;
pub mod outline;
pub mod record;
mod score;
mod scoring;
pub mod store;
pub mod summary;
mod trouble;
pub mod walk;

use crate::sync::held;
use crew::{Crew, Job};
use lock::Lock;
use rayon::ThreadPoolBuildError;
use record::{Basis, Record};
use score::{Done, origin, panicked, score};
pub use scoring::{Ground, Judge};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};
use store::{Counts, Known, Store};
pub use trouble::Trouble;
use walk::Part;

/// How often a run looks at the clock while no part is done.
pub const TICK: Duration = Duration::from_millis(500);

/// Memory that a triangle takes at the peak of reading and scoring, bytes: measured on
/// scans and subdivided links of 0.2 to 1.1 million.
const BYTES_A_TRIANGLE: u64 = 1000;

/// Parts after which a run commits, if [`TICK`] has not gone by before.
const COMMIT: usize = 64;

/// Told how a run goes on; called from one thread.
pub trait Watch {
    /// `parts` files are to be looked at, of so many bytes in all.
    fn begin(&self, parts: usize, bytes: u64);
    /// A file of so many bytes is done; `kept` where its record held good.
    fn done(&self, bytes: u64, kept: bool);
    /// Time goes by.
    fn tick(&self);
    /// All parts are done; the files are made.
    fn exporting(&self);
}

/// A run over a library that is kept in a folder.
pub struct Task<'a> {
    /// Files to be scored.
    pub parts: Vec<Part>,
    /// Folder of the library; it exists.
    pub out: &'a Path,
    /// Score again what is known, too.
    pub recheck: bool,
    /// Threads.
    pub threads: usize,
}

/// What a run came to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Parts scored in this run, those that could not be read included.
    pub scored: u64,
    /// Parts whose record held good, or that of a copy.
    pub kept: u64,
    /// What is in the library now.
    pub counts: Counts,
}

impl Job for Part {
    /// By the length of the file: a triangle takes `BYTES_A_TRIANGLE` at the peak of
    /// reading and scoring, and so many bytes of a file of that ending.
    fn memory(&self) -> u64 {
        let ending = self.path.extension().and_then(|e| e.to_str());
        let of_file = match ending.map(str::to_ascii_lowercase).as_deref() {
            // Packed text; binary with shared vertices.
            Some("3mf") => 10,
            Some("ply" | "off") => 20,
            // Binary with every corner; text is longer.
            _ => 50,
        };
        self.bytes.saturating_mul(BYTES_A_TRIANGLE) / of_file
    }
}

/// Scores what is new or changed, then makes the files.
///
/// # Errors
/// See [`Trouble`]; what was scored until then is kept.
pub fn keep(
    task: Task,
    judge: &dyn Judge,
    watch: &dyn Watch,
    stop: &AtomicBool,
) -> Result<Outcome, Trouble> {
    let _lock = Lock::take(task.out)?;
    let store = Store::open(task.out)?;
    let known = store.known()?;
    let mut parts = task.parts;
    // The largest first, so that no thread is left with one of them at the end.
    parts.sort_by(|a, b| b.bytes.cmp(&a.bytes).then_with(|| a.path.cmp(&b.path)));
    mark_gone(&store, &parts, &known)?;
    let run = store.begin_run(parts.len())?;
    watch.begin(parts.len(), parts.iter().map(|p| p.bytes).sum());

    let crew = Crew::new(task.threads, Some(parts.len()))?;
    let copies = Mutex::new(copies(&known, task.recheck));
    let mut keeper = Keeper::new(&store);
    let mut outcome = Outcome::default();
    let work = |part: &Part| {
        score(part, judge, |origin, basis| {
            if task.recheck {
                return None;
            }
            let limit_s = judge.limit_s();
            let holds = known.get(&origin.key).is_some_and(|k| {
                let sum = basis.sha256.as_deref().unwrap_or_default();
                k.basis.holds(sum, &basis.settings, limit_s)
            });
            if holds {
                return Some(Done::Kept);
            }
            let copies = held(&copies);
            copies.get(&fingerprint(basis)?).map(|id| Done::Copy(*id))
        })
    };
    crew.run(parts.into_iter(), stop, work, |result| {
        let Some((part, result)) = result else {
            watch.tick();
            return keeper.tick();
        };
        let origin = origin(&part);
        let mut kept = true;
        match result.unwrap_or_else(|()| panicked(&origin)) {
            Done::Kept => {}
            Done::Copy(id) => {
                let moved = store.record(id)?.and_then(|r| r.moved(&origin));
                // The row was read from this database, so the record is there.
                if let Some(record) = moved {
                    keeper.put(&record)?;
                }
            }
            Done::New(record) => {
                kept = false;
                let id = keeper.put(&record)?;
                if let (false, Some(print)) = (record.is_unread(), fingerprint(&record.basis)) {
                    if record.basis.cut_at_s.is_none() && !task.recheck {
                        let mut copies = held(&copies);
                        copies.insert(print, id);
                    }
                }
            }
        }
        *(if kept {
            &mut outcome.kept
        } else {
            &mut outcome.scored
        }) += 1;
        watch.done(part.bytes, kept);
        keeper.tick()
    })?;
    keeper.commit()?;
    watch.exporting();
    store.end_run(run, outcome.scored, outcome.kept)?;
    outcome.counts = store.counts()?;
    export::write(task.out, &store)?;
    Ok(outcome)
}

/// Scores parts as they come and hands over each line, in the order in which they are
/// done; whether some part could not be read.
///
/// # Errors
/// What `take` says, or [`Trouble::Threads`].
pub fn stream<E: From<Trouble>>(
    paths: impl Iterator<Item = PathBuf> + Send,
    threads: usize,
    judge: &dyn Judge,
    stop: &AtomicBool,
    mut take: impl FnMut(&Record) -> Result<(), E>,
) -> Result<bool, E> {
    struct Said<E>(E);
    impl<E: From<Trouble>> From<ThreadPoolBuildError> for Said<E> {
        fn from(error: ThreadPoolBuildError) -> Self {
            Self(E::from(Trouble::Threads(error)))
        }
    }
    let crew = Crew::new(threads, None).map_err(Trouble::Threads)?;
    let mut unread = false;
    let work = |part: &Part| score(part, judge, |_, _| None);
    crew.run(paths.map(Part::new), stop, work, |result| {
        let Some((part, result)) = result else {
            return Ok(());
        };
        if let Done::New(record) = result.unwrap_or_else(|()| panicked(&origin(&part))) {
            unread |= record.is_unread();
            take(&record).map_err(Said)?;
        }
        Ok(())
    })
    .map_err(|Said(e)| e)?;
    Ok(unread)
}

/// Checksum and settings.
type Fingerprint = (String, String);

fn fingerprint(basis: &Basis) -> Option<Fingerprint> {
    Some((basis.sha256.clone()?, basis.settings.clone()))
}

/// Rows whose record holds good for any file with the same bytes.
fn copies(known: &BTreeMap<String, Known>, recheck: bool) -> BTreeMap<Fingerprint, i64> {
    known
        .values()
        .filter(|k| !recheck && !k.unread && k.basis.cut_at_s.is_none())
        .filter_map(|k| Some((fingerprint(&k.basis)?, k.id)))
        .collect()
}

fn mark_gone(
    store: &Store,
    parts: &[Part],
    known: &BTreeMap<String, Known>,
) -> Result<(), Trouble> {
    let there: BTreeSet<String> = parts.iter().map(|p| walk::key(&p.path)).collect();
    let changed: Vec<(i64, bool)> = known
        .iter()
        .map(|(key, k)| (k.id, !there.contains(key), k.gone))
        .filter(|(_, gone, was)| gone != was)
        .map(|(id, gone, _)| (id, gone))
        .collect();
    store.begin()?;
    store.mark_gone(&changed)?;
    store.commit()
}

/// Puts records, committing now and then.
struct Keeper<'a> {
    store: &'a Store,
    /// When the first of those that are not committed was put.
    since: Option<Instant>,
    count: usize,
}

impl<'a> Keeper<'a> {
    fn new(store: &'a Store) -> Self {
        Self {
            store,
            since: None,
            count: 0,
        }
    }

    fn put(&mut self, record: &Record) -> Result<i64, Trouble> {
        if self.since.is_none() {
            self.store.begin()?;
            self.since = Some(Instant::now());
        }
        self.count += 1;
        self.store.put(record)
    }

    fn tick(&mut self) -> Result<(), Trouble> {
        let due = self.since.is_some_and(|at| at.elapsed() >= TICK);
        if due || self.count >= COMMIT {
            self.commit()?;
        }
        Ok(())
    }

    fn commit(&mut self) -> Result<(), Trouble> {
        if self.since.take().is_some() {
            self.count = 0;
            self.store.commit()?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
