//! Values that replace the defaults: from the flags and from `wayup.toml`.
//!
//! Both doors fill the same struct and pass the same ranges, so a value that a
//! flag refuses is refused in a file too, in the same words.

use super::triple::{triple, unit};
use super::weights::{MOST, Penalty, Weights};
use super::{Aim, Settings};
use crate::materials::{MATERIALS, Material};
use crate::mesh::Units;
use nalgebra::{Unit, Vector3};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Values given by a person; what is `None` keeps its default.
///
/// Lengths mm, angles degrees, directions in the part frame.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Overrides {
    /// Layer height, mm.
    pub layer_mm: Option<f64>,
    /// First layer height, mm.
    pub first_layer_mm: Option<f64>,
    /// Extrusion width, mm.
    pub line_mm: Option<f64>,
    /// Overhang limit from the vertical, degrees.
    pub limit_deg: Option<f64>,
    /// Longest bridge that needs no support, mm.
    pub bridge_limit_mm: Option<f64>,
    /// Build volume, mm.
    pub bed_mm: Option<[f64; 3]>,
    /// Material row.
    pub material: Option<&'static Material>,
    /// Direction of the load.
    pub load: Option<Unit<Vector3<f64>>>,
    /// Sides that must come out clean.
    pub show: Option<Vec<Unit<Vector3<f64>>>>,
    /// What matters most.
    pub aim: Option<Aim>,
    /// Wall thickness in lines.
    pub walls: Option<u32>,
    /// Share of the interior that is filled, 0 to 1.
    pub infill: Option<f64>,
    /// Deposition rate, mm³/s.
    pub rate_mm3_s: Option<f64>,
    /// Time added per layer, s.
    pub layer_change_s: Option<f64>,
    /// How far a printed length may be off, mm.
    pub tolerance_mm: Option<f64>,
    /// Weights of the penalty table.
    pub weights: Weights,
    /// Unit that the files are taken in, over what they say themselves.
    pub units: Option<Units>,
}

/// Every key of a settings file, in the order of the documentation.
pub const KEYS: &[&str] = &[
    "layer",
    "first_layer",
    "line",
    "limit",
    "bridge_limit",
    "bed",
    "material",
    "load",
    "show",
    "aim",
    "walls",
    "infill",
    "rate",
    "layer_change",
    "tolerance",
    "weights",
    "units",
];

/// What is wrong with a settings file or a value, and where.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SettingsError {
    /// Not TOML at all.
    #[error("not a settings file ({message}) at line {line}")]
    Syntax {
        /// The parser's words.
        message: String,
        /// Line, from 1.
        line: usize,
    },
    /// A key that means nothing here.
    #[error("unknown setting '{key}' at line {line}")]
    UnknownKey {
        /// The key as written.
        key: String,
        /// Line, from 1.
        line: usize,
        /// The valid key with the fewest letters changed.
        nearest: &'static str,
    },
    /// A value of the wrong kind.
    #[error("'{key}' {defect} at line {line}")]
    Value {
        /// The key.
        key: &'static str,
        /// What is wrong with its value, as the end of a sentence.
        defect: String,
        /// Line, from 1.
        line: usize,
    },
    /// A number outside its range.
    #[error("{key} = {value} is outside {lo} to {hi}{unit}")]
    Range {
        /// The key, in the spelling of [`KEYS`].
        key: &'static str,
        /// The value given.
        value: f64,
        /// Lowest value that is taken.
        lo: f64,
        /// Highest value that is taken.
        hi: f64,
        /// Unit with a leading space, or nothing.
        unit: &'static str,
    },
    /// A weight outside its range.
    #[error("the weight {value} of {row} is outside 0 to {MOST}")]
    Weight {
        /// Row of the penalty table.
        row: &'static str,
        /// The value given.
        value: f64,
    },
}

impl SettingsError {
    /// What to do next, in one sentence.
    pub fn hint(&self) -> String {
        match self {
            Self::Syntax { .. } => {
                "write one 'name = value' a line, for example: layer = 0.2".into()
            }
            Self::UnknownKey { nearest, .. } => format!(
                "the nearest setting is '{nearest}'; all of them: {}",
                KEYS.join(", ")
            ),
            Self::Value { key, .. } => format!("{key} wants {}", wanted(key)),
            Self::Range { key, .. } => format!("give a {} within the range", key.replace('_', " ")),
            Self::Weight { .. } => "give a weight within the range; 0 leaves the row out".into(),
        }
    }
}

/// What a key takes, with an example.
fn wanted(key: &str) -> &'static str {
    match key {
        "bed" => "three lengths in mm: bed = [220, 220, 250]",
        "material" => "a name in quotes: material = \"PETG\"",
        "load" => "a direction: load = [0, 0, -1] or load = \"-z\"",
        "show" => "a list of directions: show = [\"+z\", \"-y\"]",
        "aim" => "sound, clean, quick or strong, in quotes",
        "units" => "one of um, mm, cm, m, in and ft in quotes: units = \"m\"",
        "walls" => "a whole number of lines, such as 3",
        "weights" => {
            "a table of rows and numbers: weights = { height = 0.5 }, or [weights] above them"
        }
        _ => "a number",
    }
}

/// Range of a number: key, lowest, highest, unit.
type Row = (&'static str, f64, f64, &'static str);

/// Ranges outside which a value is a slip of the finger. House values: wide
/// enough for a clay extruder as well as for a needle nozzle.
const RANGES: &[Row] = &[
    ("layer", 0.01, 10.0, " mm"),
    ("first_layer", 0.01, 10.0, " mm"),
    ("line", 0.05, 50.0, " mm"),
    ("limit", 0.0, 89.0, "°"),
    ("bridge_limit", 0.0, 1000.0, " mm"),
    ("bed", 1.0, 100_000.0, " mm"),
    ("walls", 1.0, 100.0, " lines"),
    ("infill", 0.0, 1.0, ""),
    ("rate", 0.01, 100_000.0, " mm³/s"),
    ("layer_change", 0.0, 3600.0, " s"),
    ("tolerance", 0.001, 100.0, " mm"),
];

impl Overrides {
    /// Reads the text of a `wayup.toml`.
    ///
    /// Keys are those of [`KEYS`]; `first-layer` and `first_layer` are the same.
    ///
    /// # Errors
    /// The first defect in the order of [`KEYS`], unknown keys first.
    pub fn from_toml(text: &str) -> Result<Self, SettingsError> {
        let table = DeTable::parse(text).map_err(|e| SettingsError::Syntax {
            message: e
                .message()
                .lines()
                .next()
                .unwrap_or("unreadable")
                .to_string(),
            line: line_of(text, e.span().map_or(0, |s| s.start)),
        })?;
        let table = table.get_ref();
        let mut unknown: Vec<(usize, &str)> = table
            .iter()
            .filter(|(k, _)| !KEYS.contains(&k.get_ref().replace('-', "_").as_str()))
            .map(|(k, _)| (k.span().start, k.get_ref().as_ref()))
            .collect();
        unknown.sort_unstable();
        if let Some(&(at, key)) = unknown.first() {
            return Err(SettingsError::UnknownKey {
                key: key.to_string(),
                line: line_of(text, at),
                nearest: nearest_key(key),
            });
        }
        let file = File { text, table };
        let out = Self {
            layer_mm: file.number("layer")?,
            first_layer_mm: file.number("first_layer")?,
            line_mm: file.number("line")?,
            limit_deg: file.number("limit")?,
            bridge_limit_mm: file.number("bridge_limit")?,
            bed_mm: file.take("bed", |v| {
                numbers(v).ok_or_else(|| "is not three numbers".into())
            })?,
            material: file.take("material", |v| {
                material(v.as_str().ok_or("is not a name in quotes")?)
            })?,
            load: file.take("load", one_direction)?,
            show: file.take("show", directions)?,
            aim: file.take("aim", |v| {
                v.as_str()
                    .and_then(Aim::find)
                    .ok_or_else(|| "is none of the four aims".into())
            })?,
            walls: file.take("walls", |v| {
                let whole = v
                    .as_integer()
                    .filter(|i| i.radix() == 10)
                    .and_then(|i| i.as_str().parse().ok());
                whole.ok_or_else(|| "is not a whole number of lines".into())
            })?,
            infill: file.number("infill")?,
            rate_mm3_s: file.number("rate")?,
            layer_change_s: file.number("layer_change")?,
            tolerance_mm: file.number("tolerance")?,
            weights: file.take("weights", weights_by_row)?.unwrap_or_default(),
            units: file.take("units", |v| {
                v.as_str()
                    .ok_or("is not a unit in quotes")?
                    .parse()
                    .map_err(|_| "is not a unit".into())
            })?,
        };
        out.check()?;
        Ok(out)
    }

    /// Checks every number that is given against its range.
    ///
    /// # Errors
    /// The first value outside, in the order of [`KEYS`].
    pub fn check(&self) -> Result<(), SettingsError> {
        for &(key, lo, hi, unit) in RANGES {
            let given: &[Option<f64>] = &match key {
                "layer" => [self.layer_mm, None, None],
                "first_layer" => [self.first_layer_mm, None, None],
                "line" => [self.line_mm, None, None],
                "limit" => [self.limit_deg, None, None],
                "bridge_limit" => [self.bridge_limit_mm, None, None],
                "bed" => self.bed_mm.map_or([None; 3], |b| b.map(Some)),
                "walls" => [self.walls.map(f64::from), None, None],
                "infill" => [self.infill, None, None],
                "rate" => [self.rate_mm3_s, None, None],
                "layer_change" => [self.layer_change_s, None, None],
                _ => [self.tolerance_mm, None, None],
            };
            if let Some(&value) = given.iter().flatten().find(|v| !(lo..=hi).contains(*v)) {
                return Err(SettingsError::Range {
                    key,
                    value,
                    lo,
                    hi,
                    unit,
                });
            }
        }
        let off = |w: &(Penalty, f64)| !(0.0..=MOST).contains(&w.1);
        match self.weights.given().find(off) {
            Some((row, value)) => Err(SettingsError::Weight {
                row: row.name(),
                value,
            }),
            None => Ok(()),
        }
    }
}

impl Settings {
    /// These settings with the given values in place of their own.
    #[must_use]
    pub fn with(mut self, given: &Overrides) -> Self {
        fn put<T: Clone>(slot: &mut T, given: Option<&T>) {
            if let Some(value) = given {
                slot.clone_from(value);
            }
        }
        put(&mut self.layer_mm, given.layer_mm.as_ref());
        put(&mut self.first_layer_mm, given.first_layer_mm.as_ref());
        put(&mut self.line_mm, given.line_mm.as_ref());
        put(&mut self.limit_deg, given.limit_deg.as_ref());
        put(&mut self.bridge_limit_mm, given.bridge_limit_mm.as_ref());
        put(&mut self.bed_mm, given.bed_mm.as_ref());
        put(&mut self.material, given.material.as_ref());
        self.load = given.load.or(self.load);
        put(&mut self.show, given.show.as_ref());
        put(&mut self.aim, given.aim.as_ref());
        put(&mut self.walls, given.walls.as_ref());
        put(&mut self.infill, given.infill.as_ref());
        put(&mut self.rate_mm3_s, given.rate_mm3_s.as_ref());
        put(&mut self.layer_change_s, given.layer_change_s.as_ref());
        put(&mut self.tolerance_mm, given.tolerance_mm.as_ref());
        self.weights = self.weights.with(&given.weights);
        self
    }
}

/// A parsed file, for looking values up with the line they stand on.
struct File<'a> {
    text: &'a str,
    table: &'a DeTable<'a>,
}

impl File<'_> {
    /// The value of `key` as `read` understands it, or `None` where it is not given.
    fn take<T>(
        &self,
        key: &'static str,
        read: impl Fn(&DeValue<'_>) -> Result<T, String>,
    ) -> Result<Option<T>, SettingsError> {
        let found = self
            .table
            .iter()
            .find(|(k, _)| k.get_ref().replace('-', "_") == key);
        let Some((_, value)) = found else {
            return Ok(None);
        };
        read(value.get_ref())
            .map(Some)
            .map_err(|defect| SettingsError::Value {
                key,
                defect,
                line: line_of(self.text, value.span().start),
            })
    }

    fn number(&self, key: &'static str) -> Result<Option<f64>, SettingsError> {
        self.take(key, |v| number(v).ok_or_else(|| "is not a number".into()))
    }
}

/// A finite integer or decimal number.
fn number(value: &DeValue<'_>) -> Option<f64> {
    let text = match value {
        DeValue::Integer(i) if i.radix() == 10 => i.as_str(),
        DeValue::Float(f) => f.as_str(),
        _ => return None,
    };
    text.parse::<f64>().ok().filter(|v| v.is_finite())
}

/// Three numbers, as a list or as the text a flag would take.
fn numbers(value: &DeValue<'_>) -> Option<[f64; 3]> {
    if let Some(text) = value.as_str() {
        return triple(text).ok();
    }
    let list: Vec<f64> = value
        .as_array()?
        .iter()
        .map(|v| number(Spanned::get_ref(v)))
        .collect::<Option<_>>()?;
    list.try_into().ok()
}

fn one_direction(value: &DeValue<'_>) -> Result<Unit<Vector3<f64>>, String> {
    match value.as_str() {
        Some(text) => {
            super::triple::direction(text).map_err(|why| format!("is no direction: {why}"))
        }
        None => numbers(value)
            .and_then(unit)
            .ok_or_else(|| "is no direction".into()),
    }
}

fn directions(value: &DeValue<'_>) -> Result<Vec<Unit<Vector3<f64>>>, String> {
    match value.as_array() {
        // A list of three numbers is one direction, not three.
        Some(list) if numbers(value).is_none() => list
            .iter()
            .map(|v| one_direction(Spanned::get_ref(v)))
            .collect(),
        _ => Ok(vec![one_direction(value)?]),
    }
}

/// Weights by row.
fn weights_by_row(value: &DeValue<'_>) -> Result<Weights, String> {
    let rows = value.as_table().ok_or("is no table of weights")?;
    let mut out = Weights::default();
    for (row, weight) in rows {
        let row = row.get_ref();
        let weight =
            number(Spanned::get_ref(weight)).ok_or_else(|| format!("has no number for '{row}'"))?;
        let row = Penalty::of(row).map_err(|why| format!("has a wrong row: {why}"))?;
        out.set(row, Some(weight));
    }
    Ok(out)
}

/// The row of a material, or a refusal that lists the known ones.
///
/// # Errors
/// The end of a sentence such as "is no material known here: PLA, PETG, …".
pub fn material(name: &str) -> Result<&'static Material, String> {
    Material::find(name).ok_or_else(|| {
        let known: Vec<&str> = MATERIALS.iter().map(|m| m.name).collect();
        format!("'{name}' is not a known material ({})", known.join(", "))
    })
}

/// Line of a byte offset, from 1.
fn line_of(text: &str, byte: usize) -> usize {
    1 + text.bytes().take(byte).filter(|b| *b == b'\n').count()
}

fn nearest_key(key: &str) -> &'static str {
    nearest_of(key, KEYS)
}

/// The key that begins with what was written, else the one with the fewest edits; the
/// first one of several. Empty without keys.
pub fn nearest_of(key: &str, keys: &[&'static str]) -> &'static str {
    // A key of a file may be as long as the file.
    let key: String = key.chars().take(64).collect();
    let key = key.to_ascii_lowercase().replace('-', "_");
    keys.iter()
        .copied()
        .min_by_key(|k| (!k.starts_with(&key), strsim::levenshtein(&key, k)))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_file_is_read() {
        let text = "layer = 0.3\nfirst-layer = 0.25\nline = 0.6\nlimit = 50\nbridge_limit = 12\nbed = [300, 200, 400]\n\
                    material = \"petg\"\nload = \"-z\"\nshow = [\"+x\", [0, 1, 0]]\naim = \"strong\"\nwalls = 4\n\
                    infill = 0.2\nrate = 8\nlayer_change = 1.5\ntolerance = 0.1\n";
        let s = Settings::default().with(&Overrides::from_toml(text).expect("a good file"));
        assert_eq!((s.layer_mm, s.first_layer_mm, s.line_mm), (0.3, 0.25, 0.6));
        assert_eq!(
            (s.limit_deg, s.bridge_limit_mm, s.bed_mm),
            (50.0, 12.0, [300.0, 200.0, 400.0])
        );
        assert_eq!((s.material.name, s.aim, s.walls), ("PETG", Aim::Strong, 4));
        assert_eq!(s.load.map(|d| d.z), Some(-1.0));
        assert_eq!(
            s.show.iter().map(|d| [d.x, d.y, d.z]).collect::<Vec<_>>(),
            [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]
        );
        assert_eq!((s.infill, s.rate_mm3_s, s.layer_change_s), (0.2, 8.0, 1.5));
        assert_eq!(s.tolerance_mm, 0.1);
    }

    #[test]
    fn weights_are_a_table_of_rows() {
        let given = |text: &str| Overrides::from_toml(text).map(|o| o.weights);
        let table = given("layer = 0.3\n[weights]\nheight = 0.5\nshow = 0\n").expect("good");
        assert_eq!(
            table,
            given("weights = { show = 0, height = 0.5 }").expect("good")
        );
        assert_eq!(
            (table.get(Penalty::Height), table.get(Penalty::Show)),
            (Some(0.5), Some(0.0))
        );
        let said = |text: &str| given(text).expect_err(text).to_string();
        assert!(said("[weights]\nhight = 1").contains("'hight' is no row of the penalty table"));
        assert!(said("[weights]\nheight = \"much\"").contains("has no number for 'height'"));
        assert_eq!(
            said("[weights]\nheight = -1"),
            "the weight -1 of height is outside 0 to 1000"
        );
    }

    #[test]
    fn every_key_is_taken_and_an_empty_file_changes_nothing() {
        assert_eq!(Overrides::from_toml(""), Ok(Overrides::default()));
        for key in KEYS {
            // A value no key takes: the complaint must be about the value, not the key.
            let said = Overrides::from_toml(&format!("\n{key} = true")).expect_err(key);
            assert!(
                matches!(said, SettingsError::Value { line: 2, .. }),
                "{key}: {said:?}"
            );
            assert!(said.hint().contains(key));
        }
    }

    #[test]
    fn a_slip_in_a_key_names_the_nearest_one() {
        for (key, nearest) in [
            ("layr", "layer"),
            ("First-Layers", "first_layer"),
            ("bridge", "bridge_limit"),
            ("br1dge-limit", "bridge_limit"),
            ("infil", "infill"),
            ("lien", "line"),
        ] {
            let said = Overrides::from_toml(&format!("limit = 45\n{key} = 1")).expect_err(key);
            let wanted = SettingsError::UnknownKey {
                key: key.to_string(),
                line: 2,
                nearest,
            };
            assert_eq!(said, wanted);
        }
    }

    #[test]
    fn values_out_of_range_or_kind_are_refused_with_their_line() {
        let said = |text: &str| Overrides::from_toml(text).expect_err(text).to_string();
        assert_eq!(said("layer = 0"), "layer = 0 is outside 0.01 to 10 mm");
        assert_eq!(
            said("bed = [200, 200, -1]"),
            "bed = -1 is outside 1 to 100000 mm"
        );
        assert_eq!(said("limit = 90"), "limit = 90 is outside 0 to 89°");
        assert!(said("limit = nan").contains("'limit' is not a number at line 1"));
        assert!(said("\n\nmaterial = \"cheese\"").contains("PLA, PETG"));
        assert!(said("layer = 0.2\nlayer = 0.3").contains("line 2"));
        assert!(said("what is this").contains("not a settings file"));
        assert!(said("load = [0, 0, 0]").contains("is no direction"));
    }
}
