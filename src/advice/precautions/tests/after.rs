use super::*;
use crate::features::Hexagon;
use nalgebra::{Point3, Vector3};

#[test]
fn upright_holes_come_out_undersize() {
    let said = |sizes: &[f64]| {
        let mut case = Case::of(calm());
        // On the bed or above it: the first layer is another matter.
        case.traits.holes = holes(sizes);
        let on_bed = case.said("undersize_holes");
        for hole in &mut case.traits.holes {
            hole.from_mm = 2.0;
        }
        assert_eq!(case.said("undersize_holes"), on_bed);
        on_bed
    };
    assert_eq!(said(&[]), None);
    assert_eq!(
        said(&[5.0, 4.5]).as_deref(),
        Some(
            "Upright holes come out 0.1 to 0.2 mm undersize (Ø 4.5, 5 mm): where something must fit, drill them to size or model them wider by as much."
        )
    );
    assert_eq!(
        said(&[8.0]).as_deref(),
        Some(
            "The upright hole comes out 0.1 to 0.2 mm undersize (Ø 8 mm): where something must fit, drill it to size or model it wider by as much."
        )
    );
    // Nobody drills Ø 25 by hand.
    assert_eq!(
        said(&[25.0]).as_deref(),
        Some(
            "The upright hole comes out 0.1 to 0.2 mm undersize (Ø 25 mm): model it wider by as much where something must fit."
        )
    );
    assert_eq!(
        said(&[3.4, 25.0]).as_deref(),
        Some(
            "Upright holes come out 0.1 to 0.2 mm undersize (Ø 3.4, 25 mm): where something must fit, drill those up to 13 mm to size and model the others wider by as much."
        )
    );
    assert_eq!(said(&[45.0]), None);
    // Nobody drills the seat of a screw's head.
    let mut seat = Case::of(calm());
    seat.traits.holes = holes(&[9.0]);
    seat.traits.holes[0].seat = true;
    assert_eq!(seat.said("undersize_holes"), None);
    // One that a cross hole breaks into is seen as an opening on the bed; one with a body in it is none
    // to drill.
    let mut case = Case::of(calm());
    case.traits.holes = holes(&[6.4]);
    case.near.openings.round_mm = vec![6.4, 8.1];
    let says = case.said("undersize_holes").expect("said");
    assert!(says.contains("(Ø 6.4, 8.1 mm)"), "{says}");
    case.bodies.in_place = Some((1.0, String::new()));
    assert_eq!(case.said("undersize_holes"), None);
}

#[test]
fn a_hexagon_is_a_nuts_only_where_its_width_says_so() {
    let said = |widths: &[f64]| {
        let mut case = Case::of(calm());
        let pocket = |&across_mm: &f64| {
            let hexagon = Hexagon {
                across_mm,
                depth_mm: 3.0,
                centre: Point3::origin(),
                axis: Vector3::z(),
            };
            // A clearance hole: 0.6 times the width.
            (hexagon, 0.6 * across_mm)
        };
        case.traits.hexagons = widths.iter().map(pocket).collect();
        case.said("nut_fit")
    };
    assert_eq!(
        said(&[5.7]).as_deref(),
        Some(
            "Print a test of the hexagon first: 5.7 mm across flats is for the nut or bolt head of an M3."
        )
    );
    assert_eq!(
        said(&[7.2, 7.2, 20.0]).as_deref(),
        Some(
            "Print a test of one hexagon first: 2 are 7.2 mm across flats, for the nuts or bolt heads of an M4."
        )
    );
    assert_eq!(
        said(&[8.0]).as_deref(),
        Some(
            "Model the hexagon for the M5 nut or bolt head 0.2 mm wider: 8 mm across flats leaves no play for its 8 mm."
        )
    );
    assert_eq!(
        said(&[9.7]).as_deref(),
        Some(
            "Model the hexagon for the M6 nut or bolt head 0.5 mm wider: 9.7 mm across flats is too small for its 10 mm."
        )
    );
    // A bit's 6.35 mm, a large ornament.
    assert_eq!((said(&[6.35]), said(&[30.0])), (None, None));
}

#[test]
fn two_blind_holes_of_the_usual_size_may_be_for_inserts() {
    let said = |sizes: &[f64], blind: bool| {
        let mut case = Case::of(calm());
        case.traits.holes = holes(sizes);
        for hole in &mut case.traits.holes {
            hole.blind = blind;
        }
        case.said("insert_fit")
    };
    assert_eq!(
        said(&[4.0, 4.02, 9.0], true).as_deref(),
        Some(
            "If the 2 blind holes of Ø 4 mm take M3 heat-set inserts, melt one into a test print first."
        )
    );
    assert_eq!(said(&[4.0, 4.0], false), None);
    assert_eq!((said(&[4.0], true), said(&[4.5, 4.5], true)), (None, None));
}

/// A hexagonal pocket is for a nut only where the hole of its bolt goes on from it.
#[test]
fn a_hexagon_and_a_hole_are_found_in_a_mesh() {
    let corner = 5.8 / 3.0_f64.sqrt();
    let ring = |inner: f64, from: f64, to: f64, n: usize| {
        let profile = [
            [inner, from],
            [12.0, from],
            [12.0, to],
            [inner, to],
            [inner, from],
        ];
        revolved(&profile, n)
    };
    let nut = |said: Vec<String>| {
        let words = "5.8 mm across flats is for the nut or bolt head of an M3";
        said.iter().any(|s| s.contains(words))
    };
    let with_hole = |radius: f64| {
        let mut soup = ring(corner, 0.0, 3.0, 6);
        soup.extend(ring(radius, 3.0, 6.0, 60));
        told_of_soup(&soup, "PLA")
    };
    assert!(nut(with_hole(1.7)));
    assert!(!nut(with_hole(5.0)), "wider than the pocket");
    assert!(
        !nut(told_of_soup(&ring(corner, 0.0, 6.0, 6), "PLA")),
        "a socket"
    );
    let tube = |inner: f64, n: usize| told_of_soup(&ring(inner, 0.0, 6.0, n), "PLA");
    let said = tube(2.5, 60);
    assert!(
        said.iter()
            .any(|s| s.contains("the first layer squeezes the hole on the bed narrower (Ø 5 mm)")),
        "{said:?}"
    );
}

#[test]
fn what_stood_on_the_bed_or_under_the_part_comes_off() {
    assert_eq!(Case::of(calm()).said("clean_up"), None);
    let tips = Figures {
        tip_angle_deg: 5.0,
        ..calm()
    };
    assert_eq!(
        Case::of(tips.clone()).said("clean_up").as_deref(),
        Some("Cut the brim off with a knife, away from your hand; wear eye protection.")
    );
    let hanging = |f: Figures| Figures {
        support_needed_mm3: 3000.0,
        overhang_charged_mm2: 500.0,
        cantilever_longest_mm: 9.0,
        ..f
    };
    assert_eq!(
        Case::of(hanging(calm())).said("clean_up").as_deref(),
        Some("Break the support away with pliers; wear eye protection.")
    );
    assert_eq!(
        Case::of(hanging(tips)).said("clean_up").as_deref(),
        Some("Break the support away with pliers and cut the brim off; wear eye protection.")
    );
}

/// A pocket of 13.1 mm whose hole takes an M6 is for no nut of an M8.
#[test]
fn the_hole_says_what_bolt_a_hexagon_is_for() {
    let said = |hole_mm: f64| {
        let mut case = Case::of(calm());
        let hexagon = Hexagon {
            across_mm: 13.1,
            depth_mm: 5.0,
            centre: Point3::origin(),
            axis: Vector3::z(),
        };
        case.traits.hexagons = vec![(hexagon, hole_mm)];
        case.said("nut_fit")
    };
    // An M8 cuts its thread in 6.6 mm and up; 6.5 is the hole of an M6.
    assert!(
        [6.6, 8.4]
            .iter()
            .all(|d| said(*d).is_some_and(|s| s.contains("M8")))
    );
    assert_eq!(said(6.5), None);
    assert_eq!(said(6.0), None);
}

#[test]
fn roofs_of_holes_that_lie_sag() {
    let mut case = Case::of(calm());
    case.traits.lying_mm = vec![3.2];
    assert_eq!(
        case.said("sagging_holes").as_deref(),
        Some(
            "Roofs of horizontal holes sag (Ø 3.2 mm): where something must fit, clear the hole with a drill of its size; in a blind one stop at the bottom."
        )
    );
    // With support on it is said where that is kept out of them.
    case.kept_out = Some((1.0, String::new()));
    assert_eq!(case.said("sagging_holes"), None);
}
