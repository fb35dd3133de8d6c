//! Length units of mesh files.

use crate::words::{named, near_miss};
use serde::Serialize;

named! {
    /// A unit of length that a mesh file can be written in, from small to large.
    ///
    /// The set is that of the 3MF Core specification, an open standard.
    #[derive(Default, Serialize)]
    Units:
    /// Micrometre.
    Micron "um",
    /// Millimetre, the unit of the part frame.
    #[default]
    Millimeter "mm",
    /// Centimetre.
    Centimeter "cm",
    /// Inch, 25.4 mm.
    Inch "in",
    /// Foot, 304.8 mm.
    Foot "ft",
    /// Metre.
    Meter "m",
}

impl Units {
    /// Millimetres in one, and its name in 3MF.
    fn row(self) -> (f64, &'static str) {
        match self {
            Self::Micron => (1e-3, "micron"),
            Self::Millimeter => (1.0, "millimeter"),
            Self::Centimeter => (10.0, "centimeter"),
            Self::Inch => (25.4, "inch"),
            Self::Foot => (304.8, "foot"),
            Self::Meter => (1000.0, "meter"),
        }
    }

    /// The unit in words, many of it.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Micron => "micrometres",
            Self::Millimeter => "millimetres",
            Self::Centimeter => "centimetres",
            Self::Inch => "inches",
            Self::Foot => "feet",
            Self::Meter => "metres",
        }
    }

    /// Millimetres in one unit.
    pub fn mm(self) -> f64 {
        self.row().0
    }

    /// Value of the `unit` attribute of a 3MF model.
    pub fn attribute(self) -> &'static str {
        self.row().1
    }

    /// The unit of a 3MF `unit` attribute, `None` for any other word.
    pub fn from_attribute(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.attribute() == word)
    }

    /// A length in mm in this unit.
    ///
    /// Multiplies where the unit is a whole power of ten below a millimetre, so
    /// that round numbers stay round.
    pub fn from_mm(self, length_mm: f64) -> f64 {
        match self {
            Self::Micron => length_mm * 1000.0,
            _ => length_mm / self.mm(),
        }
    }
}

impl std::str::FromStr for Units {
    type Err = String;

    /// The unit of a short name ([`Units::name`]) in either case; the error names them all.
    fn from_str(word: &str) -> Result<Self, String> {
        let names = || Self::ALL.map(Self::name).join(", ");
        let near = || near_miss(word, Self::ALL.map(Self::name));
        Self::called(word).ok_or_else(|| format!("not a unit; write one of {}{}", names(), near()))
    }
}

/// How the units of a part were decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum UnitsOrigin {
    /// The file says so.
    File,
    /// The caller overrode whatever the file says.
    Given,
    /// The format carries no units; millimetres are the custom.
    Assumed,
}
