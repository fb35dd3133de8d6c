//! Boolean operations on sections, on an exact integer grid.
//!
//! The grid step is a power of two, so that going to the grid and back is exact
//! and two operations on the same layer agree to the bit.

use super::rows::loops;
use crate::figures::Piece;
use i_overlay::core::edge_data::{EdgeDataMerge, OverlayEdgeData};
use i_overlay::core::edge_overlay::{EdgeOverlay, InputEdge};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::ShapeType;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use i_overlay::segm::boolean::ShapeCountBoolean;
use nalgebra::Point2;

/// Largest angle between neighbouring corners of a rounded offset, radians. The
/// chord then cuts 0.5 % of the radius, less than the margin on the limit.
const ROUND_STEP: f64 = 0.2;

/// An area bounded by edges, each marked as held or not.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Area {
    /// Edges with the area to their left; `true` where the clipped-away side bounds it.
    pub edges: Vec<(Point2<f64>, Point2<f64>, bool)>,
    /// Plan area, mm².
    pub mm2: f64,
    /// Corners of the box around it.
    pub lo: Point2<f64>,
    pub hi: Point2<f64>,
}

impl Area {
    /// Is the point inside (even-odd)?
    pub fn contains(&self, p: Point2<f64>) -> bool {
        let mut odd = false;
        for (a, b, _) in &self.edges {
            if (a.y > p.y) != (b.y > p.y) {
                odd ^= a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) > p.x;
            }
        }
        odd
    }

    /// Some point well inside: the middle of the widest stretch at mid-height.
    pub fn inner_point(&self) -> Option<Point2<f64>> {
        let y = 0.5 * (self.lo.y + self.hi.y);
        let mut xs: Vec<f64> = (self.edges.iter())
            .filter(|(a, b, _)| (a.y > y) != (b.y > y))
            .map(|(a, b, _)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
            .collect();
        xs.sort_unstable_by(f64::total_cmp);
        let widest = xs
            .chunks_exact(2)
            .max_by(|m, n| (m[1] - m[0]).total_cmp(&(n[1] - n[0])))?;
        Some(Point2::new(0.5 * (widest[0] + widest[1]), y))
    }
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
pub(super) struct Grid {
    per_mm: f64,
}

impl Grid {
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
        IntPoint::new(
            (p.x * self.per_mm).round() as i32,
            (p.y * self.per_mm).round() as i32,
        )
    }

    fn unsnap(self, p: IntPoint<i32>) -> Point2<f64> {
        Point2::new(f64::from(p.x) / self.per_mm, f64::from(p.y) / self.per_mm)
    }

    /// `upper` less `lower`, in connected areas; edges of `lower` are marked.
    pub fn difference(
        self,
        upper: impl Iterator<Item = (Point2<f64>, Point2<f64>)>,
        lower: impl Iterator<Item = (Point2<f64>, Point2<f64>)>,
    ) -> Vec<Area> {
        let mut overlay: EdgeOverlay<i32, Clipped> = EdgeOverlay::new(1024);
        let put = |(a, b), clipped| InputEdge {
            a: self.snap(a),
            b: self.snap(b),
            data: Clipped(clipped),
        };
        overlay.add_edges(upper.map(|e| put(e, false)), ShapeType::Subject);
        overlay.add_edges(lower.map(|e| put(e, true)), ShapeType::Clip);
        let shapes = overlay.build_vector_shapes(OverlayRule::Difference, FillRule::NonZero);
        shapes
            .iter()
            .map(|shape| {
                let (mut lo, mut hi) = (
                    Point2::new(f64::MAX, f64::MAX),
                    Point2::new(f64::MIN, f64::MIN),
                );
                let mut twice = 0.0;
                let edges: Vec<_> = shape
                    .iter()
                    .flatten()
                    .map(|e| (self.unsnap(e.a), self.unsnap(e.b), e.data.0))
                    .collect();
                let origin = edges.first().map_or(Point2::origin(), |e| e.0);
                for (a, b, _) in &edges {
                    (lo, hi) = (lo.inf(a), hi.sup(a));
                    twice += (a - origin).perp(&(b - origin));
                }
                Area {
                    edges,
                    mm2: 0.5 * twice.abs(),
                    lo,
                    hi,
                }
            })
            .collect()
    }

    /// The pieces grown by `by_mm` with rounded corners, as edges. Nothing if the
    /// growth is too small or too large for the grid.
    pub fn grow(self, pieces: &[&Piece], by_mm: f64) -> Vec<(Point2<f64>, Point2<f64>)> {
        let shapes: Vec<Vec<Vec<[f64; 2]>>> = pieces
            .iter()
            .map(|p| {
                loops(p)
                    .map(|l| l.iter().map(|q| [q.x, q.y]).collect())
                    .collect()
            })
            .collect();
        let style = OutlineStyle::new(by_mm).line_join(LineJoin::Round(ROUND_STEP));
        let grown = shapes
            .outline_fixed_scale(&style, self.per_mm)
            .unwrap_or_default();
        let point = |p: &[f64; 2]| Point2::new(p[0], p[1]);
        let mut out = Vec::new();
        for contour in grown.iter().flatten() {
            out.extend(
                contour
                    .iter()
                    .zip(contour.iter().cycle().skip(1))
                    .map(|(a, b)| (point(a), point(b))),
            );
        }
        out
    }
}
