//! Ceilings with holes in them.

use super::*;

/// A block with a round pocket below and something above it.
fn pocket(diameter: f64, above: Vec<Loop>) -> Spanning {
    let block = rect(-10.0, -10.0, 10.0, 10.0);
    let below = piece(
        block.clone(),
        vec![hole(circle(0.0, 0.0, diameter / 2.0, 64))],
    );
    found(&stack(&[
        (31, vec![below]),
        (20, vec![piece(block, above)]),
    ]))
}

/// A pocket of 9.5 mm whose ceiling has a dent of 5.3 mm, so many layers of 0.2 mm deep.
fn dented(layers: usize) -> Spanning {
    let block = rect(-10.0, -10.0, 10.0, 10.0);
    let holed = |radius| {
        let round = hole(circle(0.0, 0.0, radius, 64));
        vec![piece(block.clone(), vec![round])]
    };
    let lid = vec![solid(block.clone())];
    found(&stack(&[
        (31, holed(4.75)),
        (layers, holed(2.65)),
        (10, lid),
    ]))
}

/// M5 from below: a counterbore of 9.5 mm with a hole of 5.3 mm through.
#[test]
fn a_counterbore_from_below_is_a_ring_around_its_hole() {
    let s = pocket(9.5, vec![hole(circle(0.0, 0.0, 2.65, 64))]);
    let [b] = s.bridges[..] else {
        panic!("{:?}", s.bridges)
    };
    let h = b.around_hole.expect("a ring");
    assert_relative_eq!(h.width_mm, 5.3, max_relative = 5e-3);
    assert_relative_eq!(h.closed_span_mm, 9.5, max_relative = 5e-3);
    assert_eq!(h.count, 1);
    assert_relative_eq!(b.z_mm, 6.2, epsilon = 1e-9);
    // Span, area and reach stay what the chords give.
    assert!(b.span_mm < 2.0 * (4.75_f64.powi(2) - 2.65_f64.powi(2)).sqrt() + 1e-6);
    assert!(s.cantilever_longest_mm > 1.5);
}

/// No hole, a hole that strands find their way past, a slot through the wall, a post that
/// holds: no ring.
#[test]
fn other_ceilings_are_no_rings() {
    let none = |s: &Spanning| s.bridges.iter().all(|b| b.around_hole.is_none());
    assert!(none(&pocket(9.5, Vec::new())));
    assert!(none(&pocket(9.5, vec![hole(circle(0.0, 0.0, 0.3, 24))])));
    assert!(none(&pocket(9.5, vec![hole(circle(0.0, 0.0, 1.0, 24))])));
    assert!(none(&pocket(9.5, vec![hole(rect(-1.0, -6.0, 1.0, 6.0))])));
    assert!(none(&dented(3)));
    assert!(!none(&dented(5)));
    let post = vec![
        solid(circle(0.0, 0.0, 2.0, 64)),
        piece(
            rect(-10.0, -10.0, 10.0, 10.0),
            vec![hole(circle(0.0, 0.0, 6.0, 64))],
        ),
    ];
    let lid = vec![solid(rect(-10.0, -10.0, 10.0, 10.0))];
    assert!(none(&found(&stack(&[(20, post), (5, lid)]))));
}

/// A pocket for a square nut, and a trough with two screw holes in its ceiling.
#[test]
fn holes_of_other_shapes_and_several_of_them_are_measured() {
    let block = rect(-15.0, -10.0, 15.0, 10.0);
    let lid = |holes: Vec<Loop>| vec![piece(block.clone(), holes)];
    let below = |pocket: Loop| vec![piece(block.clone(), vec![hole(pocket)])];
    let square = hole(rect(-2.0, -3.0, 2.0, 3.0));
    let s = found(&stack(&[
        (20, below(rect(-4.0, -4.0, 4.0, 4.0))),
        (5, lid(vec![square])),
    ]));
    let h = s.bridges[0].around_hole.expect("a ring");
    assert_relative_eq!(h.width_mm, 4.0, epsilon = 1e-3);
    assert_relative_eq!(h.closed_span_mm, 8.0, epsilon = 1e-3);
    let screws = [-6.0, 6.0].map(|x| hole(circle(x, 0.0, 1.7, 32))).to_vec();
    let s = found(&stack(&[
        (20, below(rect(-12.0, -4.0, 12.0, 4.0))),
        (5, lid(screws)),
    ]));
    let h = s.bridges[0].around_hole.expect("a ring");
    assert_eq!(h.count, 2);
    assert_relative_eq!(h.closed_span_mm, 8.0, epsilon = 1e-3);
}
