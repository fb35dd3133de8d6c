//! The columns of a library: one table for database, CSV and Parquet.
//!
//! Nearly every value is one of the advice's JSON, as it is printed there; a column says
//! where. What is not known of a part (it could not be read, or its surface is open) is
//! null.

use super::record::Marks;
use crate::report::figures::{self, Figure, SUPPORT};
use crate::report::number::significant;
use crate::report::quantity::Digits;
use serde_json::Value;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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

/// Where a value comes from.
#[derive(Debug, Clone, Copy)]
pub enum Filled {
    /// The value at a JSON pointer (RFC 6901).
    Json(&'static str),
    /// The length of the list there.
    Count(&'static str),
    /// A figure of the best pose; of a list of things, how many.
    Figure(&'static Figure),
    /// Worked out of the advice.
    Worked(fn(&RecordParts) -> Cell),
}

/// What a column is worked out of.
pub struct RecordParts<'a> {
    /// The record.
    pub value: &'a Value,
    /// What the advice says yes or no to; none for a part without advice.
    pub marks: Option<Marks>,
    /// Length of the file.
    pub bytes: u64,
}

/// One column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Name, the same everywhere; units are in it.
    pub name: &'static str,
    /// Type.
    pub kind: CellKind,
    /// Where it comes from.
    pub from: Filled,
    /// What it means.
    pub says: &'static str,
}

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Not known.
    Null,
    /// Text.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// True or false.
    Truth(bool),
}

const fn at(
    name: &'static str,
    kind: CellKind,
    pointer: &'static str,
    says: &'static str,
) -> Column {
    Column {
        name,
        kind,
        from: Filled::Json(pointer),
        says,
    }
}

const fn worked(
    name: &'static str,
    kind: CellKind,
    how: fn(&RecordParts) -> Cell,
    says: &'static str,
) -> Column {
    Column {
        name,
        kind,
        from: Filled::Worked(how),
        says,
    }
}

const fn count(name: &'static str, pointer: &'static str, says: &'static str) -> Column {
    Column {
        name,
        kind: CellKind::Whole,
        from: Filled::Count(pointer),
        says,
    }
}

const fn figure(figure: &'static Figure) -> Column {
    let kind = match figure.quantity.digits {
        Digits::Places(0) => CellKind::Whole,
        _ => CellKind::Number,
    };
    Column {
        name: figure.key,
        kind,
        from: Filled::Figure(figure),
        says: figure.label,
    }
}

use CellKind::{Number, Text, Truth, Whole};

/// Every column, in order.
// A table: a line each.
#[rustfmt::skip]
pub const COLUMNS: &[Column] = &[
    at("path", Text, "/part/path", "path of the file"),
    worked("status", Text, status, "advised, or unread: no advice, and error says why"),
    at("error", Text, "/error/defect", "what is wrong with an unread file"),
    at("hint", Text, "/error/hint", "what to do about it"),
    worked("bytes", Whole, |s| Cell::Whole(s.bytes as i64), "length of the file"),
    at("sha256", Text, "/part/sha256", "checksum of its bytes"),
    at("format", Text, "/part/format", "stl, 3mf, obj, ply or off"),
    at("units", Text, "/part/units", "unit in which its numbers were taken"),
    at("triangles", Whole, "/part/triangles", "triangles after welding"),
    at("bodies", Whole, "/part/bodies", "connected shells"),
    at("closed", Truth, "/part/closed", "the surface is closed"),
    count("remarks", "/part/notes", "remarks on the file and its surface (view remark)"),
    at("size_x_mm", Number, "/part/size_mm/0", "extent along the part's own X"),
    at("size_y_mm", Number, "/part/size_mm/1", "… Y"),
    at("size_z_mm", Number, "/part/size_mm/2", "… Z"),
    at("volume_mm3", Number, "/part/volume_mm3", "volume; null for an open surface"),
    at("area_mm2", Number, "/part/area_mm2", "surface area"),
    at("verdict", Text, "/verdict", "the answer in a sentence or two"),
    at("confidence", Text, "/confidence", "clear, close or tied"),
    at("no_good_pose", Truth, "/no_good_pose", "none of the poses is a good one"),
    at("cut_short", Truth, "/cut_short", "the time limit ended the search"),
    at("fully_scored", Whole, "/candidates/fully_scored", "directions measured in full"),
    at("needs_support", Truth, "/poses/0/needs_support", "support has to be switched on in the best pose"),
    worked("sways", Truth, |s| mark(s, |m| m.sways), "a free-standing piece is too slender or too soft in the best pose"),
    worked("does_not_fit", Truth, |s| mark(s, |m| m.does_not_fit), "no pose fits the build volume"),
    worked("loaded_poor", Truth, loaded_poor, "the pose in which the file is, is not a good one"),
    worked("broken", Truth, broken, "the file cannot be read, or its surface is open"),
    at("down_x", Number, "/poses/0/down/0", "part direction that goes down in the best pose, X"),
    at("down_y", Number, "/poses/0/down/1", "… Y"),
    at("down_z", Number, "/poses/0/down/2", "… Z"),
    at("axes", Text, "/poses/0/axes", "build axes of the longest, second, shortest extent"),
    at("total", Number, "/poses/0/total", "sum of its penalties"),
    figure(&figures::HEIGHT),
    at("layers", Whole, "/poses/0/figures/layers", "layers"),
    at("footprint_x_mm", Number, "/poses/0/figures/footprint_mm/0", "footprint, long side"),
    at("footprint_y_mm", Number, "/poses/0/figures/footprint_mm/1", "footprint, short side"),
    figure(&figures::CONTACT),
    at("contact_patches", Whole, "/poses/0/figures/contact_patches", "pieces of that contact"),
    figure(&figures::TIPPING),
    figure(&figures::OVERHANG),
    at("support_volume_mm3", Number, "/poses/0/figures/support_volume_mm3", "void under overhang"),
    figure(&figures::SUPPORT),
    figure(&figures::TRAPPED),
    figure(&figures::BRIDGE),
    figure(&figures::CANTILEVER),
    figure(&figures::ISLANDS),
    figure(&figures::SLENDERNESS),
    figure(&figures::SWAY),
    figure(&figures::STEPS),
    figure(&figures::SHRINKAGE),
    figure(&figures::WEAKEST),
    figure(&figures::PRINTING),
    at("filament_g", Number, "/poses/0/figures/filament_g", "mass of the deposit"),
    at("loaded_rank", Whole, "/as_loaded/rank", "place of the pose in which the file is"),
    at("loaded_total", Number, "/as_loaded/total", "sum of its penalties"),
    at("loaded_support_needed_mm3", Number, "/as_loaded/figures/support_needed_mm3", "support that it would need"),
    at("loaded_print_min", Number, "/as_loaded/figures/print_min", "its printing time"),
    worked("support_saved_mm3", Number, saved, "support that turning the part to the best pose saves"),
];

/// Place of a column by its name.
pub fn place(name: &str) -> Option<usize> {
    COLUMNS.iter().position(|c| c.name == name)
}

/// The cells of a record, in the order of [`COLUMNS`].
pub fn cells(seen: &RecordParts) -> Vec<Cell> {
    COLUMNS
        .iter()
        .map(|column| match column.from {
            Filled::Figure(figure) => {
                let value = &seen.value["poses"][0]["figures"][figure.key];
                match value.as_array() {
                    Some(list) => Cell::Whole(list.len() as i64),
                    None => cell(column.kind, value),
                }
            }
            Filled::Json(pointer) => seen
                .value
                .pointer(pointer)
                .map_or(Cell::Null, |v| cell(column.kind, v)),
            Filled::Count(pointer) => seen
                .value
                .pointer(pointer)
                .and_then(Value::as_array)
                .map_or(Cell::Null, |list| Cell::Whole(list.len() as i64)),
            Filled::Worked(how) => how(seen),
        })
        .collect()
}

/// A JSON value as a cell of a kind; null where it is of another.
fn cell(kind: CellKind, value: &Value) -> Cell {
    match kind {
        Text => value.as_str().map(|s| Cell::Text(s.to_string())),
        Whole => value.as_i64().map(Cell::Whole),
        Number => value.as_f64().map(Cell::Number),
        Truth => value.as_bool().map(Cell::Truth),
    }
    .unwrap_or(Cell::Null)
}

fn status(seen: &RecordParts) -> Cell {
    let unread = seen.value.get("error").is_some();
    Cell::Text(if unread { "unread" } else { "advised" }.to_string())
}

fn mark(seen: &RecordParts, of: fn(&Marks) -> bool) -> Cell {
    seen.marks
        .as_ref()
        .map_or(Cell::Null, |m| Cell::Truth(of(m)))
}

fn loaded_poor(seen: &RecordParts) -> Cell {
    let faults = seen.value.pointer("/as_loaded/faults");
    faults
        .and_then(Value::as_array)
        .map_or(Cell::Null, |list| Cell::Truth(!list.is_empty()))
}

fn broken(seen: &RecordParts) -> Cell {
    let closed = seen.value.pointer("/part/closed").and_then(Value::as_bool);
    Cell::Truth(closed != Some(true))
}

fn saved(seen: &RecordParts) -> Cell {
    let of = |pose: &Value| {
        if pose["needs_support"].as_bool()? {
            pose["figures"][SUPPORT.key].as_f64()
        } else {
            Some(0.0)
        }
    };
    match (of(&seen.value["as_loaded"]), of(&seen.value["poses"][0])) {
        (Some(loaded), Some(best)) => Cell::Number(significant(loaded - best, 7)),
        _ => Cell::Null,
    }
}

/// Support that the best pose of a record needs, mm³; 0 where a person would not switch
/// support on.
pub fn support_mm3(cells: &[Cell]) -> Option<f64> {
    let of = |name| place(name).and_then(|i| cells.get(i));
    match (of("needs_support"), of(SUPPORT.key)) {
        (Some(Cell::Truth(false)), _) => Some(0.0),
        (_, Some(Cell::Number(mm3))) => Some(*mm3),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_words_of_sql_and_there_is_one_of_each() {
        let names: BTreeSet<_> = COLUMNS.iter().map(|c| c.name).collect();
        assert_eq!(names.len(), COLUMNS.len());
        let fine = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        assert!(names.iter().all(|n| n.chars().all(fine)));
    }

    #[test]
    fn a_part_without_advice_has_a_path_a_reason_and_nulls() {
        let value = json!({"part": {"path": "a.stl", "sha256": null},
            "error": {"exit": 3, "defect": "is empty", "hint": "export it again"}});
        let cells = cells(&RecordParts {
            value: &value,
            marks: None,
            bytes: 0,
        });
        let of = |name| &cells[place(name).expect(name)];
        assert_eq!(of("status"), &Cell::Text("unread".into()));
        assert_eq!(of("error"), &Cell::Text("is empty".into()));
        assert_eq!(of("broken"), &Cell::Truth(true));
        for name in [
            "sha256",
            "needs_support",
            "height_mm",
            "support_saved_mm3",
            "remarks",
        ] {
            assert_eq!(of(name), &Cell::Null, "{name}");
        }
    }

    #[test]
    fn what_turning_saves_is_a_difference_of_what_is_printed() {
        let value = json!({"as_loaded": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
            "poses": [{"needs_support": true, "figures": {"support_needed_mm3": 20.25}}], "part": {"closed": true}});
        let seen = RecordParts {
            value: &value,
            marks: None,
            bytes: 0,
        };
        assert_eq!(saved(&seen), Cell::Number(980.25));
        assert_eq!(broken(&seen), Cell::Truth(false));
    }

    #[test]
    fn support_that_nobody_would_switch_on_is_none() {
        let value = json!({"as_loaded": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
            "poses": [{"needs_support": false, "figures": {"support_needed_mm3": 0.231}}]});
        let seen = RecordParts {
            value: &value,
            marks: None,
            bytes: 0,
        };
        assert_eq!(saved(&seen), Cell::Number(1000.5));
        assert_eq!(support_mm3(&cells(&seen)), Some(0.0));
    }
}
