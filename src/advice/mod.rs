//! Why a pose stands where it stands, and what to do: from what the search found to words.

pub mod design;
pub mod glance;
pub mod margin;
pub mod precautions;
pub mod reasons;
pub mod support;
pub mod tell;
pub mod verdict;

pub use tell::{advise, advise_on, measure, measure_until, told};

use crate::figures::Figures;
use crate::figures::profile::Story;
use crate::gauge::card;
use crate::pose::Pose;
use crate::rank::{Charge, Confidence, Counts, Gate, Origin};

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
    /// Whether a person would switch support on.
    pub needs_support: bool,
    /// Penalties in table order.
    pub charges: Vec<Charge>,
    /// Their sum.
    pub total: f64,
    /// Gates it fails; empty for a printable pose.
    pub gates: Vec<Gate>,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// Which of them says what the pose costs against its rival, if one does.
    pub cost: Option<usize>,
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
    /// Rank of the runner-up: 2; absent where no second pose can be printed.
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
