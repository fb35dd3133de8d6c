//! The edges and outlines of a part in one view: seen, hidden, joined into polylines.
//!
//! Each edge is looked at once a pixel against the depth buffer and cut where it goes
//! behind a surface. Hidden pieces are drawn once: where one lies on a seen line or on
//! another hidden one it is left out, so that dashes never run into each other.

use super::depth::{Depth, Frame};
use super::model::Model;
use super::view::View;
use crate::pose::Posed;
use rayon::prelude::*;

/// Runs of fewer samples than this take the state of the run before: the border
/// pixels of a facet must not cut a line.
const SHORTEST_RUN: usize = 3;

/// Ends closer than this share of a pixel are the same.
const JOIN_PX: f64 = 1.0 / 16.0;

/// Points of a line that lie closer to it than this are left out, pixels.
const STRAIGHT_PX: f64 = 0.35;

/// Facets whose sides come out shorter than this have no edges of their own: what
/// looks like one is the noise of a scan, pixels.
const FINE_PX: f64 = 5.0;

/// Outlines of fine facets shorter than this are the grain of a scan, pixels.
const SPECK_PX: f64 = 14.0;

/// A polyline in the plane of the view, mm.
pub type Line = Vec<[f64; 2]>;

/// The lines of one view.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lines {
    /// Where the surface turns out of sight.
    pub outline: Vec<Line>,
    /// Edges within what is seen.
    pub edges: Vec<Line>,
    /// Edges and outlines behind the surface.
    pub hidden: Vec<Line>,
}

impl Lines {
    /// Points of all polylines together.
    pub fn points(&self) -> usize {
        [&self.outline, &self.edges, &self.hidden]
            .into_iter()
            .flatten()
            .map(Vec::len)
            .sum()
    }
}

/// One view of a posed part: what is seen where.
pub struct Seen<'a> {
    /// The part in its pose.
    pub posed: &'a Posed<'a>,
    /// The direction.
    pub view: View,
    /// Vertices in pixels of the depth buffer.
    pub points: Vec<[f64; 3]>,
    /// The depth buffer.
    pub depth: Depth,
}

impl<'a> Seen<'a> {
    /// Looks at the part with `longest_px` pixels along the longer side of the view.
    /// `None` for a part without extent.
    pub fn new(posed: &'a Posed<'a>, view: View, longest_px: usize) -> Option<Self> {
        let mut points: Vec<[f64; 3]> = posed
            .vertices
            .par_iter()
            .with_min_len(1 << 14)
            .map(|p| view.map(p))
            .collect();
        let frame = Frame::around(&points, longest_px)?;
        points
            .par_iter_mut()
            .with_min_len(1 << 14)
            .for_each(|p| *p = frame.px(*p));
        let part = posed.part;
        let depth = Depth::new(frame, &points, &part.mesh.triangles, part.closed);
        Some(Self {
            posed,
            view,
            points,
            depth,
        })
    }

    /// Whether triangles are so small in this view that lines are outlines alone.
    pub fn is_fine(&self, model: &Model) -> bool {
        model.side_mm < FINE_PX * self.depth.frame.step_mm
    }

    /// The lines of the view, hidden ones only if asked for.
    pub fn lines(&self, model: &Model, with_hidden: bool) -> Lines {
        let toward = self.posed.pose.rotation().inverse() * self.view.toward;
        let contours = model.contours(&toward);
        let inner: Vec<u32> = if self.is_fine(model) {
            Vec::new()
        } else {
            model
                .edges
                .iter()
                .copied()
                .filter(|h| contours.binary_search(h).is_err())
                .collect()
        };
        let frame = self.depth.frame;
        let mut cover = Cover::new(frame);
        let mut out = Lines::default();
        let (outline, mut behind) = self.cut_all(model, &contours);
        outline.iter().for_each(|s| cover.paint(s));
        out.outline = chains(&outline, frame);
        let (mut edges, more) = self.cut_all(model, &inner);
        edges.retain(|s| !cover.lies_on(s));
        edges.iter().for_each(|s| cover.paint(s));
        out.edges = chains(&edges, frame);
        behind.extend(more);
        if self.is_fine(model) {
            let least = SPECK_PX * frame.step_mm;
            out.outline.retain(|l| length(l) >= least);
        }
        if with_hidden {
            let mut joined = chains(&behind, frame);
            // Long ones first, so that what is left of a line is in one piece.
            joined.sort_by(|a, b| length(b).total_cmp(&length(a)));
            out.hidden = joined
                .iter()
                .flat_map(|l| cover.uncovered(l, frame))
                .collect();
        }
        out
    }

    /// Half-edges cut into what is seen and what is not.
    fn cut_all(&self, model: &Model, list: &[u32]) -> (Vec<Segment>, Vec<Segment>) {
        let cut: Vec<Vec<(Segment, bool)>> = list
            .par_iter()
            .with_min_len(256)
            .map(|&h| self.cut(model.ends(h)))
            .collect();
        let (seen, behind): (Vec<_>, Vec<_>) = cut.into_iter().flatten().partition(|s| s.1);
        let bare = |list: Vec<(Segment, bool)>| list.into_iter().map(|s| s.0).collect();
        (bare(seen), bare(behind))
    }

    /// An edge cut into seen and hidden pieces.
    fn cut(&self, ends: [usize; 2]) -> Vec<(Segment, bool)> {
        let [a, b] = ends.map(|v| self.points[v]);
        let whole = Segment {
            a: [a[0], a[1]],
            b: [b[0], b[1]],
        };
        let n = whole.length().ceil() as usize + 1;
        let at = |t: f64| [0, 1, 2].map(|k| a[k] + t * (b[k] - a[k]));
        if n <= 2 * SHORTEST_RUN {
            return vec![(whole, self.depth.sees(at(0.5)))];
        }
        let mut flags: Vec<bool> = (0..n)
            .map(|i| self.depth.sees(at((i as f64 + 0.5) / n as f64)))
            .collect();
        even_out(&mut flags);
        runs(&flags)
            .into_iter()
            .map(|(from, to, seen)| {
                (
                    whole.piece(from as f64 / n as f64, to as f64 / n as f64),
                    seen,
                )
            })
            .collect()
    }
}

/// Gives short runs the state of their neighbours.
fn even_out(flags: &mut [bool]) {
    for (from, to, state) in runs(flags) {
        if to - from < SHORTEST_RUN && (from > 0 || to < flags.len()) {
            let beside = if from > 0 { flags[from - 1] } else { !state };
            flags[from..to].fill(beside);
        }
    }
}

/// Runs of equal flags: from, to (exclusive), state.
fn runs(flags: &[bool]) -> Vec<(usize, usize, bool)> {
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
struct Segment {
    a: [f64; 2],
    b: [f64; 2],
}

impl Segment {
    fn length(&self) -> f64 {
        (self.b[0] - self.a[0]).hypot(self.b[1] - self.a[1])
    }

    fn at(&self, t: f64) -> [f64; 2] {
        [0, 1].map(|k| self.a[k] + t * (self.b[k] - self.a[k]))
    }

    fn piece(&self, from: f64, to: f64) -> Self {
        Self {
            a: self.at(from),
            b: self.at(to),
        }
    }
}

/// Pixels on which a line lies already.
struct Cover {
    nx: usize,
    ny: usize,
    taken: Vec<bool>,
}

impl Cover {
    fn new(frame: Frame) -> Self {
        Self {
            nx: frame.nx,
            ny: frame.ny,
            taken: vec![false; frame.nx * frame.ny],
        }
    }

    fn at(&self, p: [f64; 2]) -> Option<usize> {
        let inside = p[0] >= 0.0 && p[1] >= 0.0 && p[0] < self.nx as f64 && p[1] < self.ny as f64;
        inside.then(|| p[1] as usize * self.nx + p[0] as usize)
    }

    fn paint(&mut self, s: &Segment) {
        let n = (2.0 * s.length()).ceil() as usize + 1;
        for i in 0..=n {
            if let Some(at) = self.at(s.at(i as f64 / n as f64)) {
                self.taken[at] = true;
            }
        }
    }

    fn is_taken(&self, p: [f64; 2]) -> bool {
        [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]
            .into_iter()
            .filter_map(|(dx, dy)| self.at([p[0] + dx, p[1] + dy]))
            .any(|i| self.taken[i])
    }

    /// Whether a segment lies on lines that are there already, but for a tenth of it.
    fn lies_on(&self, s: &Segment) -> bool {
        let n = s.length().ceil() as usize + 1;
        let on = (0..n)
            .filter(|i| self.is_taken(s.at((*i as f64 + 0.5) / n as f64)))
            .count();
        10 * on >= 9 * n
    }

    /// What of a polyline (mm) lies on no line yet; it is covered from then on.
    fn uncovered(&mut self, line: &[[f64; 2]], frame: Frame) -> Vec<Line> {
        let px: Vec<[f64; 2]> = line
            .iter()
            .map(|p| {
                let [x, y, _] = frame.px([p[0], p[1], 0.0]);
                [x, y]
            })
            .collect();
        // Points about a pixel apart, the corners among them.
        let mut points = vec![px[0]];
        for w in px.windows(2) {
            let s = Segment { a: w[0], b: w[1] };
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
                self.paint(&Segment { a: w[0], b: w[1] });
            }
            out.push(simplified(piece).into_iter().map(|p| frame.mm(p)).collect());
        }
        out
    }
}

fn length(line: &[[f64; 2]]) -> f64 {
    line.windows(2)
        .map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]))
        .sum()
}

/// Joins segments that meet into polylines, as straight on as they go; in mm.
fn chains(segments: &[Segment], frame: Frame) -> Vec<Line> {
    let key = |p: [f64; 2]| p.map(|x| (x / JOIN_PX).round() as i64);
    let mut distinct: Vec<Segment> = segments
        .iter()
        .copied()
        .filter(|s| key(s.a) != key(s.b))
        .map(|s| {
            if key(s.a) <= key(s.b) {
                s
            } else {
                Segment { a: s.b, b: s.a }
            }
        })
        .collect();
    distinct.sort_by_key(|s| (key(s.a), key(s.b)));
    distinct.dedup_by_key(|s| (key(s.a), key(s.b)));
    let mut ends: Vec<([i64; 2], usize)> = distinct
        .iter()
        .enumerate()
        .flat_map(|(i, s)| [(key(s.a), i), (key(s.b), i)])
        .collect();
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
        let straight = simplified(&line);
        out.push(straight.into_iter().map(|p| frame.mm(p)).collect());
    }
    out
}

/// The far end of the unused segment that goes on most nearly straight.
fn onward(
    line: &[[f64; 2]],
    segments: &[Segment],
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
        let near_a = (s.a[0] - last[0]).hypot(s.a[1] - last[1])
            <= (s.b[0] - last[0]).hypot(s.b[1] - last[1]);
        let far = if near_a { s.b } else { s.a };
        let step = [far[0] - last[0], far[1] - last[1]];
        let size = step[0].hypot(step[1]) * along[0].hypot(along[1]);
        let cosine = (along[0] * step[0] + along[1] * step[1]) / size.max(f64::MIN_POSITIVE);
        if best.is_none_or(|b| cosine > b.0) {
            best = Some((cosine, i, far));
        }
    }
    let (_, i, far) = best?;
    used[i] = true;
    Some(far)
}

/// Leaves out points that lie on the line (Douglas & Peucker 1973, from memory).
fn simplified(line: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut keep = vec![false; line.len()];
    keep[0] = true;
    keep[line.len() - 1] = true;
    let mut open = vec![(0, line.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let (a, b) = (line[from], line[to]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy);
        let off = |p: [f64; 2]| {
            if length > 1e-9 {
                ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx).abs() / length
            } else {
                (p[0] - a[0]).hypot(p[1] - a[1])
            }
        };
        let worst = (from + 1..to)
            .map(|i| (off(line[i]), i))
            .fold((0.0, from), |w, x| if x.0 > w.0 { x } else { w });
        if worst.0 > STRAIGHT_PX {
            keep[worst.1] = true;
            open.push((from, worst.1));
            open.push((worst.1, to));
        }
    }
    line.iter()
        .zip(keep)
        .filter(|(_, k)| *k)
        .map(|(p, _)| *p)
        .collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::mesh::{Mesh, Part};
    use crate::pose::Pose;
    use crate::report::draw::model::Model;
    use nalgebra::Point3;

    /// A closed part of blocks (lo, hi), each a body of its own.
    pub fn blocks(list: &[([f64; 3], [f64; 3])]) -> Part {
        let mut mesh = Mesh::default();
        for (lo, hi) in list {
            let base = mesh.vertices.len() as u32;
            for i in 0..8 {
                let pick = |k: usize| if i >> k & 1 == 1 { hi[k] } else { lo[k] };
                mesh.vertices.push(Point3::new(pick(0), pick(1), pick(2)));
            }
            for [a, b, c, d] in [
                [0, 2, 3, 1],
                [4, 5, 7, 6],
                [0, 1, 5, 4],
                [2, 6, 7, 3],
                [0, 4, 6, 2],
                [1, 3, 7, 5],
            ] {
                mesh.triangles.push([base + a, base + b, base + c]);
                mesh.triangles.push([base + a, base + c, base + d]);
            }
        }
        Part::new(mesh).expect("a part").0
    }

    /// A box from the origin.
    pub fn cuboid(x: f64, y: f64, z: f64) -> Part {
        blocks(&[([0.0; 3], [x, y, z])])
    }

    fn drawn(part: &Part, view: View) -> Lines {
        let posed = Posed::new(part, Pose::as_loaded(&part.mesh.vertices));
        let model = Model::new(part);
        Seen::new(&posed, view, 600)
            .expect("extent")
            .lines(&model, true)
    }

    fn length(lines: &[Line]) -> f64 {
        lines.iter().map(|l| super::length(l)).sum()
    }

    #[test]
    fn a_cube_in_isometric_is_a_hexagon_with_a_y_and_a_hidden_y() {
        // Each edge comes out √(2/3) of its length: six in the outline, three seen
        // within it, three hidden (ISO 5456-3, closed form).
        let lines = drawn(&cuboid(30.0, 30.0, 30.0), View::isometric());
        let edge = 30.0 * (2.0_f64 / 3.0).sqrt();
        assert!((length(&lines.outline) - 6.0 * edge).abs() < 0.01 * edge);
        assert!((length(&lines.edges) - 3.0 * edge).abs() < 0.01 * edge);
        assert!(lines.outline.len() <= 2, "{:?}", lines.outline);
        // From a corner the hidden edges lie behind the seen ones: turned out of
        // line they would be three; here they coincide and are not drawn twice.
        let oblong = drawn(&cuboid(30.0, 20.0, 10.0), View::isometric());
        let hidden = (30.0 + 20.0 + 10.0) * (2.0_f64 / 3.0).sqrt();
        assert!(
            (length(&oblong.hidden) - hidden).abs() < 0.04 * hidden,
            "{}",
            length(&oblong.hidden)
        );
    }

    #[test]
    fn a_box_from_the_front_is_a_rectangle_and_nothing_else() {
        let lines = drawn(&cuboid(40.0, 10.0, 25.0), View::front());
        assert!((length(&lines.outline) - 130.0).abs() < 0.5);
        assert!(
            lines.edges.is_empty() && lines.hidden.is_empty(),
            "{lines:?}"
        );
    }

    #[test]
    fn what_lies_behind_is_hidden_and_what_stands_before_is_seen() {
        // A small block behind a large plate: its outline is hidden from the front
        // and seen from the back side's neighbour, the view from the left.
        let part = blocks(&[
            ([0.0, 0.0, 0.0], [60.0, 5.0, 40.0]),
            ([20.0, 10.0, 10.0], [40.0, 20.0, 25.0]),
        ]);
        let front = drawn(&part, View::front());
        assert!(
            (length(&front.hidden) - 2.0 * (20.0 + 15.0)).abs() < 1.0,
            "{}",
            length(&front.hidden)
        );
        let left = drawn(&part, View::left());
        assert!(left.hidden.is_empty());
        assert!((length(&left.outline) - 2.0 * (5.0 + 40.0) - 2.0 * (10.0 + 15.0)).abs() < 1.0);
    }

    #[test]
    fn a_fine_sphere_is_a_circle() {
        let (rings, sides) = (180, 360);
        let mut mesh = Mesh::default();
        for i in 0..=rings {
            let polar = std::f64::consts::PI * f64::from(i) / f64::from(rings);
            for j in 0..sides {
                let turn = std::f64::consts::TAU * f64::from(j) / f64::from(sides);
                mesh.vertices.push(Point3::new(
                    10.0 * polar.sin() * turn.cos(),
                    10.0 * polar.sin() * turn.sin(),
                    10.0 * polar.cos(),
                ));
            }
        }
        let at = |i: i32, j: i32| (i * sides + j % sides) as u32;
        for i in 0..rings {
            for j in 0..sides {
                if i > 0 {
                    mesh.triangles.push([at(i, j), at(i + 1, j), at(i, j + 1)]);
                }
                if i + 1 < rings {
                    mesh.triangles
                        .push([at(i, j + 1), at(i + 1, j), at(i + 1, j + 1)]);
                }
            }
        }
        // The poles are one point each.
        for t in &mut mesh.triangles {
            for v in t {
                let ring = *v as i32 / sides;
                if ring == 0 || ring == rings {
                    *v = (ring * sides) as u32;
                }
            }
        }
        let part = Part::new(mesh).expect("a part").0;
        let lines = drawn(&part, View::isometric());
        let round = std::f64::consts::TAU * 10.0;
        // Steps along facets make it a little longer.
        assert!(
            (length(&lines.outline) - round).abs() < 0.06 * round,
            "{}",
            length(&lines.outline)
        );
        assert!(lines.edges.is_empty());
        for p in lines.outline.iter().flatten() {
            let (dx, dy) = (p[0], p[1] - 10.0 * (2.0_f64 / 3.0).sqrt());
            assert!((dx.hypot(dy) - 10.0).abs() < 0.1);
        }
    }
}
