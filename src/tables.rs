//! Tables that are kept as data beside the code that reads them.

use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

/// The rows of a TOML file that is one array of tables, in its order.
///
/// # Panics
/// Where `text` is no such file. Each is part of the program and read by a test.
pub(crate) fn rows<T: DeserializeOwned>(text: &str) -> Vec<T> {
    let file: BTreeMap<String, Vec<T>> = toml::from_str(text).expect("a table of the program");
    file.into_values().flatten().collect()
}
