//! Polygons as loops of points: edges, area, which points they go round.

use nalgebra::{Point2, Vector2};

/// A straight edge from the first point to the second.
pub type Ends = (Point2<f64>, Point2<f64>);

/// A closed loop that does not repeat its first point.
pub type Ring = Vec<Point2<f64>>;

/// Edges of a closed loop as pairs of end points, the closing one first.
pub fn edges(ring: &[Point2<f64>]) -> impl Iterator<Item = Ends> + '_ {
    let last = ring.last().copied();
    last.into_iter()
        .chain(ring.iter().copied())
        .zip(ring.iter().copied())
}

/// Area of a polygon, positive when counter-clockwise, in the square of its unit: the
/// shoelace formula about the first point, so that one far from the origin loses no digits.
/// 0 for fewer than three points.
pub fn area(polygon: &[Point2<f64>]) -> f64 {
    let Some(&o) = polygon.first() else {
        return 0.0;
    };
    polygon
        .windows(2)
        .map(|e| (e[0] - o).perp(&(e[1] - o)))
        .sum::<f64>()
        / 2.0
}

/// The same inside closed loops that are given by their edges, in any order.
pub fn area_within(edges: impl IntoIterator<Item = Ends>) -> f64 {
    let mut edges = edges.into_iter().peekable();
    let o = edges.peek().map_or_else(Point2::origin, |first| first.0);
    edges.map(|(a, b)| (a - o).perp(&(b - o))).sum::<f64>() / 2.0
}

/// The way from the nearest point of an edge to `p`.
pub fn from_edge((a, b): Ends, p: Point2<f64>) -> Vector2<f64> {
    let (e, w) = (b - a, p - a);
    w - e * (w.dot(&e) / e.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
}

/// Whether closed outlines with these edges, in any order, go round a point an odd number
/// of times (M. Shimrat, *Position of point relative to polygon*, 1962). An edge counts from its
/// lower end on and without its upper one; a point on the outline may fall to either side.
pub fn contains(edges: impl IntoIterator<Item = Ends>, p: Point2<f64>) -> bool {
    edges.into_iter().fold(false, |inside, (a, b)| {
        inside ^ (crosses(a, b, p) == Some(true))
    })
}

/// Whether the edge from `a` to `b` crosses the level line through `p` to the right of it; none where it
/// does not cross that.
pub fn crosses(a: Point2<f64>, b: Point2<f64>, p: Point2<f64>) -> Option<bool> {
    ((a.y > p.y) != (b.y > p.y)).then(|| p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notched_square_has_its_area_and_its_inside() {
        let at = |x: f64, y: f64| Point2::new(x, y);
        let mut ring = vec![
            at(0.0, 0.0),
            at(4.0, 0.0),
            at(4.0, 4.0),
            at(2.0, 1.0),
            at(0.0, 4.0),
        ];
        assert_eq!(area(&ring), 16.0 - 6.0);
        assert!(contains(edges(&ring), at(2.0, 0.5)));
        assert!(contains(edges(&ring), at(0.5, 2.0)));
        assert!(!contains(edges(&ring), at(2.0, 2.0)));
        assert!(!contains(edges(&ring), at(5.0, 1.0)));
        // Level with corners: each counts once.
        assert!(contains(edges(&ring), at(1.0, 1.0)) && !contains(edges(&ring), at(-1.0, 1.0)));
        ring.reverse();
        assert_eq!(area(&ring), -10.0);
        assert!(contains(edges(&ring), at(2.0, 0.5)));
        assert_eq!(area(&[]), 0.0);
        assert!(!contains(edges(&[]), at(0.0, 0.0)));
    }
}
