//! Slender features: stretches of the part that stand free, their height over
//! their width, and how far a push moves their tips.
//!
//! Sections at layer height are split into pieces and joined where they overlap
//! in plan ([`PieceTree`]). A *stretch* is a run of pieces from where it leaves
//! the bed or its parent up to where it ends or merges. The rule, in full:
//!
//! - A piece is *carried* if pieces lead from it down to the bed. What hangs in
//!   the air braces nothing: where a carried and a hanging piece meet, only the
//!   carried one counts as a parent, and the hanging stretch ends there.
//! - A piece is a *bump* if it and all that stands on it reach less than
//!   [`MIN_LAYERS`] layers up. A bump is no branch.
//! - A stretch starts with a piece that stands on the bed or on nothing, that
//!   joins several parents, that is one of several branches of its parent, or
//!   that is the only branch of its parent with less than [`LEAVING_SHARE`] of
//!   its parent's area (a post on a plate). Branches that are bumps do not count.
//! - Any other only branch goes on with the stretch of its parent. A parent
//!   with nothing but bumps on it goes on with the one that reaches highest (the
//!   larger, then the first, among equals), so the stretch ends at its true top.
//! - A stretch of fewer than [`MIN_LAYERS`] layers does not count.
//!
//! A straight-sided cone loses half of its area from one layer to the next only
//! in its last three layers, which are a bump: a taper is one stretch, whatever
//! its slope. Heights are layer levels, so both ends are true to one layer. The
//! width of a piece is √(12·I/A) with I the smaller principal second moment; the
//! width of a stretch is the median over its height.

use super::sway::Columns;
use super::tree::PieceTree;
use super::{Footing, Stretch};

/// A single piece with less than this share of its parent's area leaves it.
pub const LEAVING_SHARE: f64 = 0.5;

/// What is narrower than this share of a line is a sliver of the mesh: no nozzle draws it, and no
/// figure counts it (house value).
pub const SLIVER_LINES: f64 = 0.5;

/// Fewest layers of a stretch; what reaches less high is a bump.
pub const MIN_LAYERS: u32 = 4;

/// All stretches of a part, from the bed up, in the order of their starts.
///
/// Build frame; `line_mm` is the width of a line and `e_mpa` the material's modulus. Below a
/// merge the second moments of all pieces that carry the tip are added. Empty layers, and
/// parts under [`MIN_LAYERS`] layers, have none.
pub fn stretches(tree: &PieceTree, line_mm: f64, e_mpa: f64) -> Vec<Stretch> {
    let nodes = tree.nodes();
    let reach = reaches(tree);
    let onward: Vec<Onward> = (0..nodes.len()).map(|n| onward(tree, &reach, n)).collect();
    let mut columns = Columns::new(tree, line_mm);
    let mut owner: Vec<Option<usize>> = vec![None; nodes.len()];
    let mut runs: Vec<Run> = Vec::new();

    for (n, node) in nodes.iter().enumerate() {
        let (parents, column) = columns.add();
        let (bottom, top) = tree.span(n);
        let starts_on = match parents[..] {
            [] if node.layer == 0 => Some(Footing::Bed),
            [] => Some(Footing::Air),
            [parent] => match onward[parent] {
                Onward::Same(child) if child == n => {
                    owner[n] = owner[parent];
                    None
                }
                Onward::Leaves(child) if child == n => Some(Footing::Part),
                Onward::Branches if reach[n] >= MIN_LAYERS => Some(Footing::Part),
                _ => None,
            },
            _ => Some(Footing::Part),
        };
        if let Some(footing) = starts_on {
            owner[n] = Some(runs.len());
            runs.push(Run {
                from: bottom,
                footing,
                rows: Vec::new(),
                tip: [0.0; 3],
                sway: 0.0,
            });
        }
        if let Some(run) = owner[n].and_then(|r| runs.get_mut(r)) {
            let centroid = node.piece.centroid;
            run.rows.push((node.piece.width_mm(), top - bottom));
            run.tip = [centroid.x, centroid.y, top];
            run.sway = column.softest(e_mpa);
        }
    }
    runs.iter()
        .filter(|r| r.rows.len() >= MIN_LAYERS as usize)
        .map(Run::finish)
        .collect()
}

/// The stretch that governs the slender ratio: the largest height over width,
/// the first from the bed among equals. `None` without stretches.
pub fn slenderest<'a>(stretches: impl IntoIterator<Item = &'a Stretch>) -> Option<&'a Stretch> {
    (stretches.into_iter()).reduce(|a, b| if b.ratio > a.ratio { b } else { a })
}

/// Sideways deflection of the softest tip under 1 N, mm. 0 without stretches.
pub fn softest_sway(stretches: &[Stretch]) -> f64 {
    stretches
        .iter()
        .map(|s| s.sway_mm_per_n)
        .fold(0.0, f64::max)
}

/// A stretch while it grows.
struct Run {
    from: f64,
    footing: Footing,
    /// Width and thickness of each layer, mm.
    rows: Vec<(f64, f64)>,
    tip: [f64; 3],
    sway: f64,
}

impl Run {
    fn finish(&self) -> Stretch {
        let (from_mm, to_mm, width_mm) = (self.from, self.tip[2], median(&self.rows));
        Stretch {
            from_mm,
            to_mm,
            width_mm,
            ratio: if width_mm > 0.0 {
                (to_mm - from_mm) / width_mm
            } else {
                0.0
            },
            tip_mm: self.tip,
            sway_mm_per_n: self.sway,
            footing: self.footing,
        }
    }
}

/// Median of values by weight: half of the weight lies on either side. Where a
/// value ends at exactly half, the mean of it and the next.
fn median(rows: &[(f64, f64)]) -> f64 {
    let mut rows = rows.to_vec();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = rows.iter().map(|r| r.1).sum();
    let slack = total * 1e-9;
    let mut passed = 0.0;
    for (i, &(value, weight)) in rows.iter().enumerate() {
        passed += weight;
        if passed > total / 2.0 + slack {
            return value;
        }
        if passed >= total / 2.0 - slack {
            return rows
                .get(i + 1)
                .map_or(value, |next| f64::midpoint(value, next.0));
        }
    }
    0.0
}

/// How many layers each piece and what stands on it reach up, itself included.
fn reaches(tree: &PieceTree) -> Vec<u32> {
    let mut reach = vec![1; tree.nodes().len()];
    for n in (0..reach.len()).rev() {
        reach[n] += tree.above(n).iter().map(|&c| reach[c]).max().unwrap_or(0);
    }
    reach
}

/// How a stretch goes on above a piece.
#[derive(Clone, Copy)]
enum Onward {
    /// With this piece.
    Same(usize),
    /// This piece starts a stretch of its own.
    Leaves(usize),
    /// It ends: nothing above, or several branches.
    Branches,
}

fn onward(tree: &PieceTree, reach: &[u32], parent: usize) -> Onward {
    let area = |n: usize| tree.nodes()[n].piece.area_mm2;
    let children = tree.above(parent);
    let mut branches = children.iter().copied().filter(|&c| reach[c] >= MIN_LAYERS);
    match (branches.next(), branches.next()) {
        (Some(only), None) if area(only) < LEAVING_SHARE * area(parent) => Onward::Leaves(only),
        (Some(only), None) => Onward::Same(only),
        (Some(_), Some(_)) => Onward::Branches,
        (None, _) => children
            .iter()
            .copied()
            .reduce(
                |a, b| match reach[b].cmp(&reach[a]).then(area(b).total_cmp(&area(a))) {
                    std::cmp::Ordering::Greater => b,
                    _ => a,
                },
            )
            .map_or(Onward::Branches, Onward::Same),
    }
}

#[cfg(test)]
mod tests;
