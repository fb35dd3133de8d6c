//! Screw threads: surfaces that wind round an axis.
//!
//! A thread is made of helices of one pitch, and where its surface is cut into facets there are
//! edges along them: both ends as far from the axis, the one further along it by the pitch for each
//! turn between them, whatever the flank looks like. So of each axis that a bore, a boss or a round
//! face suggests the pitches of such edges are laid side by side; where most agree, all round and
//! for more than a turn, it is a thread.

use super::bores::Bore;
use super::regions::Regions;
use crate::mesh::Part;
use nalgebra::{Point3, Unit, Vector3};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Pitches looked for, mm: M2 to a bottle's neck.
const PITCH_MM: [f64; 2] = [0.35, 12.0];
/// A coarser one than this share of the diameter is a worm or a twisted arm.
const COARSEST: f64 = 0.5;
/// A facet whose normal lies along the axis by less than this is a wall, sine of 15°.
const LEAST_ALONG: f64 = 0.26;
/// Pitches within this share are one.
const AGREE: f64 = 0.05;
/// Ends of an edge are as far from the axis to within this share of its length, and turn about it
/// by at least this, radians.
const EVEN: f64 = 0.03;
const LEAST_TURN: f64 = 0.01;
/// Share of what climbs at all that must agree.
const MOST: f64 = 0.6;
/// Share of what agrees that must look either way along the axis.
const EITHER_WAY: f64 = 0.15;
/// Turns at least.
const LEAST_TURNS: f64 = 1.5;
/// Directions round the axis in each of which there is some of it.
const ROUND: usize = 12;
/// Share of the surface from which on a thread is one of the part's purposes (house value).
const LEAST_SHARE: f64 = 0.01;
/// Faces and bores whose axes are looked at.
const FACES: usize = 10;
const BORES: usize = 20;
/// Axes closer than this are one: cosine of 1°, and share of the extent.
const SAME: f64 = 0.999_85;
const SAME_PLACE: f64 = 0.01;

/// A screw thread. Part frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Thread {
    /// Direction of the axis.
    pub axis: Unit<Vector3<f64>>,
    /// Point of the axis half way along.
    pub centre: Point3<f64>,
    /// Over the crests of an outer thread, over the roots of an inner one.
    pub diameter_mm: f64,
    /// Pitch; of several starts the lead.
    pub pitch_mm: f64,
    /// In a hole.
    pub inner: bool,
    /// Area of the flanks, mm².
    pub area_mm2: f64,
    /// How far the flanks go out from the axis, mm.
    pub depth_mm: f64,
    /// Facets of the flanks.
    pub flanks: Vec<u32>,
}

/// A facet that climbs round an axis.
struct Climbing {
    triangle: usize,
    pitch_mm: f64,
    area_mm2: f64,
    /// Of the normal, along and away from the axis.
    along: f64,
    outward: f64,
    /// Where: along the axis, and round it.
    at_mm: f64,
    round: usize,
}

/// Finds threads, largest surface first. O(n) for each of at most thirty axes.
pub(super) fn threads(part: &Part, regions: &Regions, bores: &[Bore]) -> Vec<Thread> {
    let mut axes: Vec<(Unit<Vector3<f64>>, Point3<f64>)> = Vec::new();
    let mut faces: Vec<_> = regions.list.iter().collect();
    faces.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    let of_faces = faces.iter().take(FACES).map(|r| (r.normal, r.centre));
    let of_bores = bores.iter().take(BORES).map(|b| (b.axis, b.centre));
    for (axis, centre) in of_bores.chain(of_faces) {
        if !axes.iter().any(|a| is_same(part, a, &(axis, centre))) {
            axes.push((axis, centre));
        }
    }
    let mut out: Vec<Thread> = (axes.par_iter())
        .filter_map(|axis| about(part, axis))
        .collect();
    out.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    out
}

fn is_same(
    part: &Part,
    a: &(Unit<Vector3<f64>>, Point3<f64>),
    b: &(Unit<Vector3<f64>>, Point3<f64>),
) -> bool {
    let apart = (b.1 - a.1).cross(&a.0).norm();
    a.0.dot(&b.0).abs() > SAME && apart <= SAME_PLACE * part.extent()
}

/// The thread about an axis, if there is one.
fn about(part: &Part, (axis, centre): &(Unit<Vector3<f64>>, Point3<f64>)) -> Option<Thread> {
    let side = axis.cross(&across(axis)).normalize();
    let ahead = axis.cross(&side);
    let polar = |p: &Point3<f64>| {
        let from = p - centre;
        let (x, y) = (from.dot(&side), from.dot(&ahead));
        ([x, y], libm::hypot(x, y), from.dot(axis))
    };
    let turned = |[x, y]: [f64; 2]| libm::atan2(y, x);
    let climbs = |t: usize| -> Option<Climbing> {
        let normal = part.normals[t];
        let along = normal.dot(axis);
        if along.abs() < LEAST_ALONG {
            return None;
        }
        let corners = part.mesh.corners(t);
        let at = corners.map(|p| polar(&p));
        let pitch = |i: usize| {
            let (a, b) = (at[i], at[(i + 1) % 3]);
            let long = (corners[(i + 1) % 3] - corners[i]).norm();
            // Most edges run off: of those no angle is needed.
            if (b.1 - a.1).abs() > EVEN * long {
                return None;
            }
            // The short way round.
            let turn = (turned(b.0) - turned(a.0)) / TAU;
            let turn = TAU * (turn - libm::round(turn));
            let even = turn.abs() >= LEAST_TURN;
            let pitch_mm = TAU * (b.2 - a.2) / turn;
            (even && (PITCH_MM[0]..=PITCH_MM[1]).contains(&pitch_mm.abs())).then_some(pitch_mm)
        };
        let pitch_mm = (0..3).find_map(pitch)?;
        let middle = (corners[0].coords + corners[1].coords + corners[2].coords) / 3.0;
        let (at, _, at_mm) = polar(&Point3::from(middle));
        let turn = turned(at);
        let away = side * libm::cos(turn) + ahead * libm::sin(turn);
        Some(Climbing {
            triangle: t,
            pitch_mm,
            area_mm2: part.areas[t],
            along,
            outward: normal.dot(&away),
            at_mm,
            round: (((turn / TAU + 0.5) * ROUND as f64) as usize).min(ROUND - 1),
        })
    };
    let all: Vec<Climbing> = (0..part.normals.len()).filter_map(climbs).collect();
    let area = |list: &mut dyn Iterator<Item = &Climbing>| list.map(|f| f.area_mm2).sum::<f64>();
    let total = area(&mut all.iter());
    if total < LEAST_SHARE * part.mass.area_mm2 {
        return None;
    }
    let pitch_mm = median(&all, total)?;
    let agree = |f: &&Climbing| (f.pitch_mm - pitch_mm).abs() <= AGREE * pitch_mm.abs();
    let flank: Vec<&Climbing> = all.iter().filter(agree).collect();
    let area_mm2 = area(&mut flank.iter().copied());
    let up = area(&mut flank.iter().copied().filter(|f| f.along > 0.0));
    // Crests outside, roots inside: the corners that lie farthest from the axis.
    let off = |p: &Point3<f64>| (p - centre).cross(axis).norm();
    let corners = flank.iter().flat_map(|f| part.mesh.corners(f.triangle));
    let (narrowest, widest) = corners
        .map(|p| off(&p))
        .fold((f64::INFINITY, 0.0_f64), |(least, most), mm| {
            (least.min(mm), most.max(mm))
        });
    let lowest = flank.iter().map(|f| f.at_mm).fold(f64::INFINITY, f64::min);
    let highest = flank
        .iter()
        .map(|f| f.at_mm)
        .fold(f64::NEG_INFINITY, f64::max);
    let all_round = (0..ROUND).all(|k| flank.iter().any(|f| f.round == k));
    let is_thread = area_mm2 >= MOST * total
        && area_mm2 >= LEAST_SHARE * part.mass.area_mm2
        && up.min(area_mm2 - up) >= EITHER_WAY * area_mm2
        && pitch_mm.abs() <= COARSEST * 2.0 * widest
        && highest - lowest >= LEAST_TURNS * pitch_mm.abs()
        && all_round;
    is_thread.then(|| Thread {
        axis: *axis,
        centre: centre + axis.into_inner() * f64::midpoint(lowest, highest),
        diameter_mm: 2.0 * widest,
        pitch_mm: pitch_mm.abs(),
        inner: flank.iter().map(|f| f.outward * f.area_mm2).sum::<f64>() < 0.0,
        area_mm2,
        depth_mm: widest - narrowest,
        flanks: flank.iter().map(|f| f.triangle as u32).collect(),
    })
}

/// The coordinate axis that lies most across a direction.
fn across(axis: &Unit<Vector3<f64>>) -> Vector3<f64> {
    let mut out = Vector3::zeros();
    out[axis.iamin()] = 1.0;
    out
}

/// The pitch with as much area below it as above.
fn median(all: &[Climbing], total: f64) -> Option<f64> {
    let mut by_pitch: Vec<(f64, f64)> = all.iter().map(|f| (f.pitch_mm, f.area_mm2)).collect();
    by_pitch.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut below = 0.0;
    by_pitch.into_iter().find_map(|(pitch, area)| {
        below += area;
        (below >= total / 2.0).then_some(pitch)
    })
}

#[cfg(test)]
mod tests {
    use crate::features::Features;
    use crate::figures::fixture::part;
    use crate::mesh::Part;
    use nalgebra::Point3;

    /// A bolt of this pitch and radius at the crest, `sides` facets a turn, its flanks at 45°:
    /// rows of points that climb, joined to the next row; no ends.
    fn bolt(pitch: f64, crest: f64, sides: usize, climb: f64) -> Vec<[Point3<f64>; 3]> {
        let (turns, root) = (6, crest - pitch / 2.0);
        let at = |row: usize, k: usize| {
            let turn = k as f64 / sides as f64;
            let (s, c) = libm::sincos(std::f64::consts::TAU * turn);
            let radius = if row % 2 == 0 { root } else { crest };
            let z = pitch * (row as f64 / 2.0 + climb * turn);
            Point3::new(radius * c, radius * s, z)
        };
        let mut soup = Vec::new();
        // Once round the last point of a row is the first of the row two above it.
        for row in 0..2 * turns {
            for k in 0..sides {
                let [a, b] = [at(row, k), at(row, k + 1)];
                let [c, d] = [at(row + 1, k), at(row + 1, k + 1)];
                soup.push([a, b, d]);
                soup.push([a, d, c]);
            }
        }
        soup
    }

    fn found(soup: &[[Point3<f64>; 3]]) -> Vec<super::Thread> {
        let part: Part = part(soup, false);
        // The surface is open at its ends: there is no face to take the axis from.
        let axis = (nalgebra::Vector3::z_axis(), Point3::new(0.0, 0.0, 3.0));
        super::about(&part, &axis).into_iter().collect()
    }

    #[test]
    fn a_thread_has_its_pitch_and_its_diameter_and_rings_are_none() {
        for (pitch, crest, sides) in [(1.5, 5.0, 32), (3.0, 12.0, 64), (4.0, 20.0, 96)] {
            let threads = found(&bolt(pitch, crest, sides, 1.0));
            let [thread] = &threads[..] else {
                panic!("{threads:?}")
            };
            assert!((thread.pitch_mm - pitch).abs() < 1e-6 * pitch, "{thread:?}");
            assert!((thread.diameter_mm - 2.0 * crest).abs() < 1e-9 && !thread.inner);
            assert!((thread.depth_mm - pitch / 2.0).abs() < 1e-9, "{thread:?}");
            assert_eq!(thread.flanks.len(), 4 * 6 * sides);
        }
        assert_eq!(found(&bolt(1.5, 5.0, 32, 0.0)), [], "rings");
        let mut turned = bolt(1.5, 5.0, 32, 1.0);
        for triangle in &mut turned {
            triangle.swap(1, 2);
        }
        assert!(found(&turned)[0].inner);
    }

    #[test]
    fn a_part_without_a_thread_has_none() {
        use crate::figures::fixture::{boxes, lying_hole, part_of};
        let plate = boxes(&[[[0.0; 3], [60.0, 40.0, 8.0]]], &[]);
        for soup in [plate, lying_hole(10.0, 3.0, 60.0, 32)] {
            let part = part_of(&soup);
            assert_eq!(Features::new(&part).threads(&part), []);
        }
    }
}
