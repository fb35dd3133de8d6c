//! The columns of a library: one table for database, CSV and Parquet.
//!
//! Nearly every value is one of the advice's JSON, as it is printed there; a column says
//! where. What is not known of a part (it could not be read, or its surface is open) is
//! null.

use crate::report::figures::{self, FigureKey};
use crate::report::number::significant;
use crate::report::quantity::Digits;
use serde::Deserialize;
use serde_json::Value;
use std::sync::LazyLock;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CellKind {
    /// Text, UTF-8.
    Text,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// True or false; 1 or 0 in the database.
    Truth,
}

/// What the advice on a part says yes or no to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Flags {
    /// A free-standing piece is too slender or too soft there.
    pub sways: bool,
    /// No pose fits the build volume.
    pub does_not_fit: bool,
}

/// What a column is worked out of.
pub struct RecordParts<'a> {
    /// The record.
    pub value: &'a Value,
    /// What the advice says yes or no to; none for a part without advice.
    pub flags: Option<Flags>,
    /// Length of the file.
    pub bytes: u64,
}

/// One column: a row of `columns.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    /// Name, the same everywhere; units are in it.
    pub name: String,
    /// Type.
    pub kind: CellKind,
    /// JSON pointer (RFC 6901) to its value, or to a list of which the length is meant; none
    /// where it is worked out.
    pub json: Option<String>,
    /// What it means.
    pub says: String,
}

/// A kind of part that a person may want to see by itself: a row of `columns.toml`.
#[derive(Debug, Deserialize)]
pub struct Group {
    /// Letter that marks it on the page.
    pub letter: String,
    /// Column that is true of it, and view of the database.
    pub column: String,
    /// In words, of several.
    pub says: String,
}

/// Every such kind.
pub static GROUPS: LazyLock<&[Group]> = LazyLock::new(|| &TABLE.0);

/// A figure of the best pose.
impl From<FigureKey> for Column {
    fn from(key: FigureKey) -> Self {
        let figure = figures::figure(key);
        let whole = matches!(figure.quantity.digits, Digits::Places(0));
        Self {
            name: key.name().into(),
            kind: if whole { Whole } else { Number },
            json: Some(format!("/poses/0/figures/{}", key.name())),
            says: figure.label.clone(),
        }
    }
}

use CellKind::{Number, Text, Truth, Whole};

/// Every column, in order.
pub static COLUMNS: LazyLock<&[Column]> = LazyLock::new(|| &TABLE.1);

/// The file is part of the program, and a test reads it: it cannot fail to be a table.
static TABLE: LazyLock<(Vec<Group>, Vec<Column>)> = LazyLock::new(|| {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Row {
        Figure { figure: FigureKey },
        Column(Column),
    }
    #[derive(Deserialize)]
    struct Rows {
        group: Vec<Group>,
        column: Vec<Row>,
    }
    let rows: Rows = toml::from_str(include_str!("columns.toml")).expect("columns.toml is a table");
    let column = |row| match row {
        Row::Figure { figure } => figure.into(),
        Row::Column(column) => column,
    };
    (rows.group, rows.column.into_iter().map(column).collect())
});

/// The names of all columns, in order.
pub fn names() -> Vec<&'static str> {
    COLUMNS.iter().map(|c| c.name.as_str()).collect()
}

/// Place of a column by its name.
pub fn place(name: &str) -> Option<usize> {
    COLUMNS.iter().position(|c| c.name == name)
}

/// The cell of a column; null where there is no such column.
pub fn named<'a>(cells: &'a [Value], name: &str) -> &'a Value {
    static NULL: Value = Value::Null;
    place(name).and_then(|i| cells.get(i)).unwrap_or(&NULL)
}

/// The cells of a record, in the order of [`COLUMNS`].
pub fn cells(seen: &RecordParts) -> Vec<Value> {
    let cell = |column: &Column| match &column.json {
        Some(pointer) => {
            (seen.value.pointer(pointer)).map_or(Value::Null, |v| cell(column.kind, v))
        }
        None => worked(&column.name, seen).unwrap_or_default(),
    };
    COLUMNS.iter().map(cell).collect()
}

/// A JSON value as a cell of a kind; null where it is of another.
fn cell(kind: CellKind, value: &Value) -> Value {
    match (kind, value) {
        (Whole, Value::Array(list)) => list.len().into(),
        (Whole, _) => value.as_i64().into(),
        (Text, _) => value.as_str().into(),
        (Number, _) => value.as_f64().into(),
        (Truth, _) => value.as_bool().into(),
    }
}

/// The cell of a column that is worked out; `None` for any other.
fn worked(name: &str, seen: &RecordParts) -> Option<Value> {
    let flag = |of: fn(&Flags) -> bool| seen.flags.as_ref().map(of).into();
    Some(match name {
        "status" if seen.value.get("error").is_some() => "unread".into(),
        "status" if seen.value.get("first_answer").is_some() => "first answer".into(),
        "status" => "advised".into(),
        "bytes" => seen.bytes.into(),
        "sways" => flag(|f| f.sways),
        "does_not_fit" => flag(|f| f.does_not_fit),
        "stored_poor" => {
            let faults = seen.value["as_stored"]["faults"].as_array();
            faults.map(|list| !list.is_empty()).into()
        }
        "broken" => broken(seen),
        "support_saved_mm3" => saved(seen),
        _ => return None,
    })
}

fn broken(seen: &RecordParts) -> Value {
    (seen.value["part"]["closed"] != true).into()
}

fn saved(seen: &RecordParts) -> Value {
    let of = |pose: &Value| {
        if pose["needs_support"].as_bool()? {
            pose["figures"][FigureKey::Support.name()].as_f64()
        } else {
            Some(0.0)
        }
    };
    let stored = of(&seen.value["as_stored"]);
    let both = stored.zip(of(&seen.value["poses"][0]));
    both.map(|(stored, best)| significant(stored - best, 7))
        .into()
}

/// Support that the best pose of a record needs, mm³; 0 where a person would not switch
/// support on.
pub fn support_mm3(cells: &[Value]) -> Option<f64> {
    match named(cells, "needs_support") {
        Value::Bool(false) => Some(0.0),
        _ => named(cells, FigureKey::Support.name()).as_f64(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_words_of_sql_and_there_is_one_of_each() {
        let names: BTreeSet<_> = COLUMNS.iter().map(|c| &c.name).collect();
        assert_eq!(names.len(), COLUMNS.len());
        let fine = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        assert!(names.iter().all(|n| n.chars().all(fine)));
    }

    #[test]
    fn what_has_no_place_in_the_record_is_worked_out() {
        let seen = RecordParts {
            value: &Value::Null,
            flags: None,
            bytes: 0,
        };
        for column in *COLUMNS {
            let worked = worked(&column.name, &seen).is_some();
            assert_eq!(worked, column.json.is_none(), "{}", column.name);
        }
    }

    #[test]
    fn a_part_without_advice_has_a_path_a_reason_and_nulls() {
        let value = json!({"part": {"path": "a.stl", "sha256": null},
            "error": {"exit": 3, "defect": "is empty", "hint": "export it again"}});
        let cells = cells(&RecordParts {
            value: &value,
            flags: None,
            bytes: 0,
        });
        let of = |name| &cells[place(name).expect(name)];
        assert_eq!(of("status"), &Value::from("unread"));
        assert_eq!(of("error"), &Value::from("is empty"));
        assert_eq!(of("broken"), &Value::from(true));
        for name in [
            "sha256",
            "needs_support",
            "height_mm",
            "support_saved_mm3",
            "remarks",
        ] {
            assert_eq!(of(name), &Value::Null, "{name}");
        }
    }

    #[test]
    fn what_turning_saves_is_a_difference_of_what_is_printed() {
        let value = json!({"as_stored": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
            "poses": [{"needs_support": true, "figures": {"support_needed_mm3": 20.25}}], "part": {"closed": true}});
        let seen = RecordParts {
            value: &value,
            flags: None,
            bytes: 0,
        };
        assert_eq!(saved(&seen), Value::from(980.25));
        assert_eq!(broken(&seen), Value::from(false));
    }

    #[test]
    fn support_that_nobody_would_switch_on_is_none() {
        let value = json!({"as_stored": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
            "poses": [{"needs_support": false, "figures": {"support_needed_mm3": 0.231}}]});
        let seen = RecordParts {
            value: &value,
            flags: None,
            bytes: 0,
        };
        assert_eq!(saved(&seen), Value::from(1000.5));
        assert_eq!(support_mm3(&cells(&seen)), Some(0.0));
    }
}
