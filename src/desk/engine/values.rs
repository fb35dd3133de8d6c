//! Settings as the page sends them: one object, any of its keys, `null` for back to default.

use super::part::settled;
use crate::settings::overrides::{Overrides, SettingsError};
use crate::settings::table::{SETTINGS, Setting, read_direction};
use nalgebra::{Unit, Vector3};
use serde_json::{Map, Value};

/// A value that is not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejection {
    /// Its key.
    pub field: String,
    /// What is wrong with it, in a sentence.
    pub text: String,
}

/// The values with those of `sent` put in; nothing is taken where one is refused.
///
/// # Errors
/// The first key that means nothing here, or value that is of the wrong kind or out of range.
pub fn with(given: &Overrides, sent: &Map<String, Value>) -> Result<Overrides, Rejection> {
    let mut out = given.clone();
    for (field, value) in sent {
        put(&mut out, field, value).map_err(|text| Rejection {
            field: field.clone(),
            text,
        })?;
    }
    for direction in out.directions() {
        *direction = settled(*direction);
    }
    out.check().map_err(|e| Rejection {
        field: match &e {
            SettingsError::Range { key, .. } => Setting::of_key(key).map_or(*key, |s| s.field),
            _ => "weights",
        }
        .into(),
        text: e.to_string(),
    })?;
    Ok(out)
}

fn put(out: &mut Overrides, field: &str, value: &Value) -> Result<(), String> {
    let named = |s: &&Setting| s.field == field && s.flag.is_some();
    let setting = SETTINGS.iter().find(named).ok_or("is no setting")?;
    let no_side =
        ["show", "round", "flat"].contains(&field) && value.as_array().is_some_and(Vec::is_empty);
    if value.is_null() || no_side {
        out.forget(setting);
        return Ok(());
    }
    out.slot(setting).read(value)
}

/// A direction of the part, as three numbers or as on the command line, so that the one printed is read as the very same.
///
/// # Errors
/// Not three numbers, or all of them 0.
pub fn direction(value: &Value) -> Result<Unit<Vector3<f64>>, String> {
    read_direction(value).map(settled)
}
