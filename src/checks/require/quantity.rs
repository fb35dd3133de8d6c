//! Kinds of value in a requirement: truths, texts, numbers with the dimension of their unit.
//!
//! A number is held in base units: mm, N, degrees, minutes, g. A number that is
//! written without a unit has none yet and takes that of what it is added to or
//! compared with, so `stair_mean_um < 20` and `stair_mean_um < 0.02 mm` are the same.

/// Exponents of mm, N, degree, minute, g.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Dimension([i32; 5]);

/// A dimension and how many base units one unit of it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// What is measured.
    pub dimension: Dimension,
    /// Base units in one unit; a bare number is multiplied by it.
    pub scale: f64,
}

impl Measure {
    /// A count, a ratio, a share.
    pub const NONE: Self = Self {
        dimension: Dimension([0; 5]),
        scale: 1.0,
    };

    const fn new(exponents: [i32; 5], scale: f64) -> Self {
        Self {
            dimension: Dimension(exponents),
            scale,
        }
    }

    /// The product of two, or the quotient with `sign` −1.
    fn times(self, other: Self, sign: i32) -> Self {
        let mut exponents = self.dimension.0;
        for (e, o) in exponents.iter_mut().zip(other.dimension.0) {
            *e += sign * o;
        }
        Self::new(exponents, self.scale * other.scale.powi(sign))
    }
}

/// Units that may stand after a number, a dimension a block.
pub const UNITS: &[(&str, Measure)] = &[
    ("um", Measure::new([1, 0, 0, 0, 0], 1e-3)),
    ("mm", Measure::new([1, 0, 0, 0, 0], 1.0)),
    ("cm", Measure::new([1, 0, 0, 0, 0], 10.0)),
    ("m", Measure::new([1, 0, 0, 0, 0], 1e3)),
    ("in", Measure::new([1, 0, 0, 0, 0], 25.4)),
    ("mm2", Measure::new([2, 0, 0, 0, 0], 1.0)),
    ("cm2", Measure::new([2, 0, 0, 0, 0], 1e2)),
    ("mm3", Measure::new([3, 0, 0, 0, 0], 1.0)),
    ("cm3", Measure::new([3, 0, 0, 0, 0], 1e3)),
    ("deg", Measure::new([0, 0, 1, 0, 0], 1.0)),
    ("s", Measure::new([0, 0, 0, 1, 0], 1.0 / 60.0)),
    ("min", Measure::new([0, 0, 0, 1, 0], 1.0)),
    ("h", Measure::new([0, 0, 0, 1, 0], 60.0)),
    ("g", Measure::new([0, 0, 0, 0, 1], 1.0)),
    ("kg", Measure::new([0, 0, 0, 0, 1], 1e3)),
];

/// Endings of key names that say a unit, longer ones before those they end in.
const ENDINGS: &[(&str, Measure)] = &[
    ("_mm_per_n", Measure::new([1, -1, 0, 0, 0], 1.0)),
    ("_mm3_s", Measure::new([3, 0, 0, -1, 0], 60.0)),
    ("_g_cm3", Measure::new([-3, 0, 0, 0, 1], 1e-3)),
    ("_um", Measure::new([1, 0, 0, 0, 0], 1e-3)),
    ("_mm", Measure::new([1, 0, 0, 0, 0], 1.0)),
    ("_mm2", Measure::new([2, 0, 0, 0, 0], 1.0)),
    ("_mm3", Measure::new([3, 0, 0, 0, 0], 1.0)),
    ("_mm5", Measure::new([5, 0, 0, 0, 0], 1.0)),
    ("_deg", Measure::new([0, 0, 1, 0, 0], 1.0)),
    ("_s", Measure::new([0, 0, 0, 1, 0], 1.0 / 60.0)),
    ("_min", Measure::new([0, 0, 0, 1, 0], 1.0)),
    ("_g", Measure::new([0, 0, 0, 0, 1], 1.0)),
];

/// The unit of that name.
pub fn unit(name: &str) -> Option<Measure> {
    UNITS.iter().find(|(n, _)| *n == name).map(|(_, m)| *m)
}

/// The measure that a dotted key name carries: of its last piece that says one.
pub fn measure_of(name: &str) -> Measure {
    name.rsplit('.')
        .find_map(|piece| ENDINGS.iter().find(|(end, _)| piece.ends_with(end)))
        .map_or(Measure::NONE, |(_, m)| *m)
}

/// The name without the unit that it ends in.
pub fn without_unit(name: &str) -> &str {
    ENDINGS
        .iter()
        .find_map(|(end, _)| name.strip_suffix(end))
        .unwrap_or(name)
}

/// What kind of value an expression has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// True or false.
    Truth,
    /// A text.
    Text,
    /// Numbers without any unit.
    Bare,
    /// A number with a measure, in base units.
    Number(Measure),
}

impl Kind {
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
                .find(|(e, _)| *e == m.dimension.0)
                .map_or("a number of another unit", |(_, n)| n),
        }
    }
}

/// The four operations of arithmetic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sum {
    /// Addition.
    Plus,
    /// Subtraction.
    Minus,
    /// Multiplication.
    Times,
    /// Division.
    Over,
}

/// Comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparison {
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `==`
    Equal,
    /// `!=`
    Unequal,
}

/// Two kinds brought to one, as a sum or a comparison of numbers needs it.
///
/// # Errors
/// What does not go together, as the end of a sentence.
pub fn aligned(left: Kind, right: Kind) -> Result<Kind, String> {
    match (left, right) {
        (Kind::Bare, Kind::Bare) => Ok(Kind::Bare),
        (Kind::Bare, number @ Kind::Number(_)) | (number @ Kind::Number(_), Kind::Bare) => {
            Ok(number)
        }
        (Kind::Number(a), Kind::Number(b)) if a.dimension == b.dimension => Ok(left),
        _ => Err(format!(
            "{} on the left does not go with {} on the right",
            left.in_words(),
            right.in_words()
        )),
    }
}

/// The kind of `left op right`.
///
/// # Errors
/// What does not go together, as the end of a sentence.
pub fn result(op: Sum, left: Kind, right: Kind) -> Result<Kind, String> {
    match (op, left, right) {
        (Sum::Plus | Sum::Minus, ..) => match aligned(left, right)? {
            Kind::Truth | Kind::Text => Err("only numbers can be added".into()),
            kind => Ok(kind),
        },
        (_, Kind::Bare, Kind::Bare) => Ok(Kind::Bare),
        (_, Kind::Number(m), Kind::Bare) | (Sum::Times, Kind::Bare, Kind::Number(m)) => {
            Ok(Kind::Number(m))
        }
        (Sum::Over, Kind::Bare, Kind::Number(m)) => Ok(Kind::Number(Measure::NONE.times(m, -1))),
        (_, Kind::Number(a), Kind::Number(b)) => Ok(Kind::Number(
            a.times(b, if op == Sum::Times { 1 } else { -1 }),
        )),
        _ => Err(format!(
            "{} and {} cannot be multiplied or divided",
            left.in_words(),
            right.in_words()
        )),
    }
}

/// Whether two kinds can be compared so.
///
/// # Errors
/// What does not go together, as the end of a sentence.
pub fn comparable(how: Comparison, left: Kind, right: Kind) -> Result<(), String> {
    match (left, right) {
        (Kind::Text, Kind::Text) => match how {
            Comparison::Equal | Comparison::Unequal => Ok(()),
            _ => Err("texts are compared by == and != only".into()),
        },
        (Kind::Truth, _) | (_, Kind::Truth) => Err(
            "what is true or false stands by itself, or after 'not', and is not compared".into(),
        ),
        _ => aligned(left, right).map(|_| ()),
    }
}
