//! What change of the part would help where no pose is a good one.
//!
//! Every proposal comes from a figure of the best pose there is: where its overhang
//! hangs and how far it reaches, where its sections grow, which pieces stand free
//! and how near their neighbours are, which cavity is shut. It names the place and
//! the size, and what the figure would come to.

mod hangs;
mod stands;

use crate::advice::verdict::Fault;
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::rank::Gate;
use crate::rank::search::Scored;
use crate::words;
use nalgebra::Point3;
use schemars::JsonSchema;
use serde::Serialize;

/// Proposals made at most.
const MOST: usize = 4;

/// What to change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Change {
    /// A 45° chamfer under a ledge.
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
    /// The figure that it betters.
    pub figure: &'static str,
    /// Its value now.
    pub from: f64,
    /// What it would come to, by estimate.
    pub to: f64,
    /// In words.
    pub says: String,
}

/// The pose that is to be bettered, cut into layers.
struct Site<'a, 'p> {
    bench: &'a Bench<'a>,
    entry: &'a Scored,
    sliced: &'a Sliced<'p>,
}

impl Site<'_, '_> {
    /// A proposal at a place of the build frame.
    fn remedy(
        &self,
        change: Change,
        at: Point3<f64>,
        size: f64,
        (figure, from, to): (&'static str, f64, f64),
        says: impl FnOnce(&str) -> String,
    ) -> Remedy {
        let part = self.entry.pose.build_from_part.inverse() * at;
        let place = format!(
            "z = {} mm (x {}, y {}, z {} in the file)",
            words::decimal(at.z, 1),
            words::decimal(part.x, 1),
            words::decimal(part.y, 1),
            words::decimal(part.z, 1)
        );
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

/// Proposals for a pose with these faults, at most four; none without faults.
pub(super) fn remedies(
    bench: &Bench,
    entry: &Scored,
    sliced: &Sliced,
    faults: &[Fault],
) -> Vec<Remedy> {
    let site = Site {
        bench,
        entry,
        sliced,
    };
    let mut out: Vec<Remedy> = Vec::new();
    for fault in faults {
        match fault {
            Fault::Gate(Gate::DoesNotFit) => out.extend(stands::cut_to_fit(&site)),
            Fault::Gate(Gate::Tips) => out.extend(stands::foot(&site)),
            Fault::Gate(Gate::NoContact) | Fault::Foot => out.extend(stands::flat(&site)),
            Fault::Trapped => out.extend(hangs::cavities(&site)),
            Fault::Support => out.extend(hangs::overhangs(&site)),
            Fault::Slender => out.extend(stands::braces(&site)),
        }
    }
    out.truncate(MOST);
    out
}
