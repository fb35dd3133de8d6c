//! Pieces of neighbouring layers that overlap in plan, joined: a tree that grows
//! from the bed (a graph where branches merge again).

use super::buckets::Buckets;
use super::overlap::Probe;
use super::{Layers, Piece};
use crate::pose::bounds;
use crate::tol;
use rayon::prelude::*;

/// Pieces whose area is below this share of a line's square are left out:
/// nothing can be printed there, so nothing is carried through there.
pub const PRINTABLE_SHARE: f64 = 1e-4;

/// One piece in the tree.
#[derive(Debug, Clone, Copy)]
pub struct Node<'a> {
    /// Index of its layer.
    pub layer: usize,
    /// The piece.
    pub piece: &'a Piece,
}

/// All pieces of all layers and what each stands on.
///
/// Nodes are numbered layer by layer from the bed, within a layer in the order of
/// its pieces.
#[derive(Debug, Clone)]
pub struct PieceTree<'a> {
    layers: &'a Layers,
    nodes: Vec<Node<'a>>,
    below: Buckets<usize>,
    above: Buckets<usize>,
}

impl<'a> PieceTree<'a> {
    /// Joins the pieces of neighbouring layers that overlap in plan.
    ///
    /// Pieces with less area than [`PRINTABLE_SHARE`] of `line_mm`² are left out.
    /// Common area decides; pieces that share a point or a line only do not
    /// overlap. Layers without pieces give an empty tree.
    pub fn new(layers: &'a Layers, line_mm: f64) -> Self {
        let least = PRINTABLE_SHARE * line_mm * line_mm;
        let mut nodes = Vec::new();
        let mut first = vec![0];
        for (layer, section) in layers.sections.iter().enumerate() {
            let printable = section.pieces.iter().filter(|p| p.area_mm2 > least);
            nodes.extend(printable.map(|piece| Node { layer, piece }));
            first.push(nodes.len());
        }
        let plan = bounds(nodes.iter().flat_map(|n: &Node| n.piece.bounds));
        let trust = tol::length(plan.map_or(0.0, |[lo, hi]| (hi - lo).max()));
        let probes: Vec<Probe> = nodes
            .par_iter()
            .map(|n| Probe::new(n.piece, trust))
            .collect();
        let by_layer: Vec<Vec<(usize, usize)>> = (1..layers.sections.len())
            .into_par_iter()
            .map(|k| overlapping(&probes, first[k - 1]..first[k], first[k]..first[k + 1]))
            .collect();
        let mut up = by_layer.concat();
        up.sort_unstable();
        let down = up.iter().map(|&(lower, upper)| (upper, lower));
        let (above, below) = (
            Buckets::new(nodes.len(), up.iter().copied()),
            Buckets::new(nodes.len(), down),
        );
        Self {
            layers,
            nodes,
            below,
            above,
        }
    }

    /// The layers it was made from.
    pub fn layers(&self) -> &'a Layers {
        self.layers
    }

    /// Every piece, from the bed up.
    pub fn nodes(&self) -> &[Node<'a>] {
        &self.nodes
    }

    /// Pieces of the layer below that `node` overlaps, ascending.
    ///
    /// # Panics
    /// If `node` is not below `nodes().len()`.
    pub fn below(&self, node: usize) -> &[usize] {
        self.below.of(node)
    }

    /// Pieces of the layer above that `node` overlaps, ascending.
    ///
    /// # Panics
    /// If `node` is not below `nodes().len()`.
    pub fn above(&self, node: usize) -> &[usize] {
        self.above.of(node)
    }

    /// Bottom and top of the layer of `node`, mm; a layer without levels is flat.
    pub(crate) fn span(&self, node: usize) -> (f64, f64) {
        let (layer, levels) = (self.nodes[node].layer, &self.layers.levels_mm);
        let bottom = levels.get(layer).copied().unwrap_or_default();
        let top = levels.get(layer + 1).copied().unwrap_or(bottom);
        (bottom, top)
    }
}

/// Pairs (lower, upper) that overlap, by a sweep of their boxes along X.
fn overlapping(
    probes: &[Probe],
    lower: std::ops::Range<usize>,
    upper: std::ops::Range<usize>,
) -> Vec<(usize, usize)> {
    let split = upper.start;
    let low = |n: usize| probes[n].piece.bounds[0].x;
    let high = |n: usize| probes[n].piece.bounds[1].x;
    let mut order: Vec<usize> = lower.chain(upper).collect();
    order.sort_by(|&m, &n| low(m).total_cmp(&low(n)).then(m.cmp(&n)));
    let mut open: [Vec<usize>; 2] = [Vec::new(), Vec::new()];
    let mut pairs = Vec::new();
    for n in order {
        let is_upper = usize::from(n >= split);
        let others = &mut open[1 - is_upper];
        others.retain(|&m| high(m) > low(n));
        for &m in others.iter().filter(|&&m| probes[n].overlaps(&probes[m])) {
            pairs.push((n.min(m), n.max(m)));
        }
        open[is_upper].push(n);
    }
    pairs
}
