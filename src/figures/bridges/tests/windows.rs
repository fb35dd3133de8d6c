//! What is worked out near a place only must be what the whole gives there.

use super::super::band;
use super::super::overlay::outlines;
use super::super::rows::Rows;
use super::*;
use crate::plane::overlay::{IntegerGrid, Window};
use crate::plane::polygon::Ends;

fn winding(lines: &[Ends], p: Point2<f64>) -> i32 {
    let side = |(a, b): &Ends| (b - a).perp(&(p - a)) > 0.0;
    (lines.iter())
        .map(|l| match (l.0.y <= p.y, l.1.y <= p.y) {
            (true, false) if side(l) => 1,
            (false, true) if !side(l) => -1,
            _ => 0,
        })
        .sum()
}

/// A star of `n` spikes about the origin, and a hole in it.
fn star(n: u32) -> Piece {
    let at = |i: u32, r: f64| {
        let a = f64::from(i) * PI / f64::from(n);
        Point2::new(r * libm::cos(a), r * libm::sin(a))
    };
    let outer = (0..2 * n).map(|i| at(i, if i % 2 == 0 { 20.0 } else { 9.0 }));
    let hole = (0..2 * n).rev().map(|i| at(i, 5.0));
    Piece::from_loops(outer.collect(), vec![hole.collect()])
}

#[test]
fn a_shortened_outline_winds_the_same_inside_the_window() {
    let star = star(23);
    let whole = outlines([&star], &Window::ALL);
    for (i, (x, y)) in [(0.0, 0.0), (12.0, 3.0), (-14.0, -9.0), (4.0, -5.0)]
        .into_iter()
        .enumerate()
    {
        let size = 1.5 + i as f64;
        let window = Window {
            lo: Point2::new(x - size, y - size),
            hi: Point2::new(x + size, y + size),
        };
        let short = outlines([&star], &window);
        assert!(short.len() < whole.len(), "{}", short.len());
        for k in 0..400 {
            let (u, v) = (f64::from(k % 20) / 20.0, f64::from(k / 20) / 20.0);
            let p = window.lo + (window.hi - window.lo).component_mul(&Vector2::new(u, v));
            assert_eq!(winding(&short, p), winding(&whole, p), "{p}");
        }
    }
}

#[test]
fn the_band_of_a_plate_with_a_hole_has_its_closed_form_area() {
    // Round the outside π·offset² and 2·(w + h)·offset; into a square hole of side s,
    // s² less what is left of it.
    let offset = 0.5;
    let hole: Loop = rect(4.0, 4.0, 7.0, 7.0).into_iter().rev().collect();
    let plate = Piece::from_loops(rect(0.0, 0.0, 20.0, 10.0), vec![hole]);
    let lower = [plate];
    let rows = Rows::new(&lower);
    let all = Window {
        lo: Point2::new(-5.0, -5.0),
        hi: Point2::new(25.0, 15.0),
    };
    let band = band::band(&rows, &all, offset);
    let grid = IntegerGrid::new(40.0);
    let sheet = Piece::from_loops(rect(-5.0, -5.0, 25.0, 15.0), Vec::new());
    let sheet = outlines([&sheet], &Window::ALL);
    let gaps = grid.difference(&sheet, &outlines(&lower, &Window::ALL));
    let gap_edges: Vec<Ends> = (gaps.iter())
        .flat_map(|g| g.edges.iter().map(|&(a, b, _)| (a, b)))
        .collect();
    let left: f64 = grid
        .difference(&gap_edges, &band)
        .iter()
        .map(|a| a.mm2)
        .sum();
    let sides = 2.0 * 30.0 * offset + PI * offset * offset;
    let want = 600.0 - 200.0 - sides + 4.0;
    // Arcs are chords of at most 0.2: 1 − sin(0.2)/0.2 of the corners’ area is missing.
    assert!(
        (left - want).abs() < 0.0067 * PI * offset * offset,
        "{left} {want}"
    );
}
