//! Outlines with fewer corners.
//!
//! A section of a fine mesh has a corner every tenth of a millimetre or less, more than a
//! nozzle can follow. Corners are left out as long as all of them stay within a
//! tolerance of the line that replaces them: the directions from the last kept corner
//! that pass within the tolerance of every corner since form a wedge, which each
//! further corner narrows. One pass. Source: Sklansky & Gonzalez, Fast polygonal
//! approximation of digitized curves, 1980.

use crate::figures::{Piece, Section};
use nalgebra::{Point2, Vector2};

/// The piece with thinner loops; area, centroid, moments and box stay those of the original.
///
/// No left-out corner is farther than `within_mm` from the new outline. Loops of
/// which fewer than three corners would stay are left as they are.
pub(super) fn piece(piece: &Piece, within_mm: f64) -> Piece {
    Piece {
        outer: ring(&piece.outer, within_mm),
        holes: piece.holes.iter().map(|h| ring(h, within_mm)).collect(),
        ..*piece
    }
}

/// The outlines of a section, to be held against those of another: from the corner farthest to −X on, and
/// without the corners that only the facets' diagonals make.
///
/// A wall that stands upright is cut at the same place in each layer, but where two facets meet along
/// it the outline has a corner that climbs with the cut. Where a loop begins is chance.
#[derive(PartialEq)]
pub(super) struct Shape(Vec<Vec<[i64; 2]>>);

impl Shape {
    pub(super) fn of(section: &Section, within_mm: f64) -> Self {
        let loops = section.pieces.iter().flat_map(Piece::loops);
        let shape = |points: &[Point2<f64>]| {
            let first = (0..points.len()).min_by(|&i, &j| {
                let (p, q) = (points[i], points[j]);
                p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
            });
            let from = first.unwrap_or_default();
            let turned = [&points[from..], &points[..from]].concat();
            // Multiples of the tolerance, so that the last bits of a cut tell nothing apart.
            let snap = |x: f64| (x / within_mm).round() as i64;
            (ring(&turned, within_mm).iter())
                .map(|p| [snap(p.x), snap(p.y)])
                .collect()
        };
        Self(loops.map(shape).collect())
    }

    /// Whether two sections may have one shape: quick, and wrong where only their loops tell.
    pub(super) fn may_be_one(a: &Section, b: &Section, within_mm: f64) -> bool {
        let near = |p: &Point2<f64>, q: &Point2<f64>| (p - q).amax() <= within_mm;
        a.pieces.len() == b.pieces.len()
            && (a.pieces.iter().zip(&b.pieces)).all(|(p, q)| {
                p.holes.len() == q.holes.len()
                    && p.bounds.iter().zip(&q.bounds).all(|(p, q)| near(p, q))
            })
    }
}

/// Directions between two bounds, less than half a turn apart.
#[derive(Clone, Copy)]
struct Wedge {
    right: Vector2<f64>,
    left: Vector2<f64>,
}

impl Wedge {
    /// Directions that pass within `reach` of what lies at `v`; all if it is that near.
    fn about(v: Vector2<f64>, reach: f64) -> Option<Self> {
        let distance = v.norm();
        if distance <= reach {
            return None;
        }
        let sin = reach / distance;
        let (along, side) = (v * (1.0 - sin * sin).sqrt(), Vector2::new(-v.y, v.x) * sin);
        Some(Self {
            right: along - side,
            left: along + side,
        })
    }

    fn holds(&self, v: Vector2<f64>) -> bool {
        self.right.perp(&v) >= 0.0 && v.perp(&self.left) >= 0.0
    }

    /// The part that both share; what they share is known not to be empty.
    fn narrowed(&self, by: &Self) -> Self {
        let mut shared = *self;
        if self.right.perp(&by.right) > 0.0 {
            shared.right = by.right;
        }
        if by.left.perp(&self.left) > 0.0 {
            shared.left = by.left;
        }
        shared
    }
}

fn ring(points: &[Point2<f64>], within_mm: f64) -> Vec<Point2<f64>> {
    let Some(&first) = points.first() else {
        return Vec::new();
    };
    let mut kept = vec![first];
    let (mut anchor, mut before) = (first, first);
    let (mut wedge, mut far): (Option<Wedge>, f64) = (None, 0.0);
    for &p in points[1..].iter().chain([&first]) {
        // The way must lead on: a spike out and back is no straight line.
        let v = p - anchor;
        if before != anchor && (v.norm() < far || wedge.is_some_and(|w| !w.holds(v))) {
            kept.push(before);
            anchor = before;
            (wedge, far) = (None, 0.0);
        }
        let v = p - anchor;
        far = far.max(v.norm());
        if let Some(about) = Wedge::about(v, within_mm) {
            wedge = Some(wedge.map_or(about, |w| w.narrowed(&about)));
        }
        before = p;
    }
    if kept.len() < 3 {
        return points.to_vec();
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn off(p: Point2<f64>, ring: &[Point2<f64>]) -> f64 {
        super::super::rows::edges(ring)
            .map(|e| e.distance(p))
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn a_circle_keeps_few_corners_and_stays_within_the_tolerance() {
        let circle: Vec<Point2<f64>> = (0..2000)
            .map(|i| f64::from(i) / 2000.0 * std::f64::consts::TAU)
            .map(|a| Point2::new(10.0 * libm::cos(a), 10.0 * libm::sin(a)))
            .collect();
        let thin = ring(&circle, 0.01);
        // A chord whose rise is 0.01 spans 2·acos(1 − 0.001) = 5.1°; the wedge
        // allows twice the rise.
        assert!((50..=73).contains(&thin.len()), "{}", thin.len());
        assert!(circle.iter().all(|&p| off(p, &thin) <= 0.01 + 1e-9));
        assert!(thin.iter().all(|p| circle.contains(p)));
    }

    #[test]
    fn corners_and_spikes_stay() {
        let at = |x: f64, y: f64| Point2::new(x, y);
        // A square with corners along its sides, and a spike of no width out of one.
        let mut points = vec![at(0.0, 0.0), at(1.0, 0.0), at(1.5, 0.0), at(4.0, 0.0)];
        points.extend([at(4.0, 2.0), at(6.0, 2.0), at(4.0, 2.0), at(4.0, 4.0)]);
        points.extend([at(2.0, 4.0), at(0.0, 4.0), at(0.0, 1.0)]);
        let thin = ring(&points, 0.005);
        for corner in [at(4.0, 0.0), at(6.0, 2.0), at(4.0, 4.0), at(0.0, 4.0)] {
            assert!(thin.contains(&corner), "{corner}: {thin:?}");
        }
        assert!(!thin.contains(&at(1.0, 0.0)) && !thin.contains(&at(2.0, 4.0)));
    }

    /// A wall of two facets is cut anew in each layer where they meet, and loops begin anywhere.
    #[test]
    fn a_shape_knows_neither_where_a_loop_begins_nor_the_diagonals_of_its_walls() {
        let at = |x: f64, y: f64| Point2::new(x, y);
        let section = |points: Vec<Point2<f64>>| Section {
            pieces: vec![Piece::from_loops(points, vec![])],
            ..Section::default()
        };
        let one = section(vec![
            at(0.0, 0.0),
            at(1.0, 0.0),
            at(9.0, 0.0),
            at(9.0, 5.0),
            at(0.0, 5.0),
        ]);
        let other = section(vec![
            at(4.0, 0.0),
            at(9.0, 0.0),
            at(9.0, 5.0),
            at(0.0, 5.0),
            at(0.0, 0.0),
        ]);
        let wider = section(vec![
            at(0.0, 0.0),
            at(9.0, 0.0),
            at(9.0, 5.001),
            at(0.0, 5.001),
        ]);
        let within_mm = 1.2e-4;
        assert!(Shape::may_be_one(&one, &other, within_mm));
        assert!(!Shape::may_be_one(&one, &wider, within_mm));
        assert!(Shape::of(&one, within_mm) == Shape::of(&other, within_mm));
        assert!(Shape::of(&one, within_mm) != Shape::of(&wider, within_mm));
    }

    #[test]
    fn what_would_vanish_is_left() {
        let at = |x: f64, y: f64| Point2::new(x, y);
        let sliver = [at(0.0, 0.0), at(9.0, 0.001), at(10.0, 0.0), at(9.0, 0.002)];
        assert_eq!(ring(&sliver, 0.01), sliver);
        assert!(ring(&[], 0.01).is_empty());
    }
}
