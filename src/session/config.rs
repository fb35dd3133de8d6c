//! From flags and settings files to settings in force.

use crate::mesh::Units;
use crate::rank::penalties::ROWS;
use crate::report::json::{PenaltyRow, SettingsInForce};
use crate::session::exit::{Exit, Failure};
use crate::session::intake::{self, Intake};
use crate::settings::Settings;
use crate::settings::overrides::{Overrides, SettingsError};
use crate::words::typed;
use std::env;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Name of a settings file that is found by itself.
pub const FILE_NAME: &str = "wayup.toml";

/// Poses listed where nothing else is asked for.
pub const TOP: u32 = 5;

/// Largest settings file that is read, bytes: a real one has a few hundred.
const LARGEST: u64 = 1 << 20;

/// Settings in force for one part, and the files they come from.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Resolved {
    /// Checked values.
    pub settings: Settings,
    /// The same without the flags: what a command line without flags has.
    pub plain: Settings,
    /// The only settings file to read, where one is named.
    pub named: Option<PathBuf>,
    /// Settings files that were read, the weakest first.
    pub files: Vec<PathBuf>,
    /// Unit that the file is taken in: that of the flags, else that of the last settings file.
    pub units: Option<Units>,
}

impl Resolved {
    /// The settings as the JSON shows them.
    pub fn in_force(&self) -> SettingsInForce {
        in_force(&self.settings, &self.files)
    }
}

/// Settings as the JSON shows them, with the files that they come from.
pub fn in_force(settings: &Settings, files: &[PathBuf]) -> SettingsInForce {
    let rows = ROWS
        .iter()
        .map(|row| PenaltyRow {
            name: row.name().to_string(),
            weight: row.weight_in(settings),
            scale: row.scale.clone(),
        })
        .collect();
    let files = files.iter().map(|f| f.display().to_string()).collect();
    SettingsInForce::new(settings, rows, files)
}

/// What a person asked for at the door, checked.
#[derive(Debug, Clone, Default)]
pub struct Request {
    /// Values that replace those of the settings files.
    flags: Overrides,
    /// The only settings file to read, in place of those that are found.
    pub named: Option<PathBuf>,
}

impl Request {
    /// Checks the values by themselves, before any file is touched.
    ///
    /// # Errors
    /// The first value outside its range, named as the flag.
    pub fn check(flags: Overrides, named: Option<PathBuf>) -> Result<Self, Failure> {
        flags.check().map_err(|e| {
            let (subject, defect) = match &e {
                SettingsError::Range { key, value, range } => (
                    format!("--{}", key.replace('_', "-")),
                    format!("{} is outside {range}", typed(*value)),
                ),
                SettingsError::Weight { .. } => ("--weight".to_string(), e.to_string()),
                other => (String::new(), other.to_string()),
            };
            Failure::new(Exit::Words, subject, defect, e.hint())
        })?;
        Ok(Self { flags, named })
    }

    /// What is in force for a part: defaults, then the user's file, then the one beside
    /// the part (or only the file that is named), then the flags. A part without a path
    /// has no file beside it.
    ///
    /// # Errors
    /// A settings file that is named but missing, unreadable or wrong.
    pub fn resolve(&self, part: Option<&Path>) -> Result<Resolved, Failure> {
        let mut plain = Settings::default();
        let mut files = Vec::new();
        let mut units = None;
        let candidates = match &self.named {
            Some(named) => vec![named.clone()],
            None => found(part),
        };
        for path in candidates {
            let Some(text) = text(&path, self.named.is_some())? else {
                continue;
            };
            let file = Overrides::from_toml(&text).map_err(|e| {
                let subject = path.display().to_string();
                Failure::new(Exit::Words, subject, e.to_string(), e.hint())
            })?;
            plain = plain.with(&file);
            units = file.units.or(units);
            files.push(path);
        }
        Ok(Resolved {
            settings: plain.clone().with(&self.flags),
            plain,
            named: self.named.clone(),
            files,
            units: self.flags.units.or(units),
        })
    }

    /// What is in force for a file, and its part.
    ///
    /// # Errors
    /// As [`Self::resolve`], a file that is no mesh, and one that was not read and laid
    /// out `until` then.
    pub fn read(&self, path: &Path, until: Option<Instant>) -> Result<(Resolved, Intake), Failure> {
        let resolved = self.resolve(Some(path))?;
        let intake = intake::read_laid_out(path, resolved.units, until, &resolved.settings)?;
        Ok((resolved, intake))
    }
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
    let optional = |e: &io::Error| {
        !must_exist && matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory)
    };
    let file = match File::open(path) {
        Err(e) if optional(&e) => return Ok(None),
        file => file.map_err(|e| {
            let defect = format!("settings file cannot be opened ({e})");
            fail(defect, "check the path and the permissions")
        })?,
    };
    let no_text = |defect: String| fail(defect, "name a plain text file");
    let mut bytes = Vec::new();
    let read = file.take(LARGEST + 1).read_to_end(&mut bytes);
    read.map_err(|e| no_text(format!("settings file cannot be read ({e})")))?;
    if bytes.len() as u64 > LARGEST {
        let defect = format!("larger than {LARGEST} bytes, so not a settings file");
        return Err(no_text(defect));
    }
    String::from_utf8(bytes).map(Some).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        fail(format!("not UTF-8 text at byte {at}"), "save it as UTF-8")
    })
}
