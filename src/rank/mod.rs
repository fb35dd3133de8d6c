//! Comparing poses: gates, penalties, order, trade-offs and reasons.

pub mod advise;
pub mod calliper;
pub mod card;
pub mod clock;
pub mod design;
pub mod glance;
pub mod known;
pub mod margin;
mod near;
pub mod penalties;
pub mod precautions;
pub mod reasons;
pub mod search;
pub mod undominated;
pub mod verdict;

pub use advise::{advise, advise_on, measure, measure_until, told};

use crate::figures::Figures;
use crate::figures::story::Story;
use crate::pose::Pose;

/// Where a candidate came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Stands on a facet of the convex hull by itself.
    Resting,
    /// On a facet of the hull, but falls over without help.
    Helped,
    /// A direction of the even lattice.
    Lattice,
    /// Found by refinement on the sphere.
    Refined,
    /// The pose in which the file is.
    Loaded,
    /// Named by the user.
    Named,
}

/// Why a pose cannot be printed as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Larger than the build volume at any yaw.
    DoesNotFit,
    /// No contact with the bed.
    NoContact,
    /// Tips over by itself.
    Tips,
}

/// One penalty of one pose: `weight × scale(figure)`, already multiplied.
#[derive(Debug, Clone, PartialEq)]
pub struct Charge {
    /// Row of the penalty table.
    pub name: &'static str,
    /// Value added to the total.
    pub value: f64,
}

/// One entry of the ranked list.
#[derive(Debug, Clone)]
pub struct RankedPose {
    /// 1 for the best.
    pub rank: usize,
    /// The pose.
    pub pose: Pose,
    /// ISO/ASTM 52921 letters: build axis of the longest, second, shortest extent.
    pub axes: String,
    /// Number of poses of equal figures (symmetry), this one included.
    pub equivalent: usize,
    /// No other pose is at least as good on every penalty.
    pub undominated: bool,
    /// Where it came from.
    pub origin: Origin,
    /// All figures.
    pub figures: Figures,
    /// Penalties in table order.
    pub charges: Vec<Charge>,
    /// Their sum.
    pub total: f64,
    /// Gates it fails; empty for a printable pose.
    pub gates: Vec<Gate>,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// The gist of the reasons in one line.
    pub brief: String,
    /// What to do on the machine, each with its rule.
    pub precautions: Vec<precautions::Note>,
    /// What keeps it from being a good pose, in sentences; empty for a good one.
    pub faults: Vec<String>,
    /// What change of the part would help, where no pose is a good one; of the first
    /// place only.
    pub design: Vec<design::Remedy>,
    /// Sections over the height; of the first place and of a measured pose only.
    pub story: Option<Story>,
    /// What a calliper should read.
    pub card: card::Card,
}

/// How many candidates there were.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Facets of the hull (standing and helped).
    pub resting: usize,
    /// Lattice directions.
    pub lattice: usize,
    /// Found by refinement.
    pub refined: usize,
    /// Measured with every figure.
    pub fully_scored: usize,
    /// Not measured in full although their bound lies below the winner's total: 0
    /// where no other direction can win.
    pub unsettled: usize,
}

/// How sure the first place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// No change of the weights by up to a fifth, all at once, and none of the overhang
    /// limit by a fifth moves the winner.
    Clear,
    /// Some such change does.
    Close,
    /// Another entry is as good to within what people's choices can tell.
    Tied,
}

/// What `advise` says of one part.
#[derive(Debug, Clone)]
pub struct Advice {
    /// Candidates looked at.
    pub candidates: Counts,
    /// Ranked poses, best first; at most as many as asked for.
    pub poses: Vec<RankedPose>,
    /// The pose in which the file is, with its rank among all candidates.
    pub as_loaded: RankedPose,
    /// One or two sentences.
    pub verdict: String,
    /// None of the poses listed is a good one; the first says what would help.
    pub no_good_pose: bool,
    /// Rank of the runner-up (2, or absent with one pose).
    pub runner_up: Option<usize>,
    /// What would make the runner-up win, in sentences.
    pub switches_if: Vec<String>,
    /// How sure the first place is.
    pub confidence: Confidence,
}

impl Advice {
    /// No pose of the list fits the build volume.
    pub fn fits_nowhere(&self) -> bool {
        let fits = |p: &RankedPose| !p.gates.contains(&Gate::DoesNotFit);
        !self.poses.iter().any(fits)
    }
}
