//! The readings of a card and how they are grouped.

use super::stand::{BuildAxis, Lie};
use schemars::JsonSchema;
use serde::Serialize;

/// Lengths that agree to this, or to this share of the tolerance, are the same, mm: no print tells
/// them apart (house values).
const SAME_MM: f64 = 0.02;
const SAME_SHARE: f64 = 0.25;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Kind")]
pub enum Measurement {
    /// The whole part along an axis.
    Extent,
    /// The whole part across its round outline.
    Outside,
    /// From one face through the material to the other.
    Thickness,
    /// From one face through the open to the other.
    Slot,
    /// A round hole.
    Bore,
    /// A round outside.
    Pin,
}

/// Readings that are judged together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CardGroup {
    /// The part over all.
    Overall,
    /// Walls and plates.
    Walls,
    /// Slots, bores and pins, which come out undersize or oversize.
    Fits,
}

impl CardGroup {
    /// All of them, in the order in which a card shows them.
    pub const ALL: [Self; 3] = [Self::Overall, Self::Walls, Self::Fits];

    /// Name of the group where there is little room.
    pub const fn short(self) -> &'static str {
        match self {
            Self::Overall => "Overall",
            Self::Walls => "Walls",
            Self::Fits => "Fits",
        }
    }

    /// Heading of the group.
    pub const fn heading(self) -> &'static str {
        match self {
            Self::Overall => "Overall",
            Self::Walls => "Walls and plates",
            Self::Fits => "Slots, bores and pins",
        }
    }
}

impl Measurement {
    /// What it is judged together with.
    pub const fn group(self) -> CardGroup {
        match self {
            Self::Extent | Self::Outside => CardGroup::Overall,
            Self::Thickness => CardGroup::Walls,
            Self::Slot | Self::Bore | Self::Pin => CardGroup::Fits,
        }
    }
}

/// One reading to take.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "Line")]
pub struct Reading {
    /// What is measured.
    pub kind: Measurement,
    /// What it is judged together with: overall sizes, walls, fits.
    pub group: CardGroup,
    /// Build axis along which the calliper lies, X, Y or Z, or aslant; of a bore, a pin or a round
    /// outline the axis about which it runs.
    #[schemars(with = "String")]
    pub along: BuildAxis,
    /// Angle of that direction from build X about Z, degrees; only of a part that stands turned
    /// on the bed, whose long and cross sides lie along no axis.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from_x_deg: Option<f64>,
    /// What the calliper should read, mm.
    pub nominal_mm: f64,
    /// How far the reading may be off, mm: the setting, and more for long lengths.
    pub tolerance_mm: f64,
    /// Places with the same length.
    pub count: usize,
    /// Where, build frame, mm: middle of the first such place.
    pub at_mm: [f64; 3],
    /// In words.
    pub says: String,
    /// Of an extent: a plane face square to it lies at both ends, so that jaws sit on it.
    #[serde(skip)]
    pub between_flats: bool,
    #[serde(skip)]
    pub(super) lies: Lie,
}

/// What to measure on the print.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Card {
    /// Readings to take: the extents along X, Y and Z (along the part, across it and along Z
    /// where it stands turned on the bed; one diameter in place of two of them where the outline is
    /// round), then flats, then bores.
    pub lines: Vec<Reading>,
    /// What to mind when reading.
    pub notes: Vec<String>,
    /// The extents along X, Y and Z, or along the part, across it and along Z, mm.
    #[serde(skip)]
    pub(crate) extents_mm: [f64; 3],
    /// Angle of its long side from build X where no side of it lies along an axis, degrees.
    #[serde(skip)]
    pub(crate) aslant_deg: Option<f64>,
}

impl Card {
    /// The readings of each group that has any, in the order of the card.
    pub fn groups(&self) -> impl Iterator<Item = (CardGroup, Vec<&Reading>)> {
        CardGroup::ALL.into_iter().filter_map(|group| {
            let lines: Vec<&Reading> = self.lines.iter().filter(|l| l.group == group).collect();
            (!lines.is_empty()).then_some((group, lines))
        })
    }
}

impl Reading {
    /// The same length along the same axis.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        let same_mm = SAME_MM.max(SAME_SHARE * self.tolerance_mm);
        self.lies == other.lies && (self.nominal_mm - other.nominal_mm).abs() < same_mm
    }
}
