//! What support holds, place by place: overhang that nothing carries, joined where it runs on.

use super::below::Below;
use super::bridges::Spanning;
use super::join::Join;
use super::quick::Bench;
use super::spared::{gentle_deg, low_over_bed_mm, slit_mm};
use super::subdivide::means;
use super::support_need::FREE_LEDGE_MM;
use crate::features::Size;
use crate::mesh::NO_NEIGHBOUR;
use crate::plane::rect;
use crate::pose::Posed;
use crate::settings::Settings;
use crate::tol;
use nalgebra::{Point3, Unit, Vector3, center};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Facets are looked at in pieces this wide, mm, at most so many along a side.
const LOOK_MM: f64 = 1.0;
const MOST_SPLITS: usize = 24;
/// Of more facets than this only some are asked what is below them.
const MOST_LOOKS: usize = 20_000;
/// A face runs on over an edge that turns less than this, degrees (house value).
const RUNS_ON_DEG: f64 = 25.0;
/// A ceiling is level, and places are at one height, to this, mm.
const LEVEL_MM: f64 = 0.2;
/// Places down to this share of the largest are alike.
const ALIKE: f64 = 0.9;
/// A place of which this share is level is a ceiling, whatever runs off its edges (house value).
const MOSTLY: f64 = 0.8;
/// From this lean on a facet is one, degrees.
const CEILING_DEG: f64 = 85.0;
/// A place that leans so evenly, degrees, is a plane face.
const PLANE_DEG: f64 = 3.0;
/// A face is told whole where bridges carry no more of it than to leave this share (house value).
const WHOLE: f64 = 0.4;
/// Limits for support are set in steps of so many degrees.
const LIMIT_STEP_DEG: f64 = 5.0;
/// Facets of so small a share of a place do not tell how far it leans (house value): the last one where a face
/// runs out.
const STRAY: f64 = 0.02;
/// What leans further than this is no slope, degrees …
const STEEPEST_DEG: f64 = 60.5;
/// … and one that reaches out no further than this prints by itself, mm.
const REACH_MM: f64 = FREE_LEDGE_MM;
/// Ways aside are turned off the axes by this, so that none runs along a wall, radians.
const OFF_RAD: f64 = 0.1;
/// The room below a facet is walled in where this many of eight ways aside meet the part …
const WALLED: usize = 7;
/// … no further off than so many times the side of a square as large as the place (house value) …
const FAR: f64 = 1.5;
/// … as is asked of so many facets of a place, the largest …
const MOST_ASKED: usize = 40;
/// … and of so many places.
const MOST_INSIDE: usize = 5;

/// What a place looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    /// Level.
    Ceiling,
    /// Plane, at this angle from the vertical, degrees.
    Slope(f64),
    /// The roof of a hole of this diameter that lies, mm.
    Roof(f64),
    /// None of these.
    Curved,
}

/// Overhang in one piece that support would hold, with what is at the same heights.
#[derive(Debug, Clone)]
pub(crate) struct HeldPlace {
    /// How many pieces there are.
    pub count: usize,
    /// Whether these are of one size.
    pub alike: bool,
    /// What it looks like.
    pub shape: Shape,
    /// Area of all of them that nothing carries, mm².
    pub area_mm2: f64,
    /// Area of the whole faces, mm²; that which nothing carries where it is a small part of these.
    pub face_mm2: f64,
    /// Void below, mm³, sampled.
    pub room_mm3: f64,
    /// Plan area with more of the part straight below, mm², sampled.
    pub stood_on_mm2: f64,
    /// The lowest and the highest point, mm above the bed; of a ceiling its level.
    pub z_mm: [f64; 2],
    /// Lean of what leans most, degrees from the vertical.
    pub most_lean_deg: f64,
    /// Area that nothing carries and that leans so little beyond the limit that it prints by itself, mm².
    pub gentle_mm2: f64,
    /// Whether nearly all of it leans so little beyond the limit that it prints by itself.
    pub is_gentle: bool,
    /// Whether the room below is walled in by the part; asked of those with the most room.
    pub is_inside: bool,
    /// Its facets.
    pub facets: Vec<usize>,
}

/// What is asked of one facet.
struct Look {
    facet: usize,
    /// Area that nothing carries, mm².
    area_mm2: f64,
    /// Void below, mm³, and plan area with the part below it, mm²; none where that was not asked.
    below: Option<[f64; 2]>,
}

/// The places of a pose, that with the most room below first.
///
/// Overhang that is small, low over the bed, carried by a bridge within the limit or over a slit that
/// no support fits in is none.
pub(crate) fn places(bench: &Bench, posed: &Posed, spanning: &Spanning) -> Vec<HeldPlace> {
    let looks = looks(bench, posed, spanning);
    let bores = bench.layout.features.bores.iter().filter(|b| b.hole);
    let holes: BTreeMap<u32, f64> = bores
        .flat_map(|b| b.triangles.iter().map(|&t| (t, 2.0 * b.radius_mm)))
        .collect();
    let mut found: Vec<HeldPlace> = (pieces(bench, &looks).iter())
        .map(|piece| place(bench, posed, &holes, piece))
        .collect();
    found.sort_by(|a, b| b.face_mm2.total_cmp(&a.face_mm2));
    let mut out: Vec<HeldPlace> = Vec::new();
    // Where those of about the same heights are: there may be a hundred thousand.
    let mut near: BTreeMap<[i64; 2], Vec<usize>> = BTreeMap::new();
    for one in found {
        let [low, high] = one.level();
        let around = (-1..=1).flat_map(|a| (-1..=1).map(move |b| [low + a, high + b]));
        let known = around.filter_map(|at| near.get(&at)).flatten().copied();
        if let Some(k) = known.filter(|&k| out[k].is_like(&one)).min() {
            out[k].take_in(one);
        } else {
            near.entry([low, high]).or_default().push(out.len());
            out.push(one);
        }
    }
    out.sort_by(|a, b| b.room_mm3.total_cmp(&a.room_mm3));
    for place in out.iter_mut().take(MOST_INSIDE) {
        place.is_inside = is_inside(bench, posed, &place.facets);
    }
    out
}

impl HeldPlace {
    /// The levels that it begins and ends at; of the roofs of holes that of their width, wherever they are.
    fn level(&self) -> [i64; 2] {
        match self.shape {
            Shape::Roof(wide_mm) => [i64::MIN / 2, (wide_mm / LEVEL_MM).round() as i64],
            _ => self.z_mm.map(|z| (z / LEVEL_MM).round() as i64),
        }
    }

    /// Whether another looks the same and is at the same heights, or is the roof of such a hole too.
    fn is_like(&self, other: &Self) -> bool {
        // The roofs of holes of one size, wherever they are.
        if let (Shape::Roof(a), Shape::Roof(b)) = (self.shape, other.shape) {
            return (a - b).abs() <= LEVEL_MM;
        }
        let near = |a: f64, b: f64| (a - b).abs() <= LEVEL_MM;
        let looks = match (self.shape, other.shape) {
            (Shape::Slope(a), Shape::Slope(b)) => (a - b).abs() <= PLANE_DEG,
            (a, b) => a == b,
        };
        let looks = looks && self.is_gentle == other.is_gentle;
        looks && (self.z_mm.iter().zip(&other.z_mm)).all(|(a, b)| near(*a, *b))
    }

    /// Tells one that is no larger together with this.
    fn take_in(&mut self, other: Self) {
        self.alike &= other.face_mm2 >= ALIKE * self.each_mm2();
        self.count += other.count;
        self.area_mm2 += other.area_mm2;
        self.gentle_mm2 += other.gentle_mm2;
        self.face_mm2 += other.face_mm2;
        self.room_mm3 += other.room_mm3;
        self.stood_on_mm2 += other.stood_on_mm2;
        self.z_mm = [
            self.z_mm[0].min(other.z_mm[0]),
            self.z_mm[1].max(other.z_mm[1]),
        ];
        self.most_lean_deg = self.most_lean_deg.max(other.most_lean_deg);
        self.facets.extend(other.facets);
    }

    /// Limit for support, degrees from the vertical, that leaves it out: in steps that machines are set by.
    pub fn left_out_by_deg(&self, settings: &Settings) -> f64 {
        let most = self.most_lean_deg - tol::OVERHANG_MARGIN_DEG;
        (LIMIT_STEP_DEG * (most / LIMIT_STEP_DEG).ceil()).max(gentle_deg(settings))
    }

    /// Area of one of them where they are alike, mm².
    pub fn each_mm2(&self) -> f64 {
        self.face_mm2 / self.count as f64
    }
}

fn looks(bench: &Bench, posed: &Posed, spanning: &Spanning) -> Vec<Look> {
    let settings = bench.settings;
    let sine = settings.overhang_sin();
    let slit_mm = slit_mm(settings);
    let below = Below::new(bench, posed);
    let low_mm = |t: usize| low_over_bed_mm(settings, -posed.normal_z[t]);
    let hangs = |t: &usize| {
        -posed.normal_z[*t] > sine
            && bench.size(*t) != Size::Small
            && posed.corners(*t).iter().any(|p| p.z > low_mm(*t))
    };
    let all: Vec<usize> = (0..bench.part.mesh.triangles.len()).filter(hangs).collect();
    let step = all.len().div_ceil(MOST_LOOKS).max(1);
    let look = |(k, &t): (usize, &usize)| {
        let corners = posed.corners(t);
        let (carried, across) = (
            spanning.carried.near(&corners),
            spanning.across.near(&corners),
        );
        let asked = k % step == 0;
        let [share, void_mm, stood] = means(&corners, LOOK_MM, MOST_SPLITS, |p: Point3<f64>| {
            if p.z <= low_mm(t) || carried.carried(&p) || across.carried(&p) {
                return [0.0; 3];
            }
            if !asked {
                return [1.0, 0.0, 0.0];
            }
            match below.void_mm(&p) {
                Some(void_mm) if void_mm < slit_mm => [0.0; 3],
                Some(void_mm) if void_mm < p.z => [1.0, void_mm, 1.0],
                _ => [1.0, p.z, 0.0],
            }
        });
        let (area, flat) = (bench.part.areas[t], -posed.normal_z[t]);
        Look {
            facet: t,
            area_mm2: share * area,
            below: asked.then_some([void_mm * flat * area, stood * flat * area]),
        }
    };
    all.par_iter().enumerate().map(look).collect()
}

/// What is held, joined over edges that hardly turn; pieces in the order of their first facet.
fn pieces<'a>(bench: &Bench, looks: &'a [Look]) -> Vec<Vec<&'a Look>> {
    let part = bench.part;
    let runs_on = libm::cos(RUNS_ON_DEG.to_radians());
    let mut place_of = vec![NO_NEIGHBOUR; part.mesh.triangles.len()];
    for (k, look) in looks.iter().enumerate() {
        place_of[look.facet] = k as u32;
    }
    let mut join = Join::new(looks.len());
    for (k, look) in looks.iter().enumerate() {
        for side in 0..3 {
            let across = part.opposite[3 * look.facet + side];
            if across == NO_NEIGHBOUR {
                continue;
            }
            let facet = (across / 3) as usize;
            let other = place_of[facet];
            let turns = part.normals[look.facet].dot(&part.normals[facet]);
            if other != NO_NEIGHBOUR && turns >= runs_on {
                join.unite(k as u32, other);
            }
        }
    }
    let mut pieces: BTreeMap<u32, Vec<&Look>> = BTreeMap::new();
    for (k, look) in looks.iter().enumerate() {
        pieces.entry(join.root(k as u32)).or_default().push(look);
    }
    let held = |piece: &Vec<&Look>| piece.iter().any(|l| l.area_mm2 > 0.0);
    pieces.into_values().filter(held).collect()
}

fn place(bench: &Bench, posed: &Posed, holes: &BTreeMap<u32, f64>, piece: &[&Look]) -> HeldPlace {
    let lean = |l: &Look| libm::asin((-posed.normal_z[l.facet]).clamp(0.0, 1.0)).to_degrees();
    let area_mm2: f64 = piece.iter().map(|l| l.area_mm2).sum();
    let all_mm2: f64 = piece.iter().map(|l| bench.part.areas[l.facet]).sum();
    let is_whole = area_mm2 >= WHOLE * all_mm2;
    let asked: Vec<(&Look, [f64; 2])> = (piece.iter())
        .filter_map(|l| l.below.map(|b| (*l, b)))
        .collect();
    let asked_mm2: f64 = asked.iter().map(|(l, _)| l.area_mm2).sum();
    let of_all = |k: usize| {
        let sum: f64 = asked.iter().map(|(_, below)| below[k]).sum();
        sum * area_mm2 / asked_mm2.max(f64::MIN_POSITIVE)
    };
    let of = |facets: &mut dyn Iterator<Item = usize>| {
        let (low, high) = rect::span(facets.flat_map(|t| posed.corners(t)).map(|p| p.z));
        [low, high]
    };
    let all_z_mm = of(&mut piece.iter().map(|l| l.facet));
    // The widest level of what is level.
    let mut flat: Vec<(f64, &Look)> = (piece.iter().filter(|l| lean(l) >= CEILING_DEG))
        .map(|l| (of(&mut std::iter::once(l.facet))[0], *l))
        .collect();
    flat.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.facet.cmp(&b.1.facet)));
    let levels = flat.chunk_by(|a, b| b.0 - a.0 <= LEVEL_MM);
    let area = |l: &Look| bench.part.areas[l.facet];
    let wide = |level: &[(f64, &Look)]| level.iter().map(|(_, l)| area(l)).sum::<f64>();
    let level = levels.max_by(|a, b| wide(a).total_cmp(&wide(b)));
    let level = level.filter(|level| wide(level) >= MOSTLY * all_mm2);
    let least = piece.iter().map(|l| lean(l)).fold(90.0, f64::min);
    let most = most_lean_deg(piece.iter().map(|l| (lean(l), area(l))), all_mm2);
    let gentle = gentle_deg(bench.settings) + tol::OVERHANG_MARGIN_DEG;
    let gentle_mm2: f64 = (piece.iter().filter(|l| lean(l) <= gentle))
        .map(|l| l.area_mm2)
        .sum();
    let reach_mm = (all_z_mm[1] - all_z_mm[0]) * libm::tan(most.min(STEEPEST_DEG).to_radians());
    let is_gentle =
        most <= STEEPEST_DEG && (gentle_mm2 >= MOSTLY * area_mm2 || reach_mm <= REACH_MM);
    let (shape, z_mm) = if let Some(wide_mm) = hole(holes, piece) {
        (Shape::Roof(wide_mm), all_z_mm)
    } else if let Some(level) = level {
        (Shape::Ceiling, of(&mut level.iter().map(|(_, l)| l.facet)))
    } else if most - least <= PLANE_DEG && most < CEILING_DEG {
        (Shape::Slope(0.5 * (least + most)), all_z_mm)
    } else {
        (Shape::Curved, all_z_mm)
    };
    HeldPlace {
        count: 1,
        alike: true,
        shape,
        area_mm2,
        face_mm2: if is_whole { all_mm2 } else { area_mm2 },
        room_mm3: of_all(0),
        stood_on_mm2: of_all(1),
        z_mm,
        most_lean_deg: most,
        gentle_mm2,
        is_gentle,
        is_inside: false,
        facets: piece.iter().map(|l| l.facet).collect(),
    }
}

/// How far facets lean, by their leans and areas, but for a stray few: degrees.
fn most_lean_deg(facets: impl Iterator<Item = (f64, f64)>, all_mm2: f64) -> f64 {
    let mut by_lean: Vec<(f64, f64)> = facets.collect();
    by_lean.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut steeper_mm2 = 0.0;
    let told = by_lean.iter().find(|(_, area)| {
        steeper_mm2 += area;
        steeper_mm2 > STRAY * all_mm2
    });
    told.map_or(0.0, |f| f.0)
}

/// Diameter of the hole that nearly all of a piece is the roof of, mm. `holes` has the diameter of the
/// hole that a facet belongs to.
fn hole(holes: &BTreeMap<u32, f64>, piece: &[&Look]) -> Option<f64> {
    let all_mm2: f64 = piece.iter().map(|l| l.area_mm2).sum();
    let mut sums: BTreeMap<u64, f64> = BTreeMap::new();
    for look in piece {
        if let Some(wide_mm) = holes.get(&(look.facet as u32)) {
            *sums.entry(wide_mm.to_bits()).or_default() += look.area_mm2;
        }
    }
    let (wide, its_mm2) = sums.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (its_mm2 >= MOSTLY * all_mm2).then(|| f64::from_bits(wide))
}

/// Whether the room below facets is walled in by the part, for the most part.
fn is_inside(bench: &Bench, posed: &Posed, facets: &[usize]) -> bool {
    let area = |t: usize| bench.part.areas[t];
    let mut largest = facets.to_vec();
    largest.sort_by(|&a, &b| area(b).total_cmp(&area(a)).then(a.cmp(&b)));
    largest.truncate(MOST_ASKED);
    let part_from_build = posed.pose.build_from_part.inverse();
    let all_mm2: f64 = facets.iter().map(|&t| area(t)).sum();
    let far_mm = FAR * all_mm2.sqrt();
    let (mut within, mut all) = (0.0, 0.0);
    for facet in largest {
        let [a, b, c] = posed.corners(facet);
        let middle = center(&a, &center(&b, &c));
        let void_mm = bench.void_below(&(part_from_build * middle), &posed.pose.down);
        let half_mm = 0.5 * void_mm.unwrap_or(middle.z).min(middle.z);
        let from = part_from_build * (middle - Vector3::z() * half_mm);
        let met = (0..8).filter(|k| {
            let (sin, cos) = libm::sincos(std::f64::consts::FRAC_PI_4 * f64::from(*k) + OFF_RAD);
            let way = part_from_build * Unit::new_unchecked(Vector3::new(cos, sin, 0.0));
            bench.void_within(&from, &way, far_mm).is_some()
        });
        all += area(facet);
        if met.count() >= WALLED {
            within += area(facet);
        }
    }
    within >= MOSTLY * all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A face that leans 58° runs out in a facet of 0.1 mm² at 61°; of two faces the steeper one counts.
    #[test]
    fn a_stray_facet_does_not_tell_how_far_a_place_leans() {
        let most = |facets: &[(f64, f64)]| {
            let all_mm2 = facets.iter().map(|f| f.1).sum();
            most_lean_deg(facets.iter().copied(), all_mm2)
        };
        assert_eq!(most(&[(46.0, 300.0), (60.73, 0.1), (58.0, 90.0)]), 58.0);
        assert_eq!(most(&[(46.0, 300.0), (75.0, 20.0)]), 75.0);
        assert_eq!(most(&[]), 0.0);
    }
}
