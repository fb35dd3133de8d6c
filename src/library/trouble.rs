//! What stops a whole run.

use crate::session::exit::{Exit, Failure};
use std::fmt::Display;
use std::path::Path;

/// A file of the library, or its folder, cannot be written; `error` in the system's words.
pub(super) fn unwritable(file: &Path, error: &impl Display) -> Failure {
    Failure::new(
        Exit::Unwritable,
        file.display().to_string(),
        format!("cannot be written: {error}"),
        "make room or allow writing there, then run the same again: it goes on from where it stopped",
    )
}
