//! A section grown by the offset, near a place.

use super::rows::{Edge, Rows};
use crate::plane::overlay::Window;
use crate::plane::polygon::Ends;
use nalgebra::{Point2, Vector2};

/// Largest angle between neighbouring corners of a rounded offset, radians. The
/// chord then cuts 0.5 % of the radius, less than the margin on the limit.
const ROUND_STEP: f64 = 0.2;

/// The band within `offset` outside the lower outline where that comes near the
/// window, as areas that may overlap. A run of edges gives one area: out along the edges
/// moved outward, by way of an arc about corners that turn out and of the corner
/// itself where it turns in, and back along the run. Together with the lower section they
/// are that section grown by `offset` with rounded corners.
pub(super) fn band(lower: &Rows, window: &Window, offset: f64) -> Vec<Ends> {
    let outward = |e: &Edge| {
        let d = e.b - e.a;
        Vector2::new(d.y, -d.x) * (offset / d.norm().max(f64::MIN_POSITIVE))
    };
    let mut out = Vec::new();
    let near = lower.within(window.lo, window.hi, offset);
    let mut rest = near.as_slice();
    while let Some(&(first, start)) = rest.first() {
        let mut at = start.a;
        let mut go = |to: Point2<f64>| {
            out.push((at, to));
            at = to;
        };
        let mut count = 0;
        for (k, (i, e)) in rest.iter().enumerate() {
            let normal = outward(e);
            go(e.a + normal);
            go(e.b + normal);
            count = k + 1;
            let next = lower.after(*i);
            let beside = outward(&next);
            let turn = libm::atan2(normal.perp(&beside), normal.dot(&beside));
            if turn > 0.0 {
                let steps = (turn / ROUND_STEP).ceil();
                for step in 1..=steps as u32 {
                    let (sin, cos) = libm::sincos(turn * f64::from(step) / steps);
                    go(e.b + normal * cos + Vector2::new(-normal.y, normal.x) * sin);
                }
            }
            let goes_on = rest
                .get(k + 1)
                .is_some_and(|n| n.0 == i + 1 && next.a == n.1.a);
            if !goes_on || turn <= 0.0 {
                go(e.b);
            }
            if !goes_on {
                break;
            }
        }
        for (_, e) in rest[..count].iter().rev() {
            go(e.a);
        }
        debug_assert!(first <= rest[count - 1].0);
        rest = &rest[count..];
    }
    out
}
