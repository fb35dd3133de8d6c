//! From flags and settings files to settings in force.

use crate::cli::args::{Given, Run};
use crate::mesh::Units;
use crate::session::exit::{Exit, Failure};
use crate::settings::Settings;
use crate::settings::overrides::{Overrides, SettingsError};
use std::env;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

/// Name of a settings file that is found by itself.
pub const FILE_NAME: &str = "wayup.toml";

/// Largest settings file that is read, bytes: a real one has a few hundred.
const LARGEST: u64 = 1 << 20;

/// Settings in force for one part, and the files they come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Resolved {
    /// Checked values.
    pub settings: Settings,
    /// Settings files that were read, the weakest first.
    pub files: Vec<PathBuf>,
    /// Unit that the last of them gives for the files beside it.
    pub units: Option<Units>,
}

impl Resolved {
    /// How the part is read: the units of the settings files where no flag gives any.
    pub fn reading(&self, run: &Run) -> Run {
        Run {
            units: run.units.or(self.units),
            ..*run
        }
    }
}

/// Checks the flags by themselves, before any file is touched.
///
/// # Errors
/// The first flag with a value outside its range.
pub fn flags(given: &Given) -> Result<Overrides, Failure> {
    let overrides = given.overrides();
    overrides.check().map_err(|e| {
        let (subject, defect) = match &e {
            SettingsError::Range {
                key,
                value,
                lo,
                hi,
                unit,
            } => (
                format!("--{}", key.replace('_', "-")),
                format!("{value} is outside {lo} to {hi}{unit}"),
            ),
            SettingsError::Weight { .. } => ("--weight".to_string(), e.to_string()),
            other => (String::new(), other.to_string()),
        };
        Failure::new(Exit::Words, subject, defect, e.hint())
    })?;
    Ok(overrides)
}

/// Settings for a part: defaults, then the user's file, then the one beside the
/// part (or only the file named by `--settings`), then the flags. A part without a
/// path has no file beside it.
///
/// # Errors
/// A settings file that is named but missing, unreadable or wrong.
pub fn resolve(part: Option<&Path>, given: &Given, flags: &Overrides) -> Result<Resolved, Failure> {
    let mut settings = Settings::default();
    let mut files = Vec::new();
    let mut units = None;
    let candidates = match &given.settings {
        Some(named) => vec![named.clone()],
        None => found(part),
    };
    for path in candidates {
        let Some(text) = text(&path, given.settings.is_some())? else {
            continue;
        };
        let file = Overrides::from_toml(&text).map_err(|e| {
            Failure::new(
                Exit::Words,
                path.display().to_string(),
                e.to_string(),
                e.hint(),
            )
        })?;
        settings = settings.with(&file);
        units = file.units.or(units);
        files.push(path);
    }
    Ok(Resolved {
        settings: settings.with(flags),
        files,
        units,
    })
}

/// Where a settings file may lie, the weakest first.
fn found(part: Option<&Path>) -> Vec<PathBuf> {
    let absolute = |name: &str| {
        env::var_os(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    let folder =
        absolute("XDG_CONFIG_HOME").or_else(|| absolute("HOME").map(|home| home.join(".config")));
    let user = folder.map(|f| f.join("wayup").join(FILE_NAME));
    let beside = part.map(|p| p.with_file_name(FILE_NAME));
    user.into_iter().chain(beside).collect()
}

/// The text of a settings file; `None` where it does not exist and need not.
fn text(path: &Path, must_exist: bool) -> Result<Option<String>, Failure> {
    let fail = |defect: String, hint: &str| {
        Failure::new(Exit::Words, path.display().to_string(), defect, hint)
    };
    let file = match File::open(path) {
        Ok(file) => file,
        Err(e)
            if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory)
                && !must_exist =>
        {
            return Ok(None);
        }
        Err(e) => {
            return Err(fail(
                format!("settings file cannot be opened ({e})"),
                "check the path and the permissions",
            ));
        }
    };
    let mut bytes = Vec::new();
    file.take(LARGEST + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| {
            fail(
                format!("settings file cannot be read ({e})"),
                "name a plain text file",
            )
        })?;
    if bytes.len() as u64 > LARGEST {
        return Err(fail(
            format!("larger than {LARGEST} bytes, so not a settings file"),
            "name a plain text file",
        ));
    }
    String::from_utf8(bytes).map(Some).map_err(|e| {
        fail(
            format!("not UTF-8 text at byte {}", e.utf8_error().valid_up_to()),
            "save it as UTF-8",
        )
    })
}
