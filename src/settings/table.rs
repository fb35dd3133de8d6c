//! The table of settings, each one once: the settings file, the flags, the page and the
//! Python arguments all read it, and read their values by it.

use super::Settings;
use super::triple::{direction, triple, unit};
use super::weights::{Penalty, Weights, weight};
use crate::materials::{MATERIALS, Material};
use crate::words::near_miss;
use nalgebra::{Unit, Vector3};
use serde_json::Value;
use std::fmt::{self, Display};

/// One setting.
#[derive(Debug)]
pub struct Setting {
    /// Key in a settings file, and name of the Python argument.
    pub key: &'static str,
    /// Key in the JSON and on the page: it has the unit in it.
    pub field: &'static str,
    /// What a settings file takes, with an example.
    pub wants: &'static str,
    /// Its flag; `None` where the command line and the page leave it alone.
    pub flag: Option<Flag>,
    /// Where it is a number or some numbers: what they may be.
    pub range: Option<Range>,
    slot: fn(&mut Settings) -> Slot<'_>,
}

/// How a setting is given on the command line.
#[derive(Debug)]
pub struct Flag {
    /// Its name, without the dashes.
    pub name: &'static str,
    /// What its value is called.
    pub value: &'static str,
    /// Its help: a line, and where there is more to say an empty line and the rest.
    pub help: &'static str,
}

/// What a number may be. House values: wide enough for a clay extruder as well as for a
/// needle nozzle; what lies outside is a slip of the finger.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Lowest value that is taken.
    pub lo: f64,
    /// Highest value that is taken.
    pub hi: f64,
    /// Unit with a leading space where one is written, or nothing.
    pub unit: &'static str,
}

impl fmt::Display for Range {
    /// "0.01 to 10 mm".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}{}", self.lo, self.hi, self.unit)
    }
}

/// The place of a value in the [`Settings`].
#[derive(Debug, PartialEq)]
pub enum Slot<'a> {
    /// A number.
    Number(&'a mut f64),
    /// A whole number.
    Whole(&'a mut u32),
    /// Three numbers.
    Triple(&'a mut [f64; 3]),
    /// A row of the material table.
    Material(&'a mut &'static Material),
    /// A direction, or none.
    Direction(&'a mut Option<Unit<Vector3<f64>>>),
    /// Some directions.
    Directions(&'a mut Vec<Unit<Vector3<f64>>>),
    /// An aim.
    Aim(&'a mut super::Aim),
    /// Weights of the penalty table.
    Weights(&'a mut Weights),
}

/// Every setting, in the order of the documentation.
pub static SETTINGS: [Setting; 18] = [
    number("layer", "layer_mm", [0.01, 10.0], " mm", |s| Slot::Number(&mut s.layer_mm))
        .flag("layer", "MM", "Layer height in mm [default: 0.2]"),
    number("first_layer", "first_layer_mm", [0.01, 10.0], " mm", |s| Slot::Number(&mut s.first_layer_mm))
        .flag("first-layer", "MM", "Height of the first layer in mm; what lies below half of it rests on the bed [default: 0.2]"),
    number("line", "line_mm", [0.05, 50.0], " mm", |s| Slot::Number(&mut s.line_mm))
        .flag("line", "MM", "Extrusion width in mm [default: 0.45]"),
    number("limit", "limit_deg", [0.0, 89.0], "°", |s| Slot::Number(&mut s.limit_deg))
        .flag("limit", "DEG", "Overhang limit in degrees from the vertical [default: 45]"),
    number("bridge_limit", "bridge_limit_mm", [0.0, 1000.0], " mm", |s| Slot::Number(&mut s.bridge_limit_mm))
        .flag("bridge-limit", "MM", "Longest bridge in mm that needs no support [default: 10]"),
    number("bed", "bed_mm", [1.0, 100_000.0], " mm", |s| Slot::Triple(&mut s.bed_mm))
        .wants("three lengths in mm: bed = [220, 220, 250]")
        .flag("bed", "X,Y,Z", "Build volume in mm [default: 220,220,250]"),
    other("material", |s| Slot::Material(&mut s.material))
        .wants("a name in quotes: material = \"PETG\"")
        .flag("material", "NAME", "Material: PLA, PETG, ABS, ASA, PA, PC or TPU [default: PLA]"),
    other("load", |s| Slot::Direction(&mut s.load))
        .wants("a direction: load = [0, 0, -1] or load = \"-z\"")
        .flag("load", "X,Y,Z", "Direction of the load on the part, in the part's own axes"),
    other("show", |s| Slot::Directions(&mut s.show))
        .wants("a list of directions: show = [\"+z\", \"-y\"]")
        .flag("show", "X,Y,Z", "Cosmetic side: one that will be seen, as its outward direction; repeatable"),
    other("round", |s| Slot::Directions(&mut s.round))
        .wants("a list of axes: round = [\"+x\", [0, 1, 1]]")
        .flag("round", "X,Y,Z", "Axis of a bore or boss that must come out round: it is to stand upright; repeatable"),
    other("flat", |s| Slot::Directions(&mut s.flat))
        .wants("a list of directions: flat = [\"-x\"]")
        .flag("flat", "X,Y,Z", "Side that must come out flat, as its outward direction: it is to lie on the bed; repeatable"),
    other("aim", |s| Slot::Aim(&mut s.aim))
        .wants("sound, clean, quick or strong, in quotes")
        .flag("aim", "AIM", "What matters most: sound, clean, quick or strong [default: sound]"),
    other("weights", |s| Slot::Weights(&mut s.weights))
        .wants("a table of rows and numbers: weights = { height = 0.5 }, or [weights] above them")
        .flag("weight", "ROW=VALUE", "Override one weight of the penalty table, such as height=0.5; repeatable\n\n\
            The table stands in `settings.penalties` of the JSON. A weight of 0 leaves the row out."),
    number("walls", "walls", [1.0, 100.0], " lines", |s| Slot::Whole(&mut s.walls))
        .wants("a whole number of lines, such as 3"),
    number("infill", "infill", [0.0, 1.0], "", |s| Slot::Number(&mut s.infill)),
    number("rate", "rate_mm3_s", [0.01, 100_000.0], " mm³/s", |s| Slot::Number(&mut s.rate_mm3_s)),
    number("layer_change", "layer_change_s", [0.0, 3600.0], " s", |s| Slot::Number(&mut s.layer_change_s)),
    number("tolerance", "tolerance_mm", [0.001, 100.0], " mm", |s| Slot::Number(&mut s.tolerance_mm))
        .flag("tolerance", "MM", "How far a printed length may be off before it counts, in mm [default: 0.25]"),
];

const fn other(key: &'static str, slot: fn(&mut Settings) -> Slot<'_>) -> Setting {
    Setting {
        key,
        field: key,
        wants: "a number",
        flag: None,
        range: None,
        slot,
    }
}

const fn number(
    key: &'static str,
    field: &'static str,
    [lo, hi]: [f64; 2],
    unit: &'static str,
    slot: fn(&mut Settings) -> Slot<'_>,
) -> Setting {
    Setting {
        field,
        range: Some(Range { lo, hi, unit }),
        ..other(key, slot)
    }
}

impl Setting {
    const fn wants(mut self, wants: &'static str) -> Self {
        self.wants = wants;
        self
    }

    const fn flag(mut self, name: &'static str, value: &'static str, help: &'static str) -> Self {
        self.flag = Some(Flag { name, value, help });
        self
    }

    /// The setting of a key of the settings file, `-` or `_` in it.
    pub fn of_key(key: &str) -> Option<&'static Self> {
        let key = key.replace('-', "_");
        SETTINGS.iter().find(|s| s.key == key)
    }

    /// Its place in some settings.
    pub fn slot<'a>(&self, settings: &'a mut Settings) -> Slot<'a> {
        (self.slot)(settings)
    }
}

impl Slot<'_> {
    /// Puts in what a flag says; one that may be repeated adds to what is there.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the text.
    pub fn parse(self, text: &str) -> Result<(), String> {
        fn parsed<T: std::str::FromStr<Err: Display>>(text: &str) -> Result<T, String> {
            text.parse().map_err(|why: T::Err| why.to_string())
        }
        match self {
            // The words of the standard library for a bad number are none of a reader's.
            Self::Number(slot) => *slot = parsed(text).map_err(|_| "not a number")?,
            Self::Whole(slot) => *slot = parsed(text).map_err(|_| "not a whole number")?,
            Self::Triple(slot) => *slot = triple(text)?,
            Self::Material(slot) => {
                let known = || MATERIALS.iter().map(|m| m.name.as_str());
                let found = Material::named(text);
                *slot = found.map_err(|why| why + &near_miss(text, known()))?;
            }
            Self::Direction(slot) => *slot = Some(direction(text)?),
            Self::Directions(slot) => slot.push(direction(text)?),
            Self::Aim(slot) => {
                let known = super::Aim::ALL.map(super::Aim::name);
                *slot = parsed(text).map_err(|why| why + &near_miss(text, known))?;
            }
            Self::Weights(slot) => {
                let (row, weight) = weight(text)?;
                slot.set(row, Some(weight));
            }
        }
        Ok(())
    }

    /// Puts in a value of a settings file or of the page. A text is taken as a flag takes it;
    /// the weight `null` gives a row its own back.
    ///
    /// # Errors
    /// What is wrong with the value, as the end of a sentence.
    pub fn read(self, value: &Value) -> Result<(), String> {
        let text = |kind: &str| value.as_str().ok_or(format!("is not {kind} in quotes"));
        match self {
            Self::Number(slot) => *slot = value.as_f64().ok_or("is not a number")?,
            Self::Whole(slot) => {
                let whole = value.as_u64().and_then(|n| n.try_into().ok());
                *slot = whole.ok_or("is not a whole number of lines")?;
            }
            Self::Triple(slot) => *slot = numbers(value)?,
            Self::Direction(slot) => *slot = Some(read_direction(value)?),
            Self::Directions(slot) => {
                *slot = match value.as_array() {
                    // A list of three numbers is one direction, not three.
                    Some(list) if numbers(value).is_err() => {
                        list.iter().map(read_direction).collect::<Result<_, _>>()?
                    }
                    _ => vec![read_direction(value)?],
                }
            }
            Self::Material(_) => self.parse(text("a name")?)?,
            Self::Aim(_) => self.parse(text("an aim")?)?,
            Self::Weights(slot) => {
                let rows = value.as_object().ok_or("is no table of weights")?;
                for (name, weight) in rows {
                    let row = Penalty::of(name).map_err(|why| format!("has a wrong row: {why}"))?;
                    if !(weight.is_number() || weight.is_null()) {
                        return Err(format!("has no number for '{name}'"));
                    }
                    slot.set(row, weight.as_f64());
                }
            }
        }
        Ok(())
    }

    /// Puts in what another place of the same setting has.
    pub(super) fn copy(self, from: Slot<'_>) {
        match (self, from) {
            (Self::Number(to), Slot::Number(from)) => *to = *from,
            (Self::Whole(to), Slot::Whole(from)) => *to = *from,
            (Self::Triple(to), Slot::Triple(from)) => *to = *from,
            (Self::Material(to), Slot::Material(from)) => *to = from,
            (Self::Direction(to), Slot::Direction(from)) => *to = *from,
            (Self::Directions(to), Slot::Directions(from)) => to.clone_from(from),
            (Self::Aim(to), Slot::Aim(from)) => *to = *from,
            (Self::Weights(to), Slot::Weights(from)) => *to = *from,
            _ => {}
        }
    }

    /// The first number in it that lies outside a range.
    pub(super) fn outside(&self, range: Range) -> Option<f64> {
        let numbers = match self {
            Self::Number(slot) => vec![**slot],
            Self::Whole(slot) => vec![f64::from(**slot)],
            Self::Triple(slot) => slot.to_vec(),
            _ => Vec::new(),
        };
        let within = |v: &f64| (range.lo..=range.hi).contains(v);
        numbers.into_iter().find(|v| !within(v))
    }
}

/// Three numbers, as a list or as the text that a flag takes.
fn numbers(value: &Value) -> Result<[f64; 3], String> {
    if let Some(text) = value.as_str() {
        return triple(text);
    }
    let list = value.as_array().into_iter().flatten();
    let list: Option<Vec<f64>> = list.map(Value::as_f64).collect();
    list.and_then(|l| l.try_into().ok())
        .ok_or_else(|| "is not three numbers".into())
}

/// A direction of the part, as three numbers or as on the command line.
///
/// # Errors
/// What is wrong with it, as the end of a sentence.
pub fn read_direction(value: &Value) -> Result<Unit<Vector3<f64>>, String> {
    if let Some(text) = value.as_str() {
        return direction(text);
    }
    let numbers = numbers(value).map_err(|why| format!("is no direction: it {why}"))?;
    unit(numbers).ok_or("is no direction: it has no length, so it points nowhere".into())
}
