//! What is said of a part where the time was over before one pose was measured in full: the
//! figures that need no layers, which are exact.

use super::json::{PartFacts, SCHEMA_VERSION, Seconds, SettingsInForce};
use super::layout::{Look, list};
use crate::figures::Figures;
use crate::figures::quick::Bench;
use crate::pose::{Placement, Pose};
use crate::rank::FailedGate;
use crate::rank::search::{Candidate, Search};
use crate::words::{area, degrees, length, printable, side_down};
use schemars::JsonSchema;
use serde::Serialize;

/// Poses that are told of.
const TOLD: usize = 3;

/// What `advise --json` prints, and `library` records, where the time limit ended the work before
/// one pose was measured in full.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FirstAnswer {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Every value in force.
    pub settings: SettingsInForce,
    /// True: no pose was measured in full. Advice in full has no such key.
    pub first_answer: bool,
    /// The largest faces that the part may stand on, in the order of what is known of them.
    pub poses: Vec<FirstPose>,
    /// The pose in which the file is.
    pub as_stored: FirstPose,
    /// One or two sentences.
    pub verdict: String,
    /// True: the time limit ended the search.
    pub cut_short: bool,
    /// Wall-clock time; left out in the records of a library, which are the same on every run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<Seconds>,
}

/// One pose of a first answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FirstPose {
    /// The pose.
    #[serde(flatten)]
    #[schemars(with = "Placement")]
    pub pose: Pose,
    /// What is exact without layers.
    pub figures: FirstFigures,
    /// What keeps the pose from being printed: `does_not_fit`, `no_contact`, `tips`.
    #[schemars(with = "Vec<String>")]
    pub gates: Vec<FailedGate>,
}

/// Figures that need no layers; each means what it means in the advice.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FirstFigures {
    /// Extent along Z.
    pub height_mm: f64,
    /// Number of layers.
    pub layers: u32,
    /// Extents along X and Y after the default yaw.
    pub footprint_mm: [f64; 2],
    /// Area of the section at touch height.
    pub contact_area_mm2: f64,
    /// Smallest tilt that brings the centre of mass over an edge of the contact hull.
    pub tip_angle_deg: f64,
    /// Area-weighted mean cusp height.
    pub layer_steps_mean_um: f64,
}

impl FirstPose {
    fn new(bench: &Bench, candidate: &Candidate) -> Self {
        let pose = Pose::new(&candidate.down, &bench.hull().vertices);
        let known: Figures = candidate.quick.figures(bench.settings, &candidate.down);
        Self {
            figures: FirstFigures {
                height_mm: known.height_mm,
                layers: known.layers,
                footprint_mm: bench.hull().footprint_mm(&pose),
                contact_area_mm2: known.contact_area_mm2,
                tip_angle_deg: known.tip_angle_deg,
                layer_steps_mean_um: known.layer_steps_mean_um,
            },
            gates: candidate.gates.clone(),
            pose,
        }
    }

    /// The side that goes down, and how the part stands on it.
    fn sentence(&self) -> String {
        let f = &self.figures;
        let stands = if f.contact_area_mm2 > 0.0 {
            let contact = area(f.contact_area_mm2);
            format!(
                "{contact} on the bed, tipping angle {}",
                degrees(f.tip_angle_deg.max(0.0))
            )
        } else {
            "touches the bed only at a point or an edge".into()
        };
        format!(
            "{}: {stands}, {} tall",
            side_down(&self.pose.down),
            length(f.height_mm)
        )
    }
}

impl FirstAnswer {
    /// Looks at a few faces of the hull, which takes some milliseconds each.
    pub fn new(bench: &Bench, search: &Search, part: PartFacts, settings: SettingsInForce) -> Self {
        let (stored, found) = search.first_look(TOLD);
        let poses: Vec<FirstPose> = found.iter().map(|c| FirstPose::new(bench, c)).collect();
        let best = poses.first().map_or_else(String::new, |first| {
            format!(
                " By contact, height and tipping angle alone, this looks best: {}.",
                first.sentence()
            )
        });
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings,
            first_answer: true,
            as_stored: FirstPose::new(bench, &stored),
            poses,
            verdict: format!(
                "A first answer only: in the time given no pose was cut into layers, so support, \
                 bridges and printing time are not known.{best}"
            ),
            cut_short: true,
            seconds: None,
        }
    }

    /// The answer in words.
    pub fn text(&self, look: Look) -> String {
        let mut out = look.paragraph(&format!("{}: {}", printable(&self.part.path), self.verdict));
        let others: Vec<String> = self.poses.iter().skip(1).map(FirstPose::sentence).collect();
        list(&mut out, look, "Other faces to stand on", &others);
        list(&mut out, look, "Remarks", &self.part.notes);
        out
    }
}
