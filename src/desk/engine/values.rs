//! Settings as the page sends them: one object, any of its keys, `null` for back to default.

use super::part::settled;
use crate::settings::Aim;
use crate::settings::overrides::{self, Overrides, SettingsError};
use crate::settings::triple::{self, unit};
use crate::settings::weights::{Penalty, Weights};
use nalgebra::{Unit, Vector3};
use serde_json::{Map, Value};

/// A value that is not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Its key.
    pub field: String,
    /// What is wrong with it, in a sentence.
    pub text: String,
}

/// The values with those of `sent` put in; nothing is taken where one is refused.
///
/// # Errors
/// The first key that means nothing here, or value that is of the wrong kind or out of range.
pub fn with(given: &Overrides, sent: &Map<String, Value>) -> Result<Overrides, Refused> {
    let mut out = given.clone();
    for (key, value) in sent {
        put(&mut out, key, value).map_err(|text| Refused {
            field: key.clone(),
            text,
        })?;
    }
    out.check().map_err(|e| Refused {
        field: match &e {
            SettingsError::Range { key, .. } => field(key),
            SettingsError::Weight { .. } => "weights".into(),
            _ => String::new(),
        },
        text: e.to_string(),
    })?;
    Ok(out)
}

/// The page's key for a key of the settings file.
fn field(key: &str) -> String {
    match key {
        "limit" => "limit_deg".into(),
        key => format!("{key}_mm"),
    }
}

fn put(out: &mut Overrides, key: &str, value: &Value) -> Result<(), String> {
    match key {
        "layer_mm" => out.layer_mm = number(value)?,
        "first_layer_mm" => out.first_layer_mm = number(value)?,
        "line_mm" => out.line_mm = number(value)?,
        "limit_deg" => out.limit_deg = number(value)?,
        "bridge_limit_mm" => out.bridge_limit_mm = number(value)?,
        "tolerance_mm" => out.tolerance_mm = number(value)?,
        "bed_mm" => out.bed_mm = optional(value, three)?,
        "material" => out.material = optional(value, |v| overrides::material(text(v)?))?,
        "aim" => {
            out.aim = optional(value, |v| {
                Aim::find(text(v)?).ok_or_else(|| "is none of the four aims".into())
            })?;
        }
        "load" => out.load = optional(value, direction)?,
        "show" => {
            let sides = optional(value, |v| {
                let list = v.as_array().ok_or("is not a list of directions")?;
                list.iter().map(direction).collect::<Result<Vec<_>, _>>()
            })?;
            out.show = sides.filter(|s| !s.is_empty());
        }
        "weights" if value.is_null() => out.weights = Weights::default(),
        "weights" => {
            let rows = value
                .as_object()
                .ok_or("is not an object of rows and weights")?;
            for (row, weight) in rows {
                out.weights.set(Penalty::of(row)?, number(weight)?);
            }
        }
        _ => return Err("is no setting".into()),
    }
    Ok(())
}

fn optional<T>(
    value: &Value,
    read: impl Fn(&Value) -> Result<T, String>,
) -> Result<Option<T>, String> {
    if value.is_null() {
        return Ok(None);
    }
    read(value).map(Some)
}

fn number(value: &Value) -> Result<Option<f64>, String> {
    optional(value, |v| {
        v.as_f64()
            .filter(|v| v.is_finite())
            .ok_or_else(|| "is not a number".into())
    })
}

fn text(value: &Value) -> Result<&str, String> {
    value.as_str().ok_or_else(|| "is not a word".to_string())
}

fn three(value: &Value) -> Result<[f64; 3], String> {
    if let Some(text) = value.as_str() {
        return triple::triple(text);
    }
    let list: Option<Vec<f64>> = value
        .as_array()
        .and_then(|l| l.iter().map(Value::as_f64).collect());
    list.and_then(|l| l.try_into().ok())
        .ok_or_else(|| "is not three numbers".into())
}

/// A direction of the part, as three numbers or as on the command line, so that the one printed is read as the very same.
///
/// # Errors
/// Not three numbers, or all of them 0.
pub fn direction(value: &Value) -> Result<Unit<Vector3<f64>>, String> {
    let found = match value.as_str() {
        Some(text) => triple::direction(text)?,
        None => {
            unit(three(value)?).ok_or_else(|| "has no length, so it points nowhere".to_string())?
        }
    };
    Ok(settled(found))
}
