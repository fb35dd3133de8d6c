//! wayup for Python: the same advice on arrays that are in memory already.
//!
//! The arrays are read where they lie while the interpreter lock is held, which takes
//! some milliseconds for a million triangles; all the rest of the work goes on without
//! the lock. `wayup/__init__.py` beside this crate is what people import.

mod arrays;
mod options;
mod work;

use options::Options;
use pyo3::exceptions::{PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde_json::Value;
use wayup::advice;
use wayup::figures::quick::Bench;
use wayup::mesh::{Defect, Part};
use wayup::pose::Hull;
use wayup::rank::search::Wanted;
use wayup::report::json::{AdviceReport, MeasureReport, PartFacts, Seconds};
use wayup::report::number;
use wayup::session::config::in_force;
use wayup::session::{intake, memory};

/// Keys of `part` that only a file has.
const OF_A_FILE: [&str; 3] = ["path", "sha256", "format"];

/// The native half of the package `wayup`.
#[pymodule(name = "_native")]
mod wayup_native {
    #[pymodule_export]
    use super::{advise, measure};

    /// Version of the program.
    #[pymodule_export]
    #[allow(non_upper_case_globals, reason = "Python's name for it")]
    const __version__: &str = env!("CARGO_PKG_VERSION");
}

/// Ranks the poses of a part.
#[pyfunction]
fn advise<'py>(
    py: Python<'py>,
    vertices: &Bound<'py, PyAny>,
    faces: &Bound<'py, PyAny>,
    settings: &Bound<'py, PyDict>,
) -> PyResult<Bound<'py, PyAny>> {
    let options = Options::read(settings, &["top", "seconds"])?;
    let (part, facts) = take(vertices, faces, &options)?;
    let report = work::run(py, &options, |clock| {
        let bench = bench(&part, &options)?;
        let wanted = Wanted::first(options.top);
        let advice = advice::advise(&bench, &wanted, clock)
            .map_err(|_| "seconds: the time was over before one pose was measured".to_string())?;
        let report = AdviceReport::new(
            facts,
            in_force(&options.settings, &[]),
            advice,
            clock.cut(),
            Seconds::default(),
        );
        number::tree(&report).map_err(|e| e.to_string())
    })?;
    answer(py, report)
}

/// All the figures of one pose.
#[pyfunction]
fn measure<'py>(
    py: Python<'py>,
    vertices: &Bound<'py, PyAny>,
    faces: &Bound<'py, PyAny>,
    down: &Bound<'py, PyAny>,
    settings: &Bound<'py, PyDict>,
) -> PyResult<Bound<'py, PyAny>> {
    let options = Options::read(settings, &[])?;
    let down = options::direction(down).map_err(|e| PyValueError::new_err(format!("down: {e}")))?;
    let (part, facts) = take(vertices, faces, &options)?;
    let report = work::run(py, &options, |_| {
        let bench = bench(&part, &options)?;
        let pose = advice::measure(&bench, down);
        let in_force = in_force(&options.settings, &[]);
        number::tree(&MeasureReport::new(facts, in_force, pose, None)).map_err(|e| e.to_string())
    })?;
    answer(py, report)
}

/// The part of two arrays, with what is said about it.
fn take(
    vertices: &Bound<'_, PyAny>,
    faces: &Bound<'_, PyAny>,
    options: &Options,
) -> PyResult<(Part, PartFacts)> {
    let (part, defects, notes): (Part, Vec<Defect>, Vec<String>) =
        arrays::part(vertices, faces, options.units)?;
    let facts = PartFacts {
        units: options.units.name().to_string(),
        ..PartFacts::new(&part, &defects, notes)
    };
    Ok((part, facts))
}

fn bench<'a>(part: &'a Part, options: &'a Options) -> Result<Bench<'a>, String> {
    if let Some(why) = intake::too_large(part, &options.settings) {
        return Err(format!("the mesh {why}; scale it, or give its units"));
    }
    if let Some(why) = memory::too_many(part.mesh.triangles.len()) {
        return Err(format!("the mesh {why}"));
    }
    let hull = Hull::new(&part.mesh.vertices)
        .map_err(|e| format!("the mesh has no hull to stand on: {e}"))?;
    Ok(Bench::new(part, &options.settings, hull))
}

/// The report as Python's own objects, without what only a file has.
fn answer(py: Python<'_>, report: Result<Value, String>) -> PyResult<Bound<'_, PyAny>> {
    let mut report = report.map_err(PyValueError::new_err)?;
    if let Some(map) = report.as_object_mut() {
        map.shift_remove("seconds");
    }
    if let Some(part) = report["part"].as_object_mut() {
        for key in OF_A_FILE {
            part.shift_remove(key);
        }
    }
    // As `json.loads` reads it anywhere: Python's own objects.
    py.import("json")?
        .call_method1("loads", (report.to_string(),))
}

/// An error that no input should be able to raise.
fn broken(what: &str) -> PyErr {
    PyRuntimeError::new_err(format!("{what}; please report it with the part"))
}
