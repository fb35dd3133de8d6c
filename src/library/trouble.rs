//! What stops a whole run.

use rayon::ThreadPoolBuildError;
use std::path::{Path, PathBuf};

/// What stops a whole run.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// Another run has the folder.
    #[error("another run is at work in {}", .0.display())]
    Busy(PathBuf),
    /// A database that is not ours.
    #[error("{} is not the database of a library of this version", .0.display())]
    Foreign(PathBuf),
    /// A file cannot be written.
    #[error("{}: cannot be written: {defect}", .file.display())]
    Unwritable {
        /// The file or its folder.
        file: PathBuf,
        /// The system's words.
        defect: String,
    },
    /// The system grants no such number of threads.
    #[error("threads cannot be started: {0}")]
    Threads(#[from] ThreadPoolBuildError),
}

impl Trouble {
    pub(super) fn file(file: &Path, error: &impl std::fmt::Display) -> Self {
        Self::Unwritable {
            file: file.to_path_buf(),
            defect: error.to_string(),
        }
    }
}
