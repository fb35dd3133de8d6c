//! Where bending parts the layers: the section that gives way first to a push on what stands
//! on it.
//!
//! Pieces of one layer that are joined somewhere above it carry what stands there together. A
//! push of 1 N against the top of that has the lever arm t − z at the bottom of the layer, and
//! the section resists it by its modulus W = I/c: I the smaller principal second moment, those
//! of several pieces added as in `sway.rs`, c the way from a centroid to the
//! outermost corner in that direction (√(3·I/A), half the side of a square, where no direction is
//! thinner than another). The stress is arm/W (elementary beam theory). The layer
//! where it is largest parts first.
//!
//! Left out: the first layer, which the bed holds; sections with less than [`MIN_LAYERS`] layers
//! on them; pieces narrower than half a line, which no nozzle draws; pieces that hang in the air;
//! levers under 3 mm; and what is squat, since a lever shorter than [`SQUAT`] times the width
//! shears and does not bend.

use super::Piece;
use super::join::Join;
use super::slender::{MIN_LAYERS, SLIVER_LINES};
use super::tree::PieceTree;
use crate::plane::rect::span;
use nalgebra::{Matrix2, Vector2};

/// Lever over width below which a section is squat (house value).
pub const SQUAT: f64 = 1.5;

/// Levers shorter than this are studs and lettering, mm (house value).
const LEAST_ARM_MM: f64 = 3.0;

/// A section stands on a base, or on the part below, that has this many times its area.
const BASE_SHARE: f64 = 2.0;

/// Principal moments within this share of their mean are equal.
const EVEN: f64 = 1e-3;

/// Stresses within this share of the largest count with it.
const ALIKE: f64 = 0.9;

/// Pieces of a row are as thick as it from this share on.
const AS_THICK: f64 = 0.9;
/// Length over width from which an upright piece is a wall (house value).
const WALL: f64 = 3.0;

/// What the section that parts first stands on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Seat {
    /// The bed.
    Bed,
    /// A part of at least twice its area.
    Base,
    /// More of the same.
    #[default]
    More,
}

/// The section that bending parts first.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Parting {
    /// Height of the joint between two layers, mm.
    pub z_mm: f64,
    /// From there to the top of what the section carries, mm.
    pub arm_mm: f64,
    /// How far the section reaches in the direction in which it bends most, mm: the thickness of
    /// a wall, the depth of a channel.
    pub width_mm: f64,
    /// Length of a solid bar of that width and the area of the section, mm: a channel has little
    /// of it, and is no wall.
    pub length_mm: f64,
    /// Its area over that of the solid rectangle that bends like it both ways: 1 for a rectangle,
    /// 1.05 for a disc, 0.37 for a tube with a wall of a tenth of its diameter.
    pub solid: f64,
    /// Section modulus, mm³.
    pub modulus_mm3: f64,
    /// Pieces that carry together.
    pub pieces: u32,
    /// These stand in a row, each as thick as the row: a wall between its holes.
    pub in_row: bool,
    /// Sections like this one at that height, itself included.
    pub alike: u32,
    /// Unit direction of its length, build frame.
    pub along: Vector2<f64>,
    /// What it stands on.
    pub seat: Seat,
    /// How much further than the section the base reaches in its thin direction, mm.
    pub base_beyond_mm: f64,
}

impl Parting {
    /// Whether it is a wall, not a post.
    pub fn is_wall(&self) -> bool {
        self.in_row || self.length_mm >= WALL * self.width_mm
    }

    /// Bending stress for each newton at the top, N/mm² per N.
    pub fn stress(&self) -> f64 {
        self.arm_mm / self.modulus_mm3
    }
}

/// The section that parts first when what stands on it is pushed; none where all is squat.
/// O(n log n) in the pieces.
pub fn parting(tree: &PieceTree, line_mm: f64) -> Option<Parting> {
    let nodes = tree.nodes();
    let mut joined = Joined::new(tree, line_mm);
    let mut best: Option<(Parting, Vec<usize>)> = None;
    let mut end = nodes.len();
    while end > 0 {
        let layer = nodes[end - 1].layer;
        let start = nodes[..end].partition_point(|n| n.layer < layer);
        for n in start..end {
            joined.add(n);
        }
        if layer > 0 {
            let groups = joined.groups(start..end);
            let mut found: Vec<(Parting, Vec<usize>)> = (groups.into_iter())
                .filter_map(|g| Some((joined.section(&g, layer)?, g)))
                .collect();
            found.sort_by(|a, b| b.0.stress().total_cmp(&a.0.stress()));
            if let Some((mut first, group)) = found.first().cloned() {
                let like = |s: &Parting| s.stress() >= ALIKE * first.stress();
                first.alike = found.iter().filter(|f| like(&f.0)).count() as u32;
                let more = |b: &(Parting, _)| first.stress() > b.0.stress() * (1.0 + 1e-9);
                if best.as_ref().is_none_or(more) {
                    best = Some((first, group));
                }
            }
        }
        end = start;
    }
    let (mut section, group) = best?;
    joined.seat(&mut section, &group);
    Some(section)
}

/// The direction of several pieces that stand in a row and are each as thick as it.
fn row(pieces: &[&Piece]) -> Option<Vector2<f64>> {
    let mean = pieces
        .iter()
        .map(|p| p.centroid.coords)
        .sum::<Vector2<f64>>()
        / pieces.len() as f64;
    let far = |p: &&&Piece| (p.centroid.coords - mean).norm();
    let end = pieces.iter().max_by(|a, b| far(a).total_cmp(&far(b)))?;
    let along = (end.centroid.coords - mean).try_normalize(1e-6)?;
    let across = Vector2::new(-along.y, along.x);
    let of = |p: &Piece| span(p.outer.iter().map(|q| q.coords.dot(&across)));
    let (lo, hi) = pieces
        .iter()
        .map(|p| of(p))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), (a, b)| {
            (lo.min(a), hi.max(b))
        });
    let corners = pieces.iter().flat_map(|p| &p.outer);
    let (first, last) = span(corners.map(|q| q.coords.dot(&along)));
    let as_thick = |p: &&Piece| {
        let (a, b) = of(p);
        b - a >= AS_THICK * (hi - lo)
    };
    let is_wall = last - first >= WALL * (hi - lo);
    (pieces.len() > 1 && is_wall && pieces.iter().all(as_thick)).then_some(along)
}

/// Pieces joined from the top down.
struct Joined<'a> {
    tree: &'a PieceTree<'a>,
    /// Whether a piece leads down to the bed and is wide enough to be drawn.
    counts: Vec<bool>,
    join: Join,
    /// Index of the highest layer of each set, by its root.
    top: Vec<usize>,
}

impl<'a> Joined<'a> {
    fn new(tree: &'a PieceTree<'a>, line_mm: f64) -> Self {
        let nodes = tree.nodes();
        let mut counts = vec![false; nodes.len()];
        for (n, node) in nodes.iter().enumerate() {
            let carried = node.layer == 0 || tree.below(n).iter().any(|&p| counts[p]);
            counts[n] = carried && node.piece.width_mm() >= SLIVER_LINES * line_mm;
        }
        Self {
            tree,
            counts,
            join: Join::new(nodes.len()),
            top: nodes.iter().map(|n| n.layer).collect(),
        }
    }

    fn root(&mut self, n: usize) -> usize {
        self.join.root(n as u32) as usize
    }

    /// Takes a piece in, under all that stands on it.
    fn add(&mut self, n: usize) {
        if !self.counts[n] {
            return;
        }
        for &c in self.tree.above(n) {
            if self.counts[c] {
                let (a, b) = (self.root(n), self.root(c));
                let top = self.top[a].max(self.top[b]);
                self.join.unite(a as u32, b as u32);
                self.top[a.min(b)] = top;
            }
        }
    }

    /// The pieces of one layer by what they carry, ascending.
    fn groups(&mut self, layer: std::ops::Range<usize>) -> Vec<Vec<usize>> {
        let mut by_root: Vec<(usize, usize)> =
            layer.filter(|&n| self.counts[n]).map(|n| (n, n)).collect();
        for pair in &mut by_root {
            pair.0 = self.root(pair.1);
        }
        by_root.sort_unstable();
        (by_root.chunk_by(|a, b| a.0 == b.0))
            .map(|run| run.iter().map(|p| p.1).collect())
            .collect()
    }

    /// The section of some pieces of a layer, where it has enough on it to bend.
    fn section(&mut self, group: &[usize], layer: usize) -> Option<Parting> {
        let root = self.root(*group.first()?);
        let top = self.top[root];
        let levels = &self.tree.layers().levels_mm;
        if top < layer + MIN_LAYERS as usize {
            return None;
        }
        let (z_mm, top_mm) = (*levels.get(layer)?, *levels.get(top + 1)?);
        let pieces = || group.iter().map(|&n| self.tree.nodes()[n].piece);
        let area: f64 = pieces().map(|p| p.area_mm2).sum();
        let moment = |[xx, yy, xy]: [f64; 3]| Matrix2::new(xx, xy, xy, yy);
        let sum: Matrix2<f64> = pieces().map(|p| moment(p.second_mm4)).sum();
        let mean = f64::midpoint(sum.m11, sum.m22);
        let off = 0.5 * (sum.m11 - sum.m22);
        let radius = libm::hypot(off, sum.m12);
        let (small, large) = ((mean - radius).max(0.0), mean + radius);
        // Direction of the larger moment: along the section.
        let turn = 0.5 * libm::atan2(sum.m12, off);
        let along = Vector2::new(libm::cos(turn), libm::sin(turn));
        let across = Vector2::new(-along.y, along.x);
        let sides = pieces().map(|p| {
            let off = p.outer.iter().map(|q| (q - p.centroid).dot(&across));
            span(off)
        });
        let (mut reach, mut width_mm) = (0.0_f64, 0.0_f64);
        for (lo, hi) in sides {
            reach = reach.max(hi).max(-lo);
            width_mm = width_mm.max(hi - lo);
        }
        // No direction of a square or a disc is the thinnest: none may be picked by rounding.
        if radius <= EVEN * mean {
            reach = (3.0 * small / area).sqrt();
            width_mm = 2.0 * reach;
        }
        let row = row(&pieces().collect::<Vec<_>>());
        let (length_mm, arm_mm) = (area / width_mm, top_mm - z_mm);
        let modulus_mm3 = small / reach;
        let bends = area > 0.0 && modulus_mm3 > 0.0 && modulus_mm3.is_finite();
        (bends && arm_mm >= LEAST_ARM_MM.max(SQUAT * width_mm)).then_some(Parting {
            z_mm,
            arm_mm,
            width_mm,
            length_mm,
            solid: area * area / (12.0 * (small * large).sqrt()),
            modulus_mm3,
            pieces: group.len() as u32,
            in_row: row.is_some(),
            alike: 1,
            along: row.unwrap_or(along),
            seat: Seat::More,
            base_beyond_mm: 0.0,
        })
    }

    /// What the section stands on: looked for as far down as it is wide.
    fn seat(&self, section: &mut Parting, group: &[usize]) {
        let nodes = self.tree.nodes();
        let area = |set: &[usize]| set.iter().map(|&n| nodes[n].piece.area_mm2).sum::<f64>();
        let across = Vector2::new(-section.along.y, section.along.x);
        let extent = |set: &[usize]| {
            let corners = set.iter().flat_map(|&n| &nodes[n].piece.outer);
            let (lo, hi) = crate::plane::rect::span(corners.map(|p| p.coords.dot(&across)));
            hi - lo
        };
        let (own, wide) = (area(group), extent(group));
        let mut set = group.to_vec();
        loop {
            let mut below: Vec<usize> = (set.iter())
                .flat_map(|&n| self.tree.below(n))
                .copied()
                .filter(|&n| self.counts[n])
                .collect();
            below.sort_unstable();
            below.dedup();
            let Some(&any) = below.first() else {
                section.seat = Seat::Bed;
                return;
            };
            if area(&below) >= BASE_SHARE * own {
                section.seat = Seat::Base;
                section.base_beyond_mm = (extent(&below) - wide).max(0.0);
                return;
            }
            if section.z_mm - self.tree.span(any).0 > section.width_mm {
                return;
            }
            set = below;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, disc, rectangle, square};
    use approx::assert_relative_eq;

    fn of(stack: &Stack) -> Option<Parting> {
        parting(&PieceTree::new(&stack.layers(), 0.45), 0.45)
    }

    /// W of a square a³/6; the lever is all that stands above the plate.
    #[test]
    fn a_post_on_a_plate_parts_at_its_root() {
        let s = Stack::new(0.2)
            .up_to(4.0, &[square(0.0, 0.0, 30.0)])
            .up_to(44.0, &[square(5.0, 5.0, 4.0)]);
        let p = of(&s).expect("a post bends");
        assert_relative_eq!(p.z_mm, 4.0, epsilon = 1e-9);
        assert_relative_eq!(p.arm_mm, 40.0, epsilon = 1e-9);
        assert_relative_eq!(p.modulus_mm3, 64.0 / 6.0, max_relative = 1e-9);
        assert_relative_eq!(p.stress(), 40.0 / (64.0 / 6.0), max_relative = 1e-9);
        assert_eq!((p.seat, p.pieces, p.alike), (Seat::Base, 1, 1));
    }

    /// The tip of a cone is its smallest section; its stress is largest where the diameter is
    /// half as large again as at the tip of the lever: 32·F·s/(π·d³) with d = k·s grows to the
    /// tip, so a frustum is used, 8 below and 4 above over 40 mm: d = 4 + s/10, largest at s = 20.
    #[test]
    fn a_taper_parts_where_lever_over_modulus_is_largest_and_not_at_its_tip() {
        let s = Stack::new(0.2).shaped(40.0, |z| vec![disc(0.0, 0.0, 4.0 - z / 20.0, 90)]);
        let p = of(&s).expect("bends");
        assert!((p.z_mm - 20.0).abs() < 1.0, "{p:?}");
        assert_eq!(p.seat, Seat::More);
    }

    #[test]
    fn an_upright_wall_on_a_base_is_known_by_its_corner() {
        let s = Stack::new(0.2)
            .up_to(4.0, &[rectangle(0.0, 0.0, 40.0, 30.0)])
            .up_to(34.0, &[rectangle(-18.0, 0.0, 4.0, 30.0)]);
        let p = of(&s).expect("bends");
        assert_relative_eq!(p.z_mm, 4.0, epsilon = 1e-9);
        assert_relative_eq!(p.width_mm, 4.0, max_relative = 1e-9);
        assert_relative_eq!(p.length_mm, 30.0, max_relative = 1e-9);
        assert!(p.along.y.abs() > 0.999, "{:?}", p.along);
        assert_eq!(p.seat, Seat::Base);
        assert_relative_eq!(p.base_beyond_mm, 36.0, max_relative = 1e-9);
    }

    /// A channel 40 × 10 with walls of 2 bends about its web, and is no wall 10 thick and 40 long.
    #[test]
    fn the_depth_of_a_channel_is_no_thickness_of_a_wall() {
        let corners = [
            [0.0, 0.0],
            [40.0, 0.0],
            [40.0, 10.0],
            [38.0, 10.0],
            [38.0, 2.0],
            [2.0, 2.0],
            [2.0, 10.0],
            [0.0, 10.0],
        ];
        let corners = corners.map(nalgebra::Point2::from).to_vec();
        let channel = crate::figures::Piece::from_loops(corners, vec![]);
        let s = Stack::new(0.2)
            .up_to(4.0, &[rectangle(20.0, 20.0, 60.0, 60.0)])
            .up_to(64.0, &[channel]);
        let p = of(&s).expect("bends");
        assert_relative_eq!(p.width_mm, 10.0, max_relative = 1e-9);
        // 112 mm² of it.
        assert_relative_eq!(p.length_mm, 11.2, max_relative = 1e-9);
    }

    #[test]
    fn legs_that_are_joined_above_carry_together_and_tines_each_for_themselves() {
        let tines = [square(-10.0, 0.0, 3.0), square(10.0, 0.0, 3.0)];
        let foot = [rectangle(0.0, 0.0, 26.0, 6.0)];
        let fork = Stack::new(0.2).up_to(4.0, &foot).up_to(44.0, &tines);
        let p = of(&fork).expect("bends");
        assert_eq!((p.pieces, p.alike), (1, 2));
        assert_relative_eq!(p.modulus_mm3, 27.0 / 6.0, max_relative = 1e-9);
        let table = Stack::new(0.2).up_to(40.0, &tines).up_to(44.0, &foot);
        let p = of(&table).expect("bends");
        assert_eq!((p.pieces, p.alike, p.seat), (2, 1, Seat::Bed));
        assert_relative_eq!(p.modulus_mm3, 2.0 * 27.0 / 6.0, max_relative = 1e-9);
        // The first layer is held by the bed.
        assert_relative_eq!(p.z_mm, 0.2, epsilon = 1e-9);
    }

    /// A hair on top, a low stud, a hook that hangs: none of them is where it parts.
    #[test]
    fn slivers_studs_and_what_hangs_do_not_count() {
        let plate = square(0.0, 0.0, 30.0);
        let hair = rectangle(5.0, 0.0, 10.0, 0.1);
        let s = Stack::new(0.2)
            .up_to(4.0, std::slice::from_ref(&plate))
            .up_to(24.0, &[hair]);
        assert_eq!(of(&s), None);
        let s = Stack::new(0.2)
            .up_to(4.0, std::slice::from_ref(&plate))
            .up_to(6.4, &[square(0.0, 0.0, 1.5)]);
        assert_eq!(of(&s), None);
        let (post, tip) = (square(0.0, 0.0, 6.0), square(20.0, 0.0, 2.0));
        let s = Stack::new(0.2)
            .up_to(20.0, std::slice::from_ref(&post))
            .up_to(40.0, &[post.clone(), tip])
            .up_to(44.0, &[rectangle(9.0, 0.0, 24.0, 6.0)]);
        let p = of(&s).expect("the post bends");
        assert_relative_eq!(p.modulus_mm3, 36.0, max_relative = 1e-9);
        assert_relative_eq!(p.arm_mm, 43.8, max_relative = 1e-9);
    }

    #[test]
    fn a_squat_part_parts_nowhere_in_particular() {
        assert_eq!(
            of(&Stack::new(0.2).up_to(20.0, &[square(0.0, 0.0, 20.0)])),
            None
        );
        assert_eq!(of(&Stack::new(0.2)), None);
    }

    /// A wall with a window 8 mm wide, and one of whose sides beside the window is thinner.
    #[test]
    fn pieces_beside_a_window_are_a_wall_only_where_they_are_as_thick() {
        let at = |thick: f64| {
            let beside = [
                rectangle(-10.0, 0.0, 12.0, 4.0),
                rectangle(10.0, 0.0, 12.0, thick),
            ];
            let s = Stack::new(0.2)
                .up_to(4.0, &[rectangle(0.0, 0.0, 32.0, 30.0)])
                .up_to(24.0, &beside)
                .up_to(44.0, &[rectangle(0.0, 0.0, 32.0, 4.0)]);
            of(&s).expect("bends").in_row
        };
        assert!(at(4.0));
        assert!(!at(3.0));
    }
}
