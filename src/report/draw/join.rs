//! Straight pieces of lines: cut into runs, laid on one another once, joined into polylines.

use super::depth::Frame;

/// A polyline in the plane of the view, mm.
pub type Polyline = Vec<[f64; 2]>;

/// The point at this share of the way from one to the other.
pub(super) fn between<const N: usize>(a: [f64; N], b: [f64; N], t: f64) -> [f64; N] {
    std::array::from_fn(|k| a[k] + t * (b[k] - a[k]))
}

/// Distance of two points.
pub(super) fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    libm::hypot(b[0] - a[0], b[1] - a[1])
}

/// Runs of fewer samples than this take the state of the run before: the border
/// pixels of a facet must not cut a line.
pub(super) const SHORTEST_RUN: usize = 3;

/// Ends closer than this share of a pixel are the same.
const JOIN_PX: f64 = 1.0 / 16.0;

/// Points of a line that lie closer to it than this are left out, pixels.
const STRAIGHT_PX: f64 = 0.35;

/// Gives short runs the state of their neighbours.
pub(super) fn even_out(flags: &mut [bool]) {
    for (from, to, state) in runs(flags) {
        if to - from < SHORTEST_RUN && (from > 0 || to < flags.len()) {
            let beside = if from > 0 { flags[from - 1] } else { !state };
            flags[from..to].fill(beside);
        }
    }
}

/// Runs of equal flags: from, to (exclusive), state.
pub(super) fn runs(flags: &[bool]) -> Vec<(usize, usize, bool)> {
    let mut out = Vec::new();
    let mut from = 0;
    for i in 1..=flags.len() {
        if i == flags.len() || flags[i] != flags[from] {
            out.push((from, i, flags[from]));
            from = i;
        }
    }
    out
}

/// A straight piece, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct EdgePiece {
    pub a: [f64; 2],
    pub b: [f64; 2],
}

impl EdgePiece {
    pub fn length(&self) -> f64 {
        apart(self.a, self.b)
    }

    pub fn at(&self, t: f64) -> [f64; 2] {
        between(self.a, self.b, t)
    }

    pub fn piece(&self, from: f64, to: f64) -> Self {
        Self {
            a: self.at(from),
            b: self.at(to),
        }
    }
}

/// Pixels on which a line lies already.
pub(super) struct Cover {
    frame: Frame,
    taken: Vec<bool>,
}

impl Cover {
    pub fn new(frame: Frame) -> Self {
        Self {
            frame,
            taken: vec![false; frame.nx * frame.ny],
        }
    }

    pub fn paint(&mut self, s: &EdgePiece) {
        let n = (2.0 * s.length()).ceil() as usize + 1;
        for i in 0..=n {
            if let Some(at) = self.frame.at(s.at(i as f64 / n as f64)) {
                self.taken[at] = true;
            }
        }
    }

    fn is_taken(&self, p: [f64; 2]) -> bool {
        let near = self.frame.around_pixel(p);
        near.into_iter().flatten().any(|i| self.taken[i])
    }

    /// Whether a segment lies on lines that are there already, but for a tenth of it.
    pub fn lies_on(&self, s: &EdgePiece) -> bool {
        let n = s.length().ceil() as usize + 1;
        let on = (0..n)
            .filter(|i| self.is_taken(s.at((*i as f64 + 0.5) / n as f64)))
            .count();
        10 * on >= 9 * n
    }

    /// What of a polyline (mm) lies on no line yet; it is covered from then on.
    pub fn uncovered(&mut self, line: &[[f64; 2]]) -> Vec<Polyline> {
        let frame = self.frame;
        let px: Vec<[f64; 2]> = line.iter().map(|p| frame.flat_px(p)).collect();
        // Points about a pixel apart, the corners among them.
        let mut points = vec![px[0]];
        for w in px.windows(2) {
            let s = EdgePiece { a: w[0], b: w[1] };
            let n = s.length().ceil().max(1.0) as usize;
            points.extend((1..=n).map(|i| s.at(i as f64 / n as f64)));
        }
        let mut flags: Vec<bool> = points.iter().map(|p| !self.is_taken(*p)).collect();
        even_out(&mut flags);
        let free: Vec<&[[f64; 2]]> = runs(&flags)
            .into_iter()
            .filter(|r| r.2 && r.1 - r.0 > SHORTEST_RUN)
            .map(|(from, to, _)| &points[from..to])
            .collect();
        let mut out = Vec::new();
        for piece in free {
            for w in piece.windows(2) {
                self.paint(&EdgePiece { a: w[0], b: w[1] });
            }
            let straight = simplified(piece, STRAIGHT_PX);
            out.push(straight.into_iter().map(|p| frame.mm(p)).collect());
        }
        out
    }
}

pub(super) fn length(line: &[[f64; 2]]) -> f64 {
    line.windows(2).map(|w| apart(w[0], w[1])).sum()
}

/// Joins segments that meet into polylines, as straight on as they go; in mm.
pub(super) fn chains(segments: &[EdgePiece], frame: Frame) -> Vec<Polyline> {
    let key = |p: [f64; 2]| p.map(|x| (x / JOIN_PX).round() as i64);
    let long = segments.iter().copied().filter(|s| key(s.a) != key(s.b));
    let upward = |s: EdgePiece| {
        let is = key(s.a) <= key(s.b);
        let (a, b) = if is { (s.a, s.b) } else { (s.b, s.a) };
        EdgePiece { a, b }
    };
    let mut distinct: Vec<EdgePiece> = long.map(upward).collect();
    distinct.sort_by_key(|s| (key(s.a), key(s.b)));
    distinct.dedup_by_key(|s| (key(s.a), key(s.b)));
    let numbered = distinct.iter().enumerate();
    let ends = numbered.flat_map(|(i, s)| [(key(s.a), i), (key(s.b), i)]);
    let mut ends: Vec<([i64; 2], usize)> = ends.collect();
    ends.sort_unstable();
    let at = |k: [i64; 2]| {
        let from = ends.partition_point(|e| e.0 < k);
        let to = ends.partition_point(|e| e.0 <= k);
        &ends[from..to]
    };
    let mut used = vec![false; distinct.len()];
    let mut out = Vec::new();
    for start in 0..distinct.len() {
        if used[start] {
            continue;
        }
        used[start] = true;
        let mut line = vec![distinct[start].a, distinct[start].b];
        for _ in 0..2 {
            while let Some(next) =
                onward(&line, &distinct, at(key(line[line.len() - 1])), &mut used)
            {
                line.push(next);
            }
            line.reverse();
        }
        let straight = simplified(&line, STRAIGHT_PX);
        out.push(straight.into_iter().map(|p| frame.mm(p)).collect());
    }
    out
}

/// The far end of the unused segment that goes on most nearly straight.
fn onward(
    line: &[[f64; 2]],
    segments: &[EdgePiece],
    here: &[([i64; 2], usize)],
    used: &mut [bool],
) -> Option<[f64; 2]> {
    let (last, before) = (line[line.len() - 1], line[line.len() - 2]);
    let along = [last[0] - before[0], last[1] - before[1]];
    let mut best: Option<(f64, usize, [f64; 2])> = None;
    for &(_, i) in here {
        if used[i] {
            continue;
        }
        let s = segments[i];
        let near_a = apart(last, s.a) <= apart(last, s.b);
        let far = if near_a { s.b } else { s.a };
        let step = [far[0] - last[0], far[1] - last[1]];
        let size = apart(last, far) * apart(before, last);
        let cosine = (along[0] * step[0] + along[1] * step[1]) / size.max(f64::MIN_POSITIVE);
        if best.is_none_or(|b| cosine > b.0) {
            best = Some((cosine, i, far));
        }
    }
    let (_, i, far) = best?;
    used[i] = true;
    Some(far)
}

/// A line with fewer points, none of those left out farther than `slack` from it: both ends
/// stay, of equally far ones the first. At least one point, any unit.
///
/// Source: Douglas & Peucker 1973 (from memory).
pub fn simplified(line: &[[f64; 2]], slack: f64) -> Vec<[f64; 2]> {
    let mut keep = vec![false; line.len()];
    keep[0] = true;
    keep[line.len() - 1] = true;
    let mut open = vec![(0, line.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let (a, b) = (line[from], line[to]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = apart(a, b);
        let off = |p: [f64; 2]| {
            if length > 1e-9 {
                ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx).abs() / length
            } else {
                apart(a, p)
            }
        };
        let worst = (from + 1..to)
            .map(|i| (off(line[i]), i))
            .fold((0.0, from), |w, x| if x.0 > w.0 { x } else { w });
        if worst.0 > slack {
            keep[worst.1] = true;
            open.push((from, worst.1));
            open.push((worst.1, to));
        }
    }
    let kept = line.iter().zip(keep).filter(|(_, keep)| *keep);
    kept.map(|(p, _)| *p).collect()
}
