//! Where axis-parallel lines cross triangles, decided exactly.
//!
//! A line counts for exactly one of the triangles around any edge or vertex it hits:
//! the sides of an edge are told by an exact predicate whose arguments do not
//! depend on the triangle, with a half-open rule for ties.

use nalgebra::{Point2, Point3};
use robust::{Coord, Coord3D, orient2d, orient3d};

/// An axis that lines run along; the other two follow cyclically, so that their
/// plane seen against the axis is counter-clockwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Axis(pub(crate) usize);

impl Axis {
    /// Coordinates across the axis.
    pub(crate) fn across(self, p: &Point3<f64>) -> Point2<f64> {
        Point2::new(p[(self.0 + 1) % 3], p[(self.0 + 2) % 3])
    }

    /// Coordinate along the axis.
    pub(crate) fn along(self, p: &Point3<f64>) -> f64 {
        p[self.0]
    }
}

/// Whether the line through `at` crosses the triangle with these corners (across the
/// axis): +1 if it leaves through the outer side going up the axis, −1 if it enters, else 0.
pub(crate) fn crossing(corners: &[Point2<f64>; 3], at: Point2<f64>) -> i32 {
    let [a, b, c] = *corners;
    let mut sum = 0;
    for (p, q) in [(a, b), (b, c), (c, a)] {
        let rises = p.y <= at.y && q.y > at.y;
        let falls = q.y <= at.y && p.y > at.y;
        if !(rises || falls) {
            continue;
        }
        let (low, high) = if rises { (p, q) } else { (q, p) };
        let coord = |p: Point2<f64>| Coord { x: p.x, y: p.y };
        if orient2d(coord(low), coord(high), coord(at)) > 0.0 {
            sum += if rises { 1 } else { -1 };
        }
    }
    sum
}

/// Which side of a triangle's plane `p` is on: positive behind (the inner side),
/// negative in front, zero exactly on the plane.
pub(crate) fn behind(corners: &[Point3<f64>; 3], p: &Point3<f64>) -> f64 {
    let coord = |p: &Point3<f64>| Coord3D {
        x: p.x,
        y: p.y,
        z: p.z,
    };
    let [a, b, c] = corners;
    orient3d(coord(a), coord(b), coord(c), coord(p))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_a_shared_edge_or_vertex_counts_once() {
        // A fan around the origin; lines through its hub, spokes and outside.
        let rim: Vec<Point2<f64>> = (0..7)
            .map(|i| {
                let angle = f64::from(i) * std::f64::consts::TAU / 7.0;
                Point2::new(angle.cos(), angle.sin())
            })
            .collect();
        let hub = Point2::new(0.0, 0.0);
        let count = |at: Point2<f64>| -> i32 {
            (0..7)
                .map(|i| crossing(&[hub, rim[i], rim[(i + 1) % 7]], at))
                .sum()
        };
        assert_eq!(count(hub), 1);
        for spoke in &rim {
            assert_eq!(count(Point2::from(spoke.coords * 0.5)), 1);
            assert_eq!(count(Point2::from(spoke.coords * 1.5)), 0);
        }
        assert_eq!(crossing(&[hub, rim[1], rim[0]], Point2::new(0.5, 0.2)), -1);
    }

    #[test]
    fn behind_is_the_inner_side() {
        let up = [
            Point3::origin(),
            Point3::new(1.0, 0.0, 0.0),
            Point3::new(0.0, 1.0, 0.0),
        ];
        assert!(behind(&up, &Point3::new(0.2, 0.2, -1.0)) > 0.0);
        assert!(behind(&up, &Point3::new(0.2, 0.2, 1.0)) < 0.0);
        assert!(behind(&up, &Point3::new(5.0, 5.0, 0.0)) == 0.0);
    }
}
