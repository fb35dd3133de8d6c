//! A layer made ready for the search for bridges.

use super::super::{Piece, Section};
use super::rows::Rows;
use nalgebra::Point2;

/// A section made ready for questions.
pub(super) struct Ready<'a> {
    pub(super) section: &'a Section,
    pub(super) pieces: Vec<Piece>,
    pub(super) rows: Rows,
}

pub(super) fn in_box(p: Point2<f64>, lo: Point2<f64>, hi: Point2<f64>, margin: f64) -> bool {
    p.x >= lo.x - margin && p.x <= hi.x + margin && p.y >= lo.y - margin && p.y <= hi.y + margin
}
