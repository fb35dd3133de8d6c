//! Cheap screening: does a layer reach out of the carry of the one below?
//!
//! Fresh material is what lies farther than the carry from the layer below. The
//! outline of a fresh area is made of points of the upper outline, and of points
//! inside the upper section that are exactly one carry away from the lower
//! outline, straight out from one of its edges or corners. So it is enough to
//! look along the upper outline, and along the lower one moved outward by the
//! carry: where neither shows anything, nothing is fresh. Along a straight line
//! the parts within the carry of an edge are intervals, so nothing is sampled.

use super::rows::{Rows, edges, loops};
use crate::figures::Piece;
use nalgebra::{Point2, Vector2};

/// The moved outline lies this much beyond the carry, so that rounding cannot
/// put a point of it back within.
const BEYOND: f64 = 1.02;

/// Corners that turn by less than acos of this need no point of their own.
const SMALL_TURN_COS: f64 = 0.9;

/// Parts of a line that no edge of `rows` comes within `reach` of, in order, as
/// shares of its length. `scratch` only saves allocations.
fn uncovered(
    (p, q): (Point2<f64>, Point2<f64>),
    rows: &Rows,
    reach: f64,
    scratch: &mut Vec<(f64, f64)>,
    mut each: impl FnMut(f64, f64),
) {
    scratch.clear();
    for e in rows.near(p, q, reach) {
        match e.covers(p, q, reach) {
            Some((from, to)) if from <= 0.0 && to >= 1.0 => return,
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

/// One fresh point for every stretch of outline that is not carried.
pub(super) fn fresh_points(
    upper: &Rows,
    lower: &Rows,
    below: &[&Piece],
    carry: f64,
) -> Vec<Point2<f64>> {
    let mut found = Vec::new();
    let mut scratch = Vec::new();
    for e in upper.edges() {
        // No edge comes near an uncovered stretch, so all of it is inside or none.
        uncovered((e.a, e.b), lower, carry, &mut scratch, |from, to| {
            let middle = e.a + (e.b - e.a) * (0.5 * (from + to));
            found.extend((!lower.inside(middle)).then_some(middle));
        });
    }
    for points in below.iter().flat_map(|p| loops(p)) {
        let outward = |d: Vector2<f64>| Vector2::new(d.y, -d.x) / d.norm().max(f64::MIN_POSITIVE);
        let (Some(&first), Some(&last)) = (points.first(), points.last()) else {
            continue;
        };
        let mut before = outward(first - last);
        for e in edges(points) {
            let normal = outward(e.b - e.a);
            let (p, q) = (
                e.a + normal * (BEYOND * carry),
                e.b + normal * (BEYOND * carry),
            );
            if upper.meets_line(p, q) || upper.inside(p) {
                uncovered((p, q), lower, carry, &mut scratch, |from, to| {
                    let (a, b) = (p + (q - p) * from, p + (q - p) * to);
                    let middle = nalgebra::center(&a, &b);
                    if !lower.inside(middle) && (upper.inside(middle) || upper.meets_line(a, b)) {
                        found.push(middle);
                    }
                });
            }
            let turns_out = before.perp(&normal) > 0.0;
            if turns_out && before.dot(&normal) < SMALL_TURN_COS {
                if let Some(middle) = (before + normal).try_normalize(1e-9) {
                    let p = e.a + middle * (BEYOND * carry);
                    let fresh =
                        upper.inside(p) && lower.distance(p, carry) >= carry && !lower.inside(p);
                    found.extend(fresh.then_some(p));
                }
            }
            before = normal;
        }
    }
    found
}
