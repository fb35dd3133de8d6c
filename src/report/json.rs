//! The JSON of every command: structs in the order of their keys.
//!
//! Angles are degrees, lengths millimetres; units are in the names. Numbers are
//! rounded to seven significant digits (rotation, offset and direction: twelve),
//! so that the same part gives the same bytes on every machine. A figure that has
//! no finite value is `null`.

mod in_force;

pub use in_force::{PenaltyRow, PrecautionRule, SettingsInForce};

use crate::advice::{Advice, RankedPose};
use crate::gauge::readings::ReadingAnalysis;
use crate::mesh::{Body, Defect, Part};
use crate::pose::{Placement, Pose, Posed};
use schemars::JsonSchema;
use serde::Serialize;

/// Version of the layout below. It rises when a key is renamed, removed or
/// changes its meaning; new keys leave it as it is.
pub const SCHEMA_VERSION: u32 = 2;

/// The part as it was read, all in its own frame.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
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

impl PartFacts {
    /// A part with what is wrong with its surface after the notes on the file, without
    /// where it came from.
    pub fn new(part: &Part, defects: &[Defect], notes: Vec<String>) -> Self {
        let matter = defects.iter().filter(|d| d.matters());
        Self {
            triangles: part.mesh.triangles.len(),
            bodies: part.bodies.len(),
            closed: part.closed,
            size_mm: (part.mesh.bounds()).map_or([0.0; 3], |(lo, hi)| (hi - lo).into()),
            volume_mm3: part.closed.then_some(part.mass.volume_mm3),
            area_mm2: part.mass.area_mm2,
            centroid_mm: part.mass.centroid.coords.into(),
            inertia_mm5: [0, 1, 2].map(|r| [0, 1, 2].map(|c| part.mass.inertia_mm5[(r, c)])),
            notes: notes
                .into_iter()
                .chain(matter.map(Defect::sentence))
                .collect(),
            ..Self::default()
        }
    }
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
    /// What was found.
    #[serde(flatten)]
    pub advice: Advice,
    /// The time limit ended the search before it was complete.
    pub cut_short: bool,
    /// Wall-clock time; left out in the records of a library, which are the same on every run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<Seconds>,
}

impl AdviceReport {
    /// Advice on one part with all that it rests on.
    pub fn new(
        part: PartFacts,
        settings: SettingsInForce,
        advice: Advice,
        cut_short: bool,
        seconds: Seconds,
    ) -> Self {
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings,
            advice,
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

/// What `library` prints in place of advice for a part that gave none.
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
    pub pose: RankedPose,
    /// Readings of a calliper compared with the part, where they were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub readings: Option<ReadingAnalysis>,
}

impl MeasureReport {
    /// One measured pose with all that it rests on.
    pub fn new(
        part: PartFacts,
        settings: SettingsInForce,
        pose: RankedPose,
        readings: Option<ReadingAnalysis>,
    ) -> Self {
        Self {
            wayup: env!("CARGO_PKG_VERSION"),
            schema: SCHEMA_VERSION,
            part,
            settings,
            pose,
            readings,
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
    /// Its pose.
    #[serde(flatten)]
    #[schemars(with = "Placement")]
    pub pose: Pose,
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
            pose: posed.pose.clone(),
            posed_size_mm: [x, y, posed.height_mm],
            written,
        }
    }
}
