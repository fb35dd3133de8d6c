//! What support holds is told place by place, and a pose that only its support holds up is one.

mod common;

use common::{DOWN, block, drilled, lying, measured, part, prism, said, together};
use nalgebra::{Unit, Vector3};
use wayup::advice::{Advice, RankedPose, advise};
use wayup::figures::quick::Bench;
use wayup::mesh::Mesh;
use wayup::pose::Hull;
use wayup::rank::FailedGate;
use wayup::rank::search::{Silent, Wanted};
use wayup::settings::Settings;

fn support(pose: &RankedPose) -> String {
    said(pose, "support").unwrap_or_else(|| panic!("{:?}", pose.precautions))
}

fn advice(mesh: Mesh) -> Advice {
    let (part, settings) = (part(mesh), Settings::default());
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    advise(&bench, &Wanted::first(5), &Silent).expect("an answer")
}

/// A stem with a foot that is hollow below and a head whose flanks lean 58°.
fn goblet() -> Vec<[f64; 2]> {
    let out = 10.0 * libm::tan(f64::to_radians(58.0));
    vec![
        [-30.0, 0.0],
        [-20.0, 0.0],
        [-20.0, 4.0],
        [20.0, 4.0],
        [20.0, 0.0],
        [30.0, 0.0],
        [30.0, 8.0],
        [6.0, 8.0],
        [6.0, 30.0],
        [6.0 + out, 40.0],
        [6.0 + out, 44.0],
        [-6.0 - out, 44.0],
        [-6.0 - out, 40.0],
        [-6.0, 30.0],
        [-6.0, 8.0],
        [-30.0, 8.0],
    ]
}

#[test]
fn slopes_that_print_by_themselves_are_not_counted_with_what_needs_support() {
    let pose = lying(&goblet(), 30.0);
    let says = support(&pose);
    // 40 × 30 mm at z = 4 mm; under each flank a triangle of 16 × 10 mm and 22 mm below that.
    assert!(
        says.starts_with("Switch support on for an underside of 12 cm² at z = 4 mm (a span of 40 mm along the part): about 4.8 cm³ ("),
        "{says}"
    );
    assert!(
        says.ends_with("Set the limit for support to 60° from the vertical (30° where it counts from the bed): then the slopes between z = 30 and 40 mm (11.3 cm²) get none, and print a little rough."),
        "{says}"
    );
    let told = advice(prism(&goblet(), 30.0));
    let first = &told.poses[0];
    assert!(first.faults.is_empty(), "{:?}", first.faults);
}

/// A block with square tunnels of two heights through it, each 14 mm wide.
#[test]
fn each_place_is_told_and_what_is_alike_is_counted() {
    let profile = [
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, 6.0],
        [24.0, 6.0],
        [24.0, 0.0],
        [34.0, 0.0],
        [34.0, 6.0],
        [48.0, 6.0],
        [48.0, 0.0],
        [58.0, 0.0],
        [58.0, 12.0],
        [72.0, 12.0],
        [72.0, 0.0],
        [82.0, 0.0],
        [82.0, 20.0],
        [0.0, 20.0],
    ];
    let says = support(&lying(&profile, 30.0));
    assert!(
        says.contains("an underside of 420 mm² at z = 12 mm")
            && says.contains("2 undersides of 420 mm² at z = 6 mm"),
        "{says}"
    );
}

/// A box that is open below, and one whose hollow is open to one side.
#[test]
fn support_in_a_hollow_marks_the_inside() {
    let hollow = |open: bool| {
        let wall =
            |low: [f64; 2], size: [f64; 2]| block([low[0], low[1], 0.0], [size[0], size[1], 22.0]);
        let mut walls = vec![
            block([0.0, 0.0, 20.0], [40.0, 40.0, 4.0]),
            wall([0.0, 0.0], [4.0, 40.0]),
            wall([36.0, 0.0], [4.0, 40.0]),
            wall([0.0, 0.0], [40.0, 4.0]),
        ];
        if !open {
            walls.push(wall([0.0, 36.0], [40.0, 4.0]));
        }
        support(&measured(
            &part(together(&walls)),
            &Settings::default(),
            DOWN,
        ))
    };
    let filled = "This support fills a hollow of the part and marks the inside.";
    let (shut, open) = (hollow(false), hollow(true));
    assert!(shut.contains(filled), "{shut}");
    assert!(!open.contains(filled), "{open}");
}

/// A post with an arm so long that the part leans off its base; a foot wider or an arm that slopes up
/// from it changes that.
fn bracket(reach: f64) -> Vec<[f64; 2]> {
    vec![
        [0.0, 0.0],
        [12.0, 0.0],
        [12.0, 8.0],
        [12.0 + reach, 8.0],
        [12.0 + reach, 20.0],
        [0.0, 20.0],
    ]
}

#[test]
fn a_pose_that_its_support_holds_up_does_not_fall_over() {
    let pose = lying(&bracket(40.0), 30.0);
    let f = &pose.figures;
    // The centre of mass is at x = 23.3: off the base of 12 mm, within the 52 mm with support.
    assert!(f.tip_angle_deg < 0.0, "{}", f.tip_angle_deg);
    let held = f.tip_with_support_deg.expect("support holds it");
    // Base from x = 0 to 52 mm and y = 0 to 30: the way to the near edge is 15 mm.
    let [area_a, area_b] = [12.0 * 20.0, 40.0 * 12.0];
    let z = (area_a * 10.0 + area_b * 14.0) / (area_a + area_b);
    let by_hand = libm::atan2(15.0, z).to_degrees();
    assert!((held - by_hand).abs() < 0.1, "{held}, by hand {by_hand}");
    assert!(pose.gates.is_empty(), "{:?}", pose.gates);
    let says = support(&pose);
    assert!(
        says.contains("Without it the part would tip over while it prints."),
        "{says}"
    );
    // It stands no steadier for that than one that tips at 6°.
    let tip = pose.charges.iter().find(|c| c.penalty.name() == "tip");
    let by_hand = libm::log(15.0 / 6.0);
    assert!((tip.expect("charged").value - by_hand).abs() < 1e-9);
    // A base of 4 mm² for each millimetre of height is one, a rod is none.
    let rod = lying(&bracket(40.0), 0.5);
    assert_eq!(rod.figures.tip_with_support_deg, None);
    assert_eq!(rod.gates, [FailedGate::Tips]);
    // With a short arm it stands by itself.
    let short = lying(&bracket(8.0), 30.0);
    assert_eq!(
        (short.figures.tip_with_support_deg, &short.gates[..]),
        (None, &[][..])
    );
}

#[test]
fn where_no_support_is_set_nothing_holds_a_pose_up() {
    // The arm rises at 40° from the vertical.
    let up = 40.0;
    let out = up * libm::tan(f64::to_radians(40.0));
    let leaning = [[0.0, 0.0], [12.0, 0.0], [12.0 + out, up], [out, up]];
    let pose = lying(&leaning, 30.0);
    assert_eq!(pose.figures.tip_with_support_deg, None);
    assert_eq!(pose.gates, [FailedGate::Tips]);
}

#[test]
fn a_larger_bed_is_named_where_it_would_give_a_much_better_pose() {
    let told = advice(block([0.0; 3], [230.0, 228.0, 12.0]));
    assert!(
        told.verdict
            .contains("A bed of 230 × 228 mm or more would allow a much better pose, the "),
        "{}",
        told.verdict
    );
    let told = advice(block([0.0; 3], [210.0, 200.0, 12.0]));
    assert!(!told.verdict.contains("A bed of"), "{}", told.verdict);
}

/// Two sides alike, and a third that is the real rival: that one is compared.
#[test]
fn the_first_pose_is_not_compared_with_its_twin() {
    let told = advice(block([0.0; 3], [60.0, 20.0, 30.0]));
    let why = told.poses[0].reasons.join(" ");
    assert!(!why.contains("Equal to pose 2"), "{why}");
    assert!(why.contains("pose 3 ") || why.contains("pose 2 "), "{why}");
}

/// A hole of 8 corners, 7 mm across these: a drill of 6.5 mm goes through, none of 7.
#[test]
fn a_hole_drawn_with_few_corners_is_as_wide_as_is_clear() {
    let plate = drilled(8, 15.0, 10.0, 3.5);
    let pose = measured(&part(plate), &Settings::default(), DOWN);
    let says = pose.precautions.join(" ");
    assert!(says.contains("Ø 6.5 mm"), "{says}");
    let fine = measured(
        &part(drilled(48, 15.0, 10.0, 3.5)),
        &Settings::default(),
        DOWN,
    );
    let says = fine.precautions.join(" ");
    assert!(says.contains("Ø 7 mm"), "{says}");
}

/// Less than a tenth of a degree off is as it lies.
#[test]
fn a_turn_that_nobody_sees_is_not_told() {
    let off = |deg: f64| {
        let (s, c) = libm::sincos(deg.to_radians());
        let down = Unit::new_normalize(Vector3::new(0.0, s, -c));
        wayup::report::act::act(&down)
    };
    assert_eq!(off(0.08), "as stored in the file");
    assert!(off(0.4).contains("turn it"), "{}", off(0.4));
}
