//! Planar figures of a footprint: hull, smallest rectangle, margin, tip angle, fit.
//!
//! Sources: A. M. Andrew, *Another efficient algorithm for convex hulls in two
//! dimensions*, 1979; H. Freeman and R. Shapira, *Determining the minimum-area
//! encasing rectangle for an arbitrary closed curve*, 1975 (one side of the
//! rectangle lies on an edge of the hull); J. R. Shewchuk, *Adaptive precision
//! floating-point arithmetic and fast robust geometric predicates*, 1997.

use crate::plane::polygon::from_edge;
use nalgebra::{Point2, Point3, Vector2};
use robust::{Coord, orient2d};
use std::f64::consts::{FRAC_PI_2, PI};

/// Areas and sides this close, relatively, are a tie.
const TIE_REL: f64 = 1e-9;

/// Of fewer points none is left out before they are put in order.
const FEW: usize = 32;

/// Sign of the turn a → b → c, exact: positive for a left turn.
fn turn(a: &Point2<f64>, b: &Point2<f64>, c: &Point2<f64>) -> f64 {
    let coord = |p: &Point2<f64>| Coord { x: p.x, y: p.y };
    orient2d(coord(a), coord(b), coord(c))
}

/// Convex hull of planar points as indices into `points`, counter-clockwise,
/// from the smallest x (then y) on.
///
/// Only corners are listed: no point on an edge, no repeats; of equal points the
/// lowest index stands for all. Two indices for collinear points, one where all
/// coincide, none for no points. Exact: no rounding decides a turn.
pub fn hull2d_ids(points: &[Point2<f64>]) -> Vec<u32> {
    let mut order: Vec<u32> = outer_ids(points);
    let at = |i: u32| &points[i as usize];
    // Adding zero makes −0 and 0 one value in the order.
    let key = |i: u32| (at(i).x + 0.0, at(i).y + 0.0);
    order.sort_unstable_by(|&i, &j| {
        let ((px, py), (qx, qy)) = (key(i), key(j));
        px.total_cmp(&qx).then(py.total_cmp(&qy)).then(i.cmp(&j))
    });
    order.dedup_by(|j, i| at(*i) == at(*j));
    if order.len() < 3 {
        return order;
    }
    let mut loop_: Vec<u32> = Vec::new();
    let half = |loop_: &mut Vec<u32>, i: u32, floor: usize| {
        while let [.., a, b] = loop_[floor..] {
            if turn(at(a), at(b), at(i)) > 0.0 {
                break;
            }
            loop_.pop();
        }
        loop_.push(i);
    };
    for &i in &order {
        half(&mut loop_, i, 0);
    }
    let floor = loop_.len() - 1;
    for &i in order.iter().rev().skip(1) {
        half(&mut loop_, i, floor);
    }
    loop_.pop();
    loop_
}

/// Indices of the points that may be corners of the hull: all but those strictly within the octagon of
/// the points farthest along eight directions.
///
/// Seen from such a point each edge of the octagon turns left, so it goes round the point at least once:
/// the point lies inside the hull, however rounding chose the eight. Source: S. G. Akl and G. T. Toussaint,
/// *A fast convex hull algorithm*, 1978.
fn outer_ids(points: &[Point2<f64>]) -> Vec<u32> {
    let all = 0..points.len() as u32;
    if points.len() < FEW {
        return all.collect();
    }
    // Counter-clockwise from +X on.
    let ways = [
        [1, 0],
        [1, 1],
        [0, 1],
        [-1, 1],
        [-1, 0],
        [-1, -1],
        [0, -1],
        [1, -1],
    ];
    let mut far = [(f64::NEG_INFINITY, Point2::origin()); 8];
    for p in points {
        for (far, [x, y]) in far.iter_mut().zip(ways) {
            let reach = f64::from(x) * p.x + f64::from(y) * p.y;
            if reach > far.0 {
                *far = (reach, *p);
            }
        }
    }
    let mut octagon: Vec<Point2<f64>> = far.iter().map(|(_, p)| *p).collect();
    octagon.dedup();
    if octagon.first() == octagon.last() {
        octagon.pop();
    }
    // Of most points this tells it at once: beside a box whose sides the four between the axes cut off.
    let [ne, nw, sw, se] = [1, 3, 5, 7].map(|k: usize| far[k].1);
    let (left, right) = (nw.x.max(sw.x), ne.x.min(se.x));
    let (low, high) = (se.y.max(sw.y), ne.y.min(nw.y));
    let boxed = |p: &Point2<f64>| left < p.x && p.x < right && low < p.y && p.y < high;
    let within = |p: &Point2<f64>| {
        let mut ends = octagon.iter().zip(octagon.iter().cycle().skip(1));
        boxed(p) || octagon.len() > 2 && ends.all(|(a, b)| turn(a, b, p) > 0.0)
    };
    all.filter(|&i| !within(&points[i as usize])).collect()
}

/// Convex hull of planar points, counter-clockwise; see [`hull2d_ids`].
pub fn hull2d(points: &[Point2<f64>]) -> Vec<Point2<f64>> {
    let corners = hull2d_ids(points).into_iter();
    corners.map(|i| points[i as usize]).collect()
}

/// A rectangle in the plane, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Direction of the long side as a unit vector; exact where it is an axis.
    pub along: Vector2<f64>,
    /// Direction of the long side from +X, radians, in (−π/2, π/2].
    pub angle_rad: f64,
    /// Long side, mm.
    pub long_mm: f64,
    /// Short side, mm.
    pub short_mm: f64,
    /// Centre.
    pub centre: Point2<f64>,
}

impl Rectangle {
    /// Area, mm².
    pub fn area_mm2(&self) -> f64 {
        self.long_mm * self.short_mm
    }
}

/// Lowest and highest of some values: ∞ and −∞ without any.
pub fn span(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    (values.into_iter()).fold(none, |(lo, hi), x| (lo.min(x), hi.max(x)))
}

/// Range of `p · u` over the points.
fn range(points: &[Point2<f64>], u: Vector2<f64>) -> (f64, f64) {
    span(points.iter().map(|p| p.coords.dot(&u)))
}

/// The rectangle with a side along unit vector `u`, its long side named.
fn rectangle_along(points: &[Point2<f64>], u: Vector2<f64>) -> Rectangle {
    let v = Vector2::new(-u.y, u.x);
    let ((u0, u1), (v0, v1)) = (range(points, u), range(points, v));
    let (du, dv) = (u1 - u0, v1 - v0);
    let square = (du - dv).abs() <= TIE_REL * du.max(dv);
    // Turned into the half plane x > 0 (for a square: the nearer of the two sides to X).
    let wants_v = if square {
        u.y.abs() > u.x.abs() * (1.0 + TIE_REL)
    } else {
        dv > du
    };
    let side = if wants_v { v } else { u };
    let forward = side.x > 0.0 || (side.x == 0.0 && side.y > 0.0);
    let along = (if forward { side } else { -side }).map(|c| c + 0.0);
    let (long_mm, short_mm) = if wants_v { (dv, du) } else { (du, dv) };
    Rectangle {
        along,
        angle_rad: libm::atan2(along.y, along.x),
        long_mm,
        short_mm,
        centre: Point2::from(u * f64::midpoint(u0, u1) + v * f64::midpoint(v0, v1)),
    }
}

/// Smallest-area rectangle around a convex polygon (as from [`hull2d`]), mm.
///
/// Among rectangles of equal area (to one part in 10⁹) the one whose long side
/// is nearest to +X is taken, and of two as near the one turned counter-clockwise.
/// Two points give a rectangle of no width, one point a null one, none `None`.
/// After Freeman & Shapira 1975, by rotating calipers: O(n).
pub fn min_area_rectangle(hull: &[Point2<f64>]) -> Option<Rectangle> {
    let n = hull.len();
    if n < 2 {
        return hull.first().map(|_| rectangle_along(hull, Vector2::x()));
    }
    let edge = |i: usize| {
        let e = hull[(i + 1) % n] - hull[i];
        let length = e.norm();
        (length > 0.0).then(|| e / length)
    };
    let mut areas: Vec<(f64, Vector2<f64>)> = Vec::with_capacity(n);
    let (mut right, mut top, mut left) = (1, 1, 1);
    for i in 0..n {
        let Some(u) = edge(i) else { continue };
        let v = Vector2::new(-u.y, u.x);
        let climb = |from: usize, d: Vector2<f64>| {
            let mut k = from;
            while k < i + n && (hull[(k + 1) % n] - hull[k % n]).dot(&d) >= 0.0 {
                k += 1;
            }
            k
        };
        right = climb(right.max(i + 1), u);
        top = climb(top.max(right), v);
        left = climb(left.max(top), -u);
        let width = (hull[right % n] - hull[left % n]).dot(&u);
        let height = (hull[top % n] - hull[i]).dot(&v);
        areas.push((width * height, u));
    }
    let least = areas.iter().map(|a| a.0).fold(f64::INFINITY, f64::min);
    let mut best: Option<Rectangle> = None;
    for &(_, u) in areas.iter().filter(|a| a.0 <= least * (1.0 + TIE_REL)) {
        let r = rectangle_along(hull, u);
        let better = best.is_none_or(|b| {
            let (new, old) = (r.angle_rad.abs(), b.angle_rad.abs());
            new < old - TIE_REL || (new <= old + TIE_REL && r.angle_rad > b.angle_rad)
        });
        if better {
            best = Some(r);
        }
    }
    best
}

/// Signed distance of `p` to the outline of a convex polygon (counter-clockwise),
/// mm: positive inside, negative outside. A polygon of two points or one has no
/// inside; without points the distance is −∞.
pub fn margin(polygon: &[Point2<f64>], p: &Point2<f64>) -> f64 {
    let n = polygon.len();
    let mut inside = n >= 3;
    let mut distance = f64::INFINITY;
    for (i, a) in polygon.iter().enumerate() {
        let b = &polygon[(i + 1) % n];
        distance = distance.min(from_edge((*a, *b), *p).norm());
        inside &= turn(a, b, p) >= 0.0;
    }
    if inside { distance } else { -distance }
}

/// Smallest tilt that carries the centroid over an edge of `hull`, the convex
/// hull of the contact (counter-clockwise), radians; negative if the centroid
/// already lies outside. Build frame, mm.
///
/// The tilt is atan(distance to the outline / height of the centroid). Without
/// contact it is −π/2; a centroid at height 0 gives ±π/2, or 0 on the outline.
pub fn tip_angle(centroid: &Point3<f64>, hull: &[Point2<f64>]) -> f64 {
    let m = margin(hull, &centroid.xy());
    if m == f64::NEG_INFINITY {
        -FRAC_PI_2
    } else {
        libm::atan2(m, centroid.z.max(0.0))
    }
}

/// Room that a convex footprint turned by `yaw` leaves on a bed, mm: of the bed's sides less
/// the footprint's the smaller; negative where it does not fit.
pub fn room(hull: &[Point2<f64>], yaw: f64, [bed_x, bed_y]: [f64; 2]) -> f64 {
    let (s, c) = libm::sincos(yaw);
    let (x0, x1) = range(hull, Vector2::new(c, -s));
    let (y0, y1) = range(hull, Vector2::new(s, c));
    (bed_x - (x1 - x0)).min(bed_y - (y1 - y0))
}

/// A yaw (radians, about +Z, counter-clockwise) that puts a convex footprint
/// into a bed of `bed_x` by `bed_y` mm, or `None` where no yaw does.
///
/// No turn is preferred, then a quarter turn, then the yaw with most room ([`roomiest_yaw`]).
pub fn fits_at_some_yaw(hull: &[Point2<f64>], bed_x: f64, bed_y: f64) -> Option<f64> {
    // A width equal to the bed in the decimal input must not fail by rounding.
    let enough = -crate::tol::COORD_REL * 1e-3 * bed_x.max(bed_y);
    if hull.is_empty() || room(hull, 0.0, [bed_x, bed_y]) >= enough {
        return Some(0.0);
    }
    let quarter = {
        let (x0, x1) = range(hull, Vector2::x());
        let (y0, y1) = range(hull, Vector2::y());
        (bed_x - (y1 - y0)).min(bed_y - (x1 - x0))
    };
    if quarter >= enough {
        return Some(FRAC_PI_2);
    }
    roomiest_yaw(hull, bed_x, bed_y)
        .filter(|(_, room)| *room >= enough)
        .map(|(yaw, _)| yaw)
}

/// The yaw in [0, π) at which a convex footprint leaves most [`room`], with the room, mm.
///
/// Width and depth are arcs of sinusoids between the angles where an edge of the hull lies
/// along an axis of the bed, each with its lowest values at the ends. So the most room is at
/// such an angle or where the room left and right is that before and behind. O(n log n).
pub fn roomiest_yaw(hull: &[Point2<f64>], bed_x: f64, bed_y: f64) -> Option<(f64, f64)> {
    let calipers = Calipers::new(hull);
    let breaks = calipers.breaks();
    let mut yaws = breaks.clone();
    for (i, &from) in breaks.iter().enumerate() {
        // The last stretch ends where the first begins, half a turn on.
        let to = (breaks.get(i + 1).copied()).unwrap_or_else(|| breaks[0] + PI);
        let mid = f64::midpoint(from, to);
        // In a stretch width and depth are projections of two fixed diagonals.
        let (w, d) = (calipers.diagonal(mid), calipers.diagonal(mid - FRAC_PI_2));
        let (cosine, sine) = (w.x - d.y, -w.y - d.x);
        let (most, phase) = (libm::hypot(cosine, sine), libm::atan2(sine, cosine));
        if (bed_x - bed_y).abs() > most || most <= 0.0 {
            continue;
        }
        let apart = libm::acos((bed_x - bed_y) / most);
        for yaw in [phase + apart, phase - apart] {
            let within = yaw + ((from - yaw) / PI).ceil() * PI;
            if within <= to {
                yaws.push(within);
            }
        }
    }
    yaws.sort_unstable_by(f64::total_cmp);
    // Of yaws with as much room the first.
    let tie = TIE_REL * bed_x.max(bed_y);
    let mut best: Option<(f64, f64)> = None;
    for yaw in yaws {
        let room = (bed_x - calipers.width(yaw)).min(bed_y - calipers.width(yaw - FRAC_PI_2));
        if best.is_none_or(|b| room > b.1 + tie) {
            best = Some((yaw.rem_euclid(PI), room));
        }
    }
    best
}

/// Extreme vertices of a convex polygon in any direction, by binary search.
struct Calipers<'a> {
    hull: &'a [Point2<f64>],
    /// Angle of the outward normal of each edge, ascending, with the vertex at its end.
    normals: Vec<(f64, u32)>,
}

impl<'a> Calipers<'a> {
    fn new(hull: &'a [Point2<f64>]) -> Self {
        let n = hull.len();
        let normal = |i: usize| {
            let end = (i + 1) % n;
            let e = hull[end] - hull[i];
            let angle = libm::atan2(-e.x, e.y).rem_euclid(2.0 * PI);
            (e.norm_squared() > 0.0).then_some((angle, end as u32))
        };
        let mut normals: Vec<(f64, u32)> = (0..n).filter_map(normal).collect();
        normals.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { hull, normals }
    }

    /// Vertex furthest along the direction at `angle`.
    fn extreme(&self, angle: f64) -> Point2<f64> {
        let a = angle.rem_euclid(2.0 * PI);
        let k = self.normals.partition_point(|n| n.0 <= a);
        let entry = if k == 0 {
            self.normals.last()
        } else {
            self.normals.get(k - 1)
        };
        entry.map_or_else(Point2::origin, |e| self.hull[e.1 as usize])
    }

    /// The vector between the two extremes that spans the width at turn `yaw`.
    fn diagonal(&self, yaw: f64) -> Vector2<f64> {
        self.extreme(-yaw) - self.extreme(PI - yaw)
    }

    /// Width along X once the polygon is turned by `yaw`.
    fn width(&self, yaw: f64) -> f64 {
        let (s, c) = libm::sincos(yaw);
        self.diagonal(yaw).dot(&Vector2::new(c, -s))
    }

    /// Turns in [0, π) at which some extreme of width or depth changes, ascending.
    fn breaks(&self) -> Vec<f64> {
        let mut all: Vec<f64> = self
            .normals
            .iter()
            .flat_map(|n| [-n.0, FRAC_PI_2 - n.0].map(|a| a.rem_euclid(PI)))
            .collect();
        all.sort_unstable_by(f64::total_cmp);
        all.dedup();
        all
    }
}

#[cfg(test)]
#[path = "rect_tests.rs"]
mod tests;
