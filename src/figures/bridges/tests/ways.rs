//! The short way to what holds a ceiling, and across it.

use super::*;

/// A block 50 × 20 with a niche under its upper half that is open in front: `wide` along X,
/// `deep` along Y.
fn niche(wide: f64, deep: f64) -> Layers {
    let (x0, x1) = (25.0 - 0.5 * wide, 25.0 + 0.5 * wide);
    let outline = vec![
        Point2::new(0.0, 0.0),
        Point2::new(50.0, 0.0),
        Point2::new(50.0, 20.0),
        Point2::new(x1, 20.0),
        Point2::new(x1, 20.0 - deep),
        Point2::new(x0, 20.0 - deep),
        Point2::new(x0, 20.0),
        Point2::new(0.0, 20.0),
    ];
    let whole = solid(rect(0.0, 0.0, 50.0, 20.0));
    stack(&[(20, vec![solid(outline)]), (5, vec![whole])])
}

/// Held along its long side and at both ends, it reaches out by its depth.
#[test]
fn a_shelf_between_two_walls_reaches_out_by_its_depth() {
    let f = found(&niche(40.0, 2.0));
    // By the definition its longest chord is a bridge.
    assert!((f.longest_mm - 40.0).abs() < 0.01, "{f:?}");
    assert!(f.bridges.iter().all(|b| b.told().is_none()), "{f:?}");
    assert!((f.ledge_high_mm - 2.0).abs() < 0.01, "{f:?}");
    assert!((f.ledge_high_z_mm - 4.0).abs() < 1e-9, "{f:?}");
    // As deep as it is wide it is a bridge.
    let told = |f: &Spanning| -> Vec<f64> {
        let told = f.bridges.iter().filter_map(Bridge::told);
        told.map(|b| b.span_mm).collect()
    };
    let f = found(&niche(20.0, 18.0));
    assert!(
        matches!(told(&f)[..], [mm] if (mm - 20.0).abs() < 0.01),
        "{f:?}"
    );
    assert_eq!(f.ledge_high_mm, 0.0);
    // Strands within the limit carry a shelf: no cantilever, and no bridge to watch.
    let f = found(&niche(9.0, 2.0));
    assert!((f.longest_mm - 9.0).abs() < 0.01, "{f:?}");
    assert!(told(&f).is_empty() && f.ledge_high_mm == 0.0, "{f:?}");
}

/// Two grooves that meet square to each other, each open at its end: in one direction strands
/// of the other have no hold, though both its sides are there.
fn corner_groove(wide: f64) -> Layers {
    let (a, b) = (20.0 - 0.5 * wide, 20.0 + 0.5 * wide);
    let outer = vec![
        Point2::new(0.0, 0.0),
        Point2::new(a, 0.0),
        Point2::new(a, b),
        Point2::new(40.0, b),
        Point2::new(40.0, 40.0),
        Point2::new(0.0, 40.0),
    ];
    let walls = vec![solid(outer), solid(rect(b, 0.0, 40.0, a))];
    stack(&[(20, walls), (5, vec![solid(rect(0.0, 0.0, 40.0, 40.0))])])
}

#[test]
fn a_groove_that_ends_in_the_open_is_bridged_across() {
    let f = found(&corner_groove(6.0));
    assert!(f.cantilever_longest_mm > 2.0, "{f:?}");
    assert_eq!(f.ledge_high_mm, 0.0, "{f:?}");
    // Told once, with the bridge of the other arm.
    assert!(f.grooves.is_empty(), "{f:?}");
    // In the corner it is wider, from corner to corner, and no strand is longer.
    let told = f.bridges.iter().filter_map(Bridge::told);
    let longest = told.map(|b| b.span_mm).fold(0.0, f64::max);
    assert!((6.0..9.0).contains(&longest), "{longest}");
    // Each arm is carried, by the bridges of the list or across.
    for (x, y) in [(20.0, 4.0), (36.0, 20.0)] {
        let carried = f.carried.carried(x, y, 4.0) || f.across.carried(x, y, 4.0);
        assert!(carried, "{x} {y}: {f:?}");
    }
    // Nothing stands on the other side of a shelf.
    let shelf = stack(&[
        (20, vec![solid(rect(0.0, 0.0, 40.0, 20.0))]),
        (5, vec![solid(rect(0.0, 0.0, 40.0, 24.0))]),
    ]);
    let f = found(&shelf);
    assert!((f.ledge_high_mm - 4.0).abs() < 0.01, "{f:?}");
    assert!(f.grooves.is_empty(), "{f:?}");
}

/// Low over the bed the edge of the base is no cantilever to hold, a long one is.
#[test]
fn low_over_the_bed_only_what_reaches_far_is_held() {
    let shelf = |layers: usize, reach: f64| {
        let f = found(&stack(&[
            (layers, vec![solid(rect(0.0, 0.0, 40.0, 20.0))]),
            (5, vec![solid(rect(0.0, 0.0, 40.0, 20.0 + reach))]),
        ]));
        f.ledge_high_mm
    };
    assert_eq!(
        [7, 8].map(|n| (shelf(n, 2.5) * 100.0).round()),
        [0.0, 250.0]
    );
    assert!((shelf(5, 8.0) - 8.0).abs() < 0.01);
    assert_eq!(shelf(3, 8.0), 0.0);
}

/// A saw cut in a block: no support stands in it where it is one layer high.
#[test]
fn over_a_slit_of_one_layer_nothing_is_told() {
    let cut = |layers: usize| {
        let whole = || vec![solid(rect(0.0, 0.0, 40.0, 20.0))];
        let half = vec![solid(rect(0.0, 0.0, 40.0, 8.0))];
        found(&stack(&[(20, whole()), (layers, half), (5, whole())]))
    };
    let f = cut(1);
    assert!((f.cantilever_longest_mm - 12.0).abs() < 0.01, "{f:?}");
    assert_eq!(f.ledge_high_mm, 0.0);
    assert!((cut(2).ledge_high_mm - 12.0).abs() < 0.01);
}

/// A strip 34 mm long and 2.5 mm wide between two blocks, and a wall 2 mm beside it that it does not
/// touch: it is a bridge from block to block, and no shelf of the wall.
#[test]
fn a_wall_across_a_slot_holds_nothing() {
    let blocks = || [-27.0, 17.0].map(|x| solid(rect(x, -5.0, x + 10.0, 5.0)));
    let wall = || solid(rect(-27.0, 7.0, 27.0, 12.0));
    let below: Vec<Piece> = blocks().into_iter().chain([wall()]).collect();
    let joined = solid(vec![
        Point2::new(-27.0, -5.0),
        Point2::new(-17.0, -5.0),
        Point2::new(-17.0, 2.5),
        Point2::new(17.0, 2.5),
        Point2::new(17.0, -5.0),
        Point2::new(27.0, -5.0),
        Point2::new(27.0, 5.0),
        Point2::new(-27.0, 5.0),
    ]);
    let f = found(&stack(&[(20, below), (5, vec![joined, wall()])]));
    assert_eq!(f.ledge_high_mm, 0.0, "{f:?}");
    let told: Vec<f64> = (f.bridges.iter().filter_map(Bridge::told))
        .map(|b| b.span_mm)
        .collect();
    assert!(matches!(told[..], [mm] if (mm - 34.0).abs() < 0.1), "{f:?}");
}
