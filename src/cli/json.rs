//! Lines of JSON on standard output.

use crate::report::number;
use crate::session::exit::{Exit, Failure};

/// One line of JSON with its line break.
pub(super) fn json_line<T: serde::Serialize>(value: &T) -> Result<String, Failure> {
    number::line(value)
        .map(|line| line + "\n")
        .map_err(|e| no_json(&e))
}

pub(super) fn no_json(error: &serde_json::Error) -> Failure {
    let defect = format!("the result cannot be put into JSON: {error}");
    Failure::new(
        Exit::Unwritable,
        "standard output",
        defect,
        "leave --json out",
    )
}
