//! Arrays of numpy, read where they lie.

use numpy::{PyReadonlyArray2, PyUntypedArray, PyUntypedArrayMethods};
use pyo3::exceptions::{PyTypeError, PyValueError};
use pyo3::prelude::*;
use wayup::mesh::{Defect, Part, Units, from_arrays};

/// The part of two arrays of n × 3: vertices of float64 or float32, faces of integers.
///
/// # Errors
/// `TypeError` for other types, `ValueError` for other shapes and for rows that are off.
pub fn part(
    vertices: &Bound<'_, PyAny>,
    faces: &Bound<'_, PyAny>,
    units: Units,
) -> PyResult<(Part, Vec<Defect>, Vec<String>)> {
    three_columns("vertices", vertices)?;
    three_columns("faces", faces)?;
    if let Ok(array) = vertices.extract::<PyReadonlyArray2<'_, f64>>() {
        let rows = array.as_array();
        let vertex = |i: usize| [rows[[i, 0]], rows[[i, 1]], rows[[i, 2]]];
        return with_faces((rows.nrows(), vertex), faces, units);
    }
    if let Ok(array) = vertices.extract::<PyReadonlyArray2<'_, f32>>() {
        let rows = array.as_array();
        let vertex = |i: usize| [rows[[i, 0]], rows[[i, 1]], rows[[i, 2]]].map(f64::from);
        return with_faces((rows.nrows(), vertex), faces, units);
    }
    Err(PyTypeError::new_err(
        "vertices: neither float64 nor float32",
    ))
}

fn with_faces(
    vertices: (usize, impl Fn(usize) -> [f64; 3]),
    faces: &Bound<'_, PyAny>,
    units: Units,
) -> PyResult<(Part, Vec<Defect>, Vec<String>)> {
    macro_rules! of_any_integer {
        ($($kind:ty),*) => {$(
            if let Ok(array) = faces.extract::<PyReadonlyArray2<'_, $kind>>() {
                let rows = array.as_array();
                let face = |i: usize| [rows[[i, 0]], rows[[i, 1]], rows[[i, 2]]].map(i128::from);
                return from_arrays(vertices, (rows.nrows(), face), units)
                    .map_err(|fault| PyValueError::new_err(fault.to_string()));
            }
        )*};
    }
    of_any_integer!(i64, i32, u32, u64, u16, i16, u8, i8);
    Err(PyTypeError::new_err("faces: not of an integer type"))
}

fn three_columns(name: &str, array: &Bound<'_, PyAny>) -> PyResult<()> {
    let shape = array
        .cast::<PyUntypedArray>()
        .map_err(|_| PyTypeError::new_err(format!("{name}: not an array of numpy")))?
        .shape()
        .to_vec();
    if shape.len() == 2 && shape[1] == 3 {
        return Ok(());
    }
    Err(PyValueError::new_err(format!(
        "{name}: shape {shape:?} where rows of three are wanted, (n, 3)"
    )))
}
