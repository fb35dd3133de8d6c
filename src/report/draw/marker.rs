//! Something to be marked in a drawing, with the letter of its sentence.

use crate::advice::purposes::PurposeKind;

/// Something to be marked. Part frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Marker {
    /// Letter of its sentence.
    pub letter: char,
    /// What it is.
    pub kind: PurposeKind,
    /// Where, mm; the middle of the part if that is not known.
    pub at_mm: Option<[f64; 3]>,
    /// Axis, outward side or pull.
    pub direction: [f64; 3],
}
