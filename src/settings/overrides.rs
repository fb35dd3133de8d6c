//! Values that replace the defaults: from the flags and from `wayup.toml`.
//!
//! Both doors fill the same struct and pass the same ranges, so a value that a
//! flag refuses is refused in a file too, in the same words.

use super::Settings;
use super::table::{Range, SETTINGS, Setting, Slot};
use super::weights::{MOST, Penalty};
use crate::mesh::Units;
use crate::words::typed;
use nalgebra::{Unit, Vector3};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use toml::Spanned;

/// Values given by a person; what is not given keeps its default.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Overrides {
    /// The values given, all others at their defaults.
    values: Settings,
    /// Keys of those given.
    given: BTreeSet<&'static str>,
    /// Unit that the files are taken in, over what they say themselves.
    pub units: Option<Units>,
}

/// Key of the unit that files are taken in: no setting of a pose.
const UNITS: &str = "units";

/// Every key of a settings file, in the order of the documentation.
pub fn keys() -> impl Iterator<Item = &'static str> {
    SETTINGS.iter().map(|s| s.key).chain([UNITS])
}

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
    #[error("{key} = {} is outside {range}", typed(*.value))]
    Range {
        /// The key, in the spelling of [`keys`].
        key: &'static str,
        /// The value given.
        value: f64,
        /// What it may be.
        range: Range,
    },
    /// A weight outside its range.
    #[error("the weight {} of {row} is outside 0 to {MOST}", typed(*.value))]
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
                keys().collect::<Vec<_>>().join(", ")
            ),
            Self::Value { key, .. } => {
                let wants = Setting::of_key(key).map_or(
                    "one of um, mm, cm, m, in and ft in quotes: units = \"m\"",
                    |s| s.wants,
                );
                format!("{key} wants {wants}")
            }
            Self::Range { key, .. } => format!("give a {} within the range", key.replace('_', " ")),
            Self::Weight { .. } => "give a weight within the range; 0 leaves the row out".into(),
        }
    }
}

impl Overrides {
    /// Reads the text of a `wayup.toml`.
    ///
    /// Keys are those of [`keys`]; `first-layer` and `first_layer` are the same.
    ///
    /// # Errors
    /// The first defect in the order of [`keys`], unknown keys first.
    pub fn from_toml(text: &str) -> Result<Self, SettingsError> {
        let line = |byte: usize| 1 + text.bytes().take(byte).filter(|b| *b == b'\n').count();
        let table: BTreeMap<Spanned<String>, Spanned<Value>> =
            toml::from_str(text).map_err(|e| SettingsError::Syntax {
                message: e.message().lines().next().unwrap_or("unreadable").into(),
                line: line(e.span().map_or(0, |s| s.start)),
            })?;
        let known = |key: &str| keys().find(|k| *k == key.replace('-', "_"));
        let unknown = table.keys().filter(|k| known(k.get_ref()).is_none());
        if let Some(key) = unknown.min_by_key(|k| k.span().start) {
            return Err(SettingsError::UnknownKey {
                key: key.get_ref().clone(),
                line: line(key.span().start),
                nearest: nearest_of(key.get_ref(), keys()),
            });
        }
        let mut out = Self::default();
        for key in keys() {
            let found = table.iter().find(|(k, _)| known(k.get_ref()) == Some(key));
            let Some((_, value)) = found else { continue };
            out.read(key, value.get_ref())
                .map_err(|defect| SettingsError::Value {
                    key,
                    defect,
                    line: line(value.span().start),
                })?;
        }
        out.check()?;
        Ok(out)
    }

    /// Takes the value of a key of a settings file.
    fn read(&mut self, key: &str, value: &Value) -> Result<(), String> {
        let Some(setting) = Setting::of_key(key) else {
            let text = value.as_str().ok_or("is not a unit in quotes")?;
            self.units = Some(text.parse().map_err(|_| "is not a unit")?);
            return Ok(());
        };
        // TOML has no null: that is what has become of a number that is not finite.
        let mut rows = value.as_object().into_iter().flatten();
        if let Some((row, _)) = rows.find(|(_, v)| v.is_null()) {
            return Err(format!("has no number for '{row}'"));
        }
        self.slot(setting).read(value)
    }

    /// The place of a setting, which counts as given from now on.
    pub fn slot(&mut self, setting: &Setting) -> Slot<'_> {
        self.given.insert(setting.key);
        setting.slot(&mut self.values)
    }

    /// Takes a setting back: it is no longer given.
    pub fn forget(&mut self, setting: &Setting) {
        self.given.remove(setting.key);
        let mut fresh = Settings::default();
        setting
            .slot(&mut self.values)
            .copy(setting.slot(&mut fresh));
    }

    /// The directions that are given.
    pub fn directions(&mut self) -> impl Iterator<Item = &mut Unit<Vector3<f64>>> {
        let values = &mut self.values;
        let sides = values.show.iter_mut().chain(&mut values.round);
        (values.load.iter_mut()).chain(sides.chain(&mut values.flat))
    }

    /// Checks every number that is given against its range.
    ///
    /// # Errors
    /// The first value outside, in the order of [`keys`], weights last.
    pub fn check(&self) -> Result<(), SettingsError> {
        let mut values = self.values.clone();
        for setting in &SETTINGS {
            let Some(range) = setting.range else { continue };
            if let Some(value) = setting.slot(&mut values).outside(range) {
                let key = setting.key;
                return Err(SettingsError::Range { key, value, range });
            }
        }
        let off = |w: &(Penalty, f64)| !(0.0..=MOST).contains(&w.1);
        match self.values.weights.given().find(off) {
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
        let mut from = given.values.clone();
        // Row by row.
        from.weights = self.weights.with(&from.weights);
        for setting in SETTINGS.iter().filter(|s| given.given.contains(s.key)) {
            setting.slot(&mut self).copy(setting.slot(&mut from));
        }
        self
    }
}

/// The key that begins with what was written, else the one with the fewest edits; the
/// first one of several. Empty without keys.
pub fn nearest_of(key: &str, keys: impl Iterator<Item = &'static str>) -> &'static str {
    // A key of a file may be as long as the file.
    let key: String = key.chars().take(64).collect();
    let key = key.to_ascii_lowercase().replace('-', "_");
    keys.min_by_key(|k| (!k.starts_with(&key), strsim::levenshtein(&key, k)))
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
        assert_eq!(
            (s.material.name.as_str(), s.aim, s.walls),
            ("PETG", super::super::Aim::Strong, 4)
        );
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
        let given = |text: &str| Overrides::from_toml(text).map(|o| o.values.weights);
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
        for key in keys() {
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
            said("layer = 1e300"),
            "layer = 1e300 is outside 0.01 to 10 mm"
        );
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
