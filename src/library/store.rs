//! The library as a database: `library.sqlite`.
//!
//! | table or view | a row is |
//! |---|---|
//! | `part` | a file, with the columns of [`super::columns::COLUMNS`]; `gone` where it was not there on the last run; how and when it was scored |
//! | `advice` | its record as JSON, less the times: the object of `advise --json`, or of an unread file (`wayup schema`) |
//! | `run` | a run: when, by which version, how many it scored |
//! | `present` | a part that is there: the columns alone |
//! | `needs_support`, `sways`, `does_not_fit`, `stored_poor`, `broken` | one of those of which that is true |
//! | `turning_saves` | one that turning saves support, the most first |
//! | `pose` | a listed pose of a part, with its main figures |
//! | `remark`, `precaution` | a remark on a file; a thing to do on the machine in the best pose |
//!
//! It is kept in write-ahead mode: a person may ask it while a run writes to it, and a
//! commit costs no wait for the disk. A run commits after every few parts; what a killed
//! run or a power cut leaves out is scored again, and what is there is whole. (The mode
//! needs a disk of this machine, not a network share.)

mod migrate;
mod row;
mod schema;

use super::columns;
use super::record::{Basis, Record};
use super::trouble::unwritable;
use crate::session::exit::{Exit, Failure};
use row::{SqlCell, record_of};
use rusqlite::types::ToSql;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, params, params_from_iter};
use schema::{OWN, schema, select, upsert};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Name of the database in the folder of a library.
pub const FILE: &str = "library.sqlite";

/// Marks the file as ours: "WYUP".
const APPLICATION: i32 = 0x5759_5550;
/// Version of the tables.
const VERSION: i32 = 3;
/// How long a commit waits for somebody who has the database open.
const PATIENCE: Duration = Duration::from_secs(60);

/// What is known of a part before a run.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownRecord {
    /// Row of the table.
    pub id: i64,
    /// What its record holds good for.
    pub basis: Basis,
    /// It was not there on the last run.
    pub gone: bool,
    /// There is no advice.
    pub unread: bool,
}

/// Counts of the parts that are there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PartCounts {
    /// All.
    pub parts: u64,
    /// Without advice.
    pub unread: u64,
    /// Records of files that are gone.
    pub gone: u64,
    /// Advised ones that need support.
    pub needs_support: u64,
    /// … that have a piece that sways.
    pub sways: u64,
    /// … that fit the build volume in no pose.
    pub does_not_fit: u64,
    /// … that are stored in a poor pose.
    pub stored_poor: u64,
    /// Unread, or with an open surface.
    pub broken: u64,
    /// Searches that the time limit cut short.
    pub cut_short: u64,
}

/// The open database. What is asked of it fails with exit 5 where it cannot be read
/// or written.
pub struct Store {
    db: Connection,
    file: PathBuf,
}

impl Store {
    /// Opens the library of a folder to write to it; makes one where there is none.
    ///
    /// # Errors
    /// Exit 5: the file is another program's or of another version, or cannot be written.
    pub fn open(folder: &Path) -> Result<Self, Failure> {
        let store = Self::connect(folder, OpenFlags::default())?;
        store.ask(prepare)?;
        Ok(store)
    }

    /// Opens the library of a folder to read it.
    ///
    /// # Errors
    /// As [`Self::open`], and where there is none.
    pub fn read(folder: &Path) -> Result<Self, Failure> {
        Self::connect(
            folder,
            OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
        )
    }

    fn connect(folder: &Path, flags: OpenFlags) -> Result<Self, Failure> {
        let file = folder.join(FILE);
        let failed = |e| unwritable(&file, &e);
        let db = Connection::open_with_flags(&file, flags).map_err(failed)?;
        let number = |name| db.pragma_query_value(None, name, |row| row.get::<_, i32>(0));
        let marks = db.busy_timeout(PATIENCE).and_then(|()| {
            let tables = "SELECT count(*) FROM sqlite_schema";
            let tables = db.query_row(tables, [], |r| r.get::<_, i64>(0))?;
            Ok((number("application_id")?, number("user_version")?, tables))
        });
        match marks {
            Ok((APPLICATION, VERSION, _) | (0, 0, 0)) => Ok(Self { db, file }),
            Ok((APPLICATION, migrate::FROM, _)) => match migrate::migrate(&db, VERSION) {
                Ok(()) => Ok(Self { db, file }),
                Err(e) => Err(failed(e)),
            },
            Err(e) if e.sqlite_error_code() != Some(rusqlite::ErrorCode::NotADatabase) => {
                Err(failed(e))
            }
            _ => Err(Failure::new(
                Exit::Unwritable,
                file.display().to_string(),
                "is not the database of a library that this version made",
                "name another --out, or move that file away and score all parts again",
            )),
        }
    }

    /// Whether what is written still goes to the folder.
    ///
    /// # Errors
    /// Exit 5: the file or its folder was removed or moved; this database is then without a name,
    /// and gone when the run ends.
    pub(crate) fn is_there(&self) -> Result<(), Failure> {
        fs::metadata(&self.file).map(drop).map_err(|_| {
            let (defect, hint) = (
                "was taken away while parts were scored",
                "run the same again, and leave the folder where it is until the run ends",
            );
            Failure::new(
                Exit::Unwritable,
                self.file.display().to_string(),
                defect,
                hint,
            )
        })
    }

    fn ask<'a, T>(
        &'a self,
        ask: impl FnOnce(&'a Connection) -> rusqlite::Result<T>,
    ) -> Result<T, Failure> {
        ask(&self.db).map_err(|e| unwritable(&self.file, &e))
    }

    /// Everything that is known, by key.
    pub(crate) fn known(&self) -> Result<BTreeMap<String, KnownRecord>, Failure> {
        let ask =
            "SELECT key, id, sha256, settings_key, cut_at_s, gone, status = 'unread' FROM part";
        let row = |r: &Row| {
            let basis = Basis {
                sha256: r.get(2)?,
                settings: r.get(3)?,
                cut_at_s: r.get(4)?,
            };
            let known = KnownRecord {
                id: r.get(1)?,
                basis,
                gone: r.get(5)?,
                unread: r.get(6)?,
            };
            Ok((r.get(0)?, known))
        };
        self.ask(|db| db.prepare(ask)?.query_map([], row)?.collect())
    }

    /// Begins what [`Self::commit`] ends: all of it is kept, or none.
    pub(crate) fn begin(&self) -> Result<(), Failure> {
        self.ask(|db| db.execute_batch("BEGIN IMMEDIATE"))
    }

    /// Keeps what was put since [`Self::begin`].
    /// Where it cannot be kept none of it is.
    pub(crate) fn commit(&self) -> Result<(), Failure> {
        self.ask(|db| db.execute_batch("COMMIT"))
    }

    /// Marks parts as gone or there again.
    pub(crate) fn mark_gone(&self, rows: &[(i64, bool)]) -> Result<(), Failure> {
        self.ask(|db| {
            let mut set = db.prepare("UPDATE part SET gone = ?2 WHERE id = ?1")?;
            let mut one = |(id, gone): &(i64, bool)| set.execute(params![id, gone]).map(drop);
            rows.iter().try_for_each(&mut one)
        })
    }

    /// Puts a record in the place of any that the part has; the number of its row.
    pub(crate) fn put(&self, record: &Record) -> Result<i64, Failure> {
        let own: [&dyn ToSql; OWN.len()] = [
            &record.key,
            &false,
            &record.basis.settings,
            &record.basis.cut_at_s,
            &env!("CARGO_PKG_VERSION"),
            &record.seconds[0],
            &record.seconds[1],
            &record.outlines.best,
            &record.outlines.stored,
        ];
        let cells: Vec<SqlCell> = record.cells.iter().map(SqlCell).collect();
        let cells = cells.iter().map(|c| c as &dyn ToSql);
        let values = params_from_iter(own.into_iter().chain(cells));
        let advice = "INSERT INTO advice (part, json) VALUES (?1, ?2) ON CONFLICT (part) DO UPDATE SET json = excluded.json";
        self.ask(|db| {
            let mut put = db.prepare_cached(&upsert())?;
            let id: i64 = put.query_row(values, |r| r.get(0))?;
            db.prepare_cached(advice)?
                .execute(params![id, record.line])?;
            Ok(id)
        })
    }

    /// The record of a row.
    pub(crate) fn record(&self, id: i64) -> Result<Option<Record>, Failure> {
        let ask = format!("{} WHERE part.id = ?1", select());
        self.ask(|db| {
            db.prepare_cached(&ask)?
                .query_row([id], record_of)
                .optional()
        })
    }

    /// Hands over the record of every part that is there, in the order of the keys, until
    /// `take` says no.
    pub(crate) fn each<E: From<Failure>>(
        &self,
        mut take: impl FnMut(Record) -> Result<(), E>,
    ) -> Result<(), E> {
        let ask = format!("{} WHERE NOT part.gone ORDER BY part.key", select());
        let mut ask = self.ask(|db| db.prepare(&ask))?;
        let mut rows = self.ask(|_| ask.query([]))?;
        while let Some(row) = self.ask(|_| rows.next())? {
            take(self.ask(|_| record_of(row))?)?;
        }
        Ok(())
    }

    /// How many there are of what.
    pub(crate) fn counts(&self) -> Result<PartCounts, Failure> {
        let of = [
            "1",
            "status = 'unread'",
            "needs_support",
            "sways",
            "does_not_fit",
            "stored_poor",
            "broken",
            "cut_short",
        ];
        let sums = of.map(|of| format!("coalesce(sum(NOT gone AND coalesce({of}, 0)), 0)"));
        let sums = sums.join(", ");
        let ask = format!("SELECT coalesce(sum(gone), 0), {sums} FROM part");
        let row = |r: &Row| {
            let count = |i| r.get::<_, i64>(i).map(i64::unsigned_abs);
            Ok(PartCounts {
                gone: count(0)?,
                parts: count(1)?,
                unread: count(2)?,
                needs_support: count(3)?,
                sways: count(4)?,
                does_not_fit: count(5)?,
                stored_poor: count(6)?,
                broken: count(7)?,
                cut_short: count(8)?,
            })
        };
        self.ask(|db| db.query_row(&ask, [], row))
    }

    /// Rows of the parts that turning saves most support, the most first.
    pub(crate) fn helped(&self, most: u64) -> Result<Vec<i64>, Failure> {
        self.ids(&format!(
            "SELECT id FROM part WHERE NOT gone AND support_saved_mm3 > 0 ORDER BY support_saved_mm3 DESC, key LIMIT {most}"
        ))
    }

    /// Hands over the records of `most` parts at most, without their JSON: where turning saves most
    /// support first, those without advice last.
    pub(crate) fn listed(
        &self,
        most: u64,
        mut take: impl FnMut(Record) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let ask = format!(
            "SELECT {}, {}, '' FROM part WHERE NOT gone ORDER BY support_saved_mm3 DESC NULLS LAST, key LIMIT {most}",
            OWN.join(", "),
            columns::names().join(", ")
        );
        let mut ask = self.ask(|db| db.prepare(&ask))?;
        let mut rows = self.ask(|_| ask.query([]))?;
        while let Some(row) = self.ask(|_| rows.next())? {
            take(self.ask(|_| record_of(row))?)?;
        }
        Ok(())
    }

    fn ids(&self, ask: &str) -> Result<Vec<i64>, Failure> {
        self.ask(|db| db.prepare(ask)?.query_map([], |r| r.get(0))?.collect())
    }

    /// Writes down that a run began; its number.
    pub(crate) fn begin_run(&self, listed: usize) -> Result<i64, Failure> {
        let begun = "INSERT INTO run (began, program, listed) VALUES (datetime('now'), ?1, ?2)";
        let values = params![env!("CARGO_PKG_VERSION"), listed as i64];
        self.ask(|db| db.execute(begun, values))?;
        Ok(self.db.last_insert_rowid())
    }

    /// Writes down that it came to its end, and with what.
    pub(crate) fn end_run(&self, run: i64, scored: u64, kept: u64) -> Result<(), Failure> {
        let ended = "UPDATE run SET ended = datetime('now'), scored = ?2, kept = ?3 WHERE id = ?1";
        let values = params![run, scored as i64, kept as i64];
        self.ask(|db| db.execute(ended, values)).map(drop)
    }
}

fn prepare(db: &Connection) -> rusqlite::Result<()> {
    db.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()))?;
    db.pragma_update(None, "synchronous", "NORMAL")?;
    db.pragma_update(None, "foreign_keys", true)?;
    let made: i32 = db.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if made == 0 {
        db.execute_batch(&format!(
            "BEGIN;\n{}\nPRAGMA application_id = {APPLICATION};\nPRAGMA user_version = {VERSION};\nCOMMIT;",
            schema()
        ))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests;
