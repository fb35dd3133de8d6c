//! The edges and outlines of a part in one view: seen, hidden, joined into polylines.
//!
//! Each edge is looked at once a pixel against the depth buffer and cut where it goes
//! behind a surface. Hidden pieces are drawn once: where one lies on a seen line or on
//! another hidden one it is left out, so that dashes never run into each other.

use super::depth::{Depth, Frame};
pub use super::join::Polyline;
use super::join::{Cover, EdgePiece, SHORTEST_RUN, between, chains, even_out, length, runs};
use super::model::DrawingModel;
use super::view::View;
use crate::mesh::each;
use crate::pose::Posed;
use rayon::prelude::*;

/// Facets whose sides come out shorter than this have no edges of their own: what
/// looks like one is the noise of a scan, pixels.
const FINE_PX: f64 = 9.0;

/// Outlines shorter than this are the grain of a scan where facets are small, pixels at a
/// view of a thousand.
const SPECK_PX: f64 = 14.0;

/// The lines of one view.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lines {
    /// Where the surface turns out of sight.
    pub outline: Vec<Polyline>,
    /// Edges within what is seen.
    pub edges: Vec<Polyline>,
    /// Edges and outlines behind the surface.
    pub hidden: Vec<Polyline>,
}

impl Lines {
    /// Without the short pieces that the grain of a scan makes.
    #[must_use]
    pub fn without_specks(mut self, frame: Frame) -> Self {
        let least = SPECK_PX * frame.step_mm * frame.nx.max(frame.ny) as f64 / 1000.0;
        self.outline.retain(|l| length(l) >= least);
        self.edges.retain(|l| length(l) >= 2.0 * least);
        self
    }

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
        let mut points = each(&posed.vertices, 1 << 14, |p| view.map(p));
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
    pub fn is_fine(&self, model: &DrawingModel) -> bool {
        model.side_mm < FINE_PX * self.depth.frame.step_mm
    }

    /// The lines of the view, hidden ones only if asked for.
    pub fn lines(&self, model: &DrawingModel, with_hidden: bool) -> Lines {
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
        for s in &outline {
            cover.paint(s);
        }
        out.outline = chains(&outline, frame);
        let (mut edges, more) = self.cut_all(model, &inner);
        edges.retain(|s| !cover.lies_on(s));
        for s in &edges {
            cover.paint(s);
        }
        out.edges = chains(&edges, frame);
        behind.extend(more);
        if with_hidden {
            let mut joined = chains(&behind, frame);
            // Long ones first, so that what is left of a line is in one piece.
            joined.sort_by(|a, b| length(b).total_cmp(&length(a)));
            out.hidden = joined.iter().flat_map(|l| cover.uncovered(l)).collect();
        }
        out
    }

    /// Half-edges cut into what is seen and what is not.
    fn cut_all(&self, model: &DrawingModel, list: &[u32]) -> (Vec<EdgePiece>, Vec<EdgePiece>) {
        let cut = each(list, 256, |&h| self.cut(model.ends(h)));
        let (seen, behind): (Vec<_>, Vec<_>) = cut.into_iter().flatten().partition(|s| s.1);
        let bare = |list: Vec<(EdgePiece, bool)>| list.into_iter().map(|s| s.0).collect();
        (bare(seen), bare(behind))
    }

    /// An edge cut into seen and hidden pieces.
    fn cut(&self, ends: [usize; 2]) -> Vec<(EdgePiece, bool)> {
        let [a, b] = ends.map(|v| self.points[v]);
        let whole = EdgePiece {
            a: [a[0], a[1]],
            b: [b[0], b[1]],
        };
        let n = whole.length().ceil() as usize + 1;
        let at = |t: f64| between(a, b, t);
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

#[cfg(test)]
#[path = "lines_tests.rs"]
mod tests;
