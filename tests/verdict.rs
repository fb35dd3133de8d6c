//! The verdict rests on the poses that were judged, never on how many are listed.

mod common;

use common::{block, measured, part, prism, turned};
use wayup::advice::{self, Advice, RankedPose};
use wayup::figures::quick::Bench;
use wayup::mesh::Mesh;
use wayup::pose::Hull;
use wayup::rank::search::{Silent, Wanted};
use wayup::settings::Settings;

const TOPS: [usize; 4] = [2, 3, 5, 10];

fn advised(mesh: &Mesh, top: usize) -> Advice {
    let (part, settings) = (part(mesh.clone()), Settings::default());
    let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
    let bench = Bench::new(&part, &settings, hull);
    advice::advise(&bench, &Wanted::first(top), &Silent).expect("never stopped")
}

/// Two cones on each other's rims, a foot of radius `foot` at either end: it stands on the
/// foot without support, on too little of it.
fn double_cone(foot: f64, rim: f64, band: f64) -> Mesh {
    let slope = rim - foot;
    let profile = [
        [0.0, 0.0],
        [foot, 0.0],
        [rim, slope],
        [rim, slope + band],
        [foot, 2.0 * slope + band],
        [0.0, 2.0 * slope + band],
    ];
    turned(&profile, 24)
}

/// Flanges Ø 60 on a hub Ø 20. Of 96 sides no pose of it is good; of 48 the second one is.
fn spool(sides: usize) -> Mesh {
    let profile = [
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 4.0],
        [10.0, 4.0],
        [10.0, 34.0],
        [30.0, 34.0],
        [30.0, 38.0],
        [0.0, 38.0],
    ];
    turned(&profile, sides)
}

#[test]
fn verdict_and_faults_are_the_same_however_many_poses_are_listed() {
    for (name, mesh) in [
        ("double cone, second pose good", double_cone(2.2, 26.0, 2.0)),
        ("double cone, third pose good", double_cone(2.6, 26.0, 4.0)),
        ("spool", spool(48)),
        ("block", block([0.0; 3], [30.0, 20.0, 10.0])),
    ] {
        let first = advised(&mesh, 1);
        for top in TOPS {
            let advice = advised(&mesh, top);
            assert!(advice.poses.len() <= top);
            assert_eq!(advice.verdict, first.verdict, "{name}, --top {top}");
            assert_eq!(
                advice.no_good_pose, first.no_good_pose,
                "{name}, --top {top}"
            );
            assert_eq!(advice.confidence, first.confidence, "{name}, --top {top}");
            assert_eq!(
                advice.poses[0].design, first.poses[0].design,
                "{name}, --top {top}"
            );
            let all_faulty = advice.poses.iter().all(|p| !p.faults.is_empty());
            assert!(all_faulty || !advice.no_good_pose, "{name}, --top {top}");
        }
    }
}

#[test]
fn a_winner_with_a_fault_is_told_so_beside_the_best_pose_without() {
    for (foot, band) in [(2.2, 2.0), (2.6, 4.0)] {
        let advice = advised(&double_cone(foot, 26.0, band), 5);
        assert!(!advice.no_good_pose && advice.poses[0].design.is_empty());
        let says = &advice.verdict;
        let first = wayup::words::side_down(&advice.poses[0].pose.down);
        let start = format!("Print it with the {first}: ");
        assert!(says.starts_with(&start), "{says}");
        let fault = &advice.poses[0].faults[0];
        let told = format!("It has a serious fault: {}", fault.trim_end_matches('.'));
        assert!(says.contains(&told), "{fault}: {says}");
        assert!(!says.contains("Every pose"), "{says}");
        let rank = advice.faultless.expect("a pose without a fault");
        let other = &advice.poses[rank - 1];
        assert!(rank > 1 && other.faults.is_empty());
        assert!(
            advice.poses[..rank - 1]
                .iter()
                .all(|p| !p.faults.is_empty())
        );
        let side = wayup::words::side_down(&other.pose.down);
        // Where it costs hardly more it is the one to take.
        let apart = other.total - advice.poses[0].total;
        let best = if apart <= 1.0 {
            format!("Rather take the {side}: ")
        } else {
            format!("The best pose without one is the {side}: ")
        };
        assert!(says.contains(&best), "{apart}: {says}");
    }
}

#[test]
fn only_where_every_pose_judged_has_a_fault_that_is_said() {
    let advice = advised(&spool(96), 1);
    assert!(advice.no_good_pose && advice.faultless.is_none());
    let says = &advice.verdict;
    assert!(
        says.starts_with("Every pose of this part has a serious fault."),
        "{says}"
    );
    assert!(!advice.poses[0].design.is_empty());
    let good = advised(&block([0.0; 3], [30.0, 20.0, 10.0]), 1);
    assert_eq!((good.no_good_pose, good.faultless), (false, Some(1)));
    assert!(!good.verdict.contains("fault"), "{}", good.verdict);
}

/// A plate of 30 × 30 × 4 with a fin of this thickness across it, 20 mm high, on its base.
fn plate_with_fin(thick_mm: f64) -> RankedPose {
    let end = 10.0 + thick_mm;
    let outline = [
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 4.0],
        [end, 4.0],
        [end, 24.0],
        [10.0, 24.0],
        [10.0, 4.0],
        [0.0, 4.0],
    ];
    let plate = part(prism(&outline, 30.0));
    measured(&plate, &Settings::default(), [0.0, -1.0, 0.0])
}

/// 0.2 mm is less than half a line of 0.45 mm: neither a fault nor something to brace, and in no
/// figure, so that it costs nothing and decides no rank.
#[test]
fn a_sliver_is_told_and_is_no_fault() {
    let pose = plate_with_fin(0.2);
    assert!(pose.figures.slender_ratio < 1.0, "{:?}", pose.figures);
    assert!(pose.figures.sway_mm_per_n < 0.01, "{:?}", pose.figures);
    let slender = pose.charges.iter().find(|c| c.penalty.name() == "slender");
    assert_eq!(slender.map(|c| c.value), Some(0.0));
    assert!(pose.faults.is_empty(), "{:?}", pose.faults);
    assert!(pose.design.is_empty(), "{:?}", pose.design);
    let said = pose.precautions.join(" ");
    assert!(said.contains("a sliver 0.2 mm wide"), "{said}");
    for other in ["stands free", "slow down", "Brim"] {
        assert!(!said.contains(other), "{said}");
    }
}

/// The same as thick as a line is braced.
#[test]
fn what_the_nozzle_draws_is_a_fault_as_before() {
    let pose = plate_with_fin(0.5);
    assert_eq!(pose.faults.len(), 1, "{:?}", pose.faults);
    assert!(!pose.design.is_empty());
    let said = pose.precautions.join(" ");
    assert!(
        said.contains("brace it") && !said.contains("sliver"),
        "{said}"
    );
}
