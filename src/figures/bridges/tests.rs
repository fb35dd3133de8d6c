//! Sections drawn by hand, with spans and reaches known in closed form.

use super::*;
use crate::figures::Section;
use approx::assert_relative_eq;
use std::f64::consts::{PI, TAU};

type Loop = Vec<Point2<f64>>;

const LAYER: f64 = 0.2;

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Loop {
    [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        .map(|(x, y)| Point2::new(x, y))
        .to_vec()
}

fn circle(x: f64, y: f64, r: f64, corners: usize) -> Loop {
    (0..corners)
        .map(|i| i as f64 / corners as f64 * TAU)
        .map(|a| Point2::new(x + r * a.cos(), y + r * a.sin()))
        .collect()
}

fn hole(mut l: Loop) -> Loop {
    l.reverse();
    l
}

fn area(l: &Loop) -> f64 {
    l.iter()
        .zip(l.iter().cycle().skip(1))
        .map(|(a, b)| a.coords.perp(&b.coords))
        .sum::<f64>()
        / 2.0
}

fn piece(outer: Loop, holes: Vec<Loop>) -> Piece {
    let (lo, hi) = outer
        .iter()
        .fold((outer[0], outer[0]), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
    Piece {
        area_mm2: area(&outer) + holes.iter().map(area).sum::<f64>(),
        bounds: [lo, hi],
        outer,
        holes,
        ..Piece::default()
    }
}

fn solid(outer: Loop) -> Piece {
    piece(outer, Vec::new())
}

/// Runs of equal layers, from the bed up.
fn stack(runs: &[(usize, Vec<Piece>)]) -> Layers {
    let pieces = runs.iter().flat_map(|(n, p)| std::iter::repeat_n(p, *n));
    let sections: Vec<Section> = pieces
        .enumerate()
        .map(|(k, p)| Section {
            z_mm: (k as f64 + 0.5) * LAYER,
            pieces: p.clone(),
        })
        .collect();
    let levels_mm = (0..=sections.len()).map(|k| k as f64 * LAYER).collect();
    Layers {
        sections,
        levels_mm,
    }
}

fn found(layers: &Layers) -> Spanning {
    bridges(layers, &Settings::default())
}

/// Turns every section about the origin, and moves it.
fn turned(layers: &Layers, angle: f64, shift: Vector2<f64>) -> Layers {
    let turn = nalgebra::Rotation2::new(angle);
    let loops = |l: &Loop| -> Loop { l.iter().map(|p| turn * p + shift).collect() };
    let mut out = layers.clone();
    for p in out.sections.iter_mut().flat_map(|s| &mut s.pieces) {
        *p = piece(loops(&p.outer), p.holes.iter().map(loops).collect());
    }
    out
}

/// Moves every corner by up to `dust`, differently in every layer.
fn dusty(layers: &Layers, dust: f64) -> Layers {
    let mut state = 12345_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as f64 / f64::from(1_u32 << 31) - 0.5) * 2.0 * dust
    };
    let mut out = layers.clone();
    for p in out.sections.iter_mut().flat_map(|s| &mut s.pieces) {
        let mut shake = |l: &Loop| -> Loop {
            l.iter()
                .map(|p| Point2::new(p.x + next(), p.y + next()))
                .collect()
        };
        let outer = shake(&p.outer);
        *p = piece(outer, p.holes.iter().map(shake).collect());
    }
    out
}

/// Two walls 5 wide and `clear` apart, `depth` deep, under one slab.
fn slot(clear: f64, depth: f64) -> Layers {
    let walls = vec![
        solid(rect(0.0, 0.0, 5.0, depth)),
        solid(rect(5.0 + clear, 0.0, 10.0 + clear, depth)),
    ];
    stack(&[
        (10, walls),
        (5, vec![solid(rect(0.0, 0.0, 10.0 + clear, depth))]),
    ])
}

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
        assert_eq!(s.ledge_longest_mm, 0.0);
        assert!(s.floating_starts.is_empty());
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
                assert_eq!(s.ledge_longest_mm, 0.0);
                assert!(s.floating_starts.is_empty());
            }
        }
    }
}

/// Hollow cube 20 with walls of 2 (worked example T13).
fn hollow_cube() -> Layers {
    let full = solid(rect(0.0, 0.0, 20.0, 20.0));
    let tube = piece(
        rect(0.0, 0.0, 20.0, 20.0),
        vec![hole(rect(2.0, 2.0, 18.0, 18.0))],
    );
    stack(&[(10, vec![full.clone()]), (80, vec![tube]), (10, vec![full])])
}

#[test]
fn hollow_cube_ceiling_is_held_all_around() {
    let s = found(&hollow_cube());
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 16.0, epsilon = 1e-3);
    assert_relative_eq!(s.bridges[0].area_mm2, 256.0, epsilon = 0.1);
    assert_eq!(s.ledge_longest_mm, 0.0);
    assert!(
        !s.carried.carried(10.0, 10.0, 18.0),
        "16 is beyond the limit of 10"
    );
}

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
    assert_relative_eq!(s.ledge_longest_mm, 15.0, epsilon = 1e-3);
    assert!(s.floating_starts.is_empty());
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
        assert_relative_eq!(s.ledge_longest_mm, 6.5, max_relative = 1e-3);
    }
}

#[test]
fn shelf_within_the_carry_is_none() {
    let wall = solid(rect(0.0, 0.0, 4.0, 30.0));
    let just = solid(rect(0.0, 0.0, 4.2, 30.0));
    let more = solid(rect(0.0, 0.0, 4.3, 30.0));
    assert_eq!(
        found(&stack(&[(3, vec![wall.clone()]), (3, vec![just])])).ledge_longest_mm,
        0.0
    );
    let s = found(&stack(&[(3, vec![wall]), (3, vec![more])]));
    assert_relative_eq!(s.ledge_longest_mm, 0.3, epsilon = 1e-4);
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
    assert!(square.bridges.is_empty() && square.floating_starts.is_empty());
    assert_relative_eq!(square.ledge_longest_mm, 7.0, epsilon = 1e-3);
    let round = found(&stack(&[
        (5, vec![solid(circle(0.0, 0.0, 3.0, 96))]),
        (5, vec![solid(circle(0.0, 0.0, 10.0, 96))]),
    ]));
    assert!(round.bridges.is_empty() && round.floating_starts.is_empty());
    assert_relative_eq!(round.ledge_longest_mm, 7.0, max_relative = 2e-3);
}

#[test]
fn cone_ledge_is_its_step_not_a_grazing_chord() {
    let step = LAYER * 60.0_f64.to_radians().tan();
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
    assert_relative_eq!(s.ledge_longest_mm, step, max_relative = 5e-3);
}

#[test]
fn chamfers_at_the_limit_are_none() {
    for lean in [20.0_f64, 40.0, 45.0] {
        let step = LAYER * lean.to_radians().tan();
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
                assert!(s.bridges.is_empty() && s.floating_starts.is_empty());
                assert_eq!(s.ledge_longest_mm, 0.0, "lean {lean}");
            }
        }
    }
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
    assert_eq!(s.ledge_longest_mm, 0.0);
    // The disc counts as carried up to its rim, the block around it does not.
    let z = 10.0 * LAYER;
    let mut inside = 0;
    for i in 0..2000 {
        let (a, r) = (f64::from(i) * 2.399, 4.0 * (f64::from(i) / 2000.0).sqrt());
        let (x, y) = (r * a.cos(), r * a.sin());
        inside += i32::from(s.carried.carried(x, y, z));
        assert!(
            !s.carried
                .carried(1.3 * x + 5.0 * a.cos(), 1.3 * y + 5.0 * a.sin(), z)
        );
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
    assert_eq!(s.ledge_longest_mm, 0.0);
    // No direction avoids the chord that just passes the core, 2·√(10² − 4²) long
    // and up to a line away from it.
    let nearest = 2.0 * (100.0 - 4.5_f64.powi(2)).sqrt();
    assert!(s.longest_mm > nearest && s.longest_mm < 2.0 * 84.0_f64.sqrt());
    assert_relative_eq!(s.bridges[0].area_mm2, 84.0 * PI, max_relative = 0.02);
}

#[test]
fn hook_starts_once_in_the_air() {
    let post = solid(rect(0.0, 0.0, 5.0, 5.0));
    let tip = solid(rect(15.0, 0.0, 20.0, 5.0));
    let arm = solid(rect(0.0, 0.0, 20.0, 5.0));
    let s = found(&stack(&[
        (20, vec![post.clone()]),
        (10, vec![post, tip]),
        (5, vec![arm]),
    ]));
    assert_eq!(s.floating_starts.len(), 1);
    assert_relative_eq!(s.floating_starts[0].z_mm, 4.0, epsilon = 1e-9);
    assert_relative_eq!(s.floating_starts[0].area_mm2, 25.0, epsilon = 1e-3);
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 10.0, epsilon = 1e-3);
}

#[test]
fn tip_that_grows_from_a_speck_floats_once() {
    let base = solid(rect(20.0, 0.0, 30.0, 30.0));
    let tips: Vec<_> = [0.01, 0.2, 0.39, 0.58]
        .map(|r| (1, vec![base.clone(), solid(circle(0.0, 0.0, r, 24))]))
        .to_vec();
    let mut runs = vec![(3, vec![base])];
    runs.extend(tips);
    let s = found(&stack(&runs));
    assert_eq!(s.floating_starts.len(), 1);
    assert_relative_eq!(s.floating_starts[0].z_mm, 4.0 * LAYER, epsilon = 1e-9);
    assert_eq!(s.ledge_longest_mm, 0.0);
    // On the bed the same tip is where the part stands.
    let on_bed: Vec<_> = [0.01, 0.2, 0.39]
        .map(|r| (1, vec![solid(circle(0.0, 0.0, r, 24))]))
        .to_vec();
    assert!(found(&stack(&on_bed)).floating_starts.is_empty());
}

#[test]
fn island_beside_a_wall_floats_though_it_is_near() {
    let wall = solid(rect(0.0, 0.0, 10.0, 10.0));
    let island = solid(rect(10.05, 4.0, 10.15, 6.0));
    let s = found(&stack(&[(3, vec![wall.clone()]), (3, vec![wall, island])]));
    assert_eq!(s.floating_starts.len(), 1);
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
    assert_eq!(s.ledge_longest_mm, 0.0);
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
    assert_relative_eq!(s.ledge_longest_mm, 5.0, epsilon = 1e-3);
    assert!(s.carried.carried(8.0, 5.0, 1.0) && !s.carried.carried(18.0, 5.0, 1.0));
}

/// A hollow of a cone wall holds grazing chords at both ends; they are no bridges.
/// A slot as narrow in a thin wall is one.
#[test]
fn narrow_ledges_bridge_nothing_but_narrow_slots_do() {
    let step = LAYER * 60.0_f64.to_radians().tan();
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
    assert_relative_eq!(cone.ledge_longest_mm, step, max_relative = 5e-3);
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
        both.ledge_longest_mm,
        cone.ledge_longest_mm,
        max_relative = 1e-3
    );
    let s = found(&slot(1.2, 0.8));
    assert_eq!(s.bridges.len(), 1);
    assert_relative_eq!(s.longest_mm, 1.2, epsilon = 1e-4);
    assert_eq!(s.ledge_longest_mm, 0.0);
}

#[test]
fn threads_do_not_change_a_bit() {
    let runs: Vec<_> = (0..200)
        .map(|k| {
            let r = 10.0 + 6.0 * (f64::from(k) * 0.2).sin();
            (
                1,
                vec![piece(
                    circle(0.0, 0.0, 20.0, 90),
                    vec![hole(circle(0.3, 0.1, r, 77))],
                )],
            )
        })
        .collect();
    let layers = stack(&runs);
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.map(|p| p.install(|| found(&layers))).ok()
    };
    let one = on(1);
    assert!(one.as_ref().is_some_and(|s| s.bridges.len() > 10));
    assert_eq!(one, on(2));
    assert_eq!(one, on(7));
}

#[test]
fn nothing_and_nonsense_give_nothing() {
    assert_eq!(found(&Layers::default()).bridges, vec![]);
    assert_eq!(found(&stack(&[(3, vec![])])).floating_starts, vec![]);
    let bad = solid(vec![
        Point2::new(f64::NAN, 0.0),
        Point2::new(1.0, 0.0),
        Point2::new(1.0, 1e300),
    ]);
    let flat = solid(vec![Point2::new(0.0, 0.0); 3]);
    let s = found(&stack(&[
        (2, vec![bad.clone()]),
        (2, vec![flat, Piece::default()]),
        (2, vec![bad]),
    ]));
    assert!(s.bridges.is_empty());
}
