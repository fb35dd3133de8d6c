//! Where lines cross triangles, decided exactly.
//!
//! A line counts for exactly one of the triangles around any edge or vertex it hits:
//! the sides of an edge are told by an exact predicate whose arguments do not
//! depend on the triangle, with a half-open rule for ties.

use nalgebra::{Point2, Point3, Unit, Vector3};
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

/// Height of a triangle's plane over `at`, kept within the triangle: of corners that lie
/// at `flat` across and at `heights` along.
pub(crate) fn height(flat: &[Point2<f64>; 3], heights: [f64; 3], at: Point2<f64>) -> f64 {
    let cross = |p: Point2<f64>, q: Point2<f64>, r: Point2<f64>| (q - p).perp(&(r - p));
    let weights = [
        cross(flat[1], flat[2], at),
        cross(flat[2], flat[0], at),
        cross(flat[0], flat[1], at),
    ];
    let sum: f64 = weights.iter().sum();
    let (low, high) = heights
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| {
            (l.min(*x), h.max(*x))
        });
    if sum == 0.0 {
        return f64::midpoint(low, high);
    }
    let value: f64 = weights.iter().zip(heights).map(|(w, h)| w * h).sum::<f64>() / sum;
    value.clamp(low, high)
}

/// A ray in any direction, as the frame in which it is the third axis.
///
/// The frame is a shear along the largest component of the direction, so the image of a
/// corner depends on nothing but the corner. What rounding there is moves corners, not
/// the edges of one facet against those of the next: the surface stays closed, and
/// [`crossing`] counts it exactly. Source: Woop, Benthin & Wald, *Watertight
/// ray/triangle intersection*, JCGT 2013; they fall back on exact arithmetic too.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ray {
    from: Point3<f64>,
    axis: Axis,
    slope: [f64; 2],
    speed: f64,
}

impl Ray {
    /// From `from` along the unit vector `along`.
    pub(crate) fn new(from: &Point3<f64>, along: &Unit<Vector3<f64>>) -> Self {
        let axis = Axis(along.iamax());
        let across = axis.across(&Point3::from(**along));
        let speed = along[axis.0];
        Self {
            from: *from,
            axis,
            slope: [across.x / speed, across.y / speed],
            speed,
        }
    }

    /// Distance at which the line through the ray meets a triangle (negative behind its
    /// start), and whether it enters there; `None` where it does not.
    pub(crate) fn meets(&self, corners: &[Point3<f64>; 3]) -> Option<(f64, bool)> {
        let (i, j, k) = ((self.axis.0 + 1) % 3, (self.axis.0 + 2) % 3, self.axis.0);
        let [a, b, c] = corners;
        let from = &self.from;
        let ahead = [a[k] - from[k], b[k] - from[k], c[k] - from[k]];
        // Most triangles lie wholly to one side of the line, where `crossing` gives 0: then
        // each edge up and each edge down counts, or none does.
        let beside = |at: [f64; 3]| at.iter().all(|x| *x > 0.0) || at.iter().all(|x| *x < 0.0);
        let across = |axis: usize, slope: f64| {
            [
                a[axis] - from[axis] - slope * ahead[0],
                b[axis] - from[axis] - slope * ahead[1],
                c[axis] - from[axis] - slope * ahead[2],
            ]
        };
        let x = across(i, self.slope[0]);
        if beside(x) {
            return None;
        }
        let y = across(j, self.slope[1]);
        if beside(y) {
            return None;
        }
        let flat = [0, 1, 2].map(|n| Point2::new(x[n], y[n]));
        let sign = crossing(&flat, Point2::origin());
        if sign == 0 {
            return None;
        }
        let along = ahead.map(|mm| mm / self.speed);
        let enters = (sign < 0) == (self.speed > 0.0);
        Some((height(&flat, along, Point2::origin()), enters))
    }
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
                Point2::new(libm::cos(angle), libm::sin(angle))
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
