//! Sections drawn by hand, with spans and reaches known in closed form.

mod ledges;
mod rings;
mod spans;
mod ways;
mod windows;

use super::*;
use crate::figures::Section;
use approx::assert_relative_eq;
use nalgebra::{Point2, Point3, Vector2, Vector3};
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
        .map(|a| Point2::new(x + r * libm::cos(a), y + r * libm::sin(a)))
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
    bridges(layers, &Settings::default(), &Stop::never())
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
fn hook_starts_once_in_the_air() {
    let post = solid(rect(0.0, 0.0, 5.0, 5.0));
    let tip = solid(rect(15.0, 0.0, 20.0, 5.0));
    let arm = solid(rect(0.0, 0.0, 20.0, 5.0));
    let s = found(&stack(&[
        (20, vec![post.clone()]),
        (10, vec![post, tip]),
        (5, vec![arm]),
    ]));
    assert_eq!(s.islands.len(), 1);
    assert_relative_eq!(s.islands[0].z_mm, 4.0, epsilon = 1e-9);
    assert_relative_eq!(s.islands[0].area_mm2, 25.0, epsilon = 1e-3);
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
    assert_eq!(s.islands.len(), 1);
    assert_relative_eq!(s.islands[0].z_mm, 4.0 * LAYER, epsilon = 1e-9);
    assert_eq!(s.cantilever_longest_mm, 0.0);
    // On the bed the same tip is where the part stands.
    let on_bed: Vec<_> = [0.01, 0.2, 0.39]
        .map(|r| (1, vec![solid(circle(0.0, 0.0, r, 24))]))
        .to_vec();
    assert!(found(&stack(&on_bed)).islands.is_empty());
}

#[test]
fn island_beside_a_wall_floats_though_it_is_near() {
    let wall = solid(rect(0.0, 0.0, 10.0, 10.0));
    let island = solid(rect(10.05, 4.0, 10.15, 6.0));
    let s = found(&stack(&[(3, vec![wall.clone()]), (3, vec![wall, island])]));
    assert_eq!(s.islands.len(), 1);
}

#[test]
fn threads_do_not_change_a_bit() {
    let runs: Vec<_> = (0..200)
        .map(|k| {
            let r = 10.0 + 6.0 * libm::sin(f64::from(k) * 0.2);
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
    assert_eq!(found(&stack(&[(3, vec![])])).islands, vec![]);
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
