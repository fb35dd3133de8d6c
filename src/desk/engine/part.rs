//! One part on the table, with all that no setting changes.

use crate::cli::exit::Failure;
use crate::cli::intake::{self, Intake};
use crate::figures::quick::{Bench, Layout};
use crate::pose::standing;
use crate::rank::known::Known;
use crate::settings::Settings;
use nalgebra::{Unit, Vector3};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// Facets of the hull that are looked at, largest first.
const FACETS: usize = 400;

/// Settings before the page changes any, and where they come from.
#[derive(Debug, Clone, Default)]
pub struct Base {
    /// Values in force: defaults, settings files, flags.
    pub settings: Settings,
    /// The same without the flags: what a command line without flags has.
    pub plain: Settings,
    /// Settings files that were read, the weakest first.
    pub files: Vec<PathBuf>,
    /// The file named by `--settings`.
    pub named: Option<PathBuf>,
}

/// A part that was opened.
pub struct DeskPart {
    /// Its number on this table.
    pub id: u64,
    /// The part, what is said of it, and how its file was read.
    pub intake: Intake,
    /// Units that the person named, over what the file says.
    pub units_given: bool,
    /// Settings before the page changes any.
    pub base: Base,
    /// Hull and look-ups.
    pub layout: Arc<Layout>,
    /// Symmetry, holds for a calliper, and poses measured so far.
    pub known: Arc<Known>,
    /// Outward directions of the largest facets of the hull.
    pub facets: Vec<Unit<Vector3<f64>>>,
    /// Those on which the part stands by itself.
    pub rests: Vec<Unit<Vector3<f64>>>,
    /// Settings of the last advice that was asked for.
    in_force: Mutex<Settings>,
}

impl DeskPart {
    /// Lays a part out that has been read.
    ///
    /// # Errors
    /// It has no hull, such as points on one line.
    pub fn new(id: u64, intake: Intake, units_given: bool, base: Base) -> Result<Self, Failure> {
        let hull = intake::hull(&intake.part, Path::new(&intake.facts.path))?;
        let layout = Bench::new(&intake.part, &base.settings, hull).layout;
        let known = Arc::new(Known::new(&intake.part, &layout.hull));
        let standing = standing(&layout.hull, &intake.part.mass.centroid, FACETS);
        let rests = standing.rests.iter().filter(|r| r.stands);
        Ok(Self {
            id,
            rests: rests.map(|r| r.down).collect(),
            facets: standing.rests.iter().map(|r| r.down).collect(),
            units_given,
            in_force: Mutex::new(base.settings.clone()),
            intake,
            base,
            layout,
            known,
        })
    }

    /// The part laid out under some settings.
    pub fn bench<'a>(&'a self, settings: &'a Settings) -> Bench<'a> {
        Bench::on(&self.intake.part, settings, &self.layout)
    }

    /// Settings of the last advice that was asked for.
    pub fn in_force(&self) -> Settings {
        self.in_force
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Notes the settings of an advice that is asked for.
    pub fn put_in_force(&self, settings: &Settings) {
        self.in_force
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone_from(settings);
    }

    /// File name without folder and ending, for what is taken away.
    pub fn stem(&self) -> String {
        Path::new(&self.intake.facts.path)
            .file_stem()
            .map_or_else(|| "part".into(), |s| s.to_string_lossy().into_owned())
    }
}
