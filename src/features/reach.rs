//! Whether a calliper's jaws get to two places opposite each other, and where best.
//!
//! The jaws come in along the two surfaces from one side. Along three lines, one just inside
//! each surface and one half way, the part is looked at from outside: where it begins is the
//! edge that the jaws go over. They hold a few millimetres behind it, no deeper than they are
//! long, where both surfaces are still as far apart, and nothing may be met on the way out.

use crate::mesh::Part;
use crate::mesh::bvh::FacetBvh;
use nalgebra::{Point3, Unit, Vector3, center};

/// How deep the outside jaws of a common calliper go, mm (house value).
const OUTSIDE_MM: f64 = 40.0;
/// How deep its inside jaws go, mm (house value).
const INSIDE_MM: f64 = 15.0;
/// Depths behind the edge at which the jaws try to hold, mm: the first that serves.
const BITES_MM: [f64; 5] = [3.0, 8.0, 14.0, 25.0, 38.0];
/// Room that an outside jaw takes up beside the surface, mm (house value).
const JAW_MM: f64 = 2.0;
/// Half the width of the beam that lies across the mouth of a slot or bore, mm (house value).
const BEAM_MM: f64 = 8.0;
/// How far from a surface is just inside or just outside of it, mm.
const INSIDE_SKIN_MM: f64 = 0.05;
const OUTSIDE_SKIN_MM: f64 = 0.2;
/// Sides from which the jaws may come between two flats.
const SIDES: u32 = 16;
/// Ways across a round surface that are tried.
const ACROSS: u32 = 6;

/// What the jaws are held against.
pub(super) struct Surfaces<'a> {
    part: &'a Part,
    bvh: &'a FacetBvh,
    /// Outside the part from any place on it, mm.
    far_mm: f64,
}

/// Two places to hold, opposite each other.
#[derive(Clone, Copy)]
struct Contacts {
    a: Point3<f64>,
    b: Point3<f64>,
    /// The jaws go between them, not over them.
    inside: bool,
    /// How far a surface of facets may lie within the round one, mm.
    slack_mm: f64,
}

impl<'a> Surfaces<'a> {
    /// Those of a part, with the tree over its facets.
    pub fn new(part: &'a Part, bvh: &'a FacetBvh) -> Self {
        let far_mm = 2.0 * part.extent().max(1.0);
        Self { part, bvh, far_mm }
    }

    /// Half way between the jaws where they can hold two parallel faces that lie opposite each
    /// other at `a` and `b`; none where they do not get there.
    pub fn flats(&self, a: Point3<f64>, b: Point3<f64>, inside: bool) -> Option<Point3<f64>> {
        let contacts = Contacts {
            a,
            b,
            inside,
            slack_mm: 0.0,
        };
        let across = Unit::try_new(b - a, 0.0)?;
        let mut sides = turns(&across, SIDES).into_iter();
        sides.find_map(|side| self.hold(&contacts, &across, &side))
    }

    /// The same of a round surface about `axis`.
    pub fn round(
        &self,
        centre: &Point3<f64>,
        axis: &Unit<Vector3<f64>>,
        radius_mm: f64,
        hole: bool,
    ) -> Option<Point3<f64>> {
        // A hole or pin of eight sides has its flats at 0.92 of the corners' radius.
        let slack_mm = 0.08 * radius_mm;
        // Half a turn of ways is all of them.
        turns(axis, 2 * ACROSS)
            .into_iter()
            .take(ACROSS as usize)
            .find_map(|across| {
                let contacts = Contacts {
                    a: centre - *across * radius_mm,
                    b: centre + *across * radius_mm,
                    inside: hole,
                    slack_mm,
                };
                let beside = Unit::new_normalize(axis.cross(&across));
                let sides = [*axis, -*axis, beside, -beside];
                // Nothing gets into a hole through its wall.
                let sides = sides.into_iter().take(if hole { 2 } else { 4 });
                let mut sides = sides;
                sides.find_map(|side| self.hold(&contacts, &across, &side))
            })
    }

    /// The jaws come in from `side`, lie `across` and hold.
    fn hold(
        &self,
        c: &Contacts,
        across: &Unit<Vector3<f64>>,
        side: &Unit<Vector3<f64>>,
    ) -> Option<Point3<f64>> {
        let n = across.into_inner();
        let (way, most_mm) = if c.inside {
            (1.0, INSIDE_MM)
        } else {
            (-1.0, OUTSIDE_MM)
        };
        // Into the material behind each contact.
        let behind = if c.inside { 0.0 } else { c.slack_mm };
        let deep = -way * (INSIDE_SKIN_MM + behind);
        let lines = [c.a + n * deep, c.b - n * deep];
        let edge_a = self.edge(&lines[0], side)?;
        let edge_b = self.edge(&lines[1], side)?;
        let near = edge_a.min(edge_b);
        let more = if c.inside {
            [c.a - n * BEAM_MM, c.b + n * BEAM_MM].map(|p| self.edge(&p, side))
        } else {
            [self.edge(&center(&c.a, &c.b), side), None]
        };
        let outer = more.into_iter().flatten();
        let outer = outer.fold(edge_a.max(edge_b), f64::max);
        // The farthest point comes last where the edge is nearer than the shallowest hold.
        for bite in BITES_MM {
            let at = (near - bite).max(near / 2.0).max(0.0);
            if outer - at > most_mm {
                return None;
            }
            let moved = side.into_inner() * at;
            let (a, b) = (c.a + moved, c.b + moved);
            if self.holds(&Contacts { a, b, ..*c }, across, side) {
                return Some(center(&a, &b));
            }
        }
        None
    }

    /// Both contacts are there, and nothing is in the way of the jaws from `side`.
    fn holds(&self, c: &Contacts, across: &Unit<Vector3<f64>>, side: &Unit<Vector3<f64>>) -> bool {
        let n = across.into_inner();
        let (way, off) = if c.inside {
            (
                1.0,
                OUTSIDE_SKIN_MM.min((c.b - c.a).norm() / 4.0) + c.slack_mm,
            )
        } else {
            (-1.0, OUTSIDE_SKIN_MM)
        };
        let (from_a, from_b) = (c.a + n * way * off, c.b - n * way * off);
        let touches = |from: &Point3<f64>, along: Vector3<f64>| {
            let off_by = c.slack_mm + INSIDE_SKIN_MM;
            // Past this nothing is near enough: half as much again is more than rounding takes.
            let within = off + 1.5 * off_by;
            let hit = self.meets(from, &Unit::new_unchecked(along), within);
            hit.is_some_and(|mm| (mm - off).abs() <= off_by)
        };
        if !touches(&from_a, n * -way) || !touches(&from_b, n * way) {
            return false;
        }
        let mut out = vec![from_a, from_b];
        if c.inside {
            out.push(center(&c.a, &c.b));
        } else {
            out.extend([c.a - n * JAW_MM, c.b + n * JAW_MM]);
        }
        out.iter().all(|p| self.meets(p, side, f64::MAX).is_none())
    }

    /// How far out along `side` from `p` the part goes, mm; none where it is not met.
    fn edge(&self, p: &Point3<f64>, side: &Unit<Vector3<f64>>) -> Option<f64> {
        let far = self.far_mm;
        let back = self.meets(&(p + side.into_inner() * far), &-*side, far)?;
        (back <= far).then_some(far - back)
    }

    /// Distance to the first surface, mm; farther than `within` it may be missing.
    fn meets(&self, from: &Point3<f64>, along: &Unit<Vector3<f64>>, within: f64) -> Option<f64> {
        let all = |_: usize| true;
        let hit = (self.bvh).first_within(&self.part.mesh, from, along, within, all, |_| true);
        hit.map(|h| h.apart_mm)
    }
}

/// Directions square to `axis`, evenly spread over a turn, the first along a part axis as
/// nearly as may be.
fn turns(axis: &Unit<Vector3<f64>>, n: u32) -> Vec<Unit<Vector3<f64>>> {
    let least = Vector3::ith(axis.iamin(), 1.0);
    let u = Unit::new_normalize(least - axis.into_inner() * axis.dot(&least)).into_inner();
    let v = axis.cross(&u);
    let turn = |k: u32| {
        let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
        Unit::new_normalize(u * c + v * s)
    };
    (0..n).map(turn).collect()
}
