//! From a path to a part, with what the reports say about it.

use crate::figures::height::{MOST_LAYERS, layer_count};
use crate::figures::quick::{Bench, Layout};
use crate::figures::stop::Stop;
use crate::mesh::{
    Defect, Loaded, Part, ReadError, ReadFault, ReadOptions, Units, checksum, file_bytes,
    read_bytes,
};
use crate::pose::Hull;
use crate::report::json::PartFacts;
use crate::session::exit::{Exit, Failure};
use crate::session::memory;
use crate::settings::Settings;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{Arc, OnceLock};
use std::thread;
use std::time::Instant;

/// A part that has been read and checked.
pub struct Intake {
    /// The part.
    pub part: Part,
    /// What is wrong with its surface.
    pub defects: Vec<Defect>,
    /// What the reports say about it.
    pub facts: PartFacts,
    /// Unit of the file.
    pub units: Units,
    /// What no setting changes, once it was worked out.
    layout: OnceLock<Arc<Layout>>,
}

/// Reads a mesh file, in `units` where those are given, and makes the part.
///
/// # Errors
/// Exit 3 with defect, place and next step.
pub fn read(path: &Path, units: Option<Units>) -> Result<Intake, Failure> {
    take(path, bytes(path)?, units, None)
}

/// The same within a time, and lays the part out under some settings, which is most of the work on
/// a scan.
///
/// # Errors
/// As there, and as [`Intake::bench`]; exit 7 where that was not done `until` then.
pub fn read_laid_out(
    path: &Path,
    units: Option<Units>,
    until: Option<Instant>,
    settings: &Settings,
) -> Result<Intake, Failure> {
    let Some(end) = until else {
        return read(path, units);
    };
    let settings = settings.clone();
    apart(path, end, move |path| {
        let intake = take(path, bytes(path)?, units, until)?;
        intake.lay_out(&settings, until)?;
        Ok(intake)
    })
}

/// Does a work on a file until then, and no longer.
fn apart(
    path: &Path,
    end: Instant,
    work: impl FnOnce(&Path) -> Result<Intake, Failure> + Send + 'static,
) -> Result<Intake, Failure> {
    // By itself, so that neither a pipe that says nothing nor one long step of the reading is
    // waited for. What goes on there ends at its next look at the clock.
    let (sender, done) = mpsc::channel();
    let (owned, own) = (path.to_path_buf(), path.display().to_string());
    let work = move || {
        // Nobody listens where the time was over.
        let _ = sender.send(work(&owned));
    };
    let started = thread::Builder::new().stack_size(STACK).spawn(work);
    started.map_err(|e| {
        let defect = format!("cannot be read: no thread can be started ({e})");
        Failure::new(
            Exit::Unreadable,
            own,
            defect,
            "end other programs and try again",
        )
    })?;
    match done.recv_timeout(end.saturating_duration_since(Instant::now())) {
        Ok(read) => read,
        Err(RecvTimeoutError::Timeout) => Err(too_slow(path)),
        Err(RecvTimeoutError::Disconnected) => Err(faulty(path)),
    }
}

/// Stack of the thread that reads: as much as a program's first one has.
const STACK: usize = 8 << 20;

/// The bytes of a mesh file.
///
/// # Errors
/// Exit 3 where it cannot be read.
pub fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    // Of a pipe nobody knows.
    if let Ok(file) = fs::metadata(path)
        && file.is_file()
    {
        fits_memory(path, memory::too_much(file.len()))?;
    }
    file_bytes(path, &ReadOptions::default()).map_err(|e| failure(&e))
}

/// # Errors
/// Exit 3 where there is a defect: more memory would be taken than is free.
pub fn fits_memory(path: &Path, defect: Option<String>) -> Result<(), Failure> {
    let Some(defect) = defect else {
        return Ok(());
    };
    let hint = "reduce its triangles, end other programs, or use a machine with more memory";
    let subject = path.display().to_string();
    Err(Failure {
        passing: true,
        ..Failure::new(Exit::Unreadable, subject, defect, hint)
    })
}

/// Makes the part of a file's bytes, taken in `units` where those are given.
///
/// # Errors
/// Exit 3 with defect, place and next step; exit 7 where that was not done `until` then.
pub fn take(
    path: &Path,
    bytes: Vec<u8>,
    units: Option<Units>,
    until: Option<Instant>,
) -> Result<Intake, Failure> {
    let options = ReadOptions {
        units,
        until,
        ..ReadOptions::default()
    };
    let loaded =
        read_bytes(&path.display().to_string(), &bytes, &options).map_err(|e| failure(&e))?;
    // The mesh is all that is needed from here on.
    drop(bytes);
    fits_memory(path, memory::too_many(loaded.mesh.triangles.len()))?;
    Intake::new(loaded).map_err(|e| failure(&e))
}

impl Intake {
    /// Makes the part of a file that has been read.
    ///
    /// # Errors
    /// The mesh encloses nothing.
    pub fn new(mut loaded: Loaded) -> Result<Self, ReadError> {
        let (part, defects) = loaded.take_part()?;
        let facts = PartFacts {
            path: loaded.name,
            sha256: loaded.sha256,
            format: loaded.format.name().to_string(),
            units: loaded.units.name().to_string(),
            ..PartFacts::new(&part, &defects, loaded.notes)
        };
        Ok(Intake {
            part,
            defects,
            facts,
            units: loaded.units,
            layout: OnceLock::new(),
        })
    }

    /// The part laid out under some settings, with the convex hull that poses stand on.
    ///
    /// # Errors
    /// Exit 3 for a part that has no hull, such as points on one line, and for one that is
    /// too large to be cut into layers.
    pub fn bench<'a>(&'a self, settings: &'a Settings) -> Result<Bench<'a>, Failure> {
        self.bench_until(settings, None)
    }

    /// The same, until then.
    ///
    /// # Errors
    /// As there, and exit 7 where the time was over.
    pub fn bench_until<'a>(
        &'a self,
        settings: &'a Settings,
        until: Option<Instant>,
    ) -> Result<Bench<'a>, Failure> {
        let layout = self.lay_out(settings, until)?;
        Ok(Bench::on(&self.part, settings, layout))
    }

    fn lay_out(
        &self,
        settings: &Settings,
        until: Option<Instant>,
    ) -> Result<&Arc<Layout>, Failure> {
        let part = &self.part;
        let refused = |defect: String, hint: &str| {
            Failure::new(Exit::Unreadable, self.facts.path.clone(), defect, hint)
        };
        if let Some(why) = too_large(part, settings) {
            return Err(refused(why, &likely_unit(part, self.units)));
        }
        if let Some(layout) = self.layout.get() {
            return Ok(layout);
        }
        let hull = Hull::new(&part.mesh.vertices).map_err(|e| {
            let defect = format!("has no hull to stand on: {e}");
            refused(defect, "export the solid itself")
        })?;
        let late = || until.is_some_and(|until| Instant::now() >= until);
        let layout = Layout::until(part, hull, settings, &Stop::when(&late))
            .ok_or_else(|| too_slow(self.facts.path.as_ref()))?;
        Ok(self.layout.get_or_init(|| Arc::new(layout)))
    }
}

/// The two lines that a person reads of a file that is no mesh: exit 3, or 7 where the time was over.
pub fn failure(error: &ReadError) -> Failure {
    if error.fault == ReadFault::TooLate {
        return too_slow(error.file.as_ref());
    }
    let place = error.place.map_or_else(String::new, |p| format!(" {p}"));
    Failure::new(
        Exit::Unreadable,
        error.file.clone(),
        format!("{}{place}", error.fault),
        error.fault.next_step(),
    )
}

/// Why a part would be cut into too many layers ([`MOST_LAYERS`]); `None` where it is not.
pub fn too_large(part: &Part, settings: &Settings) -> Option<String> {
    let (lo, hi) = part.mesh.bounds()?;
    let too_high = layer_count((hi - lo).norm(), settings) > MOST_LAYERS;
    too_high.then(|| {
        format!(
            "is too large: {} mm long, and no more than {MOST_LAYERS} layers of {} mm are cut",
            number(part.extent()),
            number(settings.layer_mm)
        )
    })
}

/// A length in mm, large ones in powers of ten.
fn number(length_mm: f64) -> String {
    if length_mm < 1e9 {
        crate::words::decimal(length_mm, 2)
    } else {
        format!("{length_mm:.1e}")
    }
}

/// What to do about a part that is too large: the unit in which it has the size of a print.
fn likely_unit(part: &Part, units: Units) -> String {
    let long_mm = |unit: Units| part.extent() * (unit.mm() / units.mm());
    let likely = Units::ALL
        .into_iter()
        .find(|unit| (1.0..=1000.0).contains(&long_mm(*unit)));
    match likely {
        Some(unit) => format!(
            "if its numbers are in {0}, say --units {0}: then it is {1} mm long",
            unit.name(),
            number(long_mm(unit))
        ),
        None => "scale it in the program it came from and export it again".to_string(),
    }
}

/// What is said where the time limit ended the work before one pose was measured: exit 7.
pub fn too_slow(path: &Path) -> Failure {
    Failure::new(
        Exit::TooLate,
        path.display().to_string(),
        "--seconds ended the work before one pose was measured",
        "give it more time; if its size looks wrong, give the unit of its numbers by --units",
    )
}

/// What is said of a part on which the program itself failed: exit 3. `sha256` is that of its file.
pub fn fault(name: &str, sha256: Option<&str>) -> Failure {
    let which = sha256.map_or_else(String::new, |sum| format!(" (SHA-256 {sum})"));
    Failure::new(
        Exit::Unreadable,
        name,
        format!("internal error, please report it{which}"),
        "send the file along where you may; other parts are not touched by it",
    )
}

/// [`fault`] of a file, with its hash where it can be read.
fn faulty(path: &Path) -> Failure {
    let sha256 = fs::metadata(path)
        .is_ok_and(|m| m.is_file())
        .then(|| bytes(path).ok());
    let sha256 = sha256.flatten().map(|bytes| checksum(&bytes));
    fault(&path.display().to_string(), sha256.as_deref())
}

/// What `work` on a part comes to, or [`fault`] where the program itself fails on it.
///
/// # Errors
/// Those of `work`; exit 3 where it panics.
pub fn guarded<T>(path: &Path, work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    // Nothing that a part's panic leaves behind is looked at again.
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| Err(faulty(path)))
}

/// Sets the number of threads for all that follows.
///
/// # Errors
/// Exit 2 where the system grants no such number.
pub fn threads(number: Option<u32>) -> Result<(), Failure> {
    let Some(n) = number else { return Ok(()) };
    rayon::ThreadPoolBuilder::new()
        .num_threads(n as usize)
        .build_global()
        .map_err(|e| {
            let defect = format!("{n} threads cannot be started ({e})");
            Failure::new(Exit::Words, "--threads", defect, "give a smaller number")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_on_a_part_is_told_with_the_hash_of_its_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("part.stl");
        fs::write(&path, b"abc").expect("written");
        let failure = guarded(&path, || -> Result<(), Failure> { panic!("on purpose") });
        let text = failure.expect_err("a failure").to_string();
        assert!(text.contains("internal error, please report it"), "{text}");
        assert!(text.contains(&checksum(b"abc")), "{text}");
        assert_eq!(guarded(&path, || Ok(1)), Ok(1));
    }
}
