//! Who scores a part, and under what.

use super::record::{Answer, Refused};
use crate::mesh::Units;
use crate::settings::Settings;
use std::path::{Path, PathBuf};

/// What a part is scored under.
#[derive(Debug, Clone)]
pub struct Ground {
    /// Settings in force.
    pub settings: Settings,
    /// Settings files that were read.
    pub files: Vec<PathBuf>,
    /// Unit that the file is taken in, over what it says itself.
    pub units: Option<Units>,
    /// Fingerprint of all of it and of the program's version.
    pub key: String,
}

/// Who scores a part.
pub trait Judge: Sync {
    /// What the part at a path is scored under.
    ///
    /// # Errors
    /// A settings file that cannot be read.
    fn ground(&self, path: &Path) -> Result<Ground, Refused>;

    /// The bytes of a file.
    ///
    /// # Errors
    /// It cannot be read.
    fn bytes(&self, path: &Path) -> Result<Vec<u8>, Refused>;

    /// The advice on a part.
    ///
    /// # Errors
    /// There is none: no mesh, or not in time.
    fn advise(&self, path: &Path, bytes: Vec<u8>, ground: &Ground) -> Result<Answer, Refused>;

    /// Seconds that a part may take.
    fn limit_s(&self) -> Option<f64>;
}
