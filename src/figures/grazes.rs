//! Scraps of a section that begin in the air and that the part takes in at once: a facet that a
//! layer grazes, no island.

use super::Island;
use super::tree::PieceTree;
use std::cmp::Ordering;

/// A larger piece is an island whatever comes above it, mm².
const MOST_MM2: f64 = 1.0;
/// Layers within which a scrap is taken in, or ends.
const LAYERS: usize = 2;
/// The piece that takes it in is this much larger.
const LARGER: f64 = 10.0;
/// Areas of one piece, measured twice, agree to this share.
const SAME: f64 = 0.01;

/// Where scraps begin, mm above the bed, and their areas, mm²; from the bed up, the smallest of a height
/// first. O(n log n) in the pieces.
pub(crate) fn grazes(tree: &PieceTree) -> Vec<(f64, f64)> {
    let nodes = tree.nodes();
    let area = |n: usize| nodes[n].piece.area_mm2;
    let is_taken_in = |start: usize| {
        let mut front = vec![start];
        for _ in 0..LAYERS {
            let mut next: Vec<usize> = front.iter().flat_map(|&n| tree.above(n)).copied().collect();
            next.sort_unstable();
            next.dedup();
            if next.is_empty() {
                return true;
            }
            let other = |n: &usize| {
                area(*n) > LARGER * area(start) && tree.below(*n).iter().any(|b| !front.contains(b))
            };
            if next.iter().any(other) {
                return true;
            }
            front = next;
        }
        false
    };
    let begins = |n: &usize| nodes[*n].layer > 0 && tree.below(*n).is_empty();
    let mut found: Vec<(f64, f64)> = (0..nodes.len())
        .filter(|n| begins(n) && area(*n) < MOST_MM2 && is_taken_in(*n))
        .map(|n| (tree.span(n).0, area(n)))
        .collect();
    found.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    found
}

/// Whether an island is one of these: both heights are that of one layer. O(log n).
pub(crate) fn is_one(grazes: &[(f64, f64)], island: &Island) -> bool {
    let off_mm2 = SAME * island.area_mm2;
    let below = |g: &(f64, f64)| {
        (g.0.total_cmp(&island.z_mm)).then(g.1.total_cmp(&(island.area_mm2 - off_mm2)))
            == Ordering::Less
    };
    let nearest = grazes.get(grazes.partition_point(below));
    nearest.is_some_and(|g| {
        g.0.total_cmp(&island.z_mm) == Ordering::Equal && g.1 <= island.area_mm2 + off_mm2
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, square};

    fn found(stack: &Stack) -> Vec<(f64, f64)> {
        let layers = stack.layers();
        grazes(&PieceTree::new(&layers, 0.45))
    }

    /// A scrap of 0.04 mm² beside a wall that the wall covers in the next layer is none to hold; one
    /// that stays apart is, and so is the tip of what grows, and a piece of 4 mm² however short.
    #[test]
    fn only_a_scrap_that_the_part_takes_in_is_a_graze() {
        let (wall, wider) = (square(0.0, 0.0, 20.0), square(0.0, 0.0, 21.0));
        let scrap = square(10.2, 0.0, 0.2);
        let start = || Stack::new(0.2).up_to(4.0, std::slice::from_ref(&wall));
        let taken_in = start()
            .up_to(4.2, &[wall.clone(), scrap.clone()])
            .up_to(8.0, std::slice::from_ref(&wider));
        let [(z_mm, area_mm2)] = found(&taken_in)[..] else {
            panic!("one");
        };
        assert!((z_mm - 4.0).abs() < 1e-9 && (area_mm2 - 0.04).abs() < 1e-9);
        let island = |area_mm2| Island {
            z_mm: 4.0,
            area_mm2,
            graze: false,
        };
        assert!(is_one(&found(&taken_in), &island(0.0401)));
        assert!(!is_one(&found(&taken_in), &island(0.05)));
        let apart = start().up_to(8.0, &[wall.clone(), scrap.clone()]);
        assert_eq!(found(&apart), []);
        let tip = start()
            .up_to(4.2, &[wall.clone(), square(15.0, 0.0, 0.2)])
            .up_to(4.4, &[wall.clone(), square(15.0, 0.0, 0.8)])
            .up_to(8.0, &[wall.clone(), square(15.0, 0.0, 3.0)]);
        assert_eq!(found(&tip), []);
        let large = start()
            .up_to(4.2, &[wall.clone(), square(11.2, 0.0, 2.0)])
            .up_to(8.0, &[square(1.0, 0.0, 24.0)]);
        assert_eq!(found(&large), []);
    }
}
