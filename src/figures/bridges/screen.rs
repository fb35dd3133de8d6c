//! Cheap screening: does a layer reach out of the offset of the one below?
//!
//! Overhang material is what lies farther than the offset from the layer below. The
//! outline of an overhang area is made of points of the upper outline, and of points
//! inside the upper section that are exactly one offset away from the lower
//! outline, straight out from one of its edges or corners. So it is enough to
//! look along the upper outline, and along the lower one moved outward by the
//! offset: where neither shows anything, nothing overhangs. Along a straight line
//! the parts within the offset of an edge are intervals, so nothing is sampled.

use super::rows::{Edge, Rows, edges};
use crate::figures::Piece;
use crate::plane::overlay::Window;
use nalgebra::{Point2, Vector2};

/// The moved outline lies this much beyond the offset, so that rounding cannot
/// put a point of it back within.
const BEYOND: f64 = 1.02;

/// Corners that turn by less than acos of this need no point of their own.
const SMALL_TURN_COS: f64 = 0.9;

/// An outline runs along the layer below where the way there is more than 53° off it. Across
/// a square inner corner, which bridges, it is 45° off.
const ALONG_COS: f64 = 0.6;

/// Parts of a line that no edge of `rows` comes within `reach` of, in order, as
/// shares of its length. `scratch` only saves allocations.
fn uncovered(
    (p, q): (Point2<f64>, Point2<f64>),
    rows: &Rows,
    reach: f64,
    Scratch { scratch, last }: &mut Scratch,
    mut each: impl FnMut(f64, f64),
) {
    // Places within reach of an edge are convex: with both ends in, all is in.
    let whole = |e: &Edge| e.distance(p) <= reach && e.distance(q) <= reach;
    let edges = rows.edges();
    for i in [*last, *last + 1, last.wrapping_sub(1), *last + 2] {
        if edges.get(i).is_some_and(whole) {
            *last = i;
            return;
        }
    }
    scratch.clear();
    for (i, e) in rows.near(p, q, reach) {
        match e.covers(p, q, reach) {
            Some((from, to)) if from <= 0.0 && to >= 1.0 => {
                *last = i;
                return;
            }
            Some(interval) => scratch.push(interval),
            None => {}
        }
    }
    scratch.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut at = 0.0;
    for &(from, to) in scratch.iter() {
        if from > at {
            each(at, from.min(1.0));
        }
        at = at.max(to);
        if at >= 1.0 {
            return;
        }
    }
    each(at, 1.0);
}

/// What [`uncovered`] keeps from one question to the next.
#[derive(Default)]
struct Scratch {
    scratch: Vec<(f64, f64)>,
    /// The edge that covered the line before. Neighbours are asked in turn, so it
    /// or one beside it is the likely answer.
    last: usize,
}

/// A part of an outline that overhangs: a point of it and the box around it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub middle: Point2<f64>,
    pub around: Window,
}

impl Stretch {
    fn new(a: Point2<f64>, b: Point2<f64>) -> Self {
        Self {
            middle: nalgebra::center(&a, &b),
            around: Window::around([a, b]),
        }
    }
}

/// What the outlines show.
pub(super) struct Screened {
    /// Every stretch of outline that is not carried.
    pub stretches: Vec<Stretch>,
    /// Is all that overhangs a narrow ledge? Then this is its reach, mm.
    pub narrow_mm: Option<f64>,
}

/// Looks for overhanging material along both outlines.
///
/// A ledge is *narrow* where it reaches less than a line past the offset and its
/// free outline runs along the layer below: one line laid beside the layer below.
pub(super) fn overhang_points(
    upper: &Rows,
    lower: &Rows,
    below: &[Piece],
    offset: f64,
    line: f64,
) -> Screened {
    let mut found = Vec::new();
    let mut scratch = Scratch::default();
    let mut narrow = true;
    let mut ledge = Ledge::default();
    for e in upper.edges() {
        // No edge comes near an uncovered stretch, so all of it is inside or none.
        uncovered((e.a, e.b), lower, offset, &mut scratch, |from, to| {
            let at = |share: f64| e.a + (e.b - e.a) * share;
            let middle = at(0.5 * (from + to));
            if lower.inside(middle) {
                return;
            }
            found.push(Stretch::new(at(from), at(to)));
            if narrow {
                let ends = (at(from), at(to));
                narrow = parts(ends, line).all(|part| {
                    ledge.add(part, lower, offset, offset + line)
                        && (runs_along(part, lower, offset + line)
                            || (ends.1 - ends.0).norm() < 0.1 * line)
                });
            }
        });
    }
    for points in below.iter().flat_map(Piece::loops) {
        let outward = |d: Vector2<f64>| Vector2::new(d.y, -d.x) / d.norm().max(f64::MIN_POSITIVE);
        let (Some(&first), Some(&last)) = (points.first(), points.last()) else {
            continue;
        };
        let mut before = outward(first - last);
        for e in edges(points) {
            let normal = outward(e.b - e.a);
            let out = normal * (BEYOND * offset);
            let (p, q) = (e.a + out, e.b + out);
            if upper.meets_line(p, q) || upper.inside(p) {
                uncovered((p, q), lower, offset, &mut scratch, |from, to| {
                    let (a, b) = (p + (q - p) * from, p + (q - p) * to);
                    let middle = nalgebra::center(&a, &b);
                    if !lower.inside(middle) && (upper.inside(middle) || upper.meets_line(a, b)) {
                        found.push(Stretch::new(a, b));
                        narrow = narrow && upper.distance(middle, line) < line;
                    }
                });
            }
            let turns_out = before.perp(&normal) > 0.0;
            if turns_out && before.dot(&normal) < SMALL_TURN_COS {
                if let Some(middle) = (before + normal).try_normalize(1e-9) {
                    let p = e.a + middle * (BEYOND * offset);
                    if upper.inside(p) && lower.distance(p, offset) >= offset && !lower.inside(p) {
                        found.push(Stretch::new(p, p));
                        narrow = narrow && upper.distance(p, line) < line;
                    }
                }
            }
            before = normal;
        }
    }
    Screened {
        stretches: found,
        narrow_mm: narrow.then(|| ledge.reach(offset)),
    }
}

/// The line from `p` to `q` in equal parts no longer than half a line.
pub(super) fn parts(
    (p, q): (Point2<f64>, Point2<f64>),
    line: f64,
) -> impl Iterator<Item = (Point2<f64>, Point2<f64>)> {
    let count = ((q - p).norm() / (0.5 * line)).ceil().clamp(1.0, 1e6);
    let at = move |i: u32| {
        if f64::from(i) < count {
            p + (q - p) * (f64::from(i) / count)
        } else {
            q
        }
    };
    (0..count as u32).map(move |i| (at(i), at(i + 1)))
}

/// Does the line from `p` to `q` run along the outline below rather than away
/// from it? Told by the way to the nearest edge, at its middle.
pub(super) fn runs_along((p, q): (Point2<f64>, Point2<f64>), lower: &Rows, at_most: f64) -> bool {
    let middle = nalgebra::center(&p, &q);
    lower.nearest(middle, at_most).is_some_and(|near| {
        let (run, way) = (q - p, near - middle);
        run.dot(&way).abs() <= ALONG_COS * run.norm() * way.norm()
    })
}

/// Overhang areas this small are dropped, mm²: at an upright corner of a 45° chamfer
/// (1 − π/4)·offset² lies out of the corner's reach, or 0.30·offset² as summed along its outline.
pub(super) fn smallest_overhang_mm2(offset: f64) -> f64 {
    offset * offset / 3.0
}

/// Overhang stretches of outline, gathered as long as one begins where the last ended.
#[derive(Default)]
struct Ledge {
    end: Option<Point2<f64>>,
    reach: f64,
    overhang_mm2: f64,
    largest: f64,
}

impl Ledge {
    /// Adds a stretch; `false` if it gets `at_most` away from the layer below.
    fn add(
        &mut self,
        (p, q): (Point2<f64>, Point2<f64>),
        lower: &Rows,
        offset: f64,
        at_most: f64,
    ) -> bool {
        if self.end != Some(p) {
            self.largest = self.reach(offset);
            (self.reach, self.overhang_mm2) = (0.0, 0.0);
        }
        self.end = Some(q);
        let [a, m, b] = [p, nalgebra::center(&p, &q), q].map(|p| lower.distance(p, at_most));
        self.reach = self.reach.max(a).max(m).max(b);
        // Simpson's rule for the distance past the offset.
        self.overhang_mm2 += ((a + 4.0 * m + b) / 6.0 - offset).max(0.0) * (q - p).norm();
        self.reach < at_most
    }

    /// Largest reach so far of stretches that are not too small to count.
    fn reach(&self, offset: f64) -> f64 {
        let counts = self.overhang_mm2 >= smallest_overhang_mm2(offset);
        self.largest.max(if counts { self.reach } else { 0.0 })
    }
}
