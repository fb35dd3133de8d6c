//! The columns of a library: one table for database, CSV and Parquet.
//!
//! Nearly every value is one of the advice's JSON, as it is printed there; a column says
//! where. What is not known of a part (it could not be read, or its surface is open) is
//! null.

use crate::report::figures::{self, FigureKey};
use crate::report::number::significant;
use crate::report::quantity::Digits;
use serde_json::Value;
use std::sync::LazyLock;

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
    /// A figure of the best pose; of a list of things, how many.
    Figure(FigureKey),
    /// Worked out of the advice.
    Worked(fn(&RecordParts) -> Value),
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

/// A kind of part that a person may want to see by itself.
pub struct Group {
    /// Letter that marks it on the page.
    pub letter: &'static str,
    /// Column that is true of it, and view of the database.
    pub column: &'static str,
    /// In words, of several.
    pub says: &'static str,
    /// How the database puts the worst first.
    pub order: &'static str,
}

const fn group(
    letter: &'static str,
    column: &'static str,
    says: &'static str,
    order: &'static str,
) -> Group {
    Group {
        letter,
        column,
        says,
        order,
    }
}

/// Every such kind.
// A table: a line each.
#[rustfmt::skip]
pub const GROUPS: [Group; 5] = [
    group("s", "needs_support", "need support", "support_needed_mm3 DESC"),
    group("w", "sways", "sway", "sway_mm_per_n DESC"),
    group("f", "does_not_fit", "do not fit the bed", "max(size_x_mm, size_y_mm, size_z_mm) DESC"),
    group("l", "loaded_poor", "lie poorly in their file", "support_saved_mm3 DESC"),
    group("b", "broken", "have a broken file", "status DESC"),
];

const fn column(name: &'static str, kind: CellKind, from: Filled, says: &'static str) -> Column {
    Column {
        name,
        kind,
        from,
        says,
    }
}

fn figure(key: FigureKey) -> Column {
    let figure = figures::figure(key);
    let kind = match figure.quantity.digits {
        Digits::Places(0) => CellKind::Whole,
        _ => CellKind::Number,
    };
    Column {
        name: key.name(),
        kind,
        from: Filled::Figure(key),
        says: &figure.label,
    }
}

use CellKind::{Number, Text, Truth, Whole};
use Filled::{Json, Worked};

/// Every column, in order.
// A table: a line each.
#[rustfmt::skip]
pub static COLUMNS: LazyLock<Vec<Column>> = LazyLock::new(|| vec![
    column("path", Text, Json("/part/path"), "path of the file"),
    column("status", Text, Worked(status), "advised, or unread: no advice, and error says why"),
    column("error", Text, Json("/error/defect"), "what is wrong with an unread file"),
    column("hint", Text, Json("/error/hint"), "what to do about it"),
    column("bytes", Whole, Worked(|s| s.bytes.into()), "length of the file"),
    column("sha256", Text, Json("/part/sha256"), "checksum of its bytes"),
    column("format", Text, Json("/part/format"), "stl, 3mf, obj, ply or off"),
    column("units", Text, Json("/part/units"), "unit in which its numbers were taken"),
    column("triangles", Whole, Json("/part/triangles"), "triangles after welding"),
    column("bodies", Whole, Json("/part/bodies"), "connected shells"),
    column("closed", Truth, Json("/part/closed"), "the surface is closed"),
    column("remarks", Whole, Worked(|s| length(s, "/part/notes").into()), "remarks on the file and its surface (view remark)"),
    column("size_x_mm", Number, Json("/part/size_mm/0"), "extent along the part's own X"),
    column("size_y_mm", Number, Json("/part/size_mm/1"), "… Y"),
    column("size_z_mm", Number, Json("/part/size_mm/2"), "… Z"),
    column("volume_mm3", Number, Json("/part/volume_mm3"), "volume; null for an open surface"),
    column("area_mm2", Number, Json("/part/area_mm2"), "surface area"),
    column("verdict", Text, Json("/verdict"), "the answer in a sentence or two"),
    column("confidence", Text, Json("/confidence"), "clear, close or tied"),
    column("no_good_pose", Truth, Json("/no_good_pose"), "none of the poses is a good one"),
    column("cut_short", Truth, Json("/cut_short"), "the time limit ended the search"),
    column("fully_scored", Whole, Json("/candidates/fully_scored"), "directions measured in full"),
    column("needs_support", Truth, Json("/poses/0/needs_support"), "support has to be switched on in the best pose"),
    column("sways", Truth, Worked(|s| flag(s, |f| f.sways)), "a free-standing piece is too slender or too soft in the best pose"),
    column("does_not_fit", Truth, Worked(|s| flag(s, |f| f.does_not_fit)), "no pose fits the build volume"),
    column("loaded_poor", Truth, Worked(loaded_poor), "the pose in which the file is, is not a good one"),
    column("broken", Truth, Worked(broken), "the file cannot be read, or its surface is open"),
    column("down_x", Number, Json("/poses/0/down/0"), "part direction that goes down in the best pose, X"),
    column("down_y", Number, Json("/poses/0/down/1"), "… Y"),
    column("down_z", Number, Json("/poses/0/down/2"), "… Z"),
    column("axes", Text, Json("/poses/0/axes"), "build axes of the longest, second, shortest extent"),
    column("total", Number, Json("/poses/0/total"), "sum of its penalties"),
    figure(FigureKey::Height),
    column("layers", Whole, Json("/poses/0/figures/layers"), "layers"),
    column("footprint_x_mm", Number, Json("/poses/0/figures/footprint_mm/0"), "footprint, long side"),
    column("footprint_y_mm", Number, Json("/poses/0/figures/footprint_mm/1"), "footprint, short side"),
    figure(FigureKey::Contact),
    column("contact_patches", Whole, Json("/poses/0/figures/contact_patches"), "pieces of that contact"),
    figure(FigureKey::Tipping),
    figure(FigureKey::Overhang),
    column("support_volume_mm3", Number, Json("/poses/0/figures/support_volume_mm3"), "void under overhang"),
    figure(FigureKey::Support),
    figure(FigureKey::Trapped),
    figure(FigureKey::Bridge),
    figure(FigureKey::Cantilever),
    figure(FigureKey::Islands),
    figure(FigureKey::Slenderness),
    figure(FigureKey::Sway),
    figure(FigureKey::Steps),
    figure(FigureKey::Shrinkage),
    figure(FigureKey::Weakest),
    figure(FigureKey::Printing),
    column("filament_g", Number, Json("/poses/0/figures/filament_g"), "mass of the deposit"),
    column("loaded_rank", Whole, Json("/as_loaded/rank"), "place of the pose in which the file is"),
    column("loaded_total", Number, Json("/as_loaded/total"), "sum of its penalties"),
    column("loaded_support_needed_mm3", Number, Json("/as_loaded/figures/support_needed_mm3"), "support that it would need"),
    column("loaded_print_min", Number, Json("/as_loaded/figures/print_min"), "its printing time"),
    column("support_saved_mm3", Number, Worked(saved), "support that turning the part to the best pose saves"),
]);

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
    COLUMNS
        .iter()
        .map(|column| match column.from {
            Filled::Figure(figure) => {
                let value = &seen.value["poses"][0]["figures"][figure.name()];
                match value.as_array() {
                    Some(list) => list.len().into(),
                    None => cell(column.kind, value),
                }
            }
            Json(pointer) => seen
                .value
                .pointer(pointer)
                .map_or(Value::Null, |v| cell(column.kind, v)),
            Worked(how) => how(seen),
        })
        .collect()
}

/// A JSON value as a cell of a kind; null where it is of another.
fn cell(kind: CellKind, value: &Value) -> Value {
    match kind {
        Text => value.as_str().into(),
        Whole => value.as_i64().into(),
        Number => value.as_f64().into(),
        Truth => value.as_bool().into(),
    }
}

/// Entries of a list.
fn length(seen: &RecordParts, pointer: &str) -> Option<usize> {
    let list = seen.value.pointer(pointer).and_then(Value::as_array);
    list.map(Vec::len)
}

fn status(seen: &RecordParts) -> Value {
    let unread = seen.value.get("error").is_some();
    if unread { "unread" } else { "advised" }.into()
}

fn flag(seen: &RecordParts, of: fn(&Flags) -> bool) -> Value {
    seen.flags.as_ref().map(of).into()
}

fn loaded_poor(seen: &RecordParts) -> Value {
    length(seen, "/as_loaded/faults").map(|n| n > 0).into()
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
    let loaded = of(&seen.value["as_loaded"]);
    let both = loaded.zip(of(&seen.value["poses"][0]));
    both.map(|(loaded, best)| significant(loaded - best, 7))
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
        let value = json!({"as_loaded": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
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
        let value = json!({"as_loaded": {"needs_support": true, "figures": {"support_needed_mm3": 1000.5}},
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
