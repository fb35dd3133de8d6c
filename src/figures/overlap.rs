//! Whether two pieces of neighbouring layers overlap in plan.
//!
//! Overlap means a common area, not a common point or line. Coordinates are
//! trusted to a length (see [`crate::tol::length`]): faces that were modelled
//! flush meet within it and do not overlap. Cheap tests that settle nearly every
//! pair come first, the intersection itself last.

use super::Piece;
use crate::plane::overlay::{Window, common_area};
use crate::plane::polygon::{Ends, edges, from_edge};
use nalgebra::Point2;

/// A piece together with a point that lies well inside it.
pub(crate) struct Probe<'a> {
    pub(crate) piece: &'a Piece,
    inside: Option<Point2<f64>>,
    trust_mm: f64,
}

impl<'a> Probe<'a> {
    /// Finds the inner point. `trust_mm` is the length below which two
    /// coordinates are the same; a piece thinner than that gets no inner point.
    pub(crate) fn new(piece: &'a Piece, trust_mm: f64) -> Self {
        let clear = |p: &Point2<f64>| well_inside(piece, *p, trust_mm);
        let inside = Some(piece.centroid)
            .filter(clear)
            .or_else(|| middle_of_a_row(piece).filter(clear));
        Self {
            piece,
            inside,
            trust_mm,
        }
    }

    /// Whether the two pieces have area in common.
    pub(crate) fn overlaps(&self, other: &Probe) -> bool {
        let trust = self.trust_mm;
        let (a, b) = (self.piece, other.piece);
        let lo = a.bounds[0].sup(&b.bounds[0]);
        let hi = a.bounds[1].inf(&b.bounds[1]);
        if hi.x - lo.x <= trust || hi.y - lo.y <= trust {
            return false;
        }
        let within =
            |p: Option<Point2<f64>>, q: &Piece| p.is_some_and(|p| well_inside(q, p, trust));
        if within(self.inside, b) || within(other.inside, a) {
            return true;
        }
        match outlines(a, b, &Window { lo, hi }, trust) {
            Outlines::Cross => true,
            // Each loop lies wholly inside or wholly outside the other piece.
            Outlines::Apart => {
                let any_in = |p: &Piece, q: &Piece| {
                    p.loops()
                        .filter_map(<[_]>::first)
                        .any(|v| well_inside(q, *v, 0.0))
                };
                any_in(a, b) || any_in(b, a)
            }
            Outlines::Touch => {
                common_area(a.loops(), b.loops()) > trust * ((hi.x - lo.x) + (hi.y - lo.y))
            }
        }
    }
}

/// Whether a point lies inside, further than `clear` from the outline.
fn well_inside(piece: &Piece, p: Point2<f64>, clear: f64) -> bool {
    let clears = |e| from_edge(e, p).norm_squared() > clear * clear;
    piece.contains(p) && piece.loops().flat_map(edges).all(clears)
}

/// Middle of the longest inner run of the horizontal line through the middle of
/// the tallest gap between vertex heights. `None` without two heights.
fn middle_of_a_row(piece: &Piece) -> Option<Point2<f64>> {
    let mut heights: Vec<f64> = piece.loops().flatten().map(|p| p.y).collect();
    heights.sort_by(f64::total_cmp);
    let row = heights
        .windows(2)
        .max_by(|u, v| (u[1] - u[0]).total_cmp(&(v[1] - v[0])))?;
    let y = f64::midpoint(row[0], row[1]);
    let mut crossings: Vec<f64> = piece
        .loops()
        .flat_map(edges)
        .filter(|(a, b)| (a.y > y) != (b.y > y))
        .map(|(a, b)| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)))
        .collect();
    crossings.sort_by(f64::total_cmp);
    let run = crossings
        .chunks_exact(2)
        .max_by(|u, v| (u[1] - u[0]).total_cmp(&(v[1] - v[0])))?;
    Some(Point2::new(f64::midpoint(run[0], run[1]), y))
}

enum Outlines {
    /// Two edges cross by more than the trusted length.
    Cross,
    /// Edges come within the trusted length of each other; nothing is proven.
    Touch,
    /// No edge comes near one of the other piece.
    Apart,
}

/// Compares the outlines within the common box by a sweep along X.
fn outlines(a: &Piece, b: &Piece, common: &Window, trust: f64) -> Outlines {
    let window = common.grown(trust);
    let near = |piece: &Piece| -> Vec<Edge> {
        let all = piece.loops().flat_map(edges).map(Edge::new);
        all.filter(|e| window.meets(&e.around)).collect()
    };
    let (ours, theirs) = (near(a), near(b));
    if ours.is_empty() || theirs.is_empty() {
        return Outlines::Apart;
    }
    let mut all: Vec<(usize, Edge)> = (ours.into_iter().map(|e| (0, e)))
        .chain(theirs.into_iter().map(|e| (1, e)))
        .collect();
    all.sort_by(|(_, e), (_, f)| e.around.lo.x.total_cmp(&f.around.lo.x));
    let mut touch = false;
    let mut open: [Vec<&Edge>; 2] = [Vec::new(), Vec::new()];
    for (of, edge) in &all {
        open[*of].push(edge);
        let others = &mut open[1 - of];
        let Window { lo, hi } = edge.around;
        others.retain(|other| other.around.hi.x + trust >= lo.x);
        for other in others.iter() {
            if other.around.lo.y > hi.y + trust || lo.y > other.around.hi.y + trust {
                continue;
            }
            match edge.meets(other, trust) {
                Outlines::Cross => return Outlines::Cross,
                Outlines::Touch => touch = true,
                Outlines::Apart => {}
            }
        }
    }
    if touch {
        Outlines::Touch
    } else {
        Outlines::Apart
    }
}

struct Edge {
    ends: Ends,
    around: Window,
}

impl Edge {
    fn new(ends: Ends) -> Self {
        let around = Window::around([ends.0, ends.1]);
        Self { ends, around }
    }

    fn meets(&self, other: &Edge, trust: f64) -> Outlines {
        let ((p, q), (m, n)) = (self.ends, other.ends);
        let [u, v] = [m, n].map(|x| side(x, p, q));
        let [s, t] = [p, q].map(|x| side(x, m, n));
        if u * v < 0.0 && s * t < 0.0 {
            let least = u.abs().min(v.abs()).min(s.abs()).min(t.abs());
            return if least > trust {
                Outlines::Cross
            } else {
                Outlines::Touch
            };
        }
        let near = |edge, x| from_edge(edge, x).norm_squared() <= trust * trust;
        if [m, n].iter().any(|&x| near(self.ends, x)) || [p, q].iter().any(|&x| near(other.ends, x))
        {
            Outlines::Touch
        } else {
            Outlines::Apart
        }
    }
}

/// Signed distance of `x` from the line through `a` and `b`; 0 where they coincide.
fn side(x: Point2<f64>, a: Point2<f64>, b: Point2<f64>) -> f64 {
    let along = b - a;
    let length = along.norm();
    if length > 0.0 {
        along.perp(&(x - a)) / length
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{disc, rectangle, ring, square};

    const TRUST: f64 = 1e-5;

    /// Asks both ways round: the answer must be the same.
    fn overlap(a: &Piece, b: &Piece) -> bool {
        let (p, q) = (Probe::new(a, TRUST), Probe::new(b, TRUST));
        let answer = p.overlaps(&q);
        assert_eq!(answer, q.overlaps(&p));
        answer
    }

    #[test]
    fn overlap_of_equal_and_nested_pieces() {
        assert!(overlap(&square(0.0, 0.0, 2.0), &square(0.0, 0.0, 2.0)));
        assert!(overlap(&square(0.0, 0.0, 20.0), &square(7.0, 7.0, 1.0)));
        assert!(overlap(
            &ring(0.0, 0.0, 10.0, 9.0, 64),
            &ring(0.0, 0.0, 10.0, 9.0, 64)
        ));
        // A cover over a ring: no centre of either lies in the other.
        assert!(overlap(
            &ring(0.0, 0.0, 10.0, 9.0, 64),
            &ring(0.0, 0.0, 10.5, 8.0, 64)
        ));
    }

    #[test]
    fn overlap_needs_area() {
        let a = square(0.0, 0.0, 10.0);
        assert!(!overlap(&a, &square(10.0, 0.0, 10.0)), "along an edge");
        assert!(!overlap(&a, &square(10.0, 10.0, 10.0)), "at a corner");
        assert!(
            !overlap(&a, &square(10.0 - 1e-9, 3.0, 10.0)),
            "within trust"
        );
        assert!(overlap(&a, &square(10.0 - 1e-2, 3.0, 10.0)));
        // An L around a square, flush on two sides: boxes overlap, areas do not.
        let corners = [
            (-5.0, -5.0),
            (9.0, -5.0),
            (9.0, 9.0),
            (5.0, 9.0),
            (5.0, -1.0),
            (-5.0, -1.0),
        ];
        let angle = Piece::from_loops(corners.map(|(x, y)| Point2::new(x, y)).to_vec(), vec![]);
        assert!(!overlap(&angle, &rectangle(0.0, 4.0, 10.0, 10.0)));
        assert!(overlap(&angle, &rectangle(0.0, 3.9, 10.0, 10.0)));
    }

    #[test]
    fn overlap_sees_holes() {
        let tube = ring(0.0, 0.0, 10.0, 8.0, 90);
        assert!(!overlap(&tube, &disc(0.0, 0.0, 7.0, 12)));
        assert!(
            !overlap(&tube, &disc(0.0, 0.0, 8.0, 90)),
            "a plug that fits flush"
        );
        assert!(overlap(&tube, &disc(0.0, 0.0, 8.1, 90)));
        assert!(overlap(&tube, &disc(0.0, 0.0, 20.0, 90)), "a lid");
        assert!(!overlap(&tube, &ring(0.0, 0.0, 30.0, 11.0, 90)));
    }

    #[test]
    fn overlap_of_crossed_bars_without_a_corner_inside() {
        assert!(overlap(
            &rectangle(3.0, 0.0, 20.0, 1.0),
            &rectangle(0.0, 5.0, 1.0, 30.0)
        ));
        // Flush crossing: the ends of one bar lie on the sides of the other.
        assert!(overlap(
            &rectangle(6.0, 0.0, 12.0, 2.0),
            &rectangle(6.5, 0.0, 1.0, 2.0)
        ));
    }

    #[test]
    fn overlap_agrees_with_the_area_of_the_intersection() {
        let mut seed = 7_u64;
        let mut random = move || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 40) as f64 / f64::from(1 << 24)
        };
        // Stars with deep notches on a coarse grid, so that corners and edges often coincide.
        let mut star = || {
            let (cx, cy) = ((random() * 8.0).round(), (random() * 8.0).round());
            let points: Vec<_> = (0..9)
                .map(|k| {
                    let (t, r) = (
                        f64::from(k) * std::f64::consts::TAU / 9.0,
                        0.6 + 3.0 * random(),
                    );
                    let snap = |x: f64| (x * 2.0).round() / 2.0;
                    Point2::new(cx + snap(r * libm::cos(t)), cy + snap(r * libm::sin(t)))
                })
                .collect();
            Piece::from_loops(points, vec![])
        };
        let (mut yes, mut no) = (0, 0);
        for _ in 0..3000 {
            let (a, b) = (star(), star());
            if a.area_mm2 <= 0.0 || b.area_mm2 <= 0.0 {
                continue;
            }
            let expected = common_area(a.loops(), b.loops()) > 1e-3;
            assert_eq!(overlap(&a, &b), expected, "{:?}\n{:?}", a.outer, b.outer);
            *(if expected { &mut yes } else { &mut no }) += 1;
        }
        assert!(yes > 500 && no > 500, "{yes} {no}");
    }

    #[test]
    fn overlap_of_pieces_without_area_is_none() {
        let a = square(0.0, 0.0, 10.0);
        assert!(!overlap(&a, &Piece::default()));
        let line = vec![
            Point2::new(-1.0, -1.0),
            Point2::new(1.0, 1.0),
            Point2::new(0.0, 0.0),
        ];
        assert!(!overlap(
            &Piece::from_loops(line.clone(), vec![]),
            &Piece::from_loops(line, vec![])
        ));
    }
}
