//! Kinds of value in a requirement: truths, texts, numbers with the dimension of their unit.
//!
//! A number is held in base units: mm, N, degrees, minutes, g. A number that is
//! written without a unit has none yet and takes that of what it is added to or
//! compared with, so `layer_steps_mean_um < 20` and `layer_steps_mean_um < 0.02 mm` are the same.

use crate::checks::require::operator::Operator;

/// A dimension and how many base units one unit of it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitSize {
    /// What is measured: exponents of mm, N, degree, minute, g.
    pub dimension: [i32; 5],
    /// Base units in one unit; a bare number is multiplied by it.
    pub scale: f64,
}

impl UnitSize {
    /// A count, a ratio, a share.
    pub const NONE: Self = Self::new([0; 5], 1.0);

    const fn new(dimension: [i32; 5], scale: f64) -> Self {
        Self { dimension, scale }
    }

    /// The product of two, or the quotient with `sign` −1.
    fn times(self, other: Self, sign: i32) -> Self {
        let mut exponents = self.dimension;
        for (e, o) in exponents.iter_mut().zip(other.dimension) {
            *e += sign * o;
        }
        Self::new(exponents, self.scale * other.scale.powi(sign))
    }
}

/// Units that may stand after a number, a dimension a block.
pub const UNITS: [(&str, UnitSize); 15] = [
    ("um", UnitSize::new([1, 0, 0, 0, 0], 1e-3)),
    ("mm", UnitSize::new([1, 0, 0, 0, 0], 1.0)),
    ("cm", UnitSize::new([1, 0, 0, 0, 0], 10.0)),
    ("m", UnitSize::new([1, 0, 0, 0, 0], 1e3)),
    ("in", UnitSize::new([1, 0, 0, 0, 0], 25.4)),
    ("mm2", UnitSize::new([2, 0, 0, 0, 0], 1.0)),
    ("cm2", UnitSize::new([2, 0, 0, 0, 0], 1e2)),
    ("mm3", UnitSize::new([3, 0, 0, 0, 0], 1.0)),
    ("cm3", UnitSize::new([3, 0, 0, 0, 0], 1e3)),
    ("deg", UnitSize::new([0, 0, 1, 0, 0], 1.0)),
    ("s", UnitSize::new([0, 0, 0, 1, 0], 1.0 / 60.0)),
    ("min", UnitSize::new([0, 0, 0, 1, 0], 1.0)),
    ("h", UnitSize::new([0, 0, 0, 1, 0], 60.0)),
    ("g", UnitSize::new([0, 0, 0, 0, 1], 1.0)),
    ("kg", UnitSize::new([0, 0, 0, 0, 1], 1e3)),
];

/// Units that only key names carry.
const DERIVED: &[(&str, UnitSize)] = &[
    ("mm_per_n", UnitSize::new([1, -1, 0, 0, 0], 1.0)),
    ("mm3_s", UnitSize::new([3, 0, 0, -1, 0], 60.0)),
    ("g_cm3", UnitSize::new([-3, 0, 0, 0, 1], 1e-3)),
    ("mm5", UnitSize::new([5, 0, 0, 0, 0], 1.0)),
];

/// The unit of that name.
pub fn unit(name: &str) -> Option<UnitSize> {
    UNITS.iter().find(|(n, _)| *n == name).map(|(_, m)| *m)
}

/// A name that ends in a unit, taken apart.
fn split_unit(name: &str) -> Option<(&str, UnitSize)> {
    let split =
        |(unit, m): &(&str, UnitSize)| Some((name.strip_suffix(unit)?.strip_suffix('_')?, *m));
    DERIVED.iter().chain(&UNITS).find_map(split)
}

/// The measure that a dotted key name carries: of its last piece that says one.
pub fn measure_of(name: &str) -> UnitSize {
    let mut said = name.rsplit('.').filter_map(split_unit);
    said.next().map_or(UnitSize::NONE, |(_, m)| m)
}

/// The name without the unit that it ends in.
pub fn without_unit(name: &str) -> &str {
    split_unit(name).map_or(name, |(stem, _)| stem)
}

/// What kind of value an expression has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValueKind {
    /// True or false.
    Truth,
    /// A text.
    Text,
    /// Numbers without any unit.
    Bare,
    /// A number with a measure, in base units.
    Number(UnitSize),
}

impl ValueKind {
    /// Base units in one unit of a number.
    pub fn scale(self) -> f64 {
        self.size().map_or(1.0, |m| m.scale)
    }

    /// The measure of a number; that of a bare one is [`UnitSize::NONE`].
    fn size(self) -> Option<UnitSize> {
        match self {
            Self::Number(m) => Some(m),
            Self::Bare => Some(UnitSize::NONE),
            Self::Truth | Self::Text => None,
        }
    }

    /// The kind in words, with an article.
    pub fn in_words(self) -> &'static str {
        const NAMES: [([i32; 5], &str); 7] = [
            ([0; 5], "a plain number"),
            ([1, 0, 0, 0, 0], "a length"),
            ([2, 0, 0, 0, 0], "an area"),
            ([3, 0, 0, 0, 0], "a volume"),
            ([0, 0, 1, 0, 0], "an angle"),
            ([0, 0, 0, 1, 0], "a time"),
            ([0, 0, 0, 0, 1], "a mass"),
        ];
        match self {
            Self::Truth => "true or false",
            Self::Text => "a text",
            Self::Bare => "a plain number",
            Self::Number(m) => NAMES
                .iter()
                .find(|(e, _)| *e == m.dimension)
                .map_or("a number of another unit", |(_, n)| n),
        }
    }
}

/// Two kinds brought to one, as a sum or a comparison of numbers needs it.
///
/// # Errors
/// What does not go together, as the end of a sentence.
pub fn aligned(left: ValueKind, right: ValueKind) -> Result<ValueKind, String> {
    match (left, right) {
        (ValueKind::Bare, ValueKind::Bare) => Ok(ValueKind::Bare),
        (ValueKind::Bare, number @ ValueKind::Number(_))
        | (number @ ValueKind::Number(_), ValueKind::Bare) => Ok(number),
        (ValueKind::Number(a), ValueKind::Number(b)) if a.dimension == b.dimension => Ok(left),
        _ => Err(format!(
            "{} on the left does not go with {} on the right",
            left.in_words(),
            right.in_words()
        )),
    }
}

/// The kind of `left op right`; that of `and` and `or` is no matter of their sides.
///
/// # Errors
/// What does not go together, as the end of a sentence.
pub fn result(op: Operator, left: ValueKind, right: ValueKind) -> Result<ValueKind, String> {
    use Operator::{And, Equal, Minus, Or, Over, Plus, Times, Unequal};
    use ValueKind::{Bare, Number, Text, Truth};
    match (op, left, right) {
        (And | Or, ..) | (Equal | Unequal, Text, Text) => Ok(Truth),
        (Plus | Minus, ..) => match aligned(left, right)? {
            Truth | Text => Err("only numbers can be added".into()),
            kind => Ok(kind),
        },
        (Times | Over, Bare, Bare) => Ok(Bare),
        (Times | Over, ..) => match (left.size(), right.size()) {
            (Some(a), Some(b)) => Ok(Number(a.times(b, if op == Times { 1 } else { -1 }))),
            _ => Err(format!(
                "{} and {} cannot be multiplied or divided",
                left.in_words(),
                right.in_words()
            )),
        },
        (_, Text, Text) => Err("texts are compared by == and != only".into()),
        (_, Truth, _) | (_, _, Truth) => Err(
            "what is true or false stands by itself, or after 'not', and is not compared".into(),
        ),
        _ => aligned(left, right).map(|_| Truth),
    }
}
