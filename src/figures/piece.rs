//! Area, centroid and second moments of a connected piece of a section.
//!
//! The moments are taken about the centre of the piece's box, so a small piece far from
//! the origin loses no digits.

use super::Piece;
use crate::plane::moments::PolygonMoments;
use crate::plane::overlay::Window;
use crate::plane::polygon::{self, edges};
use crate::pose::bounds;
use nalgebra::Point2;

/// Corners of an outline that are looked at for the nearest place of another.
const MOST_CORNERS: usize = 512;

impl Piece {
    /// Builds a piece from its loops and measures it.
    ///
    /// Build frame, mm. `outer` runs counter-clockwise, every hole clockwise, none
    /// repeats its first point; a loop that runs the other way counts with the
    /// opposite sign. Loops of fewer than three points or of no area add nothing.
    /// A piece without area gets the centre of its box as its centroid (the
    /// origin if it has no points) and zero moments.
    pub fn from_loops(outer: Vec<Point2<f64>>, holes: Vec<Vec<Point2<f64>>>) -> Self {
        let Some(bounds) = bounds(outer.iter().copied()) else {
            return Self {
                outer,
                holes,
                ..Self::default()
            };
        };
        let middle = nalgebra::center(&bounds[0], &bounds[1]);

        let mut sums = PolygonMoments::default();
        sums.add_loop(&outer, middle);
        for hole in &holes {
            sums.add_loop(hole, middle);
        }
        let area_mm2 = sums.area;
        let extent = (bounds[1] - bounds[0]).max();
        let (centroid, second_mm4) = if area_mm2 > f64::EPSILON * extent * extent {
            let (cx, cy) = (sums.x / area_mm2, sums.y / area_mm2);
            (
                Point2::new(middle.x + cx, middle.y + cy),
                [
                    sums.xx - area_mm2 * cx * cx,
                    sums.yy - area_mm2 * cy * cy,
                    sums.xy - area_mm2 * cx * cy,
                ],
            )
        } else {
            (middle, [0.0; 3])
        };
        Self {
            outer,
            holes,
            area_mm2,
            centroid,
            second_mm4,
            bounds,
        }
    }

    /// Outer loop, then the holes.
    pub fn loops(&self) -> impl Iterator<Item = &[Point2<f64>]> {
        std::iter::once(self.outer.as_slice()).chain(self.holes.iter().map(Vec::as_slice))
    }

    /// Whether a point lies inside, by the even-odd rule over the loops.
    pub fn contains(&self, p: Point2<f64>) -> bool {
        let [lo, hi] = self.bounds;
        Window { lo, hi }.contains(p) && polygon::contains(self.loops().flat_map(edges), p)
    }

    /// The place of its outline that is nearest to that of another piece, holes included, and how far
    /// apart they are there, mm: from corners of either to the sides of the other. Of long outlines
    /// every so many corners are asked. None where one has no points. O(n) in the sides.
    pub fn nearest(&self, other: &Self) -> Option<(Point2<f64>, f64)> {
        let corners = |of: &'_ Self| -> Vec<Point2<f64>> {
            let all: Vec<Point2<f64>> = of.loops().flatten().copied().collect();
            let step = all.len().div_ceil(MOST_CORNERS).max(1);
            all.into_iter().step_by(step).collect()
        };
        let way = |p: Point2<f64>, to: &Self| {
            let ways = to.loops().flat_map(edges);
            let ways = ways.map(|edge| polygon::from_edge(edge, p));
            ways.min_by(|a, b| a.norm().total_cmp(&b.norm()))
        };
        let out = (corners(self).into_iter()).filter_map(|p| Some((p, way(p, other)?.norm())));
        // From a corner of the other to the middle of a side of this one.
        let back = (corners(other).into_iter()).filter_map(|q| {
            let way = way(q, self)?;
            Some((q - way, way.norm()))
        });
        out.chain(back).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Length of the outer loop and of all holes, mm. 0 for an empty piece.
    pub fn perimeter_mm(&self) -> f64 {
        self.loops()
            .map(|ring| edges(ring).map(|(a, b)| (b - a).norm()).sum::<f64>())
            .sum()
    }

    /// Smaller and larger principal second moment about the centroid, mm⁴:
    /// `∫u²` along the axis in which the piece is thinnest, then across it.
    /// Never negative.
    pub fn principal_mm4(&self) -> (f64, f64) {
        let [xx, yy, xy] = self.second_mm4;
        let mean = f64::midpoint(xx, yy);
        let radius = libm::hypot(0.5 * (xx - yy), xy);
        ((mean - radius).max(0.0), (mean + radius).max(0.0))
    }

    /// Width √(12·I/A), I the smaller principal moment, mm: the thickness of a rectangle, 0.866 of a disc's
    /// diameter. 0 for a piece without area.
    pub fn width_mm(&self) -> f64 {
        if self.area_mm2 > 0.0 {
            (12.0 * self.principal_mm4().0 / self.area_mm2).sqrt()
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<Point2<f64>> {
        vec![
            Point2::new(x0, y0),
            Point2::new(x1, y0),
            Point2::new(x1, y1),
            Point2::new(x0, y1),
        ]
    }

    #[test]
    fn piece_of_a_rectangle_has_textbook_moments() {
        // bh³/12 (Roark, section properties, from memory), far from the origin.
        let p = Piece::from_loops(rectangle(1000.0, -500.0, 1004.0, -490.0), vec![]);
        assert_relative_eq!(p.area_mm2, 40.0, max_relative = 1e-14);
        assert_relative_eq!(
            p.centroid,
            Point2::new(1002.0, -495.0),
            max_relative = 1e-14
        );
        assert_relative_eq!(p.second_mm4[0], 10.0 * 64.0 / 12.0, max_relative = 1e-13);
        assert_relative_eq!(p.second_mm4[1], 4.0 * 1000.0 / 12.0, max_relative = 1e-13);
        assert!(p.second_mm4[2].abs() < 1e-10);
        assert_relative_eq!(p.width_mm(), 4.0, max_relative = 1e-13);
        assert_relative_eq!(p.perimeter_mm(), 28.0, max_relative = 1e-14);
        assert_eq!(
            p.bounds,
            [Point2::new(1000.0, -500.0), Point2::new(1004.0, -490.0)]
        );
    }

    #[test]
    fn piece_of_a_triangle_has_textbook_product_moment() {
        // Right triangle, legs b and h: ∫∫xy about the centroid is −b²h²/72 (from memory).
        let (b, h) = (3.0, 5.0);
        let p = Piece::from_loops(
            vec![
                Point2::new(7.0, 2.0),
                Point2::new(7.0 + b, 2.0),
                Point2::new(7.0, 2.0 + h),
            ],
            vec![],
        );
        assert_relative_eq!(p.second_mm4[0], h * b.powi(3) / 36.0, max_relative = 1e-12);
        assert_relative_eq!(p.second_mm4[1], b * h.powi(3) / 36.0, max_relative = 1e-12);
        assert_relative_eq!(
            p.second_mm4[2],
            -(b * h).powi(2) / 72.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn piece_width_of_a_turned_rectangle_is_its_thickness() {
        for degrees in [0.0_f64, 17.0, 45.0, 90.0, 123.0] {
            let (s, c) = libm::sincos(degrees.to_radians());
            let turned = rectangle(-10.0, -1.0, 10.0, 1.0)
                .iter()
                .map(|p| Point2::new(c * p.x - s * p.y + 50.0, s * p.x + c * p.y))
                .collect();
            let p = Piece::from_loops(turned, vec![]);
            assert_relative_eq!(p.width_mm(), 2.0, max_relative = 1e-11);
            assert_relative_eq!(
                p.principal_mm4().1,
                2.0 * 8000.0 / 12.0,
                max_relative = 1e-11
            );
        }
    }

    #[test]
    fn piece_with_holes_takes_them_away() {
        let mut hole = rectangle(2.0, 2.0, 6.0, 4.0);
        hole.reverse();
        let p = Piece::from_loops(rectangle(0.0, 0.0, 10.0, 10.0), vec![hole]);
        assert_relative_eq!(p.area_mm2, 92.0, max_relative = 1e-13);
        assert_relative_eq!(
            p.centroid.x,
            (500.0 - 8.0 * 4.0) / 92.0,
            max_relative = 1e-13
        );
        assert_relative_eq!(
            p.centroid.y,
            (500.0 - 8.0 * 3.0) / 92.0,
            max_relative = 1e-13
        );
        // Parallel axes: outer − hole about the common centroid.
        let d = p.centroid.x;
        let outer = 10_000.0 / 12.0 + 100.0 * (5.0 - d).powi(2);
        let inner = 2.0 * 64.0 / 12.0 + 8.0 * (4.0 - d).powi(2);
        assert_relative_eq!(p.second_mm4[0], outer - inner, max_relative = 1e-12);
        assert_relative_eq!(p.perimeter_mm(), 52.0, max_relative = 1e-13);
    }

    #[test]
    fn piece_width_of_a_disc_is_half_root_three_of_its_diameter() {
        let n = 4000;
        let ring = (0..n)
            .map(|k| f64::from(k) * std::f64::consts::TAU / f64::from(n))
            .map(|t| Point2::new(5.0 * libm::cos(t), 5.0 * libm::sin(t)))
            .collect();
        assert_relative_eq!(
            Piece::from_loops(ring, vec![]).width_mm(),
            10.0 * 0.75_f64.sqrt(),
            max_relative = 1e-5
        );
    }

    #[test]
    fn piece_without_area_is_harmless() {
        assert_eq!(Piece::from_loops(vec![], vec![]), Piece::default());
        let line = Piece::from_loops(
            vec![
                Point2::new(1.0, 1.0),
                Point2::new(3.0, 3.0),
                Point2::new(2.0, 2.0),
            ],
            vec![],
        );
        assert_eq!(line.area_mm2, 0.0);
        assert_eq!(line.centroid, Point2::new(2.0, 2.0));
        assert_eq!(line.second_mm4, [0.0; 3]);
        assert_eq!(line.width_mm(), 0.0);
    }
}
