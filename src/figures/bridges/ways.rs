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

/// A ceiling that hangs free on one side and is no deeper than this share of its strands is a shelf
/// beside them; a deeper one is bridged by them (house value).
const BESIDE: f64 = 0.25;
/// Shorter ways print whatever they are, mm: nothing is told of them.
const LEAST_MM: f64 = 1.0;
/// Bridges that are shorter are not told one by one, mm.
const TOLD_MM: f64 = 5.0;
/// Where along a chord the place is looked for that lies farthest from what holds it.
const DEEP_AT: [f64; 5] = [INSIDE, 0.25, 0.5, 0.75, 1.0 - INSIDE];
/// Ways through a place that are tried for the shortest: one every 10°.
const WAYS: u32 = 18;
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
        let roots = (0..2 * WAYS).filter_map(|k| {
            let way = far.turned(k);
            let (on, held) = far.met(way, gap)?;
            held.then(|| at + way * on)
        });
        let root = roots.min_by(|a, b| (a - at).norm().total_cmp(&(b - at).norm()))?;
        ((root - at).norm() <= at_most && root != at).then_some(Self { at, root })
    }

    /// The way from what holds the place, turned by so many steps.
    fn turned(&self, steps: u32) -> Vector2<f64> {
        let first = self.way();
        let (sin, cos) = libm::sincos(std::f64::consts::PI * f64::from(steps) / f64::from(WAYS));
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
        let ways = (0..WAYS).filter_map(|k| {
            let way = self.turned(k);
            match self.met_both(way, gap) {
                [Some((on, true)), Some((back, true))] => Some(((on + back) * self.apart(), way)),
                _ => None,
            }
        });
        ways.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How far the outline of the gap is from the place along `way`, in lengths of it, and
    /// whether it is held there.
    fn met(&self, way: Vector2<f64>, gap: &Area) -> Option<(f64, bool)> {
        let [on, _] = self.met_both(way, gap);
        on
    }

    /// The same along `way` and back: one look at the outline tells both.
    fn met_both(&self, way: Vector2<f64>, gap: &Area) -> [Option<(f64, bool)>; 2] {
        let mut met: [Option<(f64, bool)>; 2] = [None; 2];
        for (a, b, held) in &gap.edges {
            let (edge, from) = (b - a, a - self.at);
            let (turn, beside) = (way.perp(&edge), from.perp(&way));
            // Most edges lie to one side of the line: `beside / turn` is no share of theirs.
            if turn == 0.0 || !(0.0..=1.0).contains(&(beside / turn)) {
                continue;
            }
            let on = from.perp(&edge) / turn;
            let side = &mut met[usize::from(on < 0.0)];
            if on != 0.0 && side.is_none_or(|(nearest, _)| on.abs() < nearest) {
                *side = Some((on.abs(), *held));
            }
        }
        met
    }
}

/// The place of a chord that lies farthest from what holds it.
fn deepest(cut: &Cut, c: &Chord, under: (&Area, &Rows), at_most: f64) -> Option<Held> {
    let places = DEEP_AT.map(|share| cut.point(c.strip, c.from + share * c.length()));
    let held = places
        .into_iter()
        .filter_map(|p| Held::of(p, under, at_most, cut.along));
    held.max_by(|a, b| a.apart().total_cmp(&b.apart()))
}
