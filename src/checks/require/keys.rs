//! The keys that a requirement may use: those of `wayup schema`, so that none can be missed.
//!
//! Figures and the other values of the pose that is judged go by their own names
//! (`height_mm`, `support_marks_mm2.below`, `penalties.contact`, `total`), those of the
//! part and the rest of the advice by dotted ones (`part.volume_mm3`,
//! `settings.bridge_limit_mm`, `confidence`). A pair or triple is taken apart by `.x`,
//! `.y`, `.z`; any other list stands for the number of its entries.

use crate::checks::require::quantity::{UnitSize, ValueKind, measure_of, without_unit};
use crate::rank::penalties::{ROWS, Row};
use crate::report::schema;
use serde_json::{Map, Value};
use std::sync::LazyLock;
use strsim::osa_distance;

/// One key.
#[derive(Debug, PartialEq)]
pub struct Key {
    /// As it is written in a requirement.
    pub name: String,
    /// What it stands for.
    pub kind: ValueKind,
    /// JSON pointer, from the pose that is judged where `of_pose`, else from the advice.
    pointer: String,
    of_pose: bool,
    /// The number of entries is meant.
    counts: bool,
}

impl Key {
    /// The value in an advice object for one of its poses; `None` where there is none.
    /// A list that is left out is empty.
    pub fn find(&self, advice: &Value, pose: &Value) -> Option<Value> {
        let root = if self.of_pose { pose } else { advice };
        let found = root.pointer(&self.pointer);
        if self.counts {
            return Some(found.and_then(Value::as_array).map_or(0, Vec::len).into());
        }
        found.filter(|v| !v.is_null()).cloned()
    }
}

/// Every key, figures first.
pub static KEYS: LazyLock<Vec<Key>> = LazyLock::new(all);

/// Only the first place has a layer profile, only a poor first place has remedies, the
/// version and the seconds are no property of the part, and the poses are what is judged.
const LEFT_OUT: [&str; 10] = [
    "/figures",
    "/penalties",
    "/layer_profile",
    "/design",
    "/poses",
    "/as_stored",
    "/seconds",
    "/wayup",
    "/schema",
    "/margin",
];

fn all() -> Vec<Key> {
    let document = schema::document();
    let none = Map::new();
    let definitions = document["$defs"].as_object().unwrap_or(&none);
    let mut walk = Walk {
        definitions,
        keys: Vec::new(),
    };
    walk.object("Figures", true, "", "/figures");
    let plain = ValueKind::Number(UnitSize::NONE);
    for name in ROWS.iter().map(Row::name) {
        let (name, pointer) = (format!("penalties.{name}"), format!("/penalties/{name}"));
        walk.add(name, plain, true, pointer, false);
    }
    walk.object("PoseEntry", true, "", "");
    walk.object("Advice", false, "", "");
    walk.keys
}

struct Walk<'a> {
    definitions: &'a Map<String, Value>,
    keys: Vec<Key>,
}

impl Walk<'_> {
    /// Adds what the properties of a definition lead to.
    fn object(&mut self, definition: &str, of_pose: bool, name: &str, pointer: &str) {
        let definition = self.definitions.get(definition);
        let properties = definition.and_then(|d| d["properties"].as_object());
        for (key, schema) in properties.into_iter().flatten() {
            let pointer = format!("{pointer}/{key}");
            if !LEFT_OUT.contains(&pointer.as_str()) {
                let dot = if name.is_empty() { "" } else { "." };
                self.property(schema, of_pose, &format!("{name}{dot}{key}"), &pointer);
            }
        }
    }

    fn property(&mut self, schema: &Value, of_pose: bool, name: &str, pointer: &str) {
        // An optional object is either a reference or null.
        let schema = match schema["anyOf"].as_array() {
            Some(either) => (either.iter().find(|s| s["$ref"].is_string())).unwrap_or(schema),
            None => schema,
        };
        if let Some(to) = schema["$ref"].as_str() {
            self.object(to.trim_start_matches("#/$defs/"), of_pose, name, pointer);
            return;
        }
        let number = ValueKind::Number(measure_of(name));
        let most = schema["maxItems"].as_u64();
        let kind = match kind(schema) {
            Some("number" | "integer") => number,
            Some("boolean") => ValueKind::Truth,
            Some("string") => ValueKind::Text,
            Some("array") if most.is_none() => ValueKind::Number(UnitSize::NONE),
            // Rows of a matrix are no numbers: they have no axes here.
            Some("array") if kind(&schema["items"]) == Some("number") => {
                let axes = ["x", "y", "z"].iter().enumerate();
                for (i, axis) in axes.take(most.unwrap_or(0) as usize) {
                    let (name, pointer) = (format!("{name}.{axis}"), format!("{pointer}/{i}"));
                    self.add(name, number, of_pose, pointer, false);
                }
                return;
            }
            _ => return,
        };
        let counts = self::kind(schema) == Some("array");
        self.add(name.into(), kind, of_pose, pointer.into(), counts);
    }

    fn add(&mut self, name: String, kind: ValueKind, of_pose: bool, pointer: String, counts: bool) {
        self.keys.push(Key {
            name,
            kind,
            pointer,
            of_pose,
            counts,
        });
    }
}

/// The type of a schema, null left out.
fn kind(schema: &Value) -> Option<&str> {
    match &schema["type"] {
        Value::String(one) => Some(one),
        Value::Array(several) => several
            .iter()
            .filter_map(Value::as_str)
            .find(|t| *t != "null"),
        _ => None,
    }
}

/// The key of that name.
pub fn find(name: &str) -> Option<&'static Key> {
    KEYS.iter().find(|k| k.name == name)
}

/// What pieces of keys were called before schema 2.
const RENAMED: [(&str, &str); 9] = [
    ("floating_starts", "islands"),
    ("ledge_longest_mm", "cantilever_longest_mm"),
    ("stair_mean_um", "layer_steps_mean_um"),
    ("shrink_pull_mm", "base_shrinkage_mm"),
    ("support_scar_mm2", "support_marks_mm2"),
    ("support_scar_error_mm2", "support_marks_error_mm2"),
    ("story", "layer_profile"),
    ("as_loaded", "as_stored"),
    ("found", "readings"),
];

/// The name of a key that was called `name` before schema 2.
pub fn renamed(name: &str) -> Option<String> {
    let mut pieces: Vec<&str> = name.split('.').collect();
    for piece in &mut pieces {
        if let Some((_, new)) = RENAMED.iter().find(|(old, _)| old == piece) {
            *piece = new;
        }
    }
    let new = pieces.join(".");
    (new != name).then_some(new)
}

/// The key that a slip of the finger may have meant: one that begins with what was
/// written, else one with the same last piece, else the one with the fewest letters that
/// are wrong, missing, too many or exchanged. A unit that was left off is no slip, a
/// prefix that was left off half of one. The first of several.
pub fn nearest(name: &str) -> &'static str {
    let name = name.to_ascii_lowercase();
    let last = name.rsplit('.').next().unwrap_or(&name);
    let near = |key: &Key| {
        let tail = key.name.rsplit('.').next().unwrap_or(&key.name);
        let class = match () {
            () if key.name.starts_with(&name) => 0,
            () if tail == last || without_unit(tail) == last => 1,
            () => 2,
        };
        let slips = |slip: &str, of: &str| {
            let whole = 4 * osa_distance(slip, of);
            whole.min(4 * osa_distance(slip, without_unit(of)) + 1)
        };
        (class, slips(&name, &key.name).min(slips(last, tail) + 2))
    };
    KEYS.iter()
        .min_by_key(|key| near(key))
        .map_or("height_mm", |key| &key.name)
}

#[cfg(test)]
mod tests {
    use crate::checks::require::keys::*;
    use crate::checks::require::quantity::unit;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unique_and_every_figure_is_there() {
        let names: BTreeSet<&str> = KEYS.iter().map(|k| k.name.as_str()).collect();
        assert_eq!(names.len(), KEYS.len());
        let document = schema::document();
        let figures = document["$defs"]["Figures"]["properties"]
            .as_object()
            .expect("properties");
        for figure in figures.keys() {
            assert!(
                KEYS.iter()
                    .any(|k| k.pointer.starts_with(&format!("/figures/{figure}"))),
                "{figure} cannot be required"
            );
        }
        for name in [
            "support_marks_mm2.below",
            "slender.tip_mm.z",
            "footprint_mm.y",
            "penalties.contact",
            "total",
            "gates",
            "part.closed",
            "settings.bridge_limit_mm",
            "confidence",
            "no_good_pose",
        ] {
            assert!(names.contains(name), "{name}");
        }
        for name in [
            "seconds.total",
            "layer_profile.area_mm2",
            "figures",
            "wayup",
        ] {
            assert!(!names.contains(name), "{name}");
        }
    }

    #[test]
    fn a_name_says_its_unit() {
        for (name, word) in [
            ("height_mm", "mm"),
            ("support_marks_mm2.below", "mm2"),
            ("part.volume_mm3", "mm3"),
            ("layer_steps_mean_um", "um"),
            ("footprint_mm.x", "mm"),
            ("print_min", "min"),
            ("settings.layer_change_s", "s"),
            ("filament_g", "g"),
            ("tip_angle_deg", "deg"),
        ] {
            let key = find(name).unwrap_or_else(|| panic!("{name} is gone"));
            assert_eq!(unit(word).map(ValueKind::Number), Some(key.kind), "{name}");
        }
        for name in ["layers", "slender_ratio", "down.z", "total", "bridges"] {
            let key = find(name).unwrap_or_else(|| panic!("{name} is gone"));
            assert_eq!(key.kind.in_words(), "a plain number", "{name}");
        }
    }

    #[test]
    fn a_key_that_was_renamed_finds_its_new_name() {
        for (was, is) in [
            ("floating_starts", "islands"),
            ("support_scar_mm2.below", "support_marks_mm2.below"),
            ("stair_mean_um", "layer_steps_mean_um"),
        ] {
            assert_eq!(find(was), None, "{was} is known");
            let new = renamed(was).unwrap_or_default();
            assert_eq!(new, is);
            assert!(find(&new).is_some(), "{new}");
        }
        assert_eq!(renamed("height_mm"), None);
        assert_eq!(renamed("suport_volume_mm3"), None);
    }

    #[test]
    fn a_slip_finds_its_key() {
        for (slip, meant) in [
            ("suport_volume_mm3", "support_volume_mm3"),
            ("height", "height_mm"),
            ("figures.height_mm", "height_mm"),
            ("triangles", "part.triangles"),
            ("support_marks_mm2.belwo", "support_marks_mm2.below"),
            ("confidense", "confidence"),
            ("Contact_Area_mm2", "contact_area_mm2"),
            ("hight", "height_mm"),
            ("heigth_mm", "height_mm"),
            ("height_cm", "height_mm"),
            ("hieght", "height_mm"),
            ("layer", "layers"),
            ("layrs", "layers"),
            ("overhang_aera", "overhang_area_mm2"),
            ("contact_aera_mm2", "contact_area_mm2"),
            ("print_time", "print_min"),
            ("printmin", "print_min"),
            ("volum", "part.volume_mm3"),
            ("volume", "part.volume_mm3"),
            ("part.volum", "part.volume_mm3"),
            ("closd", "part.closed"),
            ("brigdes", "bridges"),
            ("filament", "filament_g"),
            ("filamnet", "filament_g"),
            ("bridge_limit", "settings.bridge_limit_mm"),
            ("penalties.hight", "penalties.height"),
            ("totl", "total"),
            ("foot_print_mm.x", "footprint_mm.x"),
        ] {
            assert_eq!(nearest(slip), meant, "{slip}");
        }
    }
}
