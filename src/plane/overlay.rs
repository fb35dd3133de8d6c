//! Boolean operations on polygons: common area, and differences near a place.
//!
//! Differences are worked out on an exact integer grid. Its step is a power of two, so that
//! going to the grid and back is exact and two operations on the same layer agree to the bit.

use super::polygon::{self, Ends, Ring};
use i_overlay::core::edge_data::{EdgeDataMerge, OverlayEdgeData};
use i_overlay::core::edge_overlay::{EdgeOverlay, InputEdge};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::ShapeType;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::segm::boolean::ShapeCountBoolean;
use nalgebra::{Point2, Vector2};

/// Closed loops of corners.
pub(super) type Loops = Vec<Vec<[f64; 2]>>;

/// Closed loops as the overlays take them.
pub(super) fn plain<'a>(rings: impl IntoIterator<Item = &'a [Point2<f64>]>) -> Loops {
    let plain = |ring: &[Point2<f64>]| ring.iter().map(|p| [p.x, p.y]).collect();
    rings.into_iter().map(plain).collect()
}

/// … and as they give them back.
pub(super) fn rings(shape: Loops) -> Vec<Ring> {
    let ring = |contour: Vec<[f64; 2]>| contour.into_iter().map(Point2::from).collect();
    shape.into_iter().map(ring).collect()
}

/// Area that two sets of loops share by the even-odd rule, in the square of their unit.
pub fn common_area<'a>(
    a: impl IntoIterator<Item = &'a [Point2<f64>]>,
    b: impl IntoIterator<Item = &'a [Point2<f64>]>,
) -> f64 {
    let shared = plain(a).overlay_as::<i64>(&plain(b), OverlayRule::Intersect, FillRule::EvenOdd);
    let shared = shared.into_iter().flat_map(rings);
    shared.map(|ring| polygon::area(&ring)).sum()
}

/// An area bounded by edges, each marked as held or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Edges with the area to their left; `true` where the clipped-away side bounds it.
    pub edges: Vec<(Point2<f64>, Point2<f64>, bool)>,
    /// Number of the first edge of each closed outline.
    pub starts: Vec<usize>,
    /// Plan area, mm².
    pub mm2: f64,
    /// The box around it.
    pub around: Window,
}

impl Area {
    /// Is the point inside (even-odd)?
    pub fn contains(&self, p: Point2<f64>) -> bool {
        self.around.contains(p) && polygon::contains(self.edges.iter().map(|e| (e.0, e.1)), p)
    }

    /// Its outlines, cut short outside the window.
    pub fn shortened(&self, window: &Window) -> Vec<Ends> {
        let mut out = Vec::new();
        let mut points: Vec<Point2<f64>> = Vec::new();
        for (i, &from) in self.starts.iter().enumerate() {
            let to = self.starts.get(i + 1).map_or(self.edges.len(), |&t| t);
            points.clear();
            points.extend(self.edges[from..to].iter().map(|e| e.0));
            window.shorten(&points, &mut out);
        }
        out
    }

    /// Some point well inside: the middle of the widest stretch at mid-height.
    pub fn inner_point(&self) -> Option<Point2<f64>> {
        let y = 0.5 * (self.around.lo.y + self.around.hi.y);
        widest_at(y, &self.edges)
    }
}

/// The middle of the widest stretch within closed outlines at a height, mm; none where it passes them.
pub fn widest_at(y: f64, edges: &[(Point2<f64>, Point2<f64>, bool)]) -> Option<Point2<f64>> {
    let mut xs: Vec<f64> = (edges.iter())
        .filter(|(a, b, _)| (a.y > y) != (b.y > y))
        .map(|(a, b, _)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    xs.sort_unstable_by(f64::total_cmp);
    let stretches = xs.chunks_exact(2);
    let widest = stretches.max_by(|m, n| (m[1] - m[0]).total_cmp(&(n[1] - n[0])))?;
    Some(Point2::new(0.5 * (widest[0] + widest[1]), y))
}

/// Did an edge come from what was taken away?
#[derive(Clone, Copy, PartialEq)]
struct Clipped(bool);

impl OverlayEdgeData for Clipped {
    type Store = ();

    // Edges of both that coincide bound the difference only if they run against
    // each other: the other side is then material of what was taken away.
    fn merge(of: EdgeDataMerge<ShapeCountBoolean, Self>, (): &mut ()) -> Self {
        Self(of.lhs_data.0 || of.rhs_data.0)
    }
}

/// The integer grid of one layer.
#[derive(Debug, Clone, Copy)]
pub struct IntegerGrid {
    per_mm: f64,
}

impl IntegerGrid {
    /// Finest step: 2⁻¹⁷ mm, below what a file coordinate is trusted to.
    const FINEST_PER_MM: f64 = 131_072.0;

    /// A grid on which coordinates up to `largest_mm` stay in the range where
    /// the operations are exact, with an eighth of it to spare.
    pub fn new(largest_mm: f64) -> Self {
        let mut per_mm = Self::FINEST_PER_MM;
        while largest_mm * per_mm > f64::from(1 << 27) {
            per_mm *= 0.5;
        }
        Self { per_mm }
    }

    fn snap(self, p: Point2<f64>) -> IntPoint<i32> {
        let [x, y] = [p.x, p.y].map(|c| (c * self.per_mm).round() as i32);
        IntPoint::new(x, y)
    }

    fn unsnap(self, p: IntPoint<i32>) -> Point2<f64> {
        Point2::new(f64::from(p.x) / self.per_mm, f64::from(p.y) / self.per_mm)
    }

    /// `upper` less `lower`, in connected areas; edges of `lower` are marked.
    pub fn difference(self, upper: &[Ends], lower: &[Ends]) -> Vec<Area> {
        let mut overlay: EdgeOverlay<i32, Clipped> = EdgeOverlay::new(1024);
        let put = |&(a, b): &Ends, clipped| InputEdge {
            a: self.snap(a),
            b: self.snap(b),
            data: Clipped(clipped),
        };
        overlay.add_edges(upper.iter().map(|e| put(e, false)), ShapeType::Subject);
        overlay.add_edges(lower.iter().map(|e| put(e, true)), ShapeType::Clip);
        let shapes = overlay.build_vector_shapes(OverlayRule::Difference, FillRule::NonZero);
        shapes
            .iter()
            .map(|shape| {
                let mut starts = Vec::with_capacity(shape.len());
                let mut count = 0;
                for contour in shape {
                    starts.push(count);
                    count += contour.len();
                }
                let edges = shape.iter().flatten();
                let edges = edges.map(|e| (self.unsnap(e.a), self.unsnap(e.b), e.data.0));
                let edges: Vec<_> = edges.collect();
                Area {
                    mm2: polygon::area_within(edges.iter().map(|e| (e.0, e.1))).abs(),
                    around: Window::around(edges.iter().map(|e| e.0)),
                    edges,
                    starts,
                }
            })
            .collect()
    }
}

/// A box outside which nothing is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Lower corner.
    pub lo: Point2<f64>,
    /// Upper corner.
    pub hi: Point2<f64>,
}

impl Window {
    /// The whole plane.
    pub const ALL: Self = Self {
        lo: Point2::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        hi: Point2::new(f64::INFINITY, f64::INFINITY),
    };

    /// The smallest box that holds some points.
    pub fn around(points: impl IntoIterator<Item = Point2<f64>>) -> Self {
        let none = Self {
            lo: Point2::new(f64::MAX, f64::MAX),
            hi: Point2::new(f64::MIN, f64::MIN),
        };
        (points.into_iter()).fold(none, |all, p| all.with(&Self { lo: p, hi: p }))
    }

    /// The box grown by `margin` to all sides.
    #[must_use]
    pub fn grown(&self, margin: f64) -> Self {
        Self {
            lo: self.lo - Vector2::repeat(margin),
            hi: self.hi + Vector2::repeat(margin),
        }
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn with(&self, other: &Self) -> Self {
        Self {
            lo: self.lo.inf(&other.lo),
            hi: self.hi.sup(&other.hi),
        }
    }

    /// Is the point in the box, edges included?
    pub fn contains(&self, p: Point2<f64>) -> bool {
        self.meets(&Self { lo: p, hi: p })
    }

    /// Do the boxes share a point?
    pub fn meets(&self, Self { lo, hi }: &Self) -> bool {
        lo.x <= self.hi.x && hi.x >= self.lo.x && lo.y <= self.hi.y && hi.y >= self.lo.y
    }

    /// Does it hold the other box, edges excluded?
    pub fn holds(&self, Self { lo, hi }: &Self) -> bool {
        lo.x > self.lo.x && lo.y > self.lo.y && hi.x < self.hi.x && hi.y < self.hi.y
    }

    /// On which outer sides a point lies, a bit each.
    fn sides(&self, p: Point2<f64>) -> u8 {
        u8::from(p.x < self.lo.x)
            | u8::from(p.x > self.hi.x) << 1
            | u8::from(p.y < self.lo.y) << 2
            | u8::from(p.y > self.hi.y) << 3
    }

    /// A closed loop with what lies outside the window cut short: of corners in a
    /// row on one outer side only the first and the last stay. Winding numbers
    /// inside the window do not change; outside they mean nothing.
    pub fn shorten(&self, points: &[Point2<f64>], out: &mut Vec<Ends>) {
        let count = points.len();
        let point = |i: usize| points[i % count];
        let mut kept: Option<Point2<f64>> = None;
        let mut i = 0;
        while i < count {
            let p = point(i);
            if let Some(before) = kept {
                out.push((before, p));
            }
            kept = Some(p);
            let mut shared = self.sides(p);
            let mut last = i;
            while shared != 0 && last < count {
                shared &= self.sides(point(last + 1));
                if shared != 0 {
                    last += 1;
                }
            }
            i = last.max(i + 1);
        }
        if let (Some(last), Some(&first)) = (kept, points.first()) {
            out.push((last, first));
        }
    }
}
