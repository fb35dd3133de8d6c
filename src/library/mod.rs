//! A whole library of parts: every file scored once, kept in a database, shown on a page.
//!
//! - [`walk`]: which files there are
//! - [`run`]: a run over them; [`crew`]: who works on what
//! - [`scorer`]: one part, scored as `advise` does it
//! - [`record`]: what is kept of a part; [`columns`]: its columns; [`outline`]: its figure
//! - [`store`]: the database; [`lock`]: one run at a time
//! - [`export`]: the same as JSON lines, CSV and Parquet
//! - [`summary`]: a page to look at; [`sheets`]: the sheet of each part
//! - [`crate::checks::require`]: the small language of conditions on figures; [`crate::checks::judged`]: what came of them
//! - [`crate::checks::junit`], [`crate::checks::sarif`]: the same as `JUnit` XML and SARIF 2.1.0
//!
//! A run may be stopped at any moment: what is in the database is whole, and the next run
//! goes on from there. A file whose bytes, settings and program version are those of its
//! record is not scored again; nor is a copy of such a file, or one that was moved. The
//! record of a file that is gone stays in the database, marked, and is left out of all
//! that is made from it: should the file come back, nothing is lost.

pub mod columns;
pub mod crew;
pub mod export;
pub mod lock;
pub mod outline;
pub mod record;
pub mod run;
pub mod scorer;
pub mod sheets;
pub mod store;
pub mod summary;
mod trouble;
pub mod walk;

pub use run::{LibraryRun, Outcome, RunObserver, keep, stream};

#[cfg(test)]
mod tests;
