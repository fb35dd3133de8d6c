//! The weakest section: where the part has least material to hold what is above.

use super::tree::PieceTree;

/// Areas within this share of each other are one minimum; the lowest counts.
const SAME_SHARE: f64 = 1e-9;

/// The smallest section that carries something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weakest {
    /// Total area of the section, mm².
    pub area_mm2: f64,
    /// Height of the section in the build frame, mm.
    pub z_mm: f64,
}

/// The smallest total section area between the first and the last layer, of
/// bodies that carry material above.
///
/// At each height the areas of all pieces are added that a piece of the layer
/// above rests on: a column counts up to the layer below its top, and among
/// columns of several heights only those that go on count. The first layer (which
/// the bed holds) and the last one with pieces (which carries nothing) are left
/// out. Heights are those of the sections. Where the least area is met more than
/// once, the lowest height is given. `None` for fewer than three layers, or where
/// nothing between them carries anything.
pub fn weakest(tree: &PieceTree) -> Option<Weakest> {
    let nodes = tree.nodes();
    let last = nodes.last()?.layer;
    let sections = &tree.layers().sections;
    let mut areas = vec![0.0; last + 1];
    for (n, node) in nodes.iter().enumerate() {
        if !tree.above(n).is_empty() {
            areas[node.layer] += node.piece.area_mm2;
        }
    }
    let heights = sections.iter().map(|section| section.z_mm);
    let inner = areas.into_iter().zip(heights).take(last).skip(1);
    let (area_mm2, z_mm) = inner.filter(|(area, _)| *area > 0.0).reduce(|a, b| {
        let less = b.0 < a.0 * (1.0 - SAME_SHARE);
        if less { b } else { a }
    })?;
    Some(Weakest { area_mm2, z_mm })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{Stack, square};

    fn of(stack: &Stack) -> Option<Weakest> {
        weakest(&PieceTree::new(&stack.layers(), 0.45))
    }

    #[test]
    fn weakest_of_a_stepped_shaft_is_its_thin_step() {
        let s = Stack::new(0.2)
            .up_to(10.0, &[square(0.0, 0.0, 10.0)])
            .up_to(15.0, &[square(0.0, 0.0, 6.0)])
            .up_to(30.0, &[square(0.0, 0.0, 8.0)]);
        let w = of(&s).unwrap();
        assert!((w.area_mm2 - 36.0).abs() < 1e-9);
        assert!((w.z_mm - 10.1).abs() < 1e-9, "lowest of equals: {}", w.z_mm);
    }

    #[test]
    fn weakest_adds_columns_until_the_shorter_one_ends() {
        let plate = square(10.0, 0.0, 40.0);
        let (tall, short) = (square(0.0, 0.0, 5.0), square(20.0, 0.0, 4.0));
        let s = Stack::new(0.2)
            .up_to(2.0, std::slice::from_ref(&plate))
            .up_to(6.0, &[tall.clone(), short.clone()])
            .up_to(9.0, &[tall]);
        // The short column's last layer carries nothing: 25 from there on.
        let w = of(&s).unwrap();
        assert!((w.area_mm2 - 25.0).abs() < 1e-9);
        assert!((w.z_mm - 5.9).abs() < 1e-9);
        // Two columns of one height stand for the sum.
        let both = Stack::new(0.2)
            .up_to(2.0, std::slice::from_ref(&plate))
            .up_to(6.0, &[square(0.0, 0.0, 5.0), short]);
        assert!((of(&both).unwrap().area_mm2 - 41.0).abs() < 1e-9);
    }

    #[test]
    fn weakest_leaves_out_first_and_last_layer() {
        let s = Stack::new(0.2)
            .up_to(0.2, &[square(0.0, 0.0, 1.0)])
            .up_to(5.0, &[square(0.0, 0.0, 10.0)])
            .up_to(5.2, &[square(0.0, 0.0, 1.0)]);
        assert!((of(&s).unwrap().area_mm2 - 100.0).abs() < 1e-9);
    }

    #[test]
    fn weakest_of_little_or_nothing_is_none() {
        assert_eq!(of(&Stack::new(0.2)), None);
        assert_eq!(
            of(&Stack::new(0.2).up_to(0.4, &[square(0.0, 0.0, 10.0)])),
            None
        );
        // Three layers that do not touch carry nothing.
        let apart = Stack::new(0.2)
            .up_to(0.2, &[square(0.0, 0.0, 4.0)])
            .up_to(0.4, &[square(9.0, 0.0, 4.0)])
            .up_to(0.6, &[square(0.0, 0.0, 4.0)]);
        assert_eq!(of(&apart), None);
    }
}
