//! Keyword arguments to settings, in the words and ranges of the other doors.

use nalgebra::{Unit, Vector3};
use pyo3::conversion::FromPyObjectOwned;
use pyo3::exceptions::{PyTypeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::collections::BTreeMap;
use wayup::mesh::Units;
use wayup::session::config::TOP;
use wayup::settings::overrides::{Overrides, keys, nearest_of};
use wayup::settings::table::{SETTINGS, Slot};
use wayup::settings::weights::Penalty;
use wayup::settings::{Settings, triple};

/// Kind of value that a count is.
const WHOLE: &str = "a whole number of 0 or more";

/// What the keyword arguments say.
pub struct Options {
    /// Checked settings.
    pub settings: Settings,
    /// Unit of the vertices.
    pub units: Units,
    /// Poses to list.
    pub top: usize,
    /// Longest time for the search.
    pub seconds: Option<f64>,
    /// Threads, or as many as there are processors.
    pub threads: Option<usize>,
}

impl Options {
    /// Reads keyword arguments; of those that are no settings, `units`, `threads` and
    /// the ones `taken` here.
    ///
    /// # Errors
    /// `TypeError` for names and types that are off, `ValueError` for values.
    pub fn read(given: &Bound<'_, PyDict>, taken: &[&'static str]) -> PyResult<Self> {
        let mut set = Overrides::default();
        let mut out = Self {
            settings: Settings::default(),
            units: Units::Millimeter,
            top: TOP as usize,
            seconds: None,
            threads: None,
        };
        for (key, value) in given {
            let key: String = key.extract()?;
            if value.is_none() && known(taken).any(|k| k == key) {
                continue;
            }
            let off = |e: &dyn std::fmt::Display| PyValueError::new_err(format!("{key}: {e}"));
            if let Some(setting) = SETTINGS.iter().find(|s| s.key == key) {
                match set.slot(setting) {
                    Slot::Number(slot) => *slot = extract(&key, &value, "a number")?,
                    Slot::Whole(slot) => *slot = extract(&key, &value, WHOLE)?,
                    Slot::Triple(slot) => *slot = extract(&key, &value, "a list of three numbers")?,
                    Slot::Direction(slot) => *slot = Some(direction(&value).map_err(|e| off(&e))?),
                    Slot::Directions(slot) => *slot = directions(&value).map_err(|e| off(&e))?,
                    slot @ (Slot::Material(_) | Slot::Aim(_)) => {
                        slot.parse(&extract::<String>(&key, &value, "a text")?)
                            .map_err(|e| off(&e))?;
                    }
                    Slot::Weights(slot) => {
                        let rows: BTreeMap<String, f64> =
                            extract(&key, &value, "a dict of rows and numbers")?;
                        for (row, weight) in rows {
                            slot.set(Penalty::of(&row).map_err(|e| off(&e))?, Some(weight));
                        }
                    }
                }
                continue;
            }
            match key.as_str() {
                "units" => {
                    out.units = extract::<String>(&key, &value, "a text")?
                        .parse()
                        .map_err(|e| off(&e))?;
                }
                "threads" => out.threads = Some(counted(&key, &value, 1024)?),
                "top" if taken.contains(&"top") => out.top = counted(&key, &value, 1000)?,
                "seconds" if taken.contains(&"seconds") => {
                    let seconds: f64 = extract(&key, &value, "a number")?;
                    if !(seconds > 0.0 && seconds <= 1e6) {
                        return Err(off(&"is not a number of seconds above 0"));
                    }
                    out.seconds = Some(seconds);
                }
                _ => {
                    let names: Vec<&'static str> = known(taken).collect();
                    let nearest = nearest_of(&key, names.iter().copied());
                    return Err(PyTypeError::new_err(format!(
                        "there is no setting '{key}'; the nearest is '{nearest}'; all of them: {}",
                        names.join(", ")
                    )));
                }
            }
        }
        set.check()
            .map_err(|e| PyValueError::new_err(format!("{e}; {}", e.hint())))?;
        out.settings = out.settings.with(&set);
        Ok(out)
    }
}

fn known(taken: &[&'static str]) -> impl Iterator<Item = &'static str> {
    keys().chain(["threads"]).chain(taken.to_vec())
}

fn wrong(key: &str, value: &Bound<'_, PyAny>, wanted: &str) -> PyErr {
    let name = value.get_type().name();
    let kind = name.map_or_else(|_| "this".to_string(), |n| n.to_string());
    PyTypeError::new_err(format!("{key}: {kind} where {wanted} is wanted"))
}

/// A value as another type, or which kind of value is wanted.
fn extract<'py, T: FromPyObjectOwned<'py>>(
    key: &str,
    value: &Bound<'py, PyAny>,
    wanted: &str,
) -> PyResult<T> {
    value.extract().map_err(|_| wrong(key, value, wanted))
}

fn counted(key: &str, value: &Bound<'_, PyAny>, most: u32) -> PyResult<usize> {
    let n: u32 = extract(key, value, WHOLE)?;
    if (1..=most).contains(&n) {
        return Ok(n as usize);
    }
    Err(PyValueError::new_err(format!(
        "{key} = {n} is outside 1 to {most}"
    )))
}

/// A direction: a text as a flag takes it, or three numbers.
///
/// # Errors
/// What is wrong with it, as the end of a sentence.
pub fn direction(value: &Bound<'_, PyAny>) -> Result<Unit<Vector3<f64>>, String> {
    if let Ok(text) = value.extract::<String>() {
        return triple::direction(&text);
    }
    let numbers = value.extract::<[f64; 3]>().ok();
    numbers
        .and_then(triple::unit)
        .ok_or_else(|| "is no direction: give '-z' or three numbers that are not all 0".into())
}

fn directions(value: &Bound<'_, PyAny>) -> Result<Vec<Unit<Vector3<f64>>>, String> {
    match direction(value) {
        Ok(one) => Ok(vec![one]),
        Err(why) if value.extract::<String>().is_ok() => Err(why),
        Err(why) => value
            .try_iter()
            .map_err(|_| why.clone())?
            .map(|item| direction(&item.map_err(|_| why.clone())?))
            .collect(),
    }
}
