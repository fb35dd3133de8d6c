//! Unions of closed loops.

use super::overlay::{Loops, Window, plain, rings};
use super::polygon::{self, Ends, Ring};
use super::rect;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::solver::{Precision, Solver};
use i_overlay::float::overlay::OverlayOptions;
use i_overlay::float::simplify::SimplifyShape;
use nalgebra::{Point2, Vector2};

/// How crossings are put on the grid. Each round of it puts them there, which makes new ones where
/// edges lie almost on one line, and takes those within a radius of a corner for that corner.
/// Where the radius grows slowly, as it does by default, the walls of a few bodies that share a
/// plane come to thousands of splinters; from the 2³² steps of the third round on there are none.
/// On 64 bits those are 10⁻⁷ mm of a part of 100 mm.
const SOLVER: Solver = Solver {
    precision: Precision {
        start: 0,
        progression: 32,
    },
    ..Solver::AUTO
};

/// Union of closed loops by the non-zero rule: connected areas, each as its outer loop, which
/// runs counter-clockwise, and its holes, which run clockwise.
///
/// Loops that cross each other out of all proportion (`MOST_CROSSINGS`), as those of a heap of loose
/// triangles do, enclose next to everything between them: they give their convex hull. Where many
/// edges lie on one line but for the last bits, corners are off by up to 2⁻³⁶ of the whole.
pub fn union<'a>(loops: impl IntoIterator<Item = &'a [Point2<f64>]>) -> Vec<Vec<Ring>> {
    let loops: Vec<&[Point2<f64>]> = loops.into_iter().collect();
    let count: usize = loops.iter().map(|l| l.len()).sum();
    if count < 2 * MANY_ON_A_LINE {
        return united(&plain(loops));
    }
    let edges = Edges::new(&loops);
    if edges.are_tangled() {
        let hull = rect::hull2d(&loops.concat());
        return if hull.len() < 3 {
            Vec::new()
        } else {
            vec![vec![hull]]
        };
    }
    let Some(frame) = Frame::along(&edges) else {
        return united(&plain(loops));
    };
    let turned: Vec<Ring> = loops.iter().map(|l| frame.turned(l)).collect();
    let mut shapes = united(&plain(turned.iter().map(Vec::as_slice)));
    for p in shapes.iter_mut().flatten().flatten() {
        *p = frame.back(*p);
    }
    shapes
}

fn united(loops: &Loops) -> Vec<Vec<Ring>> {
    let options = OverlayOptions::default();
    let shapes = loops.simplify_shape_custom_as::<i64>(FillRule::NonZero, options, SOLVER);
    shapes.into_iter().map(rings).collect()
}

/// A frame along a line that many edges share, in which they share it to the bit.
///
/// Two edges on one line that run apart by the last bits cross anywhere on their way; put on a grid,
/// that is a corner beside both, with which all others cross anew. Along an axis of the grid there
/// is nothing to cross.
struct Frame {
    origin: Point2<f64>,
    along: Vector2<f64>,
    /// A power of two.
    step: f64,
}

/// Edges that share a line are many from here on.
const MANY_ON_A_LINE: usize = 16;
/// Edges that are held against all others to find one.
const LINES_SAMPLED: usize = 48;
/// Off a line by no more than this share of the whole, a point lies on it.
const ON_LINE: f64 = 1e-11;

impl Frame {
    /// None where no line is shared by many.
    fn along(edges: &Edges) -> Option<Self> {
        let extent = edges.extent();
        let sharing = |e: &Ends| {
            let shared = edges
                .near(e)
                .filter(|f| share_a_line(e, f, ON_LINE * extent));
            shared.count()
        };
        let sampled = edges.some(LINES_SAMPLED);
        let (most, (from, to)) = sampled.map(|e| (sharing(e), e)).max_by_key(|s| s.0)?;
        // Above the tolerance, so that what lies on the line comes to lie on the axis.
        let step = libm::exp2(libm::floor(libm::log2(extent)) - 35.0);
        (most >= MANY_ON_A_LINE).then(|| Self {
            origin: *from,
            along: (to - from).normalize(),
            step,
        })
    }

    fn turned(&self, ring: &[Point2<f64>]) -> Ring {
        let on_grid = |c: f64| (c / self.step).round() * self.step;
        let point = |p: &Point2<f64>| {
            let d = p - self.origin;
            Point2::new(on_grid(self.along.dot(&d)), on_grid(self.along.perp(&d)))
        };
        ring.iter().map(point).collect()
    }

    fn back(&self, p: Point2<f64>) -> Point2<f64> {
        let across = Vector2::new(-self.along.y, self.along.x);
        self.origin + self.along * p.x + across * p.y
    }
}

/// Whether two edges have a stretch in common, but for so much, and are not the same.
fn share_a_line((a, b): &Ends, (p, q): &Ends, off: f64) -> bool {
    let long = b - a;
    let length = long.norm();
    let beside = |x: &Point2<f64>| long.perp(&(x - a)).abs() <= off * length;
    if length <= off || !beside(p) || !beside(q) || (a, b) == (p, q) || (a, b) == (q, p) {
        return false;
    }
    let [s, t] = [p, q].map(|x| long.dot(&(x - a)) / length);
    s.max(t).min(length) - s.min(t).max(0.0) > off
}

/// Crossings of a union at most, for few edges and for each of many: one takes up to five
/// microseconds (measured on a star whose sides all cross), and a union once begun cannot be stopped.
const MOST_CROSSINGS: usize = 1 << 15;
const CROSSINGS_AN_EDGE: usize = 8;
/// Edges that are held against all others to estimate their number.
const SAMPLED: usize = 192;

/// Edges that share a box there.
const RUN: usize = 32;

/// Edges of loops, to look up which of them are near.
struct Edges {
    all: Vec<Ends>,
    /// Boxes around runs of edges: those that follow each other lie together, so that most runs
    /// are passed over by their box.
    around: Vec<Window>,
}

impl Edges {
    fn new(loops: &[&[Point2<f64>]]) -> Self {
        let all: Vec<Ends> = loops.iter().flat_map(|l| polygon::edges(l)).collect();
        let around = |run: &[Ends]| Window::around(run.iter().flat_map(|e| [e.0, e.1]));
        let around = all.chunks(RUN).map(around).collect();
        Self { all, around }
    }

    /// About so many of them, the same ones each time. What comes in twos and threes, such as the two
    /// pieces of a wall and the sides of a triangle, is not passed over: the stride has neither factor.
    fn some(&self, most: usize) -> impl Iterator<Item = &Ends> {
        let mut stride = self.all.len().div_ceil(most);
        while stride % 2 == 0 || stride % 3 == 0 {
            stride += 1;
        }
        self.all.iter().step_by(stride)
    }

    /// Whether they cross each other too often to be united: estimated from some of them. O(n).
    fn are_tangled(&self) -> bool {
        let count = self.all.len();
        let most = MOST_CROSSINGS + CROSSINGS_AN_EDGE * count;
        if count.saturating_mul(count) / 2 <= most {
            return false;
        }
        let off = ON_LINE * self.extent();
        let (mut looked_at, mut crossings) = (0, 0);
        for e in self.some(SAMPLED) {
            looked_at += 1;
            let meets = |f: &&Ends| cross(e, f) || share_a_line(e, f, off);
            crossings += self.near(e).filter(meets).count();
        }
        // Each crossing is seen from both of its edges.
        crossings * count / (2 * looked_at) > most
    }

    /// The longer side of the box around all.
    fn extent(&self) -> f64 {
        let all = Window::around(self.around.iter().flat_map(|w| [w.lo, w.hi]));
        (all.hi - all.lo).amax()
    }

    /// Edges that may meet one.
    fn near(&self, e: &Ends) -> impl Iterator<Item = &Ends> {
        let near = Window::around([e.0, e.1]);
        let runs = self.all.chunks(RUN).zip(&self.around);
        runs.filter(move |(_, around)| around.meets(&near))
            .flat_map(|(run, _)| run)
    }
}

/// Whether two edges cross, each with its ends on both sides of the other.
fn cross((a, b): &Ends, (p, q): &Ends) -> bool {
    let apart = a.x.max(b.x) < p.x.min(q.x)
        || p.x.max(q.x) < a.x.min(b.x)
        || a.y.max(b.y) < p.y.min(q.y)
        || p.y.max(q.y) < a.y.min(b.y);
    let side =
        |x: &Point2<f64>, from: &Point2<f64>, to: &Point2<f64>| (to - from).perp(&(x - from));
    !apart && side(p, a, b) * side(q, a, b) < 0.0 && side(a, p, q) * side(b, p, q) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Loose triangles between random corners of a square of 100.
    fn heap(count: usize) -> Vec<Ring> {
        let mut seed = 5_u64;
        let mut random = move || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 40) as f64 / f64::from(1 << 24) * 100.0
        };
        (0..count)
            .map(|_| (0..3).map(|_| Point2::new(random(), random())).collect())
            .collect()
    }

    /// United one by one, 8,000 of them take minutes and gigabytes.
    #[test]
    fn a_heap_of_loose_triangles_gives_its_hull_at_once() {
        let heap = heap(8000);
        let began = std::time::Instant::now();
        let shapes = union(heap.iter().map(Vec::as_slice));
        assert!(began.elapsed() < std::time::Duration::from_secs(20));
        let [shape] = &shapes[..] else {
            panic!("{} shapes", shapes.len());
        };
        let hull = rect::hull2d(&heap.concat());
        assert_eq!(shape, &[hull]);
    }

    /// The walls of 160 triangles lie on one slanted line, but for the last bits: as they are, 20 of
    /// them take seconds on 32 bits, and 80 do not end on 64.
    #[test]
    fn edges_that_share_a_line_are_united_soon() {
        const STEPS: usize = 20_000;
        let mut seed = 5_u64;
        let mut random = move || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 40) as f64 / f64::from(1 << 24)
        };
        let mut across = || 40.0 * random() - 20.0;
        let mut upright = Vec::new();
        for _ in 0..160 {
            let (a, b, tip) = (across(), across(), across());
            upright.push([
                [a.min(b), 0.0],
                [a.max(b), 0.0],
                [tip, 0.5 * (across() + 20.0)],
            ]);
        }
        let (sin, cos) = libm::sincos(0.3);
        let slanted = |[x, y]: [f64; 2]| Point2::new(x * cos - y * sin, x * sin + y * cos);
        let triangles: Vec<Ring> = upright.iter().map(|t| t.map(slanted).to_vec()).collect();
        let began = std::time::Instant::now();
        let shapes = union(triangles.iter().map(Vec::as_slice));
        assert!(began.elapsed() < std::time::Duration::from_secs(20));
        let united: f64 = shapes.iter().flatten().map(|r| polygon::area(r)).sum();
        // Height by height: at each, the stretches that any of them covers.
        let covered = |y: f64| {
            let mut stretches: Vec<[f64; 2]> = (upright.iter())
                .filter(|t| y < t[2][1])
                .map(|[a, b, tip]| {
                    let up = y / tip[1];
                    let [p, q] = [a, b].map(|base| base[0] + (tip[0] - base[0]) * up);
                    [p.min(q), p.max(q)]
                })
                .collect();
            stretches.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let (mut sum, mut end) = (0.0, f64::NEG_INFINITY);
            for [from, to] in stretches {
                sum += (to - end.max(from)).max(0.0);
                end = end.max(to);
            }
            sum
        };
        let step = 20.0 / STEPS as f64;
        let expected: f64 = (0..STEPS)
            .map(|k| covered((k as f64 + 0.5) * step) * step)
            .sum();
        assert!(
            (united - expected).abs() < 1e-3 * expected,
            "{united} {expected}"
        );
        assert!(shapes.len() <= 160, "{} shapes", shapes.len());
    }

    /// Sides in two pieces, a short one and a long one: every other edge crosses next to nothing.
    #[test]
    fn a_star_with_divided_sides_is_tangled() {
        const POINTS: usize = 1501;
        let tip = |i: usize| {
            let turn = (i * (POINTS / 2) % POINTS) as f64 / POINTS as f64;
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * turn);
            Point2::new(20.0 * cos, 20.0 * sin)
        };
        let sides = (0..POINTS).map(|i| (tip(i), tip(i + 1)));
        let star: Ring = sides.flat_map(|(a, b)| [a, a + (b - a) * 0.005]).collect();
        assert!(Edges::new(&[&star]).are_tangled());
    }

    /// Many loops that lie apart are united as few are.
    #[test]
    fn many_loops_that_hardly_cross_are_united() {
        let square = |i: usize| {
            let (x, y) = ((i % 60) as f64 * 2.0, (i / 60) as f64 * 2.0);
            let corners = [(0.0, 0.0), (2.5, 0.0), (2.5, 1.0), (0.0, 1.0)];
            corners.map(|(dx, dy)| Point2::new(x + dx, y + dy)).to_vec()
        };
        let squares: Vec<Ring> = (0..3600).map(square).collect();
        let loops: Vec<&[Point2<f64>]> = squares.iter().map(Vec::as_slice).collect();
        assert!(!Edges::new(&loops).are_tangled());
        let shapes = union(squares.iter().map(Vec::as_slice));
        assert_eq!(shapes.len(), 60);
        let area: f64 = shapes.iter().flatten().map(|r| polygon::area(r)).sum();
        assert!((area - 60.0 * 120.5).abs() < 1e-6, "{area}");
    }
}
