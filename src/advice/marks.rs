//! What support touches: the largest face that it holds, and the side of the part that it marks.

use crate::features::Size;
use crate::figures::bridges::Spanning;
use crate::figures::low::low_slope_mm;
use crate::figures::quick::Bench;
use crate::figures::subdivide::mean;
use crate::plane::rect;
use crate::pose::{Pose, Posed};
use crate::words;
use nalgebra::{Unit, Vector3, center};
use std::collections::BTreeMap;

/// Facets that are looked at.
const MOST_LOOKS: usize = 4000;
/// Share of the marks that lie on one side and are seen from there, from which on the side is
/// named (house value).
const MOSTLY: f64 = 0.9;
/// How a place on the underside begins.
pub(super) const UNDERNEATH: &str = "underneath";
/// A side that looks down within 30° is the underside, cosine.
pub(super) const UNDER_COS: f64 = 0.866;

/// Triangles are looked at in pieces this wide, mm, at most so many along a side.
const LOOK_MM: f64 = 1.0;
const MOST_SPLITS: usize = 24;

/// A face from this size on is worth naming, mm², if it is this share of all that is held (house
/// values).
const FACE_MM2: f64 = 50.0;
const FACE_SHARE: f64 = 0.5;
/// Faces are level, and at one height, to this, mm.
const LEVEL_MM: f64 = 0.1;
/// Faces down to this share of the largest may be like it.
const ALIKE: f64 = 0.99;

/// What support touches in a pose.
#[derive(Debug, Default)]
pub(crate) struct Touched {
    /// Where it leaves its marks, to stand behind "marks the part": the side of the file that
    /// nearly all of them lie on, where nothing of the part stands before them.
    pub marks: Option<String>,
    /// The plane face that makes up most of what it holds.
    pub face: Option<HeldFace>,
    /// From where to where all that it holds lies above the bed, mm.
    pub z_mm: Option<[f64; 2]>,
    /// Plan area of what it holds that has more of the part straight below it, mm², sampled.
    pub stood_on_mm2: f64,
}

/// A plane face that hangs over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct HeldFace {
    /// How many there are like it, itself among them.
    pub count: usize,
    /// Whether it is cut up: several at one height, of different sizes, told together.
    pub cut_up: bool,
    /// Area of one beyond the overhang limit, mm².
    pub area_mm2: f64,
    /// Angle from the vertical, degrees: 90 of a ceiling.
    pub leans_deg: f64,
    /// Its lowest and its highest point above the bed, mm.
    pub z_mm: [f64; 2],
}

impl HeldFace {
    /// Whether another of about its area hangs over at the same height and slope.
    fn is_like(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64, by: f64| (a - b).abs() <= by;
        near(self.leans_deg, other.leans_deg, 1.0)
            && (self.z_mm.iter().zip(&other.z_mm)).all(|(a, b)| near(*a, *b, 0.1))
    }
}

/// What support touches, where it is on; `stands` says whether any of it stands on the part.
pub(super) fn touched(bench: &Bench, pose: &Pose, spanning: &Spanning, stands: bool) -> Touched {
    let (part, settings) = (bench.part, bench.settings);
    let posed = Posed::new(part, pose.clone());
    let (sine, low_mm) = (settings.overhang_sin(), low_slope_mm(settings));
    let middle = |t: usize| {
        let [a, b, c] = posed.corners(t);
        center(&a, &center(&b, &c))
    };
    let marked = |t: &usize| {
        let p = middle(*t);
        -posed.normal_z[*t] > sine
            && p.z > low_mm
            && bench.size(*t) != Size::Small
            && !spanning.carried.carried(p.x, p.y, p.z)
    };
    let all: Vec<usize> = (0..part.mesh.triangles.len()).filter(marked).collect();
    Touched {
        marks: marks(bench, pose, &all),
        face: face(bench, &posed, &all),
        z_mm: (!all.is_empty()).then(|| {
            let (low, high) = heights(&posed, &all);
            [low, high]
        }),
        stood_on_mm2: if stands {
            stood_on_mm2(bench, &posed, &all, spanning)
        } else {
            0.0
        },
    }
}

/// Plan area of facets with more of the part straight below, mm²: what bridges the short way needs none.
fn stood_on_mm2(bench: &Bench, posed: &Posed, held: &[usize], spanning: &Spanning) -> f64 {
    let step = held.len().div_ceil(MOST_LOOKS).max(1);
    let part_from_build = posed.pose.build_from_part.inverse();
    let (mut stood, mut whole, mut looked) = (0.0, 0.0, 0.0);
    let plan = |t: usize| bench.part.areas[t] * -posed.normal_z[t];
    for (k, &t) in held.iter().enumerate() {
        whole += plan(t);
        if k % step != 0 {
            continue;
        }
        looked += plan(t);
        stood += plan(t)
            * mean(&posed.corners(t), LOOK_MM, MOST_SPLITS, |p| {
                let from = part_from_build * p;
                let stands = !spanning.across.carried(p.x, p.y, p.z)
                    && bench.void_below(&from, &posed.pose.down).is_some();
                f64::from(u8::from(stands))
            });
    }
    stood * whole / looked.max(f64::MIN_POSITIVE)
}

/// The lowest and the highest corner of facets, mm.
fn heights(posed: &Posed, facets: &[usize]) -> (f64, f64) {
    rect::span(facets.iter().flat_map(|&t| posed.corners(t)).map(|p| p.z))
}

/// The face that makes up most of the facets that are held, with those like it.
fn face(bench: &Bench, posed: &Posed, held: &[usize]) -> Option<HeldFace> {
    let (areas, region) = (&bench.part.areas, &bench.layout.features.regions.of);
    let mut faces: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for &t in held {
        faces.entry(region[t]).or_default().push(t);
    }
    let area = |face: &[usize]| face.iter().map(|&t| areas[t]).sum::<f64>();
    let largest = (faces.values().map(|f| area(f))).fold(0.0, f64::max);
    let large = (faces.values()).filter(|f| area(f) > ALIKE * largest);
    let mut large = large.map(|own| {
        let (low, high) = heights(posed, own);
        let down: f64 = own.iter().map(|&t| -posed.normal_z[t] * areas[t]).sum();
        HeldFace {
            count: 1,
            cut_up: false,
            area_mm2: area(own),
            leans_deg: libm::asin((down / area(own)).min(1.0)).to_degrees(),
            z_mm: [low, high],
        }
    });
    let first = large.next()?;
    let like = large.filter(|other| other.is_like(&first)).count();
    let count = 1 + like;
    let all_mm2 = first.area_mm2 * count as f64;
    let all = area(held);
    if first.area_mm2 >= FACE_MM2 && all_mm2 >= FACE_SHARE * all {
        return Some(HeldFace { count, ..first });
    }
    // A ceiling that walls cut up is one.
    let mut levels: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    for own in faces.values() {
        let (low, high) = heights(posed, own);
        if high - low <= LEVEL_MM {
            let level = levels.entry((low / LEVEL_MM).round() as i64).or_default();
            level.extend(own);
        }
    }
    let widest = levels
        .into_values()
        .max_by(|a, b| area(a).total_cmp(&area(b)))?;
    let (low, high) = heights(posed, &widest);
    let area_mm2 = area(&widest);
    (area_mm2 >= FACE_MM2 && area_mm2 >= FACE_SHARE * all).then_some(HeldFace {
        count: 1,
        cut_up: true,
        area_mm2,
        leans_deg: 90.0,
        z_mm: [low, high],
    })
}

fn marks(bench: &Bench, pose: &Pose, all: &[usize]) -> Option<String> {
    let part = bench.part;
    let step = all.len().div_ceil(MOST_LOOKS).max(1);
    // Area that is seen by the side it looks to: −X, +X and so on.
    let (mut seen, mut whole) = ([0.0; 6], 0.0);
    for &t in all.iter().step_by(step) {
        let normal = Unit::new_unchecked(part.normals[t]);
        whole += part.areas[t];
        let [a, b, c] = part.mesh.corners(t);
        // Off the middle, so that a symmetrical part is not hit on an edge.
        let from = nalgebra::Point3::from(a.coords * 0.37 + b.coords * 0.36 + c.coords * 0.27);
        if bench.void_below(&from, &normal).is_none() {
            let axis = normal.iamax();
            seen[2 * axis + usize::from(normal[axis] > 0.0)] += part.areas[t];
        }
    }
    let most = (0..6).max_by(|a, b| seen[*a].total_cmp(&seen[*b]).then(b.cmp(a)))?;
    if whole <= 0.0 || seen[most] < MOSTLY * whole {
        return None;
    }
    let mut side = Vector3::zeros();
    side[most / 2] = if most % 2 == 1 { 1.0 } else { -1.0 };
    let side = Unit::new_unchecked(side);
    let named = words::side(&side);
    Some(if side.dot(&pose.down) >= UNDER_COS {
        format!("{UNDERNEATH} ({named})")
    } else {
        format!("on the {named}")
    })
}
