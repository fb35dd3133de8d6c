//! The outline of an area, turned to a direction and dealt out to strips along it.

use super::cut::Cut;
use crate::plane::overlay::Area;
use crate::plane::rect::span;
use nalgebra::{Point2, Vector2};

/// Corners once each, and edges between them. Closed, so that a line that misses the corners
/// crosses it an even number of times.
pub(super) struct Outline {
    /// Where each edge begins, in order; then ends at which none begins.
    corners: Vec<Point2<f64>>,
    /// Corner at which each edge ends, and whether it is held.
    edges: Vec<(u32, bool)>,
    /// Place of each corner along the direction, mm.
    along: Vec<f64>,
    /// Place of each across it: in mm, then in strips.
    across: Vec<f64>,
    /// The last strip whose middle lies at or before each corner.
    strips: Vec<f64>,
    /// Edges that cross the middles of strips, each with the first and the last one.
    crossing: Vec<(u32, u32, u32)>,
    /// Of each strip, what is counted.
    counts: Vec<i64>,
    /// Where the middles of the strips cross the edges, and whether those are held.
    dealt: Vec<(f64, bool)>,
}

impl Outline {
    pub fn new(area: &Area) -> Self {
        let mut corners: Vec<Point2<f64>> = area.edges.iter().map(|e| e.0).collect();
        let mut edges = Vec::with_capacity(area.edges.len());
        let mut first = 0;
        for (i, &(_, end, held)) in area.edges.iter().enumerate() {
            if area.starts.binary_search(&i).is_ok() {
                first = i;
            }
            // The next edge begins there, or the first of the loop.
            let to = if corners.get(i + 1) == Some(&end) {
                i + 1
            } else if corners[first] == end {
                first
            } else {
                corners.push(end);
                corners.len() - 1
            };
            edges.push((to as u32, held));
        }
        Self {
            corners,
            edges,
            along: Vec::new(),
            across: Vec::new(),
            strips: Vec::new(),
            crossing: Vec::new(),
            counts: Vec::new(),
            dealt: Vec::new(),
        }
    }

    /// Turns it to a direction; lowest and highest place across that, mm.
    pub fn turn(&mut self, along: Vector2<f64>, across: Vector2<f64>) -> (f64, f64) {
        let places = |to: Vector2<f64>, out: &mut Vec<f64>| {
            out.clear();
            out.extend(self.corners.iter().map(|p| p.coords.dot(&to)));
        };
        places(along, &mut self.along);
        places(across, &mut self.across);
        span(self.across[..self.edges.len()].iter().copied())
    }

    /// Finds which edges cross the strips `from..=to` of a cut in the direction it was turned to.
    pub fn deal(&mut self, cut: &Cut, from: u32, to: u32) {
        for x in &mut self.across {
            *x = (*x - cut.first_mid) / cut.pitch;
        }
        self.strips.clear();
        self.strips.extend(self.across.iter().map(|x| x.floor()));
        let (first, last) = (f64::from(from), f64::from(to));
        self.crossing.clear();
        for (i, &(end, _)) in self.edges.iter().enumerate() {
            // An edge crosses the middles in (lower end, upper end].
            let (a, b) = (self.strips[i], self.strips[end as usize]);
            let low = (a.min(b) + 1.0).max(first);
            let high = a.max(b).min(last);
            if low <= high {
                self.crossing.push((i as u32, low as u32, high as u32));
            }
        }
        self.dealt.clear();
    }

    /// Whether two held edges cross the middle of one strip.
    pub fn holds_twice(&mut self, from: u32, to: u32) -> bool {
        // Edges that come in at a strip, less those that went out before it.
        self.counts.clear();
        self.counts.resize((to - from) as usize + 2, 0);
        for &(i, low, high) in &self.crossing {
            if self.edges[i as usize].1 {
                self.counts[(low - from) as usize] += 1;
                self.counts[(high - from) as usize + 1] -= 1;
            }
        }
        let mut held = 0;
        self.counts.iter().any(|n| {
            held += n;
            held >= 2
        })
    }

    /// Where the middle line of a strip crosses an edge along the direction.
    fn at(&self, i: u32, strip: u32) -> (f64, bool) {
        let (a, (b, held)) = (i as usize, self.edges[i as usize]);
        let (xa, xb) = (self.across[a], self.across[b as usize]);
        let (ta, tb) = (self.along[a], self.along[b as usize]);
        (ta + (f64::from(strip) - xa) / (xb - xa) * (tb - ta), held)
    }

    /// Where the middle line of one strip crosses the edges, and whether they are held; in order
    /// along the direction.
    pub fn crossings(&self, strip: u32, out: &mut Vec<(f64, bool)>) {
        let crossing = self
            .crossing
            .iter()
            .filter(|c| c.1 <= strip && strip <= c.2);
        out.clear();
        out.extend(crossing.map(|c| self.at(c.0, strip)));
        sort(out);
    }

    /// The same of all strips `from..=to`, to be asked for one by one.
    pub fn all_crossings(&mut self, from: u32, to: u32) {
        self.counts.clear();
        self.counts.resize((to - from) as usize + 2, 0);
        for &(_, low, high) in &self.crossing {
            self.counts[(low - from) as usize] += 1;
            self.counts[(high - from) as usize + 1] -= 1;
        }
        // Where the crossings of each strip begin …
        let (mut open, mut total) = (0, 0);
        for n in &mut self.counts {
            open += *n;
            *n = total;
            total += open;
        }
        let mut dealt = std::mem::take(&mut self.dealt);
        dealt.resize(total as usize, (0.0, false));
        for &(i, low, high) in &self.crossing {
            for strip in low..=high {
                let place = (strip - from) as usize;
                dealt[self.counts[place] as usize] = self.at(i, strip);
                self.counts[place] += 1;
            }
        }
        // … and, now that they are there, where they end.
        let mut begin = 0;
        for &end in &self.counts[..self.counts.len() - 1] {
            sort(&mut dealt[begin..end as usize]);
            begin = end as usize;
        }
        self.dealt = dealt;
    }

    /// Of [`Self::all_crossings`], those of the strip that is so many after the first.
    pub fn of(&self, place: u32) -> &[(f64, bool)] {
        let end = |k: usize| self.counts[k] as usize;
        let place = place as usize;
        let begin = if place == 0 { 0 } else { end(place - 1) };
        &self.dealt[begin..end(place)]
    }
}

fn sort(crossings: &mut [(f64, bool)]) {
    crossings.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
}
