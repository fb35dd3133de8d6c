//! What change of the part would help where no pose is a good one, or a good one needs much support.
//!
//! Every proposal comes from a figure of the best pose there is: where its overhang
//! hangs and how far it reaches, where its sections grow, which pieces stand free
//! and how near their neighbours are, which cavity is shut. It names the place and
//! the size, and what the figure would come to.

mod hangs;
mod remedy;
mod stands;
#[cfg(test)]
mod tests;

use crate::advice::verdict::PoseFault;
use crate::figures::quick::Bench;
use crate::pose::Posed;
use crate::rank::FailedGate;
use crate::rank::search::Scored;
use remedy::Site;
pub use remedy::{Change, Remedy};

/// Proposals made at most.
const MOST: usize = 4;

/// Proposals for a pose with these faults, at most four; none without faults.
pub(super) fn remedies(bench: &Bench, entry: &Scored, faults: &[PoseFault]) -> Vec<Remedy> {
    let site = Site {
        bench,
        entry,
        posed: Posed::new(bench.part, entry.pose.clone()),
    };
    let mut out: Vec<Remedy> = Vec::new();
    for fault in faults {
        match fault {
            PoseFault::FailedGate(FailedGate::DoesNotFit) => out.extend(stands::cut_to_fit(&site)),
            PoseFault::FailedGate(FailedGate::Tips) => out.extend(stands::foot(&site)),
            PoseFault::FailedGate(FailedGate::NoContact) | PoseFault::Foot => {
                out.extend(stands::flat(&site));
            }
            PoseFault::Trapped => out.extend(hangs::cavities(&site)),
            PoseFault::Support => out.extend(hangs::overhangs(&site)),
            PoseFault::Slender => out.extend(stands::braces(&site)),
        }
    }
    out.truncate(MOST);
    out
}
