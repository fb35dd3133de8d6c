//! The feet of a part: each piece of the first layer, and how high it stands by itself.

use super::Piece;
use super::tree::PieceTree;
use crate::plane::polygon;
use nalgebra::Point2;

/// A foot that is joined to another one below this is no foot of its own, mm: letters and
/// pads (a house value).
const LEAST_ALONE_MM: f64 = 2.0;
/// Feet whose area and height agree to this are alike.
const ALIKE: f64 = 0.02;

/// The foot that has the least area for the height that it stands alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Foot {
    /// Its middle, build frame, mm.
    pub at_mm: [f64; 2],
    /// Its area in the first layer.
    pub area_mm2: f64,
    /// Height up to which nothing joins it to another foot, or up to which it reaches.
    pub alone_mm: f64,
    /// How many there are of its kind.
    pub alike: usize,
}

/// What a piece stands on.
#[derive(Clone, Copy, PartialEq)]
enum Base {
    /// Nothing.
    Air,
    /// One foot.
    Foot(usize),
    /// Several.
    Joined,
}

/// The neediest of several feet, by height over area; none where the part has one or none.
/// What is smaller than a crossing of two lines, or soon joined to its neighbour, is no foot.
pub(crate) fn neediest(tree: &PieceTree, line_mm: f64) -> Option<Foot> {
    let mut feet: Vec<Foot> = Vec::new();
    let mut bases: Vec<Base> = Vec::new();
    // What lies above where two feet are one counts for neither.
    let mut ended: Vec<bool> = Vec::new();
    for (n, node) in tree.nodes().iter().enumerate() {
        let (bottom, top) = tree.span(n);
        if node.layer == 0 {
            bases.push(Base::Foot(feet.len()));
            ended.push(false);
            feet.push(Foot {
                at_mm: node.piece.centroid.into(),
                area_mm2: node.piece.area_mm2,
                alone_mm: top,
                alike: 1,
            });
            continue;
        }
        let below = tree.below(n).iter().map(|&b| bases[b]);
        let base = below.fold(Base::Air, |all, one| match (all, one) {
            (any, Base::Air) | (Base::Air, any) => any,
            (a, b) if a == b => a,
            _ => Base::Joined,
        });
        match base {
            Base::Foot(i) if !ended[i] => feet[i].alone_mm = feet[i].alone_mm.max(top),
            Base::Joined => {
                for &b in tree.below(n) {
                    if let Base::Foot(i) = bases[b] {
                        feet[i].alone_mm = if ended[i] {
                            feet[i].alone_mm.min(bottom)
                        } else {
                            bottom
                        };
                        ended[i] = true;
                    }
                }
            }
            Base::Foot(_) | Base::Air => {}
        }
        bases.push(base);
    }
    // Round one that stands within the walls of another, no brim is cut off again.
    let first: Vec<&Piece> = (tree.nodes().iter())
        .filter(|n| n.layer == 0)
        .map(|n| n.piece)
        .collect();
    let is_walled = |f: &Foot| {
        let at = Point2::from(f.at_mm);
        let goes_round =
            |p: &&Piece| p.area_mm2 > f.area_mm2 && polygon::contains(polygon::edges(&p.outer), at);
        first.iter().any(goes_round)
    };
    feet.retain(|f| !is_walled(f));
    if feet.len() < 2 {
        return None;
    }
    feet.retain(|f| f.alone_mm >= LEAST_ALONE_MM && f.area_mm2 >= line_mm * line_mm);
    let slim = |f: &Foot| f.alone_mm / f.area_mm2;
    let neediest = *(feet.iter()).reduce(|a, b| if slim(b) > slim(a) { b } else { a })?;
    let near = |a: f64, b: f64| (a - b).abs() <= ALIKE * b;
    let alike =
        |f: &&Foot| near(f.area_mm2, neediest.area_mm2) && near(f.alone_mm, neediest.alone_mm);
    Some(Foot {
        alike: feet.iter().filter(alike).count(),
        ..neediest
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, rectangle, ring, square};
    use approx::assert_relative_eq;

    fn of(stack: &Stack) -> Option<Foot> {
        let layers = stack.layers();
        neediest(&PieceTree::new(&layers, 0.45), 0.45)
    }

    #[test]
    fn four_feet_are_alike_and_stand_alone_up_to_the_plate() {
        let feet = [(-20.0, -10.0), (20.0, -10.0), (20.0, 10.0), (-20.0, 10.0)];
        let table = Stack::new(0.2)
            .up_to(30.0, &feet.map(|(x, y)| square(x, y, 5.0)))
            .up_to(34.0, &[rectangle(0.0, 0.0, 50.0, 30.0)]);
        let foot = of(&table).expect("feet");
        assert_eq!(foot.alike, 4);
        assert_relative_eq!(foot.area_mm2, 25.0, max_relative = 1e-9);
        assert_relative_eq!(foot.alone_mm, 30.0, max_relative = 1e-9);
    }

    #[test]
    fn the_tiny_one_far_off_is_the_one_that_is_named() {
        let part = Stack::new(0.2)
            .up_to(
                10.0,
                &[square(0.0, 0.0, 40.0), rectangle(60.0, 5.0, 4.0, 3.0)],
            )
            .up_to(14.0, &[rectangle(20.0, 0.0, 90.0, 40.0)]);
        let foot = of(&part).expect("feet");
        assert_eq!((foot.alike, foot.at_mm), (1, [60.0, 5.0]));
        assert_relative_eq!(foot.area_mm2, 12.0, max_relative = 1e-9);
        assert_relative_eq!(foot.alone_mm, 10.0, max_relative = 1e-9);
    }

    /// A post of 5 mm within a wall 2 mm thick, under a lid: the brim goes round the wall.
    #[test]
    fn a_foot_within_walls_is_none() {
        let inner = square(0.0, 0.0, 5.0);
        let beside = square(40.0, 0.0, 5.0);
        let under = |post: Piece| {
            Stack::new(0.2)
                .up_to(30.0, &[ring(0.0, 0.0, 20.0, 18.0, 48), post])
                .up_to(32.0, &[rectangle(10.0, 0.0, 80.0, 50.0)])
        };
        let found = of(&under(beside)).expect("a foot");
        assert_eq!(found.at_mm, [40.0, 0.0]);
        assert_eq!(of(&under(inner)), None);
    }

    #[test]
    fn one_foot_and_letters_are_no_feet() {
        let block = Stack::new(0.2).up_to(10.0, &[square(0.0, 0.0, 10.0)]);
        let pads = Stack::new(0.2)
            .up_to(1.0, &[square(-5.0, 0.0, 2.0), square(5.0, 0.0, 2.0)])
            .up_to(9.0, &[square(0.0, 0.0, 20.0)]);
        assert_eq!((of(&block), of(&pads)), (None, None));
    }
}
