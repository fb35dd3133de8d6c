//! Why a pose stands where it stands, and what to do: from what the search found to words.

mod bodies;
pub mod design;
mod fit;
pub mod glance;
mod kept_out;
mod layers;
pub mod margin;
mod marks;
pub mod precautions;
pub mod purposes;
pub mod reasons;
pub mod share;
mod spans;
pub mod support;
pub mod tell;
pub mod verdict;

pub use tell::{advise, advise_on, measure, measure_until, told};

use crate::advice::reasons::Roles;
use crate::advice::support::SupportCall;
use crate::advice::verdict::LastNamed;
use crate::figures::Figures;
use crate::figures::bridges::Spanning;
use crate::figures::full::Cuts;
use crate::figures::profile::LayerProfile;
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::gauge::card;
use crate::pose::{Placement, Pose};
use crate::rank::{Candidates, Charge, Charges, Confidence, FailedGate, Origin};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// One pose with its figures.
///
/// What is said of each value here and in [`Advice`] is what the JSON Schema says of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "PoseEntry", description = "One pose with its figures.")]
pub struct RankedPose {
    /// 1 for the best; left out where nothing was ranked.
    // It is 0 there.
    #[serde(skip_serializing_if = "is_unranked")]
    #[schemars(with = "Option<usize>")]
    pub rank: usize,
    /// The pose.
    #[serde(flatten)]
    #[schemars(with = "Placement")]
    pub pose: Pose,
    /// Build axes along the longest, second and shortest extent of the part (ISO/ASTM 52921).
    pub axes: String,
    /// Poses with equal figures by symmetry, this one included.
    pub equivalent: usize,
    /// No other pose is at least as good on every penalty.
    pub undominated: bool,
    /// Where the pose came from: resting, helped, lattice, refined, stored or named.
    #[schemars(with = "String")]
    pub origin: Origin,
    /// What was measured.
    pub figures: Figures,
    /// Support has to be switched on for this pose.
    pub needs_support: bool,
    /// What to do about support: off, on, or partly: on, but blocked where the precautions say.
    #[schemars(with = "String")]
    pub support: SupportCall,
    /// Penalties by name.
    #[serde(rename = "penalties", serialize_with = "Charges::by_name")]
    #[schemars(with = "Charges")]
    pub charges: Vec<Charge>,
    /// Sum of the penalties; null where a figure has no finite value.
    #[schemars(with = "Option<f64>")]
    pub total: f64,
    /// Fraction of makers expected to choose this pose, 0 to 1; poses that are practically equal
    /// count as one and each have the share of all. Of the ranked poses only, and only with the
    /// default weights and aim, without a load or cosmetic side: otherwise left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
    /// What keeps the pose from being printed: `does_not_fit`, `no_contact`, `tips`.
    #[schemars(with = "Vec<String>")]
    pub gates: Vec<FailedGate>,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// What some of the reasons are there for.
    #[serde(skip)]
    pub roles: Roles,
    /// The gist of the reasons in one line.
    pub brief: String,
    /// What to do on the machine, in sentences.
    pub precautions: Vec<String>,
    /// The same with figure, value, threshold and source of each rule.
    pub precautions_detail: Vec<precautions::Note>,
    /// What keeps it from being a good pose; empty for a good one.
    pub faults: Vec<String>,
    /// What change of the part would help, where no pose is a good one or a good one needs much
    /// support.
    // Of the first place only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub design: Vec<design::Remedy>,
    /// Sections over the height; of the first place and of a measured pose.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layer_profile: Option<LayerProfile>,
    /// What a calliper should read.
    pub card: card::Card,
    /// What its layers show.
    #[serde(skip)]
    pub(crate) cuts: Arc<Cuts>,
    /// Room under slopes that print without support though they lean beyond the limit, mm³, where it
    /// is on.
    #[serde(skip)]
    pub(crate) gentle_mm3: f64,
    /// Where its bridges carry; none where it was not cut into layers.
    #[serde(skip)]
    pub(crate) spanning: Option<Arc<Spanning>>,
}

impl RankedPose {
    /// A pose of its part, with the bridges that are known if it is this very one.
    pub(crate) fn sliced<'a>(&self, bench: &'a Bench<'a>, pose: Pose) -> Sliced<'a> {
        let known = self.spanning.as_ref().filter(|_| pose == self.pose);
        let mut sliced = Sliced::new(bench, pose);
        if let Some(spanning) = known {
            sliced.spans(Arc::clone(spanning));
        }
        sliced
    }
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_unranked(rank: &usize) -> bool {
    *rank == 0
}

/// What would have to change for the second pose to win.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Margin {
    /// Rank of the runner-up; null with one pose.
    // It is 2, or none where no second pose can be printed.
    pub runner_up: Option<usize>,
    /// What would make it win, in sentences.
    pub switches_if: Vec<String>,
}

/// What `advise` says of one part.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Advice {
    /// Candidates looked at.
    pub candidates: Candidates,
    /// Ranked poses, the best first.
    pub poses: Vec<RankedPose>,
    /// The pose in which the file is, with its rank among all candidates.
    pub as_stored: RankedPose,
    /// One or two sentences.
    pub verdict: String,
    /// None of the poses judged (the best five or more, however many are listed) is a good one;
    /// `design` of the first says what would help. It does so, too, where a good one needs much support.
    pub no_good_pose: bool,
    /// Rank of the best pose without a fault; null where every pose judged has one. It may lie
    /// beyond those listed.
    pub faultless: Option<usize>,
    /// That pose costs so much more in other ways that it is no way out.
    #[serde(skip)]
    pub(crate) is_faultless_too_dear: bool,
    /// Distance to the runner-up.
    pub margin: Margin,
    /// Purposes that would put another pose first, nearest first, and those that no pose does well
    /// by, at most five: what a maker may want of the part that its shape does not tell. Empty
    /// where nothing changes.
    pub purposes: Vec<purposes::Purpose>,
    /// What the settings ask for (`--round`, `--flat`, `--show`, `--load`), and whether the first
    /// pose does it.
    pub asked: Vec<purposes::AskedPurpose>,
    /// How far the total of any direction can lie below that of the first pose at most, as a share of
    /// that (0.179: 17.9 %); null without `--certify`, for an open mesh, and where no pose can be printed.
    pub certified_gap: Option<f64>,
    /// clear: at least 98 in 100 makers are expected to choose the first pose; close: at least 60;
    /// tied: fewer. Where there is no share: clear if the first pose stays first when every weight
    /// or the overhang limit varies by 20 %, tied if another has practically the same total.
    #[schemars(with = "String")]
    pub confidence: Confidence,
    /// How many makers would choose the first pose, in a sentence; none where that is not known.
    #[serde(skip)]
    pub makers: Option<String>,
    /// Length of a part that is too small to be printed, mm: its poses mean nothing.
    #[serde(skip)]
    pub crumb_mm: Option<f64>,
    /// Settings are in force for which no shares are known.
    #[serde(skip)]
    pub off_default: bool,
    /// The pose that the verdict tells of last.
    #[serde(skip)]
    pub(crate) last_named: LastNamed,
}

impl Advice {
    /// No pose of the list fits the build volume.
    pub fn fits_nowhere(&self) -> bool {
        let fits = |p: &RankedPose| !p.gates.contains(&FailedGate::DoesNotFit);
        !self.poses.iter().any(fits)
    }
}
