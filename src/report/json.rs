//! The JSON of every command: structs in the order of their keys.
//!
//! Angles are degrees, lengths millimetres; units are in the names. Numbers are
//! rounded to seven significant digits (rotation, offset and direction: twelve),
//! so that the same part gives the same bytes on every machine. A figure that has
//! no finite value is `null`.

mod in_force;

pub use in_force::{PenaltyRow, PrecautionRule, SettingsInForce};

use super::inspect::{defect_sentence, matters};
use crate::advice::design::Remedy;
use crate::advice::precautions::Note;
use crate::advice::{Advice, RankedPose};
use crate::figures::Figures;
use crate::figures::profile::Story;
use crate::gauge::card::Card;
use crate::gauge::readings::Found;
use crate::mesh::{Body, Defect, Part};
use crate::pose::{Pose, Posed};
use crate::rank::{Confidence, Gate, Origin};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::borrow::Cow;

/// Version of the layout below. It rises when a key is renamed, removed or
/// changes its meaning; new keys leave it as it is.
pub const SCHEMA_VERSION: u32 = 1;

/// The part as it was read, all in its own frame.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartFacts {
    /// Path as given on the command line.
    pub path: String,
    /// SHA-256 of the bytes of the file, hexadecimal.
    pub sha256: String,
    /// Format by content: stl, 3mf, obj, ply or off.
    pub format: String,
    /// Unit of the numbers in the file: mm, cm, m, in and so on.
    pub units: String,
    /// Triangles after welding.
    pub triangles: usize,
    /// Connected shells.
    pub bodies: usize,
    /// Whether the surface is closed: only then is there a volume.
    pub closed: bool,
    /// Extents along the part's X, Y, Z.
    pub size_mm: [f64; 3],
    /// Volume; null for a surface that is not closed.
    pub volume_mm3: Option<f64>,
    /// Surface area.
    pub area_mm2: f64,
    /// Centroid of the volume, or of the surface where it is not closed.
    pub centroid_mm: [f64; 3],
    /// Inertia tensor about the centroid at unit density.
    pub inertia_mm5: [[f64; 3]; 3],
    /// Remarks on the file and its surface, in sentences.
    pub notes: Vec<String>,
}

/// What is known of a part from the file it came in.
#[derive(Debug, Clone, Default)]
pub struct Source {
    /// Path as given.
    pub path: String,
    /// SHA-256 of the bytes, hexadecimal.
    pub sha256: String,
    /// Format by content.
    pub format: String,
    /// Unit of the numbers.
    pub units: String,
    /// Remarks on the file.
    pub notes: Vec<String>,
}

impl PartFacts {
    /// A part with where it came from and what is wrong with its surface.
    pub fn new(source: Source, part: &Part, defects: &[Defect]) -> Self {
        let size = part
            .mesh
            .bounds()
            .map_or([0.0; 3], |(lo, hi)| (hi - lo).into());
        Self {
            path: source.path,
            sha256: source.sha256,
            format: source.format,
            units: source.units,
            triangles: part.mesh.triangles.len(),
            bodies: part.bodies.len(),
            closed: part.closed,
            size_mm: size,
            volume_mm3: part.closed.then_some(part.mass.volume_mm3),
            area_mm2: part.mass.area_mm2,
            centroid_mm: part.mass.centroid.coords.into(),
            inertia_mm5: [0, 1, 2].map(|r| [0, 1, 2].map(|c| part.mass.inertia_mm5[(r, c)])),
            notes: source
                .notes
                .into_iter()
                .chain(defects.iter().filter(|d| matters(d)).map(defect_sentence))
                .collect(),
        }
    }
}

/// How many candidates there were.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Candidates {
    /// Facets of the convex hull, standing and helped.
    pub resting: usize,
    /// Directions of the even lattice.
    pub lattice: usize,
    /// Found by refinement.
    pub refined: usize,
    /// Measured with every figure.
    pub fully_scored: usize,
    /// Not measured in full although their bound lies below the winner's total: 0
    /// where no other direction can win.
    pub unsettled: usize,
}

/// Penalties of one pose, by name in table order.
#[derive(Debug, Clone)]
pub struct Charges(Vec<(&'static str, f64)>);

impl Serialize for Charges {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

impl JsonSchema for Charges {
    fn schema_name() -> Cow<'static, str> {
        "Charges".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schemars::json_schema!({
            "type": "object",
            "description": "Penalties by name, in the order of the penalty table; their sum is the total.",
            "additionalProperties": {"type": ["number", "null"]}
        })
    }
}

/// One pose with its figures.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PoseEntry {
    /// 1 for the best; left out where nothing was ranked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rank: Option<usize>,
    /// Unit direction of the part that goes down to the bed.
    pub down: [f64; 3],
    /// Rows of the rotation: a posed point is rotation · p + offset.
    pub rotation: [[f64; 3]; 3],
    /// Puts the lowest point at z = 0 and the footprint in the middle of the bed.
    pub offset_mm: [f64; 3],
    /// Build axes along the longest, second and shortest extent of the part (ISO/ASTM 52921).
    pub axes: String,
    /// Poses with equal figures by symmetry, this one included.
    pub equivalent: usize,
    /// No other pose is at least as good on every penalty.
    pub undominated: bool,
    /// Where the pose came from: resting, helped, lattice, refined, loaded or named.
    pub origin: &'static str,
    /// What was measured.
    pub figures: Figures,
    /// Support has to be switched on for this pose.
    pub needs_support: bool,
    /// Penalties by name.
    pub penalties: Charges,
    /// Sum of the penalties; null where a figure has no finite value.
    pub total: Option<f64>,
    /// What keeps the pose from being printed: `does_not_fit`, `no_contact`, `tips`.
    pub gates: Vec<&'static str>,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// The gist of the reasons in one line.
    pub brief: String,
    /// What to do on the machine, in sentences.
    pub precautions: Vec<String>,
    /// The same with figure, value, threshold and source of each rule.
    pub precautions_detail: Vec<Note>,
    /// What keeps it from being a good pose; empty for a good one.
    pub faults: Vec<String>,
    /// What change of the part would help, where no pose is a good one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub design: Vec<Remedy>,
    /// Sections over the height; of the first place and of a measured pose.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub story: Option<Story>,
    /// What a calliper should read.
    pub card: Card,
}

/// Short word for an origin.
pub fn origin_word(origin: Origin) -> &'static str {
    match origin {
        Origin::Resting => "resting",
        Origin::Helped => "helped",
        Origin::Lattice => "lattice",
        Origin::Refined => "refined",
        Origin::Loaded => "loaded",
        Origin::Named => "named",
    }
}

/// Short word for a gate.
pub fn gate_word(gate: &Gate) -> &'static str {
    match gate {
        Gate::DoesNotFit => "does_not_fit",
        Gate::NoContact => "no_contact",
        Gate::Tips => "tips",
    }
}

impl PoseEntry {
    /// The entry of a ranked pose, with its rank.
    pub fn ranked(pose: &RankedPose) -> Self {
        Self {
            rank: Some(pose.rank),
            down: pose.pose.down.into_inner().into(),
            rotation: rows(&pose.pose),
            offset_mm: pose.pose.build_from_part.translation.vector.into(),
            axes: pose.axes.clone(),
            equivalent: pose.equivalent,
            undominated: pose.undominated,
            origin: origin_word(pose.origin),
            figures: pose.figures.clone(),
            needs_support: pose.needs_support,
            penalties: Charges(
                pose.charges
                    .iter()
                    .map(|c| (c.penalty.name(), c.value))
                    .collect(),
            ),
            total: Some(pose.total).filter(|t| t.is_finite()),
            gates: pose.gates.iter().map(gate_word).collect(),
            reasons: pose.reasons.clone(),
            brief: pose.brief.clone(),
            precautions: pose.precautions.iter().map(|n| n.says.clone()).collect(),
            precautions_detail: pose.precautions.clone(),
            faults: pose.faults.clone(),
            design: pose.design.clone(),
            story: pose.story.clone(),
            card: pose.card.clone(),
        }
    }

    /// The entry of a pose that was measured alone: no rank.
    pub fn measured(pose: &RankedPose) -> Self {
        Self {
            rank: None,
            ..Self::ranked(pose)
        }
    }
}

/// What would have to change for the second pose to win.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Margin {
    /// Rank of the runner-up; null with one pose.
    pub runner_up: Option<usize>,
    /// What would make it win, in sentences.
    pub switches_if: Vec<String>,
}

/// Wall-clock time: the only values that differ between two runs.
#[derive(Debug, Clone, Copy, Default, Serialize, JsonSchema)]
pub struct Seconds {
    /// Reading and checking the file.
    pub read: f64,
    /// Finding candidate poses.
    pub candidates: f64,
    /// Measuring and ranking them.
    pub score: f64,
    /// All of it.
    pub total: f64,
}

/// What `advise --json` prints for each part, one line each.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Advice")]
pub struct AdviceReport {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Every value in force.
    pub settings: SettingsInForce,
    /// Candidates looked at.
    pub candidates: Candidates,
    /// Ranked poses, the best first.
    pub poses: Vec<PoseEntry>,
    /// The pose in which the file is, with its rank among all candidates.
    pub as_loaded: PoseEntry,
    /// One or two sentences.
    pub verdict: String,
    /// None of the poses listed is a good one; `design` of the first says what would help.
    pub no_good_pose: bool,
    /// Distance to the runner-up.
    pub margin: Margin,
    /// clear, close or tied.
    pub confidence: &'static str,
    /// The time limit ended the search before it was complete.
    pub cut_short: bool,
    /// Wall-clock time; left out in the records of a library, which are the same on every run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<Seconds>,
}

/// Short word for a confidence.
pub fn confidence_word(confidence: Confidence) -> &'static str {
    match confidence {
        Confidence::Clear => "clear",
        Confidence::Close => "close",
        Confidence::Tied => "tied",
    }
}

impl AdviceReport {
    /// Advice on one part with all that it rests on.
    pub fn new(
        part: PartFacts,
        settings: SettingsInForce,
        advice: &Advice,
        cut_short: bool,
        seconds: Seconds,
    ) -> Self {
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings,
            candidates: Candidates {
                resting: advice.candidates.resting,
                lattice: advice.candidates.lattice,
                refined: advice.candidates.refined,
                fully_scored: advice.candidates.fully_scored,
                unsettled: advice.candidates.unsettled,
            },
            poses: advice.poses.iter().map(PoseEntry::ranked).collect(),
            as_loaded: PoseEntry::ranked(&advice.as_loaded),
            verdict: advice.verdict.clone(),
            no_good_pose: advice.no_good_pose,
            margin: Margin {
                runner_up: advice.runner_up,
                switches_if: advice.switches_if.clone(),
            },
            confidence: confidence_word(advice.confidence),
            cut_short,
            seconds: Some(seconds),
        }
    }
}

/// The part of an [`ErrorReport`]: what is known of a file that gave no answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnreadPart {
    /// Path as given on the command line.
    pub path: String,
    /// SHA-256 of the bytes of the file, hexadecimal; null where there are none.
    pub sha256: Option<String>,
}

/// Why there is no advice on a part.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Refusal {
    /// Exit code of `wayup advise` for this part.
    pub exit: u8,
    /// What is wrong, with its place.
    pub defect: String,
    /// What to do next.
    pub hint: String,
    /// All of it in one line.
    pub text: String,
}

/// What `library` prints in place of an advice for a part that gave none.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Unread")]
pub struct ErrorReport {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The file.
    pub part: UnreadPart,
    /// Why there is no advice.
    pub error: Refusal,
}

impl ErrorReport {
    /// The record of a part without an answer.
    pub fn new(path: String, sha256: Option<String>, exit: u8, defect: &str, hint: &str) -> Self {
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            error: Refusal {
                exit,
                defect: defect.to_string(),
                hint: hint.to_string(),
                text: format!("{path}: {defect}; {hint}"),
            },
            part: UnreadPart { path, sha256 },
        }
    }
}

/// What `measure --json` prints.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Measure")]
pub struct MeasureReport {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Every value in force.
    pub settings: SettingsInForce,
    /// The pose and its figures.
    pub pose: PoseEntry,
    /// Readings of a calliper compared with the part, where they were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<Found>,
}

impl MeasureReport {
    /// One measured pose with all that it rests on.
    pub fn new(
        part: PartFacts,
        settings: SettingsInForce,
        pose: &RankedPose,
        found: Option<Found>,
    ) -> Self {
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings,
            pose: PoseEntry::measured(pose),
            found,
        }
    }
}

/// One connected shell.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BodyRow {
    /// Number of triangles.
    pub triangles: usize,
    /// Volume, negative for a cavity; null for a shell that is not closed.
    pub volume_mm3: Option<f64>,
    /// Whether the shell is closed.
    pub closed: bool,
    /// Lies in another body and faces inward.
    pub cavity: bool,
    /// Faced the wrong way in the file and was turned.
    pub turned: bool,
}

/// What `inspect --json` prints.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Inspect")]
pub struct InspectReport {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Its shells.
    pub bodies: Vec<BodyRow>,
    /// What is wrong with its surface, a row a kind.
    pub defects: Vec<Defect>,
}

impl InspectReport {
    /// A part with its shells and defects.
    pub fn new(part: PartFacts, bodies: &[Body], defects: &[Defect]) -> Self {
        let row = |b: &Body| BodyRow {
            triangles: b.triangles.len(),
            volume_mm3: b.closed.then_some(b.volume_mm3),
            closed: b.closed,
            cavity: b.cavity,
            turned: b.turned,
        };
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            bodies: bodies.iter().map(row).collect(),
            defects: defects.to_vec(),
        }
    }
}

/// What `turn --json` prints.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Turn")]
pub struct TurnReport {
    /// Version of the program.
    pub wayup: &'static str,
    /// Version of this layout.
    pub schema: u32,
    /// The part as read.
    pub part: PartFacts,
    /// Unit direction of the part that goes down to the bed.
    pub down: [f64; 3],
    /// Rows of the rotation: a posed point is rotation · p + offset.
    pub rotation: [[f64; 3]; 3],
    /// Puts the lowest point at z = 0 and the footprint in the middle.
    pub offset_mm: [f64; 3],
    /// Extents along build X, Y, Z.
    pub posed_size_mm: [f64; 3],
    /// The file that was written.
    pub written: String,
}

impl TurnReport {
    /// A part that was written in a pose.
    pub fn new(part: PartFacts, posed: &Posed, written: String) -> Self {
        let [x, y] = posed.footprint_mm();
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            down: posed.pose.down.into_inner().into(),
            rotation: rows(&posed.pose),
            offset_mm: posed.pose.build_from_part.translation.vector.into(),
            posed_size_mm: [x, y, posed.height_mm],
            written,
        }
    }
}

/// The rotation of a pose by rows.
fn rows(pose: &Pose) -> [[f64; 3]; 3] {
    let matrix = pose.rotation();
    [0, 1, 2].map(|r| [0, 1, 2].map(|c| matrix[(r, c)]))
}
