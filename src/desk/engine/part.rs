//! One part on the table, with all that no setting changes.

use super::surface::{self, FacetMarks};
use crate::figures::depends::{Bits, Depends};
use crate::figures::quick::{Bench, Layout};
use crate::figures::sliced::Sliced;
use crate::plane::rect;
use crate::pose::{Pose, standing};
use crate::rank::known::Known;
use crate::session::config::Resolved;
use crate::session::exit::Failure;
use crate::session::intake::Intake;
use crate::settings::Settings;
use crate::settings::triple::unit;
use crate::sync::held;
use nalgebra::{Unit, Vector3};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// Facets of the hull that are looked at, largest first.
const FACETS: usize = 400;
/// Small figures kept at most.
const PICTURES: usize = 64;
/// Poses of which the marks are kept at most.
const MARKS: usize = 8;
/// Directions closer than this are one that was rounded on the way.
const SAME: f64 = 1e-10;

/// The direction of its components in six decimals: 0.0001° off at most.
fn rounded(down: Direction) -> Direction {
    unit(six_decimals(&down)).unwrap_or(down)
}

/// Components to print: in six decimals where those, read again, are the very same direction.
pub fn printed(down: &Direction) -> [f64; 3] {
    let short = six_decimals(down);
    if unit(short) == Some(*down) {
        short
    } else {
        [down.x, down.y, down.z]
    }
}

fn six_decimals(down: &Direction) -> [f64; 3] {
    // Adding 0 takes the sign off a zero.
    [down.x, down.y, down.z].map(|c| (c * 1e6).round() / 1e6 + 0.0)
}

/// A direction that, printed and read again, is the very same: making it a unit once more
/// may move its last bit.
pub fn settled(down: Direction) -> Direction {
    let mut found = down;
    for _ in 0..8 {
        match unit([found.x, found.y, found.z]) {
            Some(next) if next != found => found = next,
            _ => break,
        }
    }
    found
}

/// A part that was opened.
pub struct DeskPart {
    /// Its number on this table.
    pub id: u64,
    /// The part, what is said of it, and how its file was read.
    pub intake: Intake,
    /// Units that the person named, over what the file says.
    pub units_given: bool,
    /// Settings before the page changes any.
    pub base: Resolved,
    /// Hull and look-ups.
    pub layout: Arc<Layout>,
    /// Symmetry, holds for a calliper, and poses measured so far.
    pub known: Arc<Known>,
    /// Outward directions of the largest facets of the hull.
    pub facets: Vec<Direction>,
    /// Those on which the part stands by itself.
    pub rests: Vec<Direction>,
    /// It was taken off the table.
    closed: AtomicBool,
    /// Settings of the last advice that was asked for.
    in_force: Mutex<Settings>,
    /// Directions of the ranking last shown.
    ranked: Mutex<Vec<Direction>>,
    /// Small figures drawn so far, by the bits of their directions, the oldest first.
    pictures: Recent<Direction, Arc<str>>,
    /// Marks made so far, by direction and what they depend on, the oldest first.
    marks: Recent<(Direction, Bits), FacetMarks>,
}

/// What was made last, by what it was made of.
struct Recent<K, V> {
    most: usize,
    kept: Mutex<Vec<(K, V)>>,
}

impl<K: PartialEq, V: Clone> Recent<K, V> {
    fn new(most: usize) -> Self {
        Self {
            most,
            kept: Mutex::default(),
        }
    }

    /// The value of a key: kept, or made now without holding others up.
    fn get(&self, key: K, make: impl FnOnce() -> V) -> V {
        if let Some((_, value)) = held(&self.kept).iter().find(|(k, _)| *k == key) {
            return value.clone();
        }
        let value = make();
        let mut kept = held(&self.kept);
        kept.push((key, value.clone()));
        if kept.len() > self.most {
            kept.remove(0);
        }
        value
    }
}

/// A direction of the part's own frame.
pub type Direction = Unit<Vector3<f64>>;

impl DeskPart {
    /// Lays a part out that has been read.
    ///
    /// # Errors
    /// It has no hull, such as points on one line, or is too large to be cut into layers.
    pub fn new(
        id: u64,
        intake: Intake,
        units_given: bool,
        base: Resolved,
    ) -> Result<Self, Failure> {
        let layout = intake.bench(&base.settings)?.layout;
        let known = Arc::new(Known::remembering(&intake.part, &layout));
        let standing = standing(&layout.hull, &intake.part.mass.centroid, FACETS);
        let rests = standing.iter().filter(|r| r.stands);
        Ok(Self {
            id,
            rests: rests.map(|r| r.down).collect(),
            facets: standing.iter().map(|r| r.down).collect(),
            units_given,
            closed: AtomicBool::new(false),
            in_force: Mutex::new(base.settings.clone()),
            ranked: Mutex::default(),
            pictures: Recent::new(PICTURES),
            marks: Recent::new(MARKS),
            intake,
            base,
            layout,
            known,
        })
    }

    /// The part laid out under some settings.
    pub fn bench<'a>(&'a self, settings: &'a Settings) -> Bench<'a> {
        Bench::on(&self.intake.part, settings, &self.layout)
    }

    /// Ends all work on the part: nobody looks at it any more.
    pub fn close(&self) {
        self.closed.store(true, Ordering::Relaxed);
    }

    /// Whether work on the part is to end.
    pub fn is_closed(&self) -> bool {
        self.closed.load(Ordering::Relaxed)
    }

    /// Settings of the last advice that was asked for.
    pub fn in_force(&self) -> Settings {
        held(&self.in_force).clone()
    }

    /// Notes the settings of an advice that is asked for.
    pub fn put_in_force(&self, settings: &Settings) {
        held(&self.in_force).clone_from(settings);
    }

    /// Notes the directions of a ranking that is shown.
    pub fn put_ranked(&self, ranked: &[Direction]) {
        *held(&self.ranked) = ranked.to_vec();
    }

    /// The direction that the page means: one that it was told, with all its digits, where
    /// it sends back the rounded one; else one that is printed in few digits.
    pub fn exact(&self, down: Direction) -> Direction {
        let ranked = held(&self.ranked);
        let mut told = ranked.iter().chain(&self.facets).map(|d| settled(*d));
        told.find(|d| (d.into_inner() - down.into_inner()).norm() < SAME)
            .unwrap_or_else(|| rounded(down))
    }

    /// The small figure of a direction: kept, or drawn now.
    pub fn picture(&self, down: &Direction, draw: impl FnOnce() -> String) -> Arc<str> {
        self.pictures.get(*down, || draw().into())
    }

    /// How far a pose is turned about the vertical where it fits the bed only so, degrees.
    pub fn yaw_deg(&self, down: &Direction, settings: &Settings) -> Option<f64> {
        let [x, y, _] = settings.bed_mm;
        let [a, b, c] = self.intake.facts.size_mm;
        if a * a + b * b + c * c <= x.min(y).powi(2) {
            // Fits at any yaw, whichever way up.
            return None;
        }
        let points = &self.layout.hull.vertices;
        let shadow = rect::hull2d(&Pose::new(down, points).shadow(points));
        rect::fits_at_some_yaw(&shadow, x, y)
            .filter(|yaw| *yaw != 0.0)
            .map(f64::to_degrees)
    }

    /// What each facet means in a pose with this direction down: kept, or found now.
    pub fn marks(&self, down: &Direction, sliced: &Sliced) -> FacetMarks {
        let bits = Depends::on(sliced.settings()).hanging;
        self.marks.get((*down, bits), || surface::marks(sliced))
    }

    /// File name without folder and ending, for what is taken away.
    pub fn stem(&self) -> String {
        Path::new(&self.intake.facts.path)
            .file_stem()
            .map_or_else(|| "part".into(), |s| s.to_string_lossy().into_owned())
    }
}
