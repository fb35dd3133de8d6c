//! Bridges: their span, area, direction, and what they carry.

use super::*;

#[test]
fn slot_bridges_its_width() {
    for (clear, depth) in [(4.2, 30.0), (20.0, 10.0), (8.0, 3.0), (20.0, 0.4)] {
        let s = found(&slot(clear, depth));
        assert_eq!(s.bridges.len(), 1, "{clear} {depth}");
        let b = s.bridges[0];
        assert_relative_eq!(b.span_mm, clear, epsilon = 1e-4);
        assert_relative_eq!(b.area_mm2, clear * depth, max_relative = 1e-4);
        assert!(
            b.direction_deg.min(180.0 - b.direction_deg) < 0.01,
            "{}",
            b.direction_deg
        );
        assert_relative_eq!(b.z_mm, 10.0 * LAYER, epsilon = 1e-9);
        assert_eq!(s.cantilever_longest_mm, 0.0);
        assert!(s.islands.is_empty());
    }
}

#[test]
fn same_at_any_turn_and_with_dust() {
    for i in 0..40 {
        let angle = 0.037 + f64::from(i) * 0.161;
        let shift = Vector2::new(f64::from(i) * 7.3 - 100.0, 31.7);
        for (clear, depth) in [(4.2, 30.0), (20.0, 10.0)] {
            let layers = turned(&slot(clear, depth), angle, shift);
            for layers in [dusty(&layers, 1e-6), dusty(&layers, 2e-5), layers] {
                let s = found(&layers);
                assert_eq!(s.bridges.len(), 1, "turn {angle}");
                assert_relative_eq!(s.longest_mm, clear, max_relative = 1e-3);
                assert_relative_eq!(s.bridges[0].area_mm2, clear * depth, max_relative = 2e-3);
                let off = (s.bridges[0].direction_deg - angle.to_degrees()).rem_euclid(180.0);
                assert!(off.min(180.0 - off) < 0.1, "turn {angle}: off by {off}");
                assert_eq!(s.cantilever_longest_mm, 0.0);
                assert!(s.islands.is_empty());
            }
        }
    }
}

#[test]
fn hollow_cube_ceiling_is_held_all_around() {
    let s = found(&hollow_cube());
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 16.0, epsilon = 1e-3);
    assert_relative_eq!(s.bridges[0].area_mm2, 256.0, epsilon = 0.1);
    assert_eq!(s.cantilever_longest_mm, 0.0);
    assert!(
        !s.carried.carried(10.0, 10.0, 18.0),
        "16 is beyond the limit of 10"
    );
}

#[test]
fn ring_roof_and_round_pocket_bridge_their_width() {
    // A round pocket of diameter 8 in a block.
    let outer = rect(-10.0, -10.0, 10.0, 10.0);
    let pocket = piece(outer.clone(), vec![hole(circle(0.0, 0.0, 4.0, 128))]);
    let s = found(&stack(&[(10, vec![pocket]), (5, vec![solid(outer)])]));
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 8.0, max_relative = 5e-3);
    assert_relative_eq!(s.bridges[0].area_mm2, 16.0 * PI, max_relative = 0.01);
    assert_eq!(s.cantilever_longest_mm, 0.0);
    // The disc counts as carried up to its rim, the block around it does not.
    let z = 10.0 * LAYER;
    let mut inside = 0;
    for i in 0..2000 {
        let (a, r) = (f64::from(i) * 2.399, 4.0 * (f64::from(i) / 2000.0).sqrt());
        let (x, y) = (r * libm::cos(a), r * libm::sin(a));
        inside += i32::from(s.carried.carried(x, y, z));
        assert!(!s.carried.carried(
            1.3 * x + 5.0 * libm::cos(a),
            1.3 * y + 5.0 * libm::sin(a),
            z
        ));
        assert!(!s.carried.carried(x, y, z + LAYER) && !s.carried.carried(x, y, z - LAYER));
    }
    assert!(inside > 1980, "{inside}");
    // A groove of a ring, 6 wide, between a core and a wall.
    let groove = vec![
        solid(circle(0.0, 0.0, 4.0, 128)),
        piece(
            circle(0.0, 0.0, 15.0, 128),
            vec![hole(circle(0.0, 0.0, 10.0, 128))],
        ),
    ];
    let s = found(&stack(&[
        (10, groove),
        (5, vec![solid(circle(0.0, 0.0, 15.0, 128))]),
    ]));
    assert_eq!(s.bridges.len(), 1);
    assert_eq!(s.cantilever_longest_mm, 0.0);
    // No direction avoids the chord that just passes the core, 2·√(10² − 4²) long
    // and up to a line away from it.
    let nearest = 2.0 * (100.0 - 4.5_f64.powi(2)).sqrt();
    assert!(s.longest_mm > nearest && s.longest_mm < 2.0 * 84.0_f64.sqrt());
    assert_relative_eq!(s.bridges[0].area_mm2, 84.0 * PI, max_relative = 0.02);
}

#[test]
fn two_ceilings_of_a_layer_are_two_bridges() {
    let legs: Vec<_> = [0.0, 12.0, 20.0]
        .map(|x| solid(rect(x, 0.0, x + 4.0, 10.0)))
        .to_vec();
    let s = found(&stack(&[
        (10, legs),
        (5, vec![solid(rect(0.0, 0.0, 24.0, 10.0))]),
    ]));
    let mut spans: Vec<f64> = s.bridges.iter().map(|b| b.span_mm).collect();
    spans.sort_by(f64::total_cmp);
    assert_eq!(spans.len(), 2);
    assert_relative_eq!(spans[0], 4.0, epsilon = 1e-3);
    assert_relative_eq!(spans[1], 8.0, epsilon = 1e-3);
}

/// A rim that carries itself joins a slot along x to one along y; each keeps its direction.
#[test]
fn slots_joined_by_a_rim_keep_their_own_directions() {
    let cut = |grow: f64, open: bool| {
        let (lo, hi) = (-grow, 40.0 + grow);
        let mut l = vec![Point2::new(lo, lo)];
        let notch = [(10.0, lo), (10.0, 12.0), (16.0, 12.0), (16.0, lo)];
        if open {
            l.extend(notch.map(|(x, y)| Point2::new(x, y)));
        }
        l.push(Point2::new(hi, lo));
        let notch = [(hi, 20.0), (30.0, 20.0), (30.0, 23.0), (hi, 23.0)];
        if open {
            l.extend(notch.map(|(x, y)| Point2::new(x, y)));
        }
        l.extend([Point2::new(hi, hi), Point2::new(lo, hi)]);
        solid(l)
    };
    let s = found(&stack(&[
        (5, vec![cut(0.0, true)]),
        (1, vec![cut(0.1, false)]),
    ]));
    assert_eq!(s.bridges.len(), 2);
    let mut spans: Vec<f64> = s.bridges.iter().map(|b| b.span_mm).collect();
    spans.sort_by(f64::total_cmp);
    assert_relative_eq!(spans[0], 3.0, epsilon = 1e-3);
    assert_relative_eq!(spans[1], 6.0, epsilon = 1e-3);
    assert_eq!(s.cantilever_longest_mm, 0.0);
}

#[test]
fn only_bridges_within_the_limit_carry() {
    let (short, long) = (found(&slot(8.0, 10.0)), found(&slot(12.0, 10.0)));
    assert!(short.carried.carried(9.0, 5.0, 2.0));
    assert!(short.carried.carried(5.0, 0.0, 2.0) && short.carried.carried(13.0, 10.0, 2.0));
    assert!(!short.carried.carried(4.0, 5.0, 2.0) && !short.carried.carried(9.0, 10.3, 2.0));
    assert!(!short.carried.carried(9.0, 5.0, 1.8) && !short.carried.carried(9.0, 5.0, 99.0));
    assert!(
        !short.carried.carried(f64::NAN, 5.0, 2.0) && !short.carried.carried(9.0, 5.0, f64::NAN)
    );
    assert!(!long.carried.carried(11.0, 5.0, 2.0));
    assert!(long.carried.is_empty() && !short.carried.is_empty());
}

/// Of what is near a triangle, every point of it gets the answer that all of it gives.
#[test]
fn no_triangle_with_a_carried_point_is_passed_over() {
    let s = found(&slot(4.2, 30.0));
    let (mut carried, mut passed) = (0, 0);
    for k in 0..4000_u32 {
        let at = |turn: f64, size: f64| (f64::from(k) * turn).rem_euclid(1.0) * size;
        let p = Point3::new(
            at(0.618, 40.0) - 10.0,
            at(0.414, 50.0) - 10.0,
            1.5 + at(0.732, 1.0),
        );
        // Steep ones reach through layers below and above.
        let steep = at(0.271, 3.0);
        let corners = [(0.3, 0.0, 0.05), (-0.2, 0.4, -0.05), (-0.1, -0.4, 0.0)]
            .map(|(x, y, z)| p + Vector3::new(x, y, z * steep * 9.0));
        let near = s.carried.near(&corners);
        // The middle, and points next to the corners.
        for q in corners.map(|c| p + (c - p) * 0.999).iter().chain([&p]) {
            let all = s.carried.carried(q.x, q.y, q.z);
            assert_eq!(near.carried(q), all, "{corners:?}");
            assert!(!near.is_empty() || !all, "{corners:?}");
            carried += usize::from(all);
        }
        passed += usize::from(near.is_empty());
    }
    assert!(carried > 100 && passed > 1000, "{carried} {passed}");
}

/// The layer of a point is found as by looking at every cut, whatever their heights.
#[test]
fn a_point_belongs_to_the_first_cut_at_or_above_it() {
    let mut layers = slot(4.2, 30.0);
    for (k, section) in layers.sections.iter_mut().enumerate() {
        // The first layers thicker, some heights twice.
        section.z_mm = if k < 3 {
            0.5 * k as f64
        } else {
            1.0 + 0.2 * (k / 2) as f64
        };
    }
    let carried = Carried::new(&layers, Vec::new());
    let heights: Vec<f64> = layers.sections.iter().map(|s| s.z_mm).collect();
    let ends = [f64::NEG_INFINITY, f64::INFINITY, f64::NAN];
    let between = (-10..400).map(|i| 0.01 * f64::from(i));
    for z in between.chain(heights.iter().copied()).chain(ends) {
        let below = heights.iter().take_while(|h| **h < z).count();
        assert_eq!(carried.layer(z), below, "{z}");
    }
}
