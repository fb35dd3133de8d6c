//! What on a part a maker may have a purpose with: bores and bosses, large flats, long members.

use super::kind::PurposeKind;
use crate::features::Bore;
use crate::figures::purpose::is_on_bed;
use crate::figures::quick::Bench;
use crate::rank::search::{Scored, Search};
use crate::words;
use nalgebra::{Point3, Unit, Vector3};

/// Narrower bores and pins are drilled out or do not matter, mm (house value).
const LEAST_ROUND_MM: f64 = 5.0;
/// A surface that goes round by less than this is a fillet or a slot's end, degrees.
const LEAST_TURN_DEG: f64 = 270.0;
/// Length over radius of a boss at least (house value).
const LEAST_BOSS: f64 = 1.0;
/// Axes and sides this near to each other are one, cosine of 1°.
const SAME: f64 = 0.999_85;
/// Diameters within this share are equal.
const EQUAL: f64 = 0.02;
/// A flat is large from this share of the surface …
const LARGE_FLAT: f64 = 0.15;
/// … and from this one where it hangs over or leans in the first pose (house values).
const LEANING_FLAT: f64 = 0.05;
/// A side that is within this of upright or of level does not lean, sine of 2°.
const STRAIGHT: f64 = 0.035;
/// A part this many times as long as wide is a long one, and so is a member (house value).
const LONG: f64 = 3.0;

/// Something that may be wanted.
#[derive(Debug, Clone)]
pub(super) struct Wish {
    /// What kind of thing.
    pub kind: PurposeKind,
    /// What it is about, in words.
    pub what: String,
    /// Where, mm, part frame.
    pub at_mm: [f64; 3],
    /// Axis, side or pull, part frame.
    pub direction: Unit<Vector3<f64>>,
}

/// All that may be wanted of a part and that the first pose does not do anyway; what the
/// settings ask for already is left out.
pub(super) fn wishes(bench: &Bench, search: &Search, first: &Scored) -> Vec<Wish> {
    let mut all = round(bench);
    all.extend(flat(bench, search, first));
    all.extend(pull(bench, first));
    // What symmetry carries onto each other is told once.
    let mut out: Vec<Wish> = Vec::new();
    for wish in all {
        let images = search.images(&wish.direction);
        let same = |told: &Wish, image: &Unit<Vector3<f64>>| match wish.kind {
            PurposeKind::Flat => told.direction.dot(image) > SAME,
            _ => parallel(&told.direction, image),
        };
        let told = |w: &Wish| w.kind == wish.kind && images.iter().any(|i| same(w, i));
        if !out.iter().any(told) {
            out.push(wish);
        }
    }
    out
}

fn parallel(a: &Unit<Vector3<f64>>, b: &Unit<Vector3<f64>>) -> bool {
    a.dot(b).abs() > SAME
}

/// Bores and bosses, one for each direction of axis: the largest.
fn round(bench: &Bench) -> Vec<Wish> {
    let features = &bench.layout.features;
    let scan = features.is_scan();
    let turn_rad = LEAST_TURN_DEG.to_radians();
    let matters = |b: &&Bore| {
        // Short pieces of round bar are links of a bent one.
        let straight = b.hole || b.length_mm >= LEAST_BOSS * b.radius_mm;
        !scan && straight && 2.0 * b.radius_mm >= LEAST_ROUND_MM && b.turn_rad >= turn_rad
    };
    let all: Vec<&Bore> = features.bores.iter().filter(matters).collect();
    let mut told: Vec<Unit<Vector3<f64>>> = bench.settings.round.clone();
    let mut out = Vec::new();
    for bore in &all {
        if told.iter().any(|axis| parallel(axis, &bore.axis)) {
            continue;
        }
        told.push(bore.axis);
        let alike = |b: &&&Bore| {
            let same = (b.radius_mm - bore.radius_mm).abs() <= EQUAL * bore.radius_mm;
            same && b.hole == bore.hole && parallel(&b.axis, &bore.axis)
        };
        let wide = words::length(2.0 * bore.radius_mm);
        let (one, many) = if bore.hole {
            ("bore", "bores")
        } else {
            ("boss", "bosses")
        };
        let what = match all.iter().filter(alike).count() {
            0 | 1 => format!("the {wide} {one}"),
            n => format!("the {n} {many} of {wide}"),
        };
        out.push(Wish {
            kind: PurposeKind::Round,
            what,
            at_mm: bore.centre.coords.into(),
            direction: bore.axis,
        });
    }
    out
}

/// Sides of the part on which it could lie and which the first pose does not print as flat as
/// the bed: large ones, and smaller ones that lean or hang over in it.
fn flat(bench: &Bench, search: &Search, first: &Scored) -> Vec<Wish> {
    let down = &first.candidate.down;
    let images = search.images(down);
    let surface = bench.part.mass.area_mm2;
    let asked = &bench.settings.flat;
    let touch_mm = bench.settings.touch_mm();
    let mut sides: Vec<(Unit<Vector3<f64>>, f64, Point3<f64>)> = Vec::new();
    for region in &bench.layout.features.regions.list {
        if region.area_mm2 < LEANING_FLAT * surface {
            continue;
        }
        // Only what can lie on the bed.
        let reach = (bench.hull().vertices.iter())
            .map(|p| (p - region.centre).dot(&region.normal))
            .fold(0.0, f64::max);
        if reach > touch_mm {
            continue;
        }
        match sides.iter_mut().find(|s| s.0.dot(&region.normal) > SAME) {
            Some(side) => side.1 += region.area_mm2,
            None => sides.push((region.normal, region.area_mm2, region.centre)),
        }
    }
    let wanted = |(side, area_mm2, _): &(Unit<Vector3<f64>>, f64, Point3<f64>)| {
        let up = -side.dot(down);
        let leans = up < -STRAIGHT || (up > STRAIGHT && up < 1.0 - STRAIGHT * STRAIGHT);
        let lies = images.iter().any(|image| is_on_bed(image, side));
        let known = asked.iter().any(|s| s.dot(side) > SAME);
        !lies && !known && (*area_mm2 >= LARGE_FLAT * surface || leans)
    };
    let told = |(side, _, centre): (Unit<Vector3<f64>>, f64, Point3<f64>)| Wish {
        kind: PurposeKind::Flat,
        what: format!("the {}", words::side(&side)),
        at_mm: centre.coords.into(),
        direction: side,
    };
    sides.into_iter().filter(wanted).map(told).collect()
}

/// Directions of pull: along a part that is long, and along what stands slim in the first pose.
fn pull(bench: &Bench, first: &Scored) -> Vec<Wish> {
    if bench.settings.load.is_some() {
        return Vec::new();
    }
    let at_mm: [f64; 3] = bench.part.mass.centroid.coords.into();
    let up = -first.candidate.down;
    let mut out = Vec::new();
    let [x, y] = first.figures.footprint_mm;
    // A part that lies along the bed has its layers along it already.
    if first.figures.height_mm >= LONG * x.max(y) {
        out.push(Wish {
            kind: PurposeKind::Pull,
            what: "it is pulled along its length".into(),
            at_mm,
            direction: up,
        });
    } else if let Some(p) = first.cuts.parting.filter(|p| p.arm_mm >= LONG * p.width_mm) {
        let [wide, tall] = [p.width_mm, p.arm_mm].map(words::length);
        out.push(Wish {
            kind: PurposeKind::Pull,
            what: format!("the member {wide} wide and {tall} high is pulled along its length"),
            at_mm,
            direction: up,
        });
    }
    out
}
