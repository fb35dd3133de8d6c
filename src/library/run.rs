//! A run over a library: who is scored again, and when what came of it is kept.

use super::crew::{Crew, TICK};
use super::export;
use super::lock::Lock;
use super::record::{Basis, Record};
use super::scorer::{Done, Scorer, panicked};
use super::sheets::{self, Sheets};
use super::store::{KnownRecord, PartCounts, Store};
use super::walk::{self, PartFile};
use crate::session::exit::Failure;
use crate::session::memory;
use crate::sync::held;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::Instant;

/// Parts after which a run commits, if [`TICK`] has not gone by before.
const COMMIT: usize = 64;

/// Told how a run goes on; called from one thread.
pub trait RunObserver {
    /// `parts` files are to be looked at, of so many bytes in all.
    fn begin(&mut self, parts: usize, bytes: u64);
    /// A file of so many bytes is done; `kept` where its record held good.
    fn done(&mut self, bytes: u64, kept: bool);
    /// Time goes by.
    fn tick(&mut self);
    /// All parts are done; the files are made.
    fn exporting(&mut self);
}

/// A run over a library that is kept in a folder.
pub struct LibraryRun<'a> {
    /// Files to be scored.
    pub parts: Vec<PartFile>,
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
    pub counts: PartCounts,
}

/// Bytes of memory that a part takes.
fn memory(file: &PartFile) -> u64 {
    memory::needed(&file.path, file.bytes)
}

/// Scores what is new or changed, then makes the files.
///
/// # Errors
/// Another run has the folder, a file of the library cannot be written, or the system grants
/// no such number of threads; what was scored until then is kept.
pub fn keep(
    task: LibraryRun,
    scorer: &Scorer,
    observer: &mut dyn RunObserver,
) -> Result<Outcome, Failure> {
    let _lock = Lock::take(task.out)?;
    let store = Store::open(task.out)?;
    let known = store.known()?;
    let mut sheets = Sheets::of(task.out);
    if scorer.sheets {
        sheets.begin()?;
    }
    // A record whose sheet is missing is made again.
    let shown = Sheets::of(task.out);
    let whole = |k: &KnownRecord, key: &str| !scorer.sheets || k.unread || shown.has(key, &k.basis);
    let mut parts = task.parts;
    // The largest first, so that no thread is left with one of them at the end.
    parts.sort_by(|a, b| b.bytes.cmp(&a.bytes).then_with(|| a.path.cmp(&b.path)));
    mark_gone(&store, &parts, &known)?;
    let run = store.begin_run(parts.len())?;
    observer.begin(parts.len(), parts.iter().map(|p| p.bytes).sum());

    let crew = Crew::new(task.threads, Some(parts.len()))?;
    let copies = Mutex::new(copies(&known, task.recheck));
    let mut keeper = Keeper::new(&store);
    let mut outcome = Outcome::default();
    let work = |file: &PartFile| {
        scorer.score(file, |basis| {
            if task.recheck {
                return None;
            }
            let key = walk::key(&file.path);
            let holds = known
                .get(&key)
                .is_some_and(|k| k.basis.holds(basis, scorer.limit_s) && whole(k, &key));
            if holds {
                return Some(Done::Kept);
            }
            if scorer.sheets {
                // The sheet of a copy bears the name of the other file.
                return None;
            }
            let copies = held(&copies);
            copies.get(&fingerprint(basis)?).map(|id| Done::Copy(*id))
        })
    };
    crew.run(parts.into_iter(), memory, scorer.stop, work, |result| {
        let Some((file, result)) = result else {
            observer.tick();
            return keeper.tick();
        };
        let kept = match result.unwrap_or_else(|()| panicked(&file)) {
            Done::Kept => true,
            Done::Copy(id) => {
                let moved = store.record(id)?.and_then(|r| r.moved(&file));
                // The row was read from this database, so the record is there.
                if let Some(record) = moved {
                    keeper.put(&record)?;
                }
                true
            }
            Done::New(record) => {
                let id = keeper.put(&record)?;
                if let Some(page) = &record.sheet {
                    sheets.put(&record, page)?;
                }
                if let (false, Some(print)) = (record.is_unread(), fingerprint(&record.basis)) {
                    if record.basis.cut_at_s.is_none() && !task.recheck {
                        held(&copies).insert(print, id);
                    }
                }
                false
            }
        };
        outcome.kept += u64::from(kept);
        outcome.scored += u64::from(!kept);
        observer.done(file.bytes, kept);
        keeper.tick()
    })?;
    keeper.commit()?;
    observer.exporting();
    store.end_run(run, outcome.scored, outcome.kept)?;
    outcome.counts = store.counts()?;
    if scorer.sheets {
        let mut wanted = BTreeSet::new();
        store.listed(u64::MAX >> 1, |record| {
            wanted.insert(sheets::name(&record.key, &record.basis));
            Ok(())
        })?;
        sheets.tidy(&wanted)?;
    }
    export::write(task.out, &store)?;
    Ok(outcome)
}

/// Scores parts as they come and hands over each line, in the order in which they are
/// done; whether some part could not be read.
///
/// # Errors
/// What `take` says, or the system grants no such number of threads.
pub fn stream(
    paths: impl Iterator<Item = PathBuf> + Send,
    threads: usize,
    scorer: &Scorer,
    mut take: impl FnMut(&Record) -> Result<(), Failure>,
) -> Result<bool, Failure> {
    let crew = Crew::new(threads, None)?;
    let mut unread = false;
    let work = |file: &PartFile| scorer.score(file, |_| None);
    let paths = paths.map(PartFile::new);
    crew.run(paths, memory, scorer.stop, work, |result| {
        let done = result.map(|(file, done)| done.unwrap_or_else(|()| panicked(&file)));
        let Some(Done::New(record)) = done else {
            return Ok(());
        };
        unread |= record.is_unread();
        take(&record)
    })?;
    Ok(unread)
}

/// Checksum and settings.
type Fingerprint = (String, String);

fn fingerprint(basis: &Basis) -> Option<Fingerprint> {
    Some((basis.sha256.clone()?, basis.settings.clone()))
}

/// Rows whose record holds good for any file with the same bytes.
fn copies(known: &BTreeMap<String, KnownRecord>, recheck: bool) -> BTreeMap<Fingerprint, i64> {
    known
        .values()
        .filter(|k| !recheck && !k.unread && k.basis.cut_at_s.is_none())
        .filter_map(|k| Some((fingerprint(&k.basis)?, k.id)))
        .collect()
}

fn mark_gone(
    store: &Store,
    parts: &[PartFile],
    known: &BTreeMap<String, KnownRecord>,
) -> Result<(), Failure> {
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
        let (since, count) = (None, 0);
        Self {
            store,
            since,
            count,
        }
    }

    fn put(&mut self, record: &Record) -> Result<i64, Failure> {
        if self.since.is_none() {
            self.store.begin()?;
            self.since = Some(Instant::now());
        }
        self.count += 1;
        self.store.put(record)
    }

    fn tick(&mut self) -> Result<(), Failure> {
        self.store.is_there()?;
        let due = self.since.is_some_and(|at| at.elapsed() >= TICK);
        if due || self.count >= COMMIT {
            self.commit()?;
        }
        Ok(())
    }

    fn commit(&mut self) -> Result<(), Failure> {
        if self.since.take().is_some() {
            self.count = 0;
            self.store.commit()?;
        }
        Ok(())
    }
}
