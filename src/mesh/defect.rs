//! What is wrong with a surface: a closed list, each entry with a place and a consequence.

use crate::words::decimal;
use nalgebra::Point3;
use serde::Serialize;

/// A kind of defect of a surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DefectKind {
    /// Edges of one triangle only.
    OpenEdges,
    /// Edges of three or more triangles.
    NonManifoldEdges,
    /// Edges whose two triangles cannot be made to agree on a side (a one-sided surface).
    OneSidedEdges,
    /// Edges that met only within the precision of the file and were joined.
    JoinedEdges,
    /// Triangles that ran against their neighbours and were turned.
    FlippedFaces,
    /// Triangles without area.
    ZeroAreaFaces,
    /// Triangles that were there already.
    DuplicateFaces,
    /// Bodies that faced inward and were turned.
    InsideOutBodies,
    /// Bodies inside the material of another body.
    BodiesInsideBodies,
    /// Places where a surface runs through itself or two bodies share material.
    SelfOverlap,
}

impl DefectKind {
    /// What it is, for a table: a plural noun phrase.
    pub fn words(self) -> &'static str {
        self.row().0
    }

    /// What it does to the advice.
    pub fn consequence(self) -> &'static str {
        self.row().1
    }

    // A table: a line each.
    #[rustfmt::skip]
    fn row(self) -> (&'static str, &'static str) {
        match self {
            Self::OpenEdges => ("open edges", "the surface does not close: volume, sections and support are estimates"),
            Self::NonManifoldEdges => ("edges of three or more faces", "bodies touch along an edge; harmless where the surface closes on both sides of it"),
            Self::OneSidedEdges => ("edges of a one-sided surface", "which side is inside is not clear there"),
            Self::JoinedEdges => ("edges joined within the file's precision", "harmless: the gaps were smaller than the precision of the file"),
            Self::FlippedFaces => ("flipped faces", "harmless: turned to agree with their neighbours"),
            Self::ZeroAreaFaces => ("zero-area faces", "harmless: they print nothing"),
            Self::DuplicateFaces => ("duplicate faces", "harmless: counted once"),
            Self::InsideOutBodies => ("inside-out bodies", "harmless: turned to face outward"),
            Self::BodiesInsideBodies => ("bodies inside bodies", "none: shared material counts once in sections; volume counts it twice"),
            Self::SelfOverlap => ("overlapping places", "shared material counts once in sections; volume counts it twice"),
        }
    }
}

/// Defects of one kind.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Defect {
    /// What kind.
    pub kind: DefectKind,
    /// How many; for [`DefectKind::SelfOverlap`] of the sampled lines.
    pub count: u64,
    /// Where one of them is, part frame, mm.
    #[serde(serialize_with = "as_array")]
    #[schemars(with = "[f64; 3]")]
    pub at: Point3<f64>,
    /// What it does to the advice.
    pub says: &'static str,
}

impl Defect {
    pub(crate) fn new(kind: DefectKind, count: u64, at: Point3<f64>) -> Self {
        Self {
            kind,
            count,
            at,
            says: kind.consequence(),
        }
    }

    /// What, how many, where, and what it does to the advice, as a sentence.
    pub fn sentence(&self) -> String {
        let [x, y, z] = [self.at.x, self.at.y, self.at.z].map(|c| decimal(c, 3));
        let place = if self.count == 1 { "at" } else { "one at" };
        let what = self.kind.words();
        format!(
            "{what}: {}, {place} ({x}, {y}, {z}); {}.",
            self.count, self.says
        )
    }

    /// Whether it leaves the advice in doubt, rather than being mended without a trace.
    pub fn matters(&self) -> bool {
        matches!(
            self.kind,
            DefectKind::OpenEdges
                | DefectKind::NonManifoldEdges
                | DefectKind::OneSidedEdges
                | DefectKind::SelfOverlap
        )
    }
}

fn as_array<S: serde::Serializer>(p: &Point3<f64>, serializer: S) -> Result<S::Ok, S::Error> {
    [p.x, p.y, p.z].serialize(serializer)
}

/// How many of a kind were found, and the first of them.
#[derive(Debug)]
pub(crate) struct Tally<T> {
    pub(crate) count: u64,
    pub(crate) first: Option<T>,
}

impl<T> Default for Tally<T> {
    fn default() -> Self {
        let (count, first) = (0, None);
        Self { count, first }
    }
}

impl<T> Tally<T> {
    pub(crate) fn add(&mut self, found: impl FnOnce() -> T) {
        self.count += 1;
        self.first.get_or_insert_with(found);
    }
}

/// Defects of one kind, and where the first is.
pub(crate) type DefectTally = Tally<Point3<f64>>;

impl DefectTally {
    /// Adds what another tally has counted.
    pub(crate) fn append(&mut self, other: &Self) {
        self.count += other.count;
        self.first = self.first.or(other.first);
    }

    /// The defect, unless nothing was counted.
    pub(crate) fn defect(&self, kind: DefectKind) -> Option<Defect> {
        self.first.map(|at| Defect::new(kind, self.count, at))
    }
}
