//! Length units of mesh files.

use serde::Serialize;

/// A unit of length that a mesh file can be written in.
///
/// The set is that of the 3MF Core specification, an open standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, schemars::JsonSchema)]
pub enum Units {
    /// Micrometre.
    #[serde(rename = "um")]
    Micron,
    /// Millimetre, the unit of the part frame.
    #[default]
    #[serde(rename = "mm")]
    Millimeter,
    /// Centimetre.
    #[serde(rename = "cm")]
    Centimeter,
    /// Metre.
    #[serde(rename = "m")]
    Meter,
    /// Inch, 25.4 mm.
    #[serde(rename = "in")]
    Inch,
    /// Foot, 304.8 mm.
    #[serde(rename = "ft")]
    Foot,
}

impl Units {
    /// Every unit, from small to large.
    pub const ALL: [Self; 6] = [
        Self::Micron,
        Self::Millimeter,
        Self::Centimeter,
        Self::Inch,
        Self::Foot,
        Self::Meter,
    ];

    /// Millimetres in one, short name, name in 3MF.
    fn row(self) -> (f64, &'static str, &'static str) {
        match self {
            Self::Micron => (1e-3, "um", "micron"),
            Self::Millimeter => (1.0, "mm", "millimeter"),
            Self::Centimeter => (10.0, "cm", "centimeter"),
            Self::Meter => (1000.0, "m", "meter"),
            Self::Inch => (25.4, "in", "inch"),
            Self::Foot => (304.8, "ft", "foot"),
        }
    }

    /// Millimetres in one unit.
    pub fn mm(self) -> f64 {
        self.row().0
    }

    /// Short name: `um`, `mm`, `cm`, `m`, `in`, `ft`.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// Value of the `unit` attribute of a 3MF model.
    pub fn attribute(self) -> &'static str {
        self.row().2
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
        let word = word.trim().to_ascii_lowercase();
        Self::ALL
            .into_iter()
            .find(|unit| unit.name() == word)
            .ok_or_else(|| {
                let names = Self::ALL.map(Self::name).join(", ");
                format!("not a unit; write one of {names}")
            })
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
