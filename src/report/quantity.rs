//! How numbers of one kind are written: unit, decimals, and what lies between two of them.

use crate::words::{FINEST, LEAST_ESTIMATE_MIN, decimal, duration, estimate, places_of_three};
use serde::{Deserialize, Deserializer, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How many digits a number gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Digits {
    /// Three significant ones.
    Three,
    /// At most this many decimals.
    Places(usize),
    /// One decimal below ten, none from there on.
    Angle,
    /// Whole minutes, with hours from 60 of them on; all of a few minutes are one.
    Time,
}

/// A kind of number with its units: a row of `quantity.toml`.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notation {
    /// Unit, and what one of it is in the unit of the JSON.
    pub small: (String, f64),
    /// The unit of numbers from `step` on.
    pub large: (String, f64),
    /// From which number on, in the unit of the JSON; never without one.
    #[serde(default = "never")]
    pub step: f64,
    /// Digits that are written.
    pub digits: Digits,
    /// Decimals at most where three digits are written.
    #[serde(default = "finest")]
    pub finest: usize,
}

fn finest() -> usize {
    FINEST
}

fn never() -> f64 {
    f64::MAX
}

/// The notations by their names. The file is part of the program, and a test reads it: it
/// cannot fail to be a table.
static TABLE: LazyLock<BTreeMap<String, Notation>> = LazyLock::new(|| {
    toml::from_str(include_str!("quantity.toml")).expect("quantity.toml is a table")
});

impl Notation {
    /// Reads the name of a row of the table.
    ///
    /// # Errors
    /// There is none of that name.
    pub fn of_name<'de, D: Deserializer<'de>>(from: D) -> Result<&'static Self, D::Error> {
        let row = TABLE.get(&String::deserialize(from)?);
        row.ok_or_else(|| serde::de::Error::custom("no such notation"))
    }

    /// How these values are written beside each other: in one unit.
    pub fn scale(&'static self, values: &[f64]) -> Scale {
        let finite = values.iter().filter(|v| v.is_finite());
        let most = finite.fold(0.0, |a: f64, b| a.max(b.abs()));
        let (unit, size) = if most >= self.step {
            &self.large
        } else {
            &self.small
        };
        Scale {
            unit,
            size: *size,
            digits: self.digits,
            finest: self.finest,
            hours: self.digits == Digits::Time && most.round() >= 100.0,
        }
    }

    /// One value with its unit: "18.4 cm²".
    pub fn say(&'static self, value: f64) -> String {
        self.scale(&[value]).say(value)
    }
}

/// How the values of one row or column are written.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    unit: &'static str,
    size: f64,
    digits: Digits,
    finest: usize,
    hours: bool,
}

impl Scale {
    /// What stands at the head of a column of such numbers: "cm²", "h:min".
    pub fn unit(&self) -> &'static str {
        if self.hours {
            "h:min"
        } else {
            self.unit.trim()
        }
    }

    /// The decimals of a number that is in the unit of the scale already.
    fn places(&self, v: f64) -> usize {
        match self.digits {
            Digits::Three => places_of_three(v).min(self.finest),
            Digits::Time => 0,
            Digits::Places(n) => n,
            Digits::Angle => usize::from(v.abs() < 10.0),
        }
    }

    /// The number as it is printed, in the unit of the scale, and its decimals.
    fn rounded(&self, value: f64) -> (f64, usize) {
        let v = value / self.size;
        let places = self.places(v);
        let text = format!("{v:.places$}");
        (text.parse().unwrap_or(v), places)
    }

    /// A value without its unit, for below a head.
    pub fn cell(&self, value: f64) -> String {
        if self.is_little(value) {
            let least = decimal(LEAST_ESTIMATE_MIN, 0);
            return if self.hours {
                format!("<0:0{least}")
            } else {
                format!("<{least}")
            };
        }
        let (v, places) = self.rounded(value);
        if self.hours && v.is_finite() {
            let hours = decimal((v.abs() / 60.0).floor(), 0);
            return format!("{hours}:{:02}", v.abs() % 60.0);
        }
        decimal(v, places)
    }

    /// A time so short that its estimate means nothing.
    fn is_little(&self, value: f64) -> bool {
        self.digits == Digits::Time && value > 0.0 && value < LEAST_ESTIMATE_MIN
    }

    /// A value with its unit.
    pub fn say(&self, value: f64) -> String {
        if self.is_little(value) {
            return estimate(value);
        }
        let (v, places) = self.rounded(value);
        self.written(v, places)
    }

    fn written(&self, v: f64, places: usize) -> String {
        if self.digits == Digits::Time && v.is_finite() {
            return if v < 1.0 {
                format!("{} min", decimal(v, 0))
            } else {
                duration(v)
            };
        }
        format!("{}{}", decimal(v, places), self.unit)
    }

    /// How far two values lie apart as they are printed, no finer than either of them or than a
    /// value of that size. `None` where both read the same.
    pub fn apart(&self, a: f64, b: f64) -> Option<String> {
        if self.is_little(a) && self.is_little(b) {
            return None;
        }
        let ((a, more), (b, less)) = (self.rounded(a), self.rounded(b));
        let apart = (a - b).abs();
        let places = more.max(less).min(self.places(apart));
        (a != b).then(|| self.written(apart, places))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words;

    fn of(name: &str) -> &'static Notation {
        &TABLE[name]
    }

    #[test]
    fn a_difference_is_that_of_the_values_printed_beside_it_in_their_unit() {
        // 1.2346 and 0.96 cm³ print as 1.23 and 0.96: 0.27 apart, not 275 mm³.
        let scale = of("volume").scale(&[1234.6, 960.0]);
        assert_eq!(scale.say(1234.6), "1.23 cm³");
        assert_eq!(scale.say(960.0), "0.96 cm³");
        assert_eq!(scale.apart(1234.6, 960.0).as_deref(), Some("0.27 cm³"));
        // 99.96 prints as 100, 3.456 as 3.46: 96.54 apart, which nobody reads off two such numbers.
        let scale = of("length").scale(&[99.96, 3.456]);
        assert_eq!(scale.apart(99.96, 3.456).as_deref(), Some("96.5 mm"));
        // Both print as 12.3.
        assert_eq!(
            of("length").scale(&[12.31, 12.34]).apart(12.31, 12.34),
            None
        );
        let scale = of("time").scale(&[9.4, 61.6]);
        assert_eq!(scale.say(61.6), "1 h 02 min");
        assert_eq!(scale.apart(9.4, 61.6).as_deref(), Some("53 min"));
    }

    #[test]
    fn one_value_alone_reads_as_in_the_sentences() {
        for v in [
            0.0,
            0.0512,
            9.996,
            18.4,
            999.9,
            1000.0,
            12_345.6,
            1e7,
            f64::NAN,
        ] {
            assert_eq!(of("length").say(v), words::length(v));
            assert_eq!(of("area").say(v), words::area(v));
            assert_eq!(of("volume").say(v), words::volume(v));
            assert_eq!(of("angle").say(v), words::degrees(v));
        }
        for v in [0.0, 0.5, 1.4, 59.4, 60.0, 185.0] {
            assert_eq!(of("time").say(v), words::estimate(v));
        }
    }

    #[test]
    fn a_few_minutes_are_all_one() {
        let scale = of("time").scale(&[0.4, 30.0]);
        assert_eq!(
            (scale.cell(0.4), scale.cell(30.0)),
            ("<5".into(), "30".into())
        );
        assert_eq!(scale.say(0.4), "under 5 min");
        assert_eq!(
            (scale.apart(0.4, 3.0), scale.apart(2.0, 30.0)),
            (None, Some("28 min".into()))
        );
        assert_eq!(of("time").scale(&[3.0, 130.0]).cell(3.0), "<0:05");
    }
}
