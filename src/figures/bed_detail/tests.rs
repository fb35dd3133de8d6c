use super::*;
use crate::figures::mock::{circle, square};

/// A plate with these holes in its lower face.
fn plate(holes: &[Vec<Point2<f64>>]) -> Section {
    let holes = holes.iter().map(|h| h.iter().rev().copied().collect());
    let outer = square(0.0, 0.0, 100.0).outer;
    Section {
        z_mm: 0.1,
        pieces: vec![Piece::from_loops(outer, holes.collect())],
    }
}

fn bar(x: f64, y: f64, wide: f64, long: f64) -> Vec<Point2<f64>> {
    crate::figures::mock::rectangle(x, y, wide, long).outer
}

/// An L of strokes 1 mm wide, 8 and 5 long.
fn ell(x: f64) -> Vec<Point2<f64>> {
    [
        (0.0, 0.0),
        (5.0, 0.0),
        (5.0, 1.0),
        (1.0, 1.0),
        (1.0, 8.0),
        (0.0, 8.0),
    ]
    .map(|(u, v)| Point2::new(x + u, v))
    .to_vec()
}

/// Pieces side by side.
fn standing(outlines: &[Vec<Point2<f64>>]) -> Section {
    let piece = |o: &Vec<Point2<f64>>| Piece::from_loops(o.clone(), Vec::new());
    Section {
        z_mm: 0.1,
        pieces: outlines.iter().map(piece).collect(),
    }
}

/// A slot with round ends, about Y.
fn slot(wide: f64, long: f64) -> Vec<Point2<f64>> {
    let (r, off) = (wide / 2.0, (long - wide) / 2.0);
    let ends = circle(0.0, 0.0, r, 48).into_iter();
    ends.map(|p| Point2::new(p.x, p.y + off.copysign(p.y)))
        .collect()
}

/// A regular polygon, `across` from flat to flat.
fn even(across: f64, sides: u32) -> Vec<Point2<f64>> {
    let half = std::f64::consts::PI / f64::from(sides);
    circle(0.0, 0.0, across / 2.0 / libm::cos(half), sides)
}

#[test]
fn openings_that_are_not_round_and_go_on_are_shaped() {
    let of = |low: &[Vec<Point2<f64>>], high: &[Vec<Point2<f64>>]| {
        openings(&plate(low), &plate(high)).shaped_mm
    };
    for (hole, wide) in [
        (slot(5.0, 12.0), 5.0),
        (even(5.7, 6), 5.7),
        (bar(0.0, 0.0, 10.0, 10.0), 10.0),
        (bar(0.0, 0.0, 4.0, 38.0), 4.0),
        (bar(0.0, 0.0, 1.4, 8.0), 1.4),
    ] {
        let hole = [hole];
        let [found] = of(&hole, &hole)[..] else {
            panic!("one opening of {wide}");
        };
        assert!((found - wide).abs() < 1e-3, "{found} {wide}");
        assert!(of(&hole, &[]).is_empty(), "a recess of less than 2 mm");
    }
    // Round ones, one of eight sides too; a slit, a window, a long channel, a crooked cutout.
    for hole in [
        circle(0.0, 0.0, 3.0, 40),
        even(6.0, 8),
        bar(0.0, 0.0, 0.8, 20.0),
        bar(0.0, 0.0, 25.0, 35.0),
        bar(0.0, 0.0, 4.0, 50.0),
        ell(0.0).iter().map(|p| p * 4.0).collect(),
    ] {
        let hole = [hole];
        assert!(of(&hole, &hole).is_empty());
    }
    let grille: Vec<_> = (0..13)
        .map(|k| bar(6.0 * f64::from(k) - 36.0, 0.0, 3.0, 3.0))
        .collect();
    assert!(of(&grille, &grille).is_empty());
    assert_eq!(of(&grille[..5], &grille[..5]).len(), 5);
    // A peg stands in it.
    let slots = [slot(5.0, 12.0)];
    let (mut low, high) = (plate(&slots), plate(&slots));
    low.pieces
        .extend(standing(&[circle(0.0, 0.0, 1.0, 24)]).pieces);
    assert_eq!(openings(&low, &high), Openings::default());
    // Its edge has a chamfer of 0.5 mm: 0.4 at touch height.
    assert!(of(&[slot(5.8, 12.8)], &[slot(5.0, 12.0)]).is_empty());
}

#[test]
fn round_openings_have_the_diameter_of_their_corners() {
    let holes = [circle(-20.0, 0.0, 3.0, 40), circle(0.0, 0.0, 6.0, 9)];
    let found = openings(&plate(&holes), &plate(&holes));
    assert!(found.shaped_mm.is_empty());
    for (found, diameter) in found.round_mm.iter().zip([6.0, 12.0]) {
        assert!((found - diameter).abs() < 0.03 * diameter, "{found}");
    }
    assert_eq!(found.round_mm.len(), 2);
    assert_eq!(openings(&plate(&holes), &plate(&[])), Openings::default());
}

/// Three quarters of a circle of 5 mm and the point that two tangents make, as a hole that lies has it.
#[test]
fn a_teardrop_is_as_wide_as_its_round_part() {
    let mut drop: Vec<_> = (0..=36)
        .map(|k| (135.0 + 7.5 * f64::from(k)).to_radians())
        .map(|a| nalgebra::Point2::new(2.5 * libm::cos(a), 2.5 * libm::sin(a)))
        .collect();
    drop.push(nalgebra::Point2::new(0.0, 2.5 * std::f64::consts::SQRT_2));
    let found = openings(&plate(&[drop.clone()]), &plate(&[drop]));
    assert!(found.round_mm.is_empty(), "{found:?}");
    let [wide] = found.shaped_mm[..] else {
        panic!("{found:?}");
    };
    assert!((wide - 5.0).abs() < 0.05, "{wide}");
}

#[test]
fn letters_are_raised_spots_and_pegs_and_feet_are_none() {
    let whole = plate(&[]);
    let letters = standing(&[ell(-20.0), ell(0.0), ell(20.0), ell(30.0)]);
    assert_eq!(islands(&letters, &whole), 3);
    let pegs = [-20.0, 0.0, 20.0, 30.0].map(|x| circle(x, 0.0, 2.0, 40));
    assert_eq!(islands(&standing(&pegs), &whole), 0);
    let feet = [-20.0, 0.0, 20.0, 30.0].map(|x| bar(x, 0.0, 6.0, 11.0));
    assert_eq!(islands(&standing(&feet), &whole), 0);
    // Ribs that a plate above them joins.
    let ribs = [-20.0, 0.0, 20.0, 30.0].map(|x| bar(x, 0.0, 3.0, 80.0));
    assert_eq!(islands(&standing(&ribs), &whole), 0);
}

#[test]
fn letters_are_sunk_spots_and_slots_and_through_holes_are_none() {
    let whole = plate(&[]);
    assert_eq!(
        grooves(&plate(&[ell(-20.0), ell(0.0), ell(20.0)]), &whole),
        3
    );
    let slots = [bar(-20.0, 0.0, 1.0, 20.0), bar(0.0, 0.0, 1.2, 12.0)];
    assert_eq!(grooves(&plate(&slots), &whole), 0);
    // Holes of small screws are none either.
    let screws = [-20.0, 0.0, 20.0].map(|x| circle(x, 0.0, 0.7, 24));
    assert_eq!(grooves(&plate(&screws), &whole), 0);
    // Pockets of 6 mm are not filled.
    assert_eq!(grooves(&plate(&[circle(9.0, 9.0, 3.0, 40)]), &whole), 0);
    // Three holes of a lattice that end, where ten go on.
    let lattice: Vec<_> = (0..13).map(|k| ell(7.0 * f64::from(k) - 45.0)).collect();
    assert_eq!(grooves(&plate(&lattice), &plate(&lattice[3..])), 0);
    assert_eq!(grooves(&plate(&lattice), &plate(&lattice[11..])), 11);
    // The same letters cut right through, or open to one wide slot above.
    let letters = plate(&[ell(-20.0), ell(0.0)]);
    assert_eq!(grooves(&letters, &letters), 0);
    assert_eq!(grooves(&letters, &plate(&[bar(0.0, 4.0, 60.0, 12.0)])), 0);
}
