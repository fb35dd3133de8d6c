//! The short way: what a person tells of a ceiling that is held along its long side.
//!
//! A chord says how far a strand runs. Where it runs beside what holds it, that is not how far
//! the ceiling reaches out: a shelf 2 mm deep and 40 long between two walls is a cantilever of
//! 2 mm, and where a groove ends in the open its ceiling still bridges from side to side. So from
//! a point of the ceiling the way goes straight to what holds it and as straight on: what is
//! met there holds it too, or hangs free.

use super::cut::{ALONG_LEDGE, Chord, Cut};
use super::rows::Rows;
use crate::figures::Across;
use crate::figures::low::{low_mm, low_slope_mm};
use crate::plane::overlay::Area;
use crate::settings::Settings;
use nalgebra::{Point2, Vector2};
use std::sync::LazyLock;

/// A ceiling that hangs free on one side and is no deeper than this share of its strands is a shelf
/// beside them; a deeper one is bridged by them (house value).
const BESIDE: f64 = 0.25;
/// Shorter ways print whatever they are, mm: nothing is told of them.
const LEAST_MM: f64 = 1.0;
/// Bridges that are shorter are not told one by one, mm.
const TOLD_MM: f64 = 5.0;
/// Where along a chord the place is looked for that lies farthest from what holds it.
const DEEP_AT: [f64; 5] = [INSIDE, 0.25, 0.5, 0.75, 1.0 - INSIDE];
/// An edge whose ends are seen in one direction or in opposite ones, by the sine of the angle between.
const ALONG: f64 = 1e-9;
/// Lines through a place that are tried for the shortest way across: one every 10° …
const HALF: usize = 18;
/// … and ways from it all round.
const ROUND: usize = 2 * HALF;
/// The free end of a chord is looked at this much further in, as a share of its length: at the very
/// end it is not known which side of the outline a point lies on.
const INSIDE: f64 = 0.02;

/// Cantilevers that reach no further than this are the edge of the base where they lie low over
/// the bed, mm: a tab of that length prints anywhere (house value).
const EDGE_MM: f64 = 3.0;

/// Whether support has room under a cantilever and a person would want it there.
pub(super) fn is_high(reach_mm: f64, z_mm: f64, settings: &Settings) -> bool {
    let low_mm = if reach_mm > EDGE_MM {
        low_mm(settings)
    } else {
        low_slope_mm(settings)
    };
    z_mm > low_mm
}

/// The short ways of one overhang area.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Ways {
    /// Longest way to what holds a place of which the other side hangs free, mm.
    pub reach_mm: f64,
    /// The widest way across where chords end free, yet both sides hold.
    pub groove: Option<Across>,
    /// What is told of the bridge instead of its longest chord, where that runs beside what
    /// holds it: the widest way across, of no length where the other side hangs free.
    pub bridge: Option<Across>,
}

impl Ways {
    /// Nothing is told.
    pub const NONE: Self = Self {
        reach_mm: 0.0,
        groove: None,
        bridge: Some(Across {
            mm: 0.0,
            direction_deg: 0.0,
        }),
    };

    /// Those of a cut of the gap over the outlines below. A shelf beside strands no longer than
    /// `limit_mm` is no cantilever: they carry it.
    pub fn of(cut: &Cut, gap: &Area, lower: &Rows, limit_mm: f64) -> Self {
        let mut out = Self::default();
        let mut plain_mm = 0.0_f64;
        let mut across = Across::default();
        let mut beside = false;
        for c in &cut.chords {
            if c.bridged() {
                let long_mm = c.length();
                let near = (long_mm > limit_mm.min(TOLD_MM))
                    .then(|| deepest(cut, c, (gap, lower), 0.5 * long_mm))
                    .flatten();
                let on = near.and_then(|held| Some((held, held.way_on(gap)?)));
                match on {
                    Some((held, (mm, true))) if mm < long_mm => {
                        (beside, across) = (true, across.or_wider(mm, held.way()));
                    }
                    Some((held, (mm, false))) if mm < BESIDE * long_mm => {
                        let free = held.root + held.way() * (mm / held.apart());
                        beside = true;
                        let reach_mm = lower.distance(free, mm);
                        if long_mm > limit_mm && reach_mm > LEAST_MM {
                            out.reach_mm = out.reach_mm.max(reach_mm);
                        }
                    }
                    _ => match near.and_then(|held| held.shortest(gap)) {
                        Some((mm, way)) if mm < long_mm => {
                            (beside, across) = (true, across.or_wider(mm, way));
                        }
                        _ => plain_mm = plain_mm.max(long_mm),
                    },
                }
            } else if c.ledge() && c.length() > LEAST_MM {
                let held = |share: f64| {
                    let at = cut.out_from_hold(c, share);
                    Held::of(at, (gap, lower), c.length(), cut.along)
                };
                for share in ALONG_LEDGE {
                    let known = out.reach_mm.max(0.5 * out.groove.map_or(0.0, |g| g.mm));
                    let Some(apart) = held(share)
                        .map(|h| h.apart())
                        .filter(|mm| *mm > known.max(LEAST_MM))
                    else {
                        continue;
                    };
                    let within = held(share.min(1.0 - INSIDE));
                    match within.and_then(|h| Some((h, h.way_on(gap)?))) {
                        Some((h, (mm, true))) => {
                            // Near the end of a groove what holds a place is the end: strands run across.
                            let across = h.shortest(gap).filter(|s| s.0 < mm);
                            let (mm, way) = across.unwrap_or((mm, h.way()));
                            let groove = out.groove.unwrap_or_default();
                            out.groove = Some(groove.or_wider(mm, way));
                        }
                        _ => out.reach_mm = out.reach_mm.max(apart),
                    }
                }
            } else if !c.ledge() && c.length() > LEAST_MM {
                // Free at both ends: what holds it is beside it.
                let farthest = (gap.around.hi - gap.around.lo).norm();
                let known = out.reach_mm.max(LEAST_MM);
                let held = deepest(cut, c, (gap, lower), farthest).filter(|h| h.apart() > known);
                if let Some(h) = held.filter(|h| !matches!(h.way_on(gap), Some((_, true)))) {
                    out.reach_mm = out.reach_mm.max(lower.distance(h.at, farthest));
                }
            }
        }
        // One ceiling is told once, where it is widest.
        let groove = out.groove.filter(|g| g.mm > plain_mm.max(across.mm));
        if cut.chords.iter().any(Chord::bridged) && (beside || groove.is_some()) {
            out.bridge = groove.or(Some(across.or_wider(plain_mm, cut.along)));
        }
        out
    }
}

impl Across {
    /// The wider of this and another one that runs along `way`.
    fn or_wider(self, mm: f64, way: Vector2<f64>) -> Self {
        if mm <= self.mm {
            return self;
        }
        let direction_deg = libm::atan2(way.y, way.x).to_degrees().rem_euclid(180.0);
        Self { mm, direction_deg }
    }
}

/// Sine and cosine of so many steps.
static TURNS: LazyLock<[(f64, f64); ROUND]> = LazyLock::new(|| {
    std::array::from_fn(|k| libm::sincos(std::f64::consts::PI * k as f64 / HALF as f64))
});

/// A way from a place, or the way back.
type Way = (Vector2<f64>, bool);
/// An edge of a gap from one end to the other, and whether it is held.
type Edge = (Point2<f64>, Point2<f64>, bool);

/// A place of a ceiling and what holds it.
#[derive(Debug, Clone, Copy)]
struct Held {
    at: Point2<f64>,
    root: Point2<f64>,
}

impl Held {
    /// What is nearest below a place of the gap, if the ceiling reaches it: what lies beyond a slot holds
    /// nothing here. Then the nearest that it does reach, of all ways a step apart from `along` on.
    fn of(
        at: Point2<f64>,
        (gap, lower): (&Area, &Rows),
        at_most: f64,
        along: Vector2<f64>,
    ) -> Option<Self> {
        // What is as far as it may be is found too.
        let at_most = 1.01 * at_most;
        let root = lower.nearest(at, at_most).filter(|root| *root != at)?;
        let nearest = Self { at, root };
        // On the way to it no other side of the ceiling is met, which holds nothing.
        if nearest
            .met(-nearest.way(), gap)
            .is_some_and(|(_, held)| held)
        {
            return Some(nearest);
        }
        let far = Self {
            at,
            root: at - along,
        };
        let ways = std::array::from_fn(|k| (far.turned(k), false));
        let roots = far.met_all_round(&ways, gap).into_iter().zip(ways);
        let roots = roots.filter_map(|(met, (way, _))| {
            let (on, held) = met?;
            held.then(|| at + way * on)
        });
        let root = roots.min_by(|a, b| (a - at).norm().total_cmp(&(b - at).norm()))?;
        ((root - at).norm() <= at_most && root != at).then_some(Self { at, root })
    }

    /// The way from what holds the place, turned by so many steps.
    fn turned(&self, steps: usize) -> Vector2<f64> {
        let first = self.way();
        let (sin, cos) = TURNS[steps];
        Vector2::new(cos * first.x - sin * first.y, sin * first.x + cos * first.y)
    }

    fn way(&self) -> Vector2<f64> {
        self.at - self.root
    }

    fn apart(&self) -> f64 {
        self.way().norm()
    }

    /// How wide the gap is from what holds the place by way of it to its far side, and whether
    /// that is held.
    fn way_on(&self, gap: &Area) -> Option<(f64, bool)> {
        let (on, held) = self.met(self.way(), gap)?;
        Some(((1.0 + on) * self.apart(), held))
    }

    /// The shortest way through the place that is held at both ends, of all ways a step apart.
    fn shortest(&self, gap: &Area) -> Option<(f64, Vector2<f64>)> {
        // The second half of the round is each way back.
        let ways = std::array::from_fn(|k| (self.turned(k % HALF), k >= HALF));
        let met = self.met_all_round(&ways, gap);
        let ways = (0..HALF).filter_map(|k| match [met[k], met[k + HALF]] {
            [Some((on, true)), Some((back, true))] => Some(((on + back) * self.apart(), ways[k].0)),
            _ => None,
        });
        ways.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How far the outline of the gap is from the place along `way`, in lengths of it, and
    /// whether it is held there.
    fn met(&self, way: Vector2<f64>, gap: &Area) -> Option<(f64, bool)> {
        let mut nearest = None;
        for edge in &gap.edges {
            self.meet((way, false), edge, &mut nearest);
        }
        nearest
    }

    /// What `way`, or the way back where that is asked for, meets of an edge, if it is nearer than what
    /// was met before.
    fn meet(&self, (way, back): Way, (a, b, held): &Edge, nearest: &mut Option<(f64, bool)>) {
        let (edge, from) = (b - a, a - self.at);
        let (turn, beside) = (way.perp(&edge), from.perp(&way));
        if turn == 0.0 || !(0.0..=1.0).contains(&(beside / turn)) {
            return;
        }
        let on = from.perp(&edge) / turn;
        let on = if back { -on } else { on };
        if on > 0.0 && nearest.is_none_or(|(mm, _)| on < mm) {
            *nearest = Some((on, *held));
        }
    }

    /// What each of the ways meets first, as [`Self::met`].
    ///
    /// An edge is met by those ways alone that lie between its ends as seen from here: a few of all. Which,
    /// is told by where its ends lie among the ways, and one more to either side.
    fn met_all_round(&self, ways: &[Way; ROUND], gap: &Area) -> [Option<(f64, bool)>; ROUND] {
        let mut met = [None; ROUND];
        let toward = ways.map(|(way, back)| if back { -way } else { way });
        let first = around(toward[0]);
        let after = |v: Vector2<f64>| (around(v) - first).rem_euclid(4.0);
        let marks = toward.map(after);
        let place = |p: &Point2<f64>| marks.partition_point(|m| *m <= after(p - self.at));
        let mut last: Option<(Point2<f64>, usize)> = None;
        for edge in &gap.edges {
            let (a, b, _) = edge;
            let from = match last {
                Some((p, place)) if p == *a => place,
                _ => place(a),
            };
            let to = place(b);
            last = Some((*b, to));
            let (u, v) = (a - self.at, b - self.at);
            let turn = u.perp(&v);
            let (begin, end) = if turn >= 0.0 { (from, to) } else { (to, from) };
            // Where it runs through here, or nearly, rounding may take one side for the other: then all are asked.
            let runs_through = turn * turn <= ALONG * ALONG * u.norm_squared() * v.norm_squared();
            let count = if runs_through {
                ROUND
            } else {
                ((end + ROUND - begin) % ROUND + 3).min(ROUND)
            };
            for k in 0..count {
                let k = (begin + 2 * ROUND - 2 + k) % ROUND;
                self.meet(ways[k], edge, &mut met[k]);
            }
        }
        met
    }
}

/// Where a direction lies on the way round, from 0 to 4 at quarter turns; steady, though not even.
fn around(v: Vector2<f64>) -> f64 {
    let sum = v.x.abs() + v.y.abs();
    let along = if sum > 0.0 { v.x / sum } else { 1.0 };
    if v.y >= 0.0 { 1.0 - along } else { 3.0 + along }
}

/// The place of a chord that lies farthest from what holds it.
fn deepest(cut: &Cut, c: &Chord, under: (&Area, &Rows), at_most: f64) -> Option<Held> {
    let places = DEEP_AT.map(|share| cut.point(c.strip, c.from + share * c.length()));
    let held = places
        .into_iter()
        .filter_map(|p| Held::of(p, under, at_most, cut.along));
    held.max_by(|a, b| a.apart().total_cmp(&b.apart()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{circle, ring};
    use crate::plane::overlay::IntegerGrid;
    use crate::plane::polygon;

    /// Of each way what it meets by a look at every edge, to the bit: from places in a ring, beside it, on
    /// its outline and at its corners.
    #[test]
    fn ways_all_round_meet_what_each_meets_by_itself() {
        let piece = ring(1.0, 2.0, 20.0, 12.0, 60);
        let edges: Vec<_> = piece.loops().flat_map(polygon::edges).collect();
        let cut: Vec<_> = polygon::edges(&circle(15.0, 2.0, 4.0, 16)).collect();
        let areas = IntegerGrid::new(60.0).difference(&edges, &cut);
        let mut met = 0;
        for gap in &areas {
            let corners = gap.edges.iter().take(20).map(|e| e.0);
            let middles = gap
                .edges
                .iter()
                .take(20)
                .map(|e| nalgebra::center(&e.0, &e.1));
            let spread = (0..200_u32).map(|k| {
                let [u, v] = [0.754_877_666, 0.569_840_291].map(|a| (f64::from(k) * a).fract());
                Point2::new(-22.0 + 44.0 * u, -20.0 + 44.0 * v)
            });
            for at in corners.chain(middles).chain(spread) {
                let root = at - Vector2::new(0.3, 0.8);
                let held = Held { at, root };
                let ways: [Way; ROUND] =
                    std::array::from_fn(|k| (held.turned(k % HALF), k >= HALF));
                for (k, found) in held.met_all_round(&ways, gap).into_iter().enumerate() {
                    let mut alone = None;
                    for edge in &gap.edges {
                        held.meet(ways[k], edge, &mut alone);
                    }
                    assert_eq!(found, alone, "{at} {k}");
                    met += usize::from(found.is_some());
                }
            }
        }
        assert!(met > 3000, "{met}");
    }
}
