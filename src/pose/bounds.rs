//! The box around points.

use nalgebra::Point;

/// Lowest and highest corner of the box around points; `None` without points.
pub(crate) fn bounds<const D: usize>(
    points: impl IntoIterator<Item = Point<f64, D>>,
) -> Option<[Point<f64, D>; 2]> {
    let corners = points.into_iter().map(|p| [p, p]);
    corners.reduce(|[lo, hi], [p, _]| [lo.inf(&p), hi.sup(&p)])
}
