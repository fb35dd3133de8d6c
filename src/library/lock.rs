//! One run at a time in a folder.
//!
//! The lock is the exclusive lock of an empty database beside the library. The
//! operating system holds it for the process, so that one that was killed holds none.

use super::Trouble;
use super::store;
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
    /// [`Trouble::Busy`] where another run has it; [`Trouble::Unwritable`] where the file
    /// cannot be made.
    pub fn take(folder: &Path) -> Result<Self, Trouble> {
        let failed = |e| Trouble::file(&folder.join(store::FILE), &e);
        let held = Connection::open(folder.join(FILE)).map_err(failed)?;
        held.busy_timeout(std::time::Duration::ZERO)
            .and_then(|()| held.execute_batch("BEGIN EXCLUSIVE"))
            .map_err(|e| match e.sqlite_error_code() {
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                    Trouble::Busy(folder.to_path_buf())
                }
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
        assert!(matches!(Lock::take(dir.path()), Err(Trouble::Busy(_))));
        drop(first);
        Lock::take(dir.path()).expect("free again");
        assert!(matches!(
            Lock::take(&dir.path().join("nowhere")),
            Err(Trouble::Unwritable { .. })
        ));
    }
}
