//! One layer over the layer below: where overhang places cluster, and the gaps they lie in.
//!
//! Overhang places are few and small beside the outline of a layer, so areas are worked
//! out near them only.

use super::rows::Ready;
use super::screen::Stretch;
use crate::figures::Piece;
use crate::plane::overlay::{Area, IntegerGrid, Window};
use crate::plane::polygon::Ends;
use nalgebra::Point2;
use std::sync::Arc;

/// Outlines of the pieces that come near the window, cut short outside it.
pub(super) fn outlines<'a>(
    pieces: impl IntoIterator<Item = &'a Piece>,
    window: &Window,
) -> Vec<Ends> {
    let mut out = Vec::new();
    for piece in pieces {
        let [lo, hi] = piece.bounds;
        if window.meets(&Window { lo, hi }) {
            for points in piece.loops() {
                window.shorten(points, &mut out);
            }
        }
    }
    out
}

/// Pieces of a layer over the layer below.
pub(super) struct Overlay<'a> {
    pub upper: Vec<&'a Piece>,
    pub lower: &'a Ready<'a>,
    pub offset: f64,
    pub grid: IntegerGrid,
    /// All gaps, once a cluster has needed them.
    all: Option<Vec<Arc<Area>>>,
    /// Boxes of the gaps that float, so that each is told once.
    told: Vec<Window>,
}

impl<'a> Overlay<'a> {
    pub fn new(upper: Vec<&'a Piece>, lower: &'a Ready<'a>, offset: f64) -> Self {
        let largest = (upper.iter().copied().chain(&lower.pieces))
            .flat_map(|p| p.bounds)
            .fold(0.0_f64, |m, b| m.max(b.x.abs()).max(b.y.abs()));
        Self {
            upper,
            lower,
            offset,
            grid: IntegerGrid::new(largest + 2.0 * offset),
            all: None,
            told: Vec::new(),
        }
    }

    /// Was this gap not asked for before?
    pub fn is_new(&mut self, gap: &Area) -> bool {
        let new = !self.told.contains(&gap.around);
        if new {
            self.told.push(gap.around);
        }
        new
    }

    /// Parts of the upper pieces that lie beyond the lower ones and hold overhang stretches of
    /// the cluster, whole. They may reach farther than the cluster: first only what lies
    /// within `margin` of it is looked at, and all if that cuts one off.
    pub fn gaps(&mut self, cluster: &Cluster, margin: f64) -> Vec<Arc<Area>> {
        let near = 0.1 * self.offset;
        let holds = |g: &Area| {
            let around = g.around.grown(near);
            cluster.middles.iter().any(|m| around.contains(*m))
        };
        if self.all.is_none() {
            let window = cluster.core.grown(margin);
            let mut gaps = self.difference(&window);
            gaps.retain(holds);
            if gaps.iter().all(|g| window.holds(&g.around)) {
                return gaps.into_iter().map(Arc::new).collect();
            }
            let all = self.difference(&Window::ALL);
            self.all = Some(all.into_iter().map(Arc::new).collect());
        }
        let all = self.all.iter().flatten();
        all.filter(|g| holds(g)).map(Arc::clone).collect()
    }

    /// Parts of the upper pieces that lie beyond the lower ones, right inside the window.
    pub fn difference(&self, window: &Window) -> Vec<Area> {
        let upper = outlines(self.upper.iter().copied(), window);
        let lower = outlines(&self.lower.pieces, window);
        self.grid.difference(&upper, &lower)
    }
}

/// Overhang stretches that may belong to one overhang area.
pub(super) struct Cluster {
    /// Box around them and an offset more.
    pub core: Window,
    middles: Vec<Point2<f64>>,
}

impl Cluster {
    /// Sorts stretches into clusters whose boxes do not meet.
    ///
    /// The outline of an overhang area is a chain of stretches. Where one ends on the upper
    /// outline and the next begins on the moved lower one there is a step of a small
    /// part of the offset, and round a corner the moved outline shows only its middle:
    /// boxes within two carries of each other are taken together.
    pub fn of(stretches: &[Stretch], offset: f64) -> Vec<Self> {
        let mut boxes: Vec<Window> = (stretches.iter()).map(|s| s.around.grown(offset)).collect();
        // Joining makes boxes larger, so it is done again until nothing joins.
        loop {
            let before = boxes.len();
            boxes.sort_unstable_by(|a, b| {
                (a.lo.x.total_cmp(&b.lo.x))
                    .then(a.lo.y.total_cmp(&b.lo.y))
                    .then(a.hi.x.total_cmp(&b.hi.x))
                    .then(a.hi.y.total_cmp(&b.hi.y))
            });
            let mut joined: Vec<Window> = Vec::new();
            for b in boxes {
                match joined.iter_mut().rev().find(|j| j.meets(&b)) {
                    Some(j) => *j = j.with(&b),
                    None => joined.push(b),
                }
            }
            boxes = joined;
            if boxes.len() == before {
                break;
            }
        }
        (boxes.into_iter())
            .map(|core| Self {
                core,
                middles: (stretches.iter())
                    .filter(|s| core.holds(&s.around))
                    .map(|s| s.middle)
                    .collect(),
            })
            .collect()
    }
}
