//! A proposal to change the part, and the pose that it is made for.

use crate::figures::quick::Bench;
use crate::pose::Posed;
use crate::rank::search::Scored;
use crate::words;
use nalgebra::Point3;
use schemars::JsonSchema;
use serde::Serialize;

/// A change smaller than this is within what a print is off by, mm (house value).
pub(super) const LEAST_CHANGE_MM: f64 = 0.3;

/// What to change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Change {
    /// A 45° chamfer under an overhang.
    Chamfer,
    /// A slope made no flatter than the overhang limit.
    Steepen,
    /// A rib that halves a span, or several.
    Rib,
    /// The part in two pieces.
    Split,
    /// A flat to stand on.
    Flat,
    /// A wider base to one side.
    Foot,
    /// A tie between pieces that stand free.
    Brace,
    /// A wider free-standing piece.
    Thicken,
    /// A way into a closed cavity.
    Open,
}

/// One proposal.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Remedy {
    /// What to change.
    pub change: Change,
    /// Where, build frame, mm.
    pub at_mm: [f64; 3],
    /// The same place in the part's own frame, mm.
    pub at_part_mm: [f64; 3],
    /// How large: leg of the chamfer, span, length of the brace, mm; area of a flat, mm².
    pub size: f64,
    /// The figure that it improves.
    pub figure: &'static str,
    /// Its value now.
    pub from: f64,
    /// What it would come to, by estimate.
    pub to: f64,
    /// In words.
    pub says: String,
}

/// The pose that is to be bettered.
pub(super) struct Site<'a> {
    pub(super) bench: &'a Bench<'a>,
    pub(super) entry: &'a Scored,
    pub(super) posed: Posed<'a>,
}

impl Site<'_> {
    /// A proposal at a place of the build frame.
    pub(super) fn remedy(
        &self,
        change: Change,
        at: Point3<f64>,
        size: f64,
        (figure, from, to): (&'static str, f64, f64),
        says: impl FnOnce(&str) -> String,
    ) -> Remedy {
        let part = self.entry.pose.build_from_part.inverse() * at;
        let [x, y, z] = [part.x, part.y, part.z].map(|c| words::decimal(c, 1));
        let up = words::decimal(at.z, 1);
        let place = format!("z = {up} mm (x {x}, y {y}, z {z} in the file)");
        Remedy {
            change,
            at_mm: at.into(),
            at_part_mm: part.into(),
            size,
            figure,
            from,
            to,
            says: says(&place),
        }
    }
}
