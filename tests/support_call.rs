//! Support is decided by what it would hold and how low that is, not by a cubic millimetre.

mod common;

use common::{DOWN, ON_EDGE, block, laid, lying, measured, part, prism, said, together};
use wayup::advice::RankedPose;
use wayup::advice::support::SupportCall;
use wayup::mesh::Mesh;
use wayup::settings::Settings;

#[track_caller]
fn off(pose: &RankedPose) -> String {
    assert!(!pose.needs_support, "{:?}", pose.precautions);
    assert_eq!(
        (pose.support, said(pose, "support")),
        (SupportCall::Off, None)
    );
    let says = said(pose, "leave_support_off").expect("told");
    assert!(says.starts_with("No support: "), "{says}");
    says
}

#[track_caller]
fn on(pose: &RankedPose) -> String {
    assert!(pose.needs_support && pose.support != SupportCall::Off);
    assert_eq!(said(pose, "leave_support_off"), None);
    said(pose, "support").expect("told")
}

/// A bar with both lower edges rounded.
fn rounded(radius: f64) -> Vec<[f64; 2]> {
    let arc = |x: f64, from: f64| {
        (0..=24).map(move |k| {
            let a = (from + 90.0 * f64::from(k) / 24.0).to_radians();
            [x + radius * libm::cos(a), radius + radius * libm::sin(a)]
        })
    };
    let mut outline: Vec<[f64; 2]> = arc(radius, 180.0).collect();
    outline.extend(arc(40.0 - radius, 270.0));
    outline.extend([[40.0, 20.0], [0.0, 20.0]]);
    outline
}

#[test]
fn rounded_edges_of_the_base_need_none() {
    let pose = lying(&rounded(4.0), 100.0);
    // It prints by itself, and is charged as little.
    assert!(pose.figures.overhang_light_mm2 > 400.0);
    let says = off(&pose);
    assert!(
        says.contains("lie within 1.5 mm of the bed, where support would not come off"),
        "{says}"
    );
    // One so large hangs over further up.
    let says = on(&lying(&rounded(18.0), 100.0));
    assert!(says.starts_with("Switch support on for"), "{says}");
}

/// A trough that widens at an angle to the vertical over 20 mm.
fn flared(lean_deg: f64) -> Vec<[f64; 2]> {
    let out = 20.0 * libm::tan(f64::to_radians(lean_deg));
    vec![[0.0, 0.0], [30.0, 0.0], [30.0 + out, 20.0], [-out, 20.0]]
}

#[test]
fn a_slope_hardly_beyond_the_limit_is_left_alone_and_a_flat_one_is_not() {
    let says = off(&lying(&flared(57.0), 40.0));
    assert!(
        says.contains("lean no further than 60° and come out rough"),
        "{says}"
    );
    let says = on(&lying(&flared(65.0), 40.0));
    assert!(
        says.contains("for 2 faces of 18.9 cm² leaning 65° from the vertical from z = 0 to 20 mm"),
        "{says}"
    );
}

/// A plate with a channel of some depth and width in its underside.
fn channelled(depth: f64, width: f64) -> Vec<[f64; 2]> {
    vec![
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, depth],
        [10.0 + width, depth],
        [10.0 + width, 0.0],
        [20.0 + width, 0.0],
        [20.0 + width, 12.0],
        [0.0, 12.0],
    ]
}

#[test]
fn a_shallow_recess_has_no_room_for_support_and_a_deep_one_names_its_span() {
    let says = off(&lying(&channelled(0.4, 30.0), 40.0));
    assert!(says.contains("within 1.5 mm of the bed"), "{says}");
    let says = on(&lying(&channelled(5.0, 30.0), 40.0));
    assert!(
        says.contains("for an underside of 12 cm² at z = 5 mm (a span of 30 mm along the part)"),
        "{says}"
    );
    assert!(!says.contains("hollow"), "{says}");
}

/// A post with an arm that reaches out 12 mm at z = 15 mm.
const ARM: [[f64; 2]; 6] = [
    [0.0, 0.0],
    [10.0, 0.0],
    [10.0, 15.0],
    [22.0, 15.0],
    [22.0, 20.0],
    [0.0, 20.0],
];

#[test]
fn cantilevers_and_islands_are_held() {
    let says = on(&lying(&ARM, 30.0));
    assert!(
        says.starts_with("Switch support on for an underside of 360 mm² at z = 15 mm (a cantilever of 12 mm): 5.4 cm³. "),
        "{says}"
    );
    let hook = [
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, 15.0],
        [22.0, 15.0],
        [22.0, 8.0],
        [26.0, 8.0],
        [26.0, 20.0],
        [0.0, 20.0],
    ];
    let says = on(&lying(&hook, 30.0));
    assert!(
        says.starts_with("Switch support on for an underside of 360 mm² at z = 15 mm (a span of 12 mm across the part) and an underside of 120 mm² at z = 8 mm (an island): 6.36 cm³ in all. "),
        "{says}"
    );
}

/// A block of 20 mm with a round hole along y through it.
fn drilled(radius: f64) -> Mesh {
    let mut mesh = laid(common::drilled(48, 10.0, 20.0, radius), 20.0);
    for p in &mut mesh.vertices {
        p.z += 10.0;
    }
    mesh
}

#[test]
fn support_is_blocked_in_lying_holes_where_it_is_on() {
    let arm = || block([9.0, 2.0, 14.0], [20.0, 16.0, 5.0]);
    let settings = Settings::default();
    let pose = measured(&part(together(&[drilled(2.5), arm()])), &settings, DOWN);
    on(&pose);
    assert_eq!(pose.support, SupportCall::Partly);
    let says = said(&pose, "support_kept_out").expect("told");
    assert!(
        says.starts_with("Block support in the horizontal bore of Ø 5 mm"),
        "{says}"
    );
    // Where it is off there is nothing to block, and an upright hole catches none.
    let pose = measured(&part(drilled(2.5)), &settings, DOWN);
    assert_eq!(
        (pose.support, said(&pose, "support_kept_out")),
        (SupportCall::Off, None)
    );
    let pose = measured(&part(together(&[drilled(2.5), arm()])), &settings, ON_EDGE);
    assert_eq!(said(&pose, "support_kept_out"), None);
}

/// A block with a saw cut that goes in from one side: 30 mm deep, held on the other side.
fn cut_in(low: f64, high: f64) -> [[f64; 2]; 8] {
    let [x, z] = [40.0, 20.0];
    let cut = [[x, low], [10.0, low], [10.0, high], [x, high]];
    [
        [0.0, 0.0],
        [x, 0.0],
        cut[0],
        cut[1],
        cut[2],
        cut[3],
        [x, z],
        [0.0, z],
    ]
}

#[test]
fn a_slit_of_less_than_two_layers_holds_no_support() {
    let says = off(&lying(&cut_in(10.0, 10.3), 20.0));
    assert!(
        says.contains("lie over slits that are too low for support"),
        "{says}"
    );
    let says = on(&lying(&cut_in(10.0, 13.0), 20.0));
    assert!(
        says.contains("for an underside of 600 mm² at z = 13 mm (a cantilever of 30 mm)"),
        "{says}"
    );
    // Beside what does need it, it is neither counted nor blocked.
    let arm = || block([39.0, 2.0, 14.0], [16.0, 16.0, 5.0]);
    let slit = |high: f64| prism(&cut_in(6.0, high), 20.0);
    let settings = Settings::default();
    for (high, blocked) in [(6.3, false), (7.0, true)] {
        let lying = laid(slit(high), 20.0);
        let pose = measured(&part(together(&[lying, arm()])), &settings, DOWN);
        let says = on(&pose);
        let reach = if blocked { 30 } else { 15 };
        let cantilever = format!("cantilever of {reach} mm");
        assert!(says.contains(&cantilever), "{says}");
        assert_eq!(says.contains("stands on the part"), blocked, "{says}");
        let kept_out = said(&pose, "support_kept_out");
        assert_eq!(kept_out.is_some(), blocked, "{kept_out:?}");
    }
}

/// Under the plate of a camera's shoe a rail leaves a slot 2 mm high and 6 deep: what support is switched
/// on for is not blocked in the same breath.
#[test]
fn a_slot_that_support_is_for_is_not_blocked() {
    let profile = [
        [0.0, 0.0],
        [20.0, 0.0],
        [20.0, 2.0],
        [12.0, 2.0],
        [12.0, 4.0],
        [20.0, 4.0],
        [20.0, 7.0],
        [0.0, 7.0],
        [0.0, 4.0],
        [8.0, 4.0],
        [8.0, 2.0],
        [0.0, 2.0],
    ];
    let pose = lying(&profile, 30.0);
    assert!(on(&pose).contains("z = 4 mm"), "{}", on(&pose));
    assert_eq!(said(&pose, "support_kept_out"), None);
}

#[test]
fn the_side_that_support_marks_is_named_where_it_is_seen() {
    let says = on(&lying(&ARM, 30.0));
    assert!(says.ends_with("It stands on the bed."), "{says}");
    // A slope beyond what is gentle looks down more than aside.
    let out = 40.0 * libm::tan(f64::to_radians(63.0));
    let slope = [[0.0, 0.0], [30.0, 0.0], [30.0 + out, 40.0], [0.0, 40.0]];
    let says = on(&lying(&slope, 30.0));
    assert!(says.ends_with("It stands on the bed."), "{says}");
    // Half of a roof of 63° hides behind the wall that it looks at.
    let roof = [
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, 10.0],
        [20.0, 15.0],
        [22.0, 15.0],
        [22.0, 0.0],
        [26.0, 0.0],
        [26.0, 20.0],
        [0.0, 20.0],
    ];
    let says = on(&lying(&roof, 30.0));
    assert!(says.ends_with("It stands on the bed."), "{says}");
}

/// Overhang at the edge of the base is no reason for support, nor counted beside one that is.
#[test]
fn what_lies_low_is_not_counted_as_held() {
    let foot = |chamfer: f64| {
        let (w, z) = (chamfer, 1.2);
        [
            [w, 0.0],
            [30.0, 0.0],
            [30.0, 15.0],
            [45.0, 15.0],
            [45.0, 20.0],
            [0.0, 20.0],
            [0.0, z],
        ]
    };
    let says = on(&lying(&foot(0.5), 30.0));
    assert!(
        says.contains("an underside of 450 mm² at z = 15 mm"),
        "{says}"
    );
    // A flat bevel all along one edge of the base.
    let says = on(&lying(&foot(3.0), 30.0));
    assert!(
        says.starts_with(
            "Switch support on for an underside of 450 mm² at z = 15 mm (a cantilever of 15 mm): 6.8 cm³. It stands on the bed."
        ),
        "{says}"
    );
}

/// A plate over a step: of the 30 mm that it reaches out the step lies under 20.
#[test]
fn what_support_rests_on_is_no_more_than_lies_under_what_it_holds() {
    let profile = [
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 6.0],
        [10.0, 6.0],
        [10.0, 30.0],
        [40.0, 30.0],
        [40.0, 36.0],
        [0.0, 36.0],
    ];
    let says = on(&lying(&profile, 30.0));
    assert!(
        says.contains("an underside of 900 mm² at z = 30 mm"),
        "{says}"
    );
    assert!(
        says.contains("It rests on about 600 mm² of the part"),
        "{says}"
    );
}

/// Ridges cut the underside of a plate on a post into strips 15, 13, 13 and 14 mm wide: they are told as
/// one, 55 × 70 mm.
#[test]
fn an_underside_that_is_cut_up_is_told_in_all() {
    let profile = [
        [-5.0, 0.0],
        [5.0, 0.0],
        [5.0, 20.0],
        [18.0, 20.0],
        [18.0, 18.0],
        [20.0, 18.0],
        [20.0, 20.0],
        [34.0, 20.0],
        [34.0, 24.0],
        [-35.0, 24.0],
        [-35.0, 20.0],
        [-20.0, 20.0],
        [-20.0, 18.0],
        [-18.0, 18.0],
        [-18.0, 20.0],
        [-5.0, 20.0],
    ];
    let says = on(&lying(&profile, 70.0));
    assert!(
        says.contains("undersides of 38.5 cm² in all at z = 20 mm"),
        "{says}"
    );
}

/// Ledges of 20 and of 12 mm at two heights: both are told.
#[test]
fn smaller_undersides_are_not_passed_over() {
    let profile = [
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, 20.0],
        [30.0, 20.0],
        [30.0, 24.0],
        [10.0, 24.0],
        [10.0, 40.0],
        [0.0, 40.0],
        [0.0, 34.0],
        [-12.0, 34.0],
        [-12.0, 30.0],
        [0.0, 30.0],
    ];
    let says = on(&lying(&profile, 30.0));
    assert!(
        says.contains(
            "an underside of 600 mm² at z = 20 mm (a cantilever of 20 mm) and an underside of 360 mm² at z = 30 mm: 22.8 cm³ in all."
        ),
        "{says}"
    );
}
