//! Ledges: their reach, and what is none.

use super::*;

/// The Π of T11 on the side of one leg: the far leg reaches out of the slab.
#[test]
fn far_leg_is_a_ledge_of_its_length() {
    let low = solid(rect(0.0, 0.0, 20.0, 10.0));
    let slab = solid(rect(15.0, 0.0, 20.0, 10.0));
    let s = found(&stack(&[
        (25, vec![low.clone()]),
        (100, vec![slab]),
        (25, vec![low]),
    ]));
    assert!(s.bridges.is_empty());
    assert_relative_eq!(s.cantilever_longest_mm, 15.0, epsilon = 1e-3);
    assert!(s.islands.is_empty());
}

#[test]
fn shelf_reaches_its_depth_at_any_turn() {
    let wall = solid(rect(0.0, 0.0, 4.0, 30.0));
    let shelf = solid(rect(0.0, 0.0, 10.5, 30.0));
    let layers = stack(&[(10, vec![wall]), (5, vec![shelf])]);
    for i in 0..20 {
        let s = found(&dusty(
            &turned(&layers, f64::from(i) * 0.31, Vector2::zeros()),
            1e-6,
        ));
        assert!(s.bridges.is_empty(), "{:?}", s.bridges);
        assert_relative_eq!(s.cantilever_longest_mm, 6.5, max_relative = 1e-3);
    }
}

#[test]
fn shelf_within_the_carry_is_none() {
    let wall = solid(rect(0.0, 0.0, 4.0, 30.0));
    let just = solid(rect(0.0, 0.0, 4.2, 30.0));
    let more = solid(rect(0.0, 0.0, 4.3, 30.0));
    assert_eq!(
        found(&stack(&[(3, vec![wall.clone()]), (3, vec![just])])).cantilever_longest_mm,
        0.0
    );
    let s = found(&stack(&[(3, vec![wall]), (3, vec![more])]));
    assert_relative_eq!(s.cantilever_longest_mm, 0.3, epsilon = 1e-4);
}

/// Held on two neighbouring sides, a square is bridged across the corner at 45°.
#[test]
fn corner_held_shelf_is_bridged_across_the_corner() {
    let corner = solid(
        [
            (0.0, 0.0),
            (14.0, 0.0),
            (14.0, 4.0),
            (4.0, 4.0),
            (4.0, 14.0),
            (0.0, 14.0),
        ]
        .map(|(x, y)| Point2::new(x, y))
        .to_vec(),
    );
    let plate = solid(rect(0.0, 0.0, 14.0, 14.0));
    let s = found(&stack(&[(5, vec![corner]), (5, vec![plate])]));
    assert_eq!(s.bridges.len(), 1);
    let b = s.bridges[0];
    assert_relative_eq!(b.direction_deg, 135.0, epsilon = 2.5);
    assert_relative_eq!(b.area_mm2, 50.0, max_relative = 0.05);
    assert_relative_eq!(b.span_mm, 200.0_f64.sqrt(), max_relative = 0.05);
}

#[test]
fn mushrooms_reach_out_all_around() {
    let square = found(&stack(&[
        (5, vec![solid(rect(-3.0, -3.0, 3.0, 3.0))]),
        (5, vec![solid(rect(-10.0, -10.0, 10.0, 10.0))]),
    ]));
    assert!(square.bridges.is_empty() && square.islands.is_empty());
    assert_relative_eq!(square.cantilever_longest_mm, 7.0, epsilon = 1e-3);
    let round = found(&stack(&[
        (5, vec![solid(circle(0.0, 0.0, 3.0, 96))]),
        (5, vec![solid(circle(0.0, 0.0, 10.0, 96))]),
    ]));
    assert!(round.bridges.is_empty() && round.islands.is_empty());
    assert_relative_eq!(round.cantilever_longest_mm, 7.0, max_relative = 2e-3);
}

#[test]
fn cone_ledge_is_its_step_not_a_grazing_chord() {
    let step = LAYER * libm::tan(60.0_f64.to_radians());
    let runs: Vec<_> = (0..20)
        .map(|k| {
            (
                1,
                vec![solid(circle(0.0, 0.0, 5.0 + f64::from(k) * step, 180))],
            )
        })
        .collect();
    let s = found(&stack(&runs));
    assert!(s.bridges.is_empty());
    assert_relative_eq!(s.cantilever_longest_mm, step, max_relative = 5e-3);
}

#[test]
fn chamfers_at_the_limit_are_none() {
    for lean in [20.0_f64, 40.0, 45.0] {
        let step = LAYER * libm::tan(lean.to_radians());
        let out = |k: i32| 10.0 + f64::from(k) * step;
        let square: Vec<_> = (0..20)
            .map(|k| (1, vec![solid(rect(-out(k), -out(k), out(k), out(k)))]))
            .collect();
        let round: Vec<_> = (0..20)
            .map(|k| (1, vec![solid(circle(0.0, 0.0, out(k), 64))]))
            .collect();
        for runs in [square, round] {
            for i in 0..8 {
                let turned = turned(&stack(&runs), f64::from(i) * 0.37, Vector2::new(3.3, 4.4));
                let s = found(&dusty(&turned, 1e-6));
                assert!(s.bridges.is_empty() && s.islands.is_empty());
                assert_eq!(s.cantilever_longest_mm, 0.0, "lean {lean}");
            }
        }
    }
}

/// A ceiling bridged in part: beyond the walls it reaches out freely.
#[test]
fn mixed_gap_gives_a_bridge_and_a_ledge() {
    let walls = vec![
        solid(rect(0.0, 0.0, 4.0, 10.0)),
        solid(rect(12.0, 0.0, 16.0, 10.0)),
    ];
    let roof = solid(rect(0.0, 0.0, 21.0, 10.0));
    let s = found(&stack(&[(5, walls), (5, vec![roof])]));
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 8.0, epsilon = 1e-3);
    assert_relative_eq!(s.cantilever_longest_mm, 5.0, epsilon = 1e-3);
    assert!(s.carried.carried(8.0, 5.0, 1.0) && !s.carried.carried(18.0, 5.0, 1.0));
}

/// A hollow of a cone wall holds grazing chords at both ends; they are no bridges.
/// A slot as narrow in a thin wall is one.
#[test]
fn narrow_ledges_bridge_nothing_but_narrow_slots_do() {
    let step = LAYER * libm::tan(60.0_f64.to_radians());
    let block = rect(-20.0, -20.0, 20.0, 20.0);
    let runs: Vec<_> = (0..20)
        .map(|k| {
            let bore = hole(circle(0.0, 0.0, 12.0 - f64::from(k) * step, 180));
            (1, vec![piece(block.clone(), vec![bore])])
        })
        .collect();
    // On its own, and beside a slot of the same layer, which takes the exact way.
    let cone = found(&stack(&runs));
    assert!(cone.bridges.is_empty());
    assert_relative_eq!(cone.cantilever_longest_mm, step, max_relative = 5e-3);
    let mut both = runs.clone();
    for (k, (_, pieces)) in both.iter_mut().enumerate() {
        let far = if k < 10 {
            vec![
                solid(rect(30.0, 0.0, 32.0, 5.0)),
                solid(rect(35.0, 0.0, 37.0, 5.0)),
            ]
        } else {
            vec![solid(rect(30.0, 0.0, 37.0, 5.0))]
        };
        pieces.extend(far);
    }
    let both = found(&stack(&both));
    assert_eq!(both.bridges.len(), 1);
    assert_relative_eq!(both.longest_mm, 3.0, epsilon = 1e-3);
    assert_relative_eq!(
        both.cantilever_longest_mm,
        cone.cantilever_longest_mm,
        max_relative = 1e-3
    );
    let s = found(&slot(1.2, 0.8));
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 1.2, epsilon = 1e-4);
    assert_eq!(s.cantilever_longest_mm, 0.0);
}
