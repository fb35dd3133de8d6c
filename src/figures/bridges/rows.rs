//! Edges of one section sorted into rows of equal height, so that "is this
//! point inside?" and "is an edge this near?" look at a few edges only.

use crate::figures::buckets::Buckets;
use crate::figures::{Piece, Section};
use crate::plane::polygon;
use nalgebra::Point2;

/// A straight edge of an outline; the material lies to its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    pub a: Point2<f64>,
    pub b: Point2<f64>,
}

impl Edge {
    /// Distance from `p` to the edge, mm.
    pub fn distance(&self, p: Point2<f64>) -> f64 {
        (p - self.nearest(p)).norm()
    }

    /// The point of the edge nearest to `p`.
    pub fn nearest(&self, p: Point2<f64>) -> Point2<f64> {
        let d = self.b - self.a;
        let t = (p - self.a).dot(&d) / d.norm_squared().max(f64::MIN_POSITIVE);
        self.a + d * t.clamp(0.0, 1.0)
    }

    /// The part of the line from `p` to `q` that lies within `reach` of the edge, as
    /// shares of its length: one interval, since the places within reach
    /// of a straight edge are convex.
    pub fn covers(&self, p: Point2<f64>, q: Point2<f64>, reach: f64) -> Option<(f64, f64)> {
        let run = q - p;
        let squared = run.norm_squared();
        let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut add = |a: f64, b: f64| {
            if a <= b {
                from = from.min(a);
                to = to.max(b);
            }
        };
        // A disc at each end of the edge, and the band along it.
        for end in [self.a, self.b] {
            let to_end = end - p;
            if squared == 0.0 {
                if to_end.norm() <= reach {
                    add(0.0, 1.0);
                }
                continue;
            }
            let middle = to_end.dot(&run) / squared;
            let off = to_end - run * middle;
            let half = (reach * reach - off.norm_squared()) / squared;
            if half >= 0.0 {
                add(middle - half.sqrt(), middle + half.sqrt());
            }
        }
        let d = self.b - self.a;
        let length = d.norm();
        if length > 0.0 {
            let d = d / length;
            let (mut band_from, mut band_to) = (0.0_f64, 1.0_f64);
            let start = p - self.a;
            for (at, speed, low, high) in [
                (d.perp(&start), d.perp(&run), -reach, reach),
                (d.dot(&start), d.dot(&run), 0.0, length),
            ] {
                if speed.abs() > 1e-300 {
                    let (m, n) = ((low - at) / speed, (high - at) / speed);
                    band_from = band_from.max(m.min(n));
                    band_to = band_to.min(m.max(n));
                } else if at < low || at > high {
                    band_to = f64::NEG_INFINITY;
                }
            }
            add(band_from, band_to);
        }
        (from <= to).then_some((from, to))
    }

    /// Does it meet the straight line from `p` to `q`, ends included?
    fn meets_line(&self, p: Point2<f64>, q: Point2<f64>) -> bool {
        let (run, d) = (q - p, self.b - self.a);
        run.perp(&(self.a - p)) * run.perp(&(self.b - p)) <= 0.0
            && d.perp(&(p - self.a)) * d.perp(&(q - self.a)) <= 0.0
    }

    /// Does the box around the edge, grown by `margin`, meet the box `lo..hi`?
    fn meets(&self, lo: Point2<f64>, hi: Point2<f64>, margin: f64) -> bool {
        self.a.x.min(self.b.x) - margin <= hi.x
            && self.a.x.max(self.b.x) + margin >= lo.x
            && self.a.y.min(self.b.y) - margin <= hi.y
            && self.a.y.max(self.b.y) + margin >= lo.y
    }
}

/// The edges of a closed loop, in order.
pub(super) fn edges(points: &[Point2<f64>]) -> impl Iterator<Item = Edge> + '_ {
    points
        .iter()
        .zip(points.iter().cycle().skip(1))
        .map(|(&a, &b)| Edge { a, b })
}

/// A section made ready for questions: the pieces that can be printed at all, and their edges.
pub(super) struct Ready<'a> {
    pub section: &'a Section,
    pub pieces: Vec<Piece>,
    pub rows: Rows,
}

/// Edges in rows. An edge is listed in every row it passes through.
pub(super) struct Rows {
    edges: Vec<Edge>,
    /// Number of the first edge of each loop, and of the first beyond the last.
    loops: Vec<u32>,
    lowest: f64,
    height: f64,
    /// Left end and number of each edge, by row, then from left to right.
    listed: Buckets<(f64, u32)>,
    /// Widest edge of each row, mm.
    widest: Vec<f64>,
}

impl Rows {
    /// Sorts the edges of all loops of `pieces`. Rows are as high as keeps the
    /// lists at about three entries an edge.
    pub fn new(pieces: &[Piece]) -> Self {
        let (mut all, mut starts) = (Vec::new(), vec![0]);
        for points in pieces.iter().flat_map(Piece::loops) {
            all.extend(edges(points));
            starts.push(all.len() as u32);
        }
        let edges: Vec<Edge> = all;
        let (mut lowest, mut highest, mut climb) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        for e in &edges {
            lowest = lowest.min(e.a.y);
            highest = highest.max(e.a.y);
            climb += (e.b.y - e.a.y).abs();
        }
        if edges.is_empty() {
            (lowest, highest) = (0.0, 0.0);
        }
        let extent = highest - lowest;
        let height = (climb / (2.0 * edges.len().max(1) as f64))
            .max(extent / 4096.0)
            .max(f64::MIN_POSITIVE.sqrt());
        let rows = (extent / height) as usize + 1;
        let mut out = Self {
            edges,
            loops: starts,
            lowest,
            height,
            listed: Buckets::default(),
            widest: vec![0.0; rows],
        };
        let spans: Vec<_> = (out.edges.iter())
            .map(|e| out.row(e.a.y.min(e.b.y))..=out.row(e.a.y.max(e.b.y)))
            .collect();
        let dealt = (out.edges.iter().zip(&spans).zip(0..)).flat_map(|((e, rows), i)| {
            let left = e.a.x.min(e.b.x);
            rows.clone().map(move |row| (row, (left, i)))
        });
        out.listed = Buckets::new(rows, dealt);
        for (e, rows) in out.edges.iter().zip(spans) {
            for wide in &mut out.widest[rows] {
                *wide = wide.max((e.a.x - e.b.x).abs());
            }
        }
        for row in 0..rows {
            let listed = out.listed.of_mut(row);
            listed.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        }
        out
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.lowest) / self.height).max(0.0) as usize).min(self.widest.len() - 1)
    }

    /// Edges of a row that may reach into `left..=right`, with their numbers.
    fn listed(&self, row: usize, left: f64, right: f64) -> impl Iterator<Item = (usize, &Edge)> {
        let items = self.listed.of(row);
        let first = left - self.widest[row];
        let from = items.partition_point(|i| i.0 < first);
        items[from..]
            .iter()
            .take_while(move |i| i.0 <= right)
            .map(|&(_, i)| (i as usize, &self.edges[i as usize]))
    }

    /// Every edge, in the order of the loops.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The edge that follows edge `i` on its loop.
    pub fn after(&self, i: usize) -> Edge {
        let of = self.loops.partition_point(|&s| s as usize <= i);
        let wraps = self.loops.get(of).is_some_and(|&end| end as usize == i + 1);
        self.edges[if wraps {
            self.loops[of - 1] as usize
        } else {
            i + 1
        }]
    }

    /// Every edge whose box comes within `margin` of the box, once, in the order of
    /// the loops.
    pub fn within(&self, lo: Point2<f64>, hi: Point2<f64>, margin: f64) -> Vec<(usize, &Edge)> {
        let mut out: Vec<(usize, &Edge)> = self.near(lo, hi, margin).collect();
        out.sort_unstable_by_key(|e| e.0);
        out.dedup_by_key(|e| e.0);
        out
    }

    /// Is the point inside the section (even-odd, which for clean pieces is the same as any)?
    pub fn inside(&self, p: Point2<f64>) -> bool {
        if p.y < self.lowest {
            return false;
        }
        let row = self.row(p.y);
        let items = self.listed.of(row);
        // A closed outline crosses a level line an even number of times: as many lie to one side of the
        // point as to the other, but for an even number. So the side with fewer edges tells it.
        let begun = items.partition_point(|i| i.0 <= p.x);
        if 2 * begun > items.len() {
            let right = self.listed(row, p.x, f64::INFINITY);
            return polygon::contains(right.map(|(_, e)| (e.a, e.b)), p);
        }
        let left = items[..begun].iter().map(|&(_, i)| &self.edges[i as usize]);
        left.fold(false, |inside, e| {
            inside ^ (polygon::crosses(e.a, e.b, p) == Some(false))
        })
    }

    /// Edges whose box comes within `margin` of the box around `p` and `q`; some repeat.
    pub fn near(
        &self,
        p: Point2<f64>,
        q: Point2<f64>,
        margin: f64,
    ) -> impl Iterator<Item = (usize, &Edge)> {
        let (lo, hi) = (p.inf(&q), p.sup(&q));
        (self.row(lo.y - margin)..=self.row(hi.y + margin))
            .flat_map(move |row| self.listed(row, lo.x - margin, hi.x + margin))
            .filter(move |(_, e)| e.meets(lo, hi, margin))
    }

    /// Distance to the nearest edge if it is below `at_most`, else `at_most`.
    pub fn distance(&self, p: Point2<f64>, at_most: f64) -> f64 {
        let within = |reach: f64| {
            self.near(p, p, reach)
                .fold(reach, |d, (_, e)| d.min(e.distance(p)))
        };
        let near = self.reaches(at_most).find_map(|reach| {
            let d = within(reach);
            (d < reach).then_some(d)
        });
        near.unwrap_or_else(|| within(at_most))
    }

    /// Reaches below `at_most` to look within first, each twice the last: what is nearest is mostly near.
    fn reaches(&self, at_most: f64) -> impl Iterator<Item = f64> {
        let first = 2.0 * self.height;
        std::iter::successors(Some(first), |reach| Some(2.0 * reach))
            .take_while(move |reach| 2.0 * reach <= at_most)
    }

    /// The nearest outline point, if it is closer than `at_most`.
    pub fn nearest(&self, p: Point2<f64>, at_most: f64) -> Option<Point2<f64>> {
        let within = |reach: f64| {
            self.near(p, p, reach)
                .map(|(_, e)| e.nearest(p))
                .filter(|q| (q - p).norm() < reach)
                .min_by(|a, b| (a - p).norm_squared().total_cmp(&(b - p).norm_squared()))
        };
        let near = self.reaches(at_most).find_map(within);
        near.or_else(|| within(at_most))
    }

    /// Does an edge meet the straight line from `p` to `q`, ends included?
    pub fn meets_line(&self, p: Point2<f64>, q: Point2<f64>) -> bool {
        self.near(p, q, 0.0).any(|(_, e)| e.meets_line(p, q))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{rectangle, ring};

    /// Against a look at every edge: inside or out, and how far off.
    #[test]
    fn rows_tell_what_all_edges_tell() {
        let pieces = [
            ring(0.0, 0.0, 20.0, 12.0, 90),
            rectangle(1.0, 2.0, 9.0, 3.0),
            rectangle(40.0, -3.0, 6.0, 30.0),
        ];
        let rows = Rows::new(&pieces);
        let all = || rows.edges().iter();
        let mut within = 0;
        for k in 0..4000_u32 {
            // Spread evenly by two irrational steps.
            let [u, v] = [0.754_877_666, 0.569_840_291].map(|a| (f64::from(k) * a).fract());
            let p = Point2::new(-25.0 + 75.0 * u, -24.0 + 48.0 * v);
            let inside = polygon::contains(all().map(|e| (e.a, e.b)), p);
            assert_eq!(rows.inside(p), inside, "{p}");
            within += usize::from(inside);
            let nearest = all().map(|e| e.distance(p)).fold(f64::INFINITY, f64::min);
            for at_most in [0.3, 4.0, 100.0] {
                assert_eq!(rows.distance(p, at_most), nearest.min(at_most), "{p}");
                let found = rows.nearest(p, at_most).map(|q| (q - p).norm());
                assert_eq!(found, Some(nearest).filter(|mm| *mm < at_most), "{p}");
            }
        }
        assert!((400..2000).contains(&within), "{within}");
    }
}
