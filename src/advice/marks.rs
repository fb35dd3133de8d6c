//! What support touches: the places that it holds, and the side of the part that it marks.

use crate::advice::spans;
use crate::advice::support::{all_too_long, free_ledge_mm, islands, ledge_mm};
use crate::figures::bridges::Spanning;
use crate::figures::held::{HeldPlace, Shape, places};
use crate::figures::quick::Bench;
use crate::figures::{Bridge, Figures};
use crate::pose::{Pose, Posed};
use crate::settings::Settings;
use crate::words;
use nalgebra::{Unit, Vector3};
use std::collections::BTreeMap;

/// Facets that are looked at.
const MOST_LOOKS: usize = 4000;
/// Share of the marks that lie on one side and are seen from there, from which on the side is
/// named (house value).
const MOSTLY: f64 = 0.9;
/// A side that looks down within 30° is the underside, cosine.
pub(super) const UNDER_COS: f64 = 0.866;
/// Less of the overhang than this is no place of its own, mm² (house value).
const LEAST_MM2: f64 = 1.0;

/// What support touches in a pose.
#[derive(Debug, Default)]
pub(crate) struct Touched {
    /// Where it leaves its marks, to stand behind "marks the part": the side of the file that
    /// nearly all of them lie on, where nothing of the part stands before them; none where that is
    /// the underside.
    pub marks: Option<String>,
    /// The places that it is needed for, that with the most room below first.
    pub needed: Vec<Held>,
    /// The places that print by themselves, though they lean beyond the limit.
    pub gentle: Vec<HeldPlace>,
    /// What begins in the air, hangs from one end or spans too far, and is in no place.
    pub lone: Vec<Single>,
}

/// A place that support is needed for.
#[derive(Debug)]
pub(crate) struct Held {
    /// The place.
    pub place: HeldPlace,
    /// What is in it.
    pub with: Vec<Single>,
}

/// What makes support needed by itself.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Single {
    /// What it is.
    pub what: Cause,
    /// Where, mm above the bed.
    pub z_mm: f64,
}

/// One of the three that need something below them, whatever their area.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cause {
    /// A piece that begins in the air.
    Island,
    /// A piece held on one side, with its reach, mm.
    Cantilever(f64),
    /// A bridge beyond the limit, with what is said of it.
    Span(String),
}

/// What support touches, where it is on.
pub(super) fn touched(bench: &Bench, pose: &Pose, spanning: &Spanning, f: &Figures) -> Touched {
    let posed = Posed::new(bench.part, pose.clone());
    let mut all = places(bench, &posed, spanning);
    all.retain(|p| p.area_mm2 >= LEAST_MM2);
    let mut with: Vec<Vec<Single>> = all.iter().map(|_| Vec::new()).collect();
    let mut lone = Vec::new();
    // Thousands may begin at one height.
    let mut islands_at: BTreeMap<u64, Option<usize>> = BTreeMap::new();
    for single in singles(f, bench.settings) {
        let find = || best(&all, &single, bench.settings);
        let at = if single.what == Cause::Island {
            *(islands_at.entry(single.z_mm.to_bits())).or_insert_with(find)
        } else {
            find()
        };
        match at {
            Some(k) => with[k].push(single),
            None => lone.push(single),
        }
    }
    let (mut needed, mut gentle) = (Vec::new(), Vec::new());
    for (place, with) in all.into_iter().zip(with) {
        if place.is_gentle && with.is_empty() {
            gentle.push(place);
        } else {
            needed.push(Held { place, with });
        }
    }
    // It is on for something.
    if needed.is_empty() && lone.is_empty() {
        let with = |place| Held {
            place,
            with: Vec::new(),
        };
        needed.extend(gentle.drain(..).map(with));
    }
    let facets: Vec<usize> = (needed.iter().flat_map(|h| &h.place.facets))
        .copied()
        .collect();
    Touched {
        marks: marks(bench, pose, &facets),
        needed,
        gentle,
        lone,
    }
}

/// What begins in the air, hangs from one end or spans too far; of the spans the longest.
pub(super) fn singles(f: &Figures, settings: &Settings) -> Vec<Single> {
    let island = |z_mm| Single {
        what: Cause::Island,
        z_mm,
    };
    let mut out: Vec<Single> = islands(f, settings).map(|i| island(i.z_mm)).collect();
    let reach_mm = ledge_mm(f);
    if let Some(z_mm) = f.ledge_high_z_mm.filter(|_| reach_mm > free_ledge_mm(f)) {
        out.push(Single {
            what: Cause::Cantilever(reach_mm),
            z_mm,
        });
    }
    let long: Vec<Bridge> = all_too_long(f, settings).collect();
    if let Some(bridge) = spans::longest(&long) {
        out.push(Single {
            what: Cause::Span(spans::along(bridge, f)),
            z_mm: bridge.z_mm,
        });
    }
    out
}

/// The place that something at a height belongs to: an island is where one begins.
fn best(places: &[HeldPlace], single: &Single, settings: &Settings) -> Option<usize> {
    let (near, z) = (2.0 * settings.layer_mm, single.z_mm);
    let begins = |p: &HeldPlace| (p.z_mm[0] - z).abs() <= near;
    let within = |p: &HeldPlace| z >= p.z_mm[0] - near && z <= p.z_mm[1] + near;
    let level = |p: &HeldPlace| p.shape == Shape::Ceiling && within(p);
    let steps: [&dyn Fn(&HeldPlace) -> bool; 2] = match single.what {
        Cause::Island => [&begins, &within],
        _ => [&level, &within],
    };
    (steps.iter()).find_map(|fits| {
        let fitting = (0..places.len()).filter(|&k| fits(&places[k]));
        fitting.reduce(|a, b| {
            let larger = places[b].area_mm2 > places[a].area_mm2;
            if larger { b } else { a }
        })
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
    // That it marks what it holds from below goes without saying.
    (side.dot(&pose.down) < UNDER_COS).then(|| format!("on the {named}"))
}
