//! JSON as Python's own objects.

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use serde_json::Value;

/// The value as `json.loads` would read its text.
///
/// # Errors
/// Python has no room for it.
pub fn object<'py>(py: Python<'py>, value: &Value) -> PyResult<Bound<'py, PyAny>> {
    Ok(match value {
        Value::Null => py.None().into_bound(py),
        Value::Bool(b) => b.into_pyobject(py)?.to_owned().into_any(),
        Value::Number(n) => match (n.as_i64(), n.as_u64(), n.as_f64()) {
            (Some(i), ..) => i.into_pyobject(py)?.into_any(),
            (_, Some(u), _) => u.into_pyobject(py)?.into_any(),
            (.., f) => f.into_pyobject(py)?.into_any(),
        },
        Value::String(text) => text.into_pyobject(py)?.into_any(),
        Value::Array(list) => {
            let items: Vec<_> = list
                .iter()
                .map(|v| object(py, v))
                .collect::<PyResult<_>>()?;
            PyList::new(py, items)?.into_any()
        }
        Value::Object(map) => {
            let dict = PyDict::new(py);
            for (key, v) in map {
                dict.set_item(key, object(py, v)?)?;
            }
            dict.into_any()
        }
    })
}
