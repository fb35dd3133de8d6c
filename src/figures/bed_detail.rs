//! The first two millimetres of a pose: what detail lies on the bed.

use crate::figures::sliced::Sliced;
use crate::figures::{Section, slicing};
use crate::plane::polygon;

/// Height at which raised or sunk detail of the face on the bed is gone, mm: a
/// house value, more than letters are raised and less than a foot is high.
const ABOVE_MM: f64 = 2.0;

/// Islands and holes larger than this are feet and openings, no detail, mm².
const DETAIL_MM2: f64 = 300.0;

/// What lies on the bed, compared with a section 2 mm above it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct BedDetail {
    /// Small pieces of the contact section beyond those 2 mm above: raised detail.
    pub islands: usize,
    /// Small holes of the contact section beyond those 2 mm above: sunk detail.
    pub grooves: usize,
}

impl BedDetail {
    /// Cuts the part at touch height and 2 mm above the bed. A part lower than
    /// 4 mm is cut at half its height instead. O(n).
    pub fn new(sliced: &Sliced) -> Self {
        let above = ABOVE_MM.min(sliced.posed().height_mm / 2.0);
        if above <= sliced.settings().touch_mm() {
            return Self::default();
        }
        let cut = slicing::cut(sliced.posed(), &[above]);
        let (Some(low), Some(high)) = (sliced.touch().sections.first(), cut.sections.first())
        else {
            return Self::default();
        };
        let small = low.pieces.iter().filter(|p| p.area_mm2 < DETAIL_MM2);
        Self {
            islands: small.count().saturating_sub(high.pieces.len()),
            grooves: holes(low).saturating_sub(holes(high)),
        }
    }
}

fn holes(section: &Section) -> usize {
    let holes = section.pieces.iter().flat_map(|p| &p.holes);
    holes.filter(|h| -polygon::area(h) < DETAIL_MM2).count()
}
