//! One run at a time in a folder.
//!
//! The lock is the exclusive lock of an empty database beside the library. The
//! operating system holds it for the process, so that one that was killed holds none.

use super::store;
use super::trouble::unwritable;
use crate::session::exit::{Exit, Failure};
use rusqlite::{Connection, ErrorCode};
use std::path::Path;

/// Name of the file that is locked; it stays empty.
const FILE: &str = ".library.lock";

/// Held for as long as a run writes into the folder.
pub struct Lock {
    /// Dropping the connection lets go.
    _held: Connection,
}

impl Lock {
    /// Takes the folder.
    ///
    /// # Errors
    /// Exit 5: another run has it, or the file cannot be made.
    pub fn take(folder: &Path) -> Result<Self, Failure> {
        let failed = |e| unwritable(&folder.join(store::FILE), &e);
        let held = Connection::open(folder.join(FILE)).map_err(failed)?;
        held.busy_timeout(std::time::Duration::ZERO)
            .and_then(|()| held.execute_batch("BEGIN EXCLUSIVE"))
            .map_err(|e| match e.sqlite_error_code() {
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Failure::new(
                    Exit::Unwritable,
                    folder.display().to_string(),
                    "another run is at work in this folder",
                    "wait for it to end, or name another --out",
                ),
                _ => failed(e),
            })?;
        Ok(Self { _held: held })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_is_refused_until_the_first_lets_go() {
        let dir = tempfile::tempdir().expect("a folder");
        let first = Lock::take(dir.path()).expect("free");
        let refused = |folder: &Path| {
            Lock::take(folder)
                .err()
                .map_or_else(String::new, |f| f.defect)
        };
        assert!(refused(dir.path()).contains("another run is at work"));
        drop(first);
        Lock::take(dir.path()).expect("free again");
        assert!(refused(&dir.path().join("nowhere")).contains("cannot be written"));
    }
}
