//! What the program says to change is changed here, and the figure must follow.
//!
//! Shapes and expected figures are worked out by hand.

mod common;

use common::{PORTAL, block, figures, inside_out, measured, part, prism, sharp, together, turned};
use wayup::advice::design::{Change, Remedy};
use wayup::advice::{self, Advice, RankedPose};
use wayup::figures::quick::Bench;
use wayup::mesh::Mesh;
use wayup::mesh::{ReadOptions, read_path};
use wayup::pose::Hull;
use wayup::rank::search::{Silent, Wanted};
use wayup::settings::Settings;

const SIDES: usize = 96;

fn advice(mesh: &Mesh, down: [f64; 3]) -> RankedPose {
    measured(&part(mesh.clone()), &sharp(), down)
}

#[track_caller]
fn remedy(pose: &RankedPose, change: Change) -> &Remedy {
    pose.design
        .iter()
        .find(|r| r.change == change)
        .unwrap_or_else(|| panic!("no {change:?} in {:#?} of {:?}", pose.design, pose.faults))
}

fn ranked(part: &wayup::mesh::Part) -> Advice {
    let settings = Settings::default();
    let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
    let wanted = Wanted {
        named: Vec::new(),
        top: 5,
    };
    advice::advise(&Bench::new(part, &settings, hull), &wanted, &Silent).expect("never stopped")
}

fn demo(file: &str) -> Advice {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("meshes")
        .join(file);
    let mut loaded = read_path(&path, &ReadOptions::default()).expect("a demo part");
    ranked(&loaded.take_part().expect("a solid").0)
}

const DOWN: [f64; 3] = [0.0, 0.0, -1.0];
const ON_EDGE: [f64; 3] = [0.0, -1.0, 0.0];

/// A spool: flanges Ø 60 × 4 on a hub Ø 20 × 30. The upper flange is a ledge of
/// 20 mm at z = 34.
fn spool(chamfer: f64) -> Mesh {
    let mut profile = vec![[0.0, 0.0], [30.0, 0.0], [30.0, 4.0], [10.0, 4.0]];
    if chamfer > 0.0 {
        profile.push([10.0, 34.0 - chamfer]);
        profile.push([10.0 + chamfer, 34.0]);
    } else {
        profile.push([10.0, 34.0]);
    }
    if chamfer < 20.0 {
        profile.push([30.0, 34.0]);
    }
    profile.push([30.0, 38.0]);
    profile.push([0.0, 38.0]);
    turned(&profile, SIDES)
}

#[test]
fn a_chamfer_under_the_ledge_takes_the_overhang_away() {
    let pose = advice(&spool(0.0), DOWN);
    let r = remedy(&pose, Change::Chamfer);
    assert!((r.at_mm[2] - 34.0).abs() < 0.01, "{r:?}");
    assert!((r.size - 20.0).abs() < 0.1, "{r:?}");
    assert!(r.from > 2000.0 && r.to < 0.05 * r.from, "{r:?}");
    let mended = figures(&part(spool(r.size.round())), &sharp(), DOWN);
    assert!(
        mended.overhang_after_bridges_mm2 <= r.to + 1.0,
        "{} left of {}",
        mended.overhang_after_bridges_mm2,
        r.from
    );
    assert!(mended.support_after_bridges_mm3 < 1.0);
    // Half the chamfer is not enough: the size is what matters.
    let half = figures(&part(spool(10.0)), &sharp(), DOWN);
    assert!(half.overhang_after_bridges_mm2 > 1000.0);
}

#[test]
fn split_where_the_ledge_begins_both_pieces_print_without_support() {
    let pose = advice(&spool(0.0), DOWN);
    let r = remedy(&pose, Change::Split);
    assert!((r.at_mm[2] - 34.0).abs() < 0.01, "{r:?}");
    let lower = turned(
        &[
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 4.0],
            [10.0, 4.0],
            [10.0, 34.0],
            [0.0, 34.0],
        ],
        SIDES,
    );
    let upper = turned(
        &[[0.0, 34.0], [30.0, 34.0], [30.0, 38.0], [0.0, 38.0]],
        SIDES,
    );
    for piece in [lower, upper] {
        let f = figures(&part(piece), &sharp(), DOWN);
        assert!(f.support_after_bridges_mm3 < 1.0);
    }
    // The place in the file is the same here: nothing was turned but the yaw.
    assert!((r.at_part_mm[2] - 34.0).abs() < 0.01, "{r:?}");
}

/// The table of the worked examples: legs 5 × 10 × 15, 20 apart under a slab.
#[test]
fn a_rib_makes_two_bridges_of_one_that_is_too_long() {
    let table = prism(&PORTAL, 10.0);
    let pose = advice(&table, ON_EDGE);
    let r = remedy(&pose, Change::Rib);
    assert!(
        (r.size - 20.0).abs() < 0.1 && (r.at_mm[2] - 15.0).abs() < 0.25,
        "{r:?}"
    );
    assert!(r.says.contains("1 rib"), "{}", r.says);
    assert!(r.from > 150.0);
    let ribbed = prism(
        &[
            [0.0, 0.0],
            [5.0, 0.0],
            [5.0, 15.0],
            [14.0, 15.0],
            [14.0, 0.0],
            [16.0, 0.0],
            [16.0, 15.0],
            [25.0, 15.0],
            [25.0, 0.0],
            [30.0, 0.0],
            [30.0, 20.0],
            [0.0, 20.0],
        ],
        10.0,
    );
    let f = figures(&part(ribbed), &sharp(), ON_EDGE);
    assert!(f.overhang_after_bridges_mm2 <= r.to + 1.0, "{f:?}");
    assert!(f.bridge_longest_mm <= 10.0);
}

/// A can Ø 20 × 30 with a closed cavity Ø 16 from 2 to 28.
fn can(cavity: &[[f64; 2]]) -> Mesh {
    let outside = turned(&[[0.0, 0.0], [10.0, 0.0], [10.0, 30.0], [0.0, 30.0]], SIDES);
    together(&[outside, inside_out(turned(cavity, SIDES))])
}

#[test]
fn a_closed_cavity_is_to_be_opened_or_gabled() {
    let flat = can(&[[0.0, 2.0], [8.0, 2.0], [8.0, 28.0], [0.0, 28.0]]);
    let pose = advice(&flat, DOWN);
    assert!(
        pose.figures.support_trapped_mm3 > 1000.0,
        "{:?}",
        pose.figures
    );
    let r = remedy(&pose, Change::Open);
    assert!((r.at_mm[2] - 28.0).abs() < 0.01, "{r:?}");
    let cup = turned(
        &[
            [0.0, 0.0],
            [10.0, 0.0],
            [10.0, 28.0],
            [8.0, 28.0],
            [8.0, 2.0],
            [0.0, 2.0],
        ],
        SIDES,
    );
    assert!(figures(&part(cup), &sharp(), DOWN).support_trapped_mm3 <= r.to + 1e-9);
    let r = remedy(&pose, Change::Chamfer);
    assert!((r.size - 8.0).abs() < 0.1, "{r:?}");
    let gabled = can(&[[0.0, 2.0], [8.0, 2.0], [8.0, 20.0], [0.0, 28.0]]);
    let f = figures(&part(gabled), &sharp(), DOWN);
    assert!(
        f.support_trapped_mm3 <= r.to + 1.0,
        "{}",
        f.support_trapped_mm3
    );
}

/// A ball of radius 10 stands on next to nothing: π(2·10·z − z²) is the section at z.
#[test]
fn a_flat_gives_a_ball_something_to_stand_on() {
    let cap = |z0: f64| {
        let mut profile = vec![[0.0, -10.0 + z0]];
        let from = libm::acos(-1.0 + z0 / 10.0);
        for k in 0..=48 {
            let a = from * (1.0 - f64::from(k) / 48.0);
            let (s, c) = libm::sincos(a);
            if k == 0 && z0 == 0.0 {
                continue;
            }
            profile.push([10.0 * s, 10.0 * c]);
        }
        profile.pop();
        profile.push([0.0, 10.0]);
        turned(&profile, SIDES)
    };
    let settings = Settings::default();
    let pose = measured(&part(cap(0.0)), &settings, DOWN);
    let r = remedy(&pose, Change::Flat);
    let z = r.at_mm[2];
    let want = std::f64::consts::PI * (20.0 * z - z * z);
    assert!((r.size - want).abs() < 0.02 * want, "{r:?}, by hand {want}");
    assert!(r.size >= 80.0 && z < 1.6, "{r:?}");
    let f = figures(&part(cap(z)), &settings, DOWN);
    assert!(f.contact_area_mm2 >= 0.98 * r.to, "{}", f.contact_area_mm2);
    assert!(r.from < 10.0, "{r:?}");
}

/// Two prongs 3 × 3, 60 tall, 34 apart on a foot of 40 × 4 × 3: 20 : 1.
#[test]
fn braces_bring_the_slender_ratio_down_to_what_was_said() {
    let fork = prism(
        &[
            [0.0, 0.0],
            [40.0, 0.0],
            [40.0, 64.0],
            [37.0, 64.0],
            [37.0, 4.0],
            [3.0, 4.0],
            [3.0, 64.0],
            [0.0, 64.0],
        ],
        3.0,
    );
    let pose = advice(&fork, ON_EDGE);
    let r = remedy(&pose, Change::Brace);
    assert!((r.from - 20.0).abs() < 0.2, "{r:?}");
    assert!(r.says.contains("2 braces"), "{}", r.says);
    assert!(
        (r.at_mm[2] - 24.0).abs() < 0.3 && (r.size - 34.0).abs() < 0.1,
        "{r:?}"
    );
    let tie = |y: f64| block([1.0, y, 0.5], [38.0, 2.0, 2.0]);
    let braced = together(&[fork, tie(23.0), tie(43.0)]);
    let f = figures(&part(braced), &sharp(), ON_EDGE);
    assert!(
        f.slender_ratio <= 1.1 * r.to,
        "{} instead of {}",
        f.slender_ratio,
        r.to
    );
}

/// A leaning block whose centroid is 1 mm beyond its base of 10 (worked by hand:
/// base 10 × 10, top at 20 sheared by 12).
#[test]
fn a_foot_under_the_centroid_makes_it_stand() {
    let leaning = prism(&[[0.0, 0.0], [10.0, 0.0], [22.0, 20.0], [12.0, 20.0]], 10.0);
    let pose = advice(&leaning, ON_EDGE);
    let r = remedy(&pose, Change::Foot);
    let want = 1.0 + 10.0 * libm::tan(15.0_f64.to_radians());
    assert!((r.size - want).abs() < 0.1, "{r:?}, by hand {want}");
    let footed = prism(
        &[
            [0.0, 0.0],
            [10.0 + r.size, 0.0],
            [10.0 + r.size, 0.5],
            [10.3, 0.5],
            [22.0, 20.0],
            [12.0, 20.0],
        ],
        10.0,
    );
    let f = figures(&part(footed), &sharp(), ON_EDGE);
    assert!((f.tip_angle_deg - r.to).abs() < 1.0, "{}", f.tip_angle_deg);
}

/// A dumb-bell 320 long that is thinnest between 150 and 160.
#[test]
fn a_part_too_long_is_cut_where_it_is_thinnest() {
    let bell = turned(
        &[
            [0.0, 0.0],
            [25.0, 0.0],
            [25.0, 150.0],
            [8.0, 150.0],
            [8.0, 160.0],
            [25.0, 160.0],
            [25.0, 320.0],
            [0.0, 320.0],
        ],
        SIDES,
    );
    let pose = advice(&bell, DOWN);
    let r = remedy(&pose, Change::Split);
    assert!(r.at_part_mm[2] > 150.0 && r.at_part_mm[2] < 160.0, "{r:?}");
    assert!(r.to < 171.0 && r.from > 319.0, "{r:?}");
}

/// A good pose is told nothing of the kind.
#[test]
fn a_good_pose_has_no_faults_and_nothing_to_change() {
    let pose = advice(&block([0.0; 3], [30.0, 20.0, 10.0]), DOWN);
    assert!(pose.faults.is_empty() && pose.design.is_empty(), "{pose:?}");
    // Raised letters L of 0.8 mm on the bed side are told as detail.
    let mut bodies = vec![block([0.0, 0.0, 0.8], [40.0, 20.0, 4.0])];
    for k in 0..4 {
        bodies.push(block(
            [2.0 + 9.0 * f64::from(k), 4.0, 0.0],
            [3.0, 12.0, 1.0],
        ));
        bodies.push(block([4.0 + 9.0 * f64::from(k), 4.0, 0.0], [4.0, 3.0, 1.0]));
    }
    let pose = advice(&together(&bodies), DOWN);
    let note = pose
        .precautions_detail
        .iter()
        .find(|n| n.key == "detail_on_the_bed");
    assert_eq!(
        note.map(|n| n.value),
        Some(3.0),
        "{:?}",
        pose.precautions_detail
    );
    let above = advice(&together(&bodies), [0.0, 0.0, 1.0]);
    assert!(
        above
            .precautions_detail
            .iter()
            .all(|n| n.key != "detail_on_the_bed")
    );
}

/// The page holder's lesson: two prongs 3.6 wide and 110 tall decide. The smaller base is no
/// price: it is enough.
#[test]
fn reasons_name_the_difference_that_decides() {
    let advice = demo("page-holder.stl");
    assert!(!advice.no_good_pose, "{}", advice.verdict);
    let first = &advice.poses[0];
    let ahead = &first.reasons[2];
    assert!(
        ahead.starts_with("No other pose comes near. Against pose 2 (−Z side down): slenderness ")
            && ahead.contains("(110 mm tall, 3.6 mm wide)"),
        "{ahead}"
    );
    let price = |r: &String| r.starts_with("Worse than") || r.contains("contact");
    assert!(!first.reasons.iter().any(price), "{:?}", first.reasons);
    // A dozen square millimetres in the roofs of screw holes are no support.
    assert!(advice.verdict.contains("no support"), "{}", advice.verdict);
    assert!(first.layer_profile.is_some() && advice.poses[1].layer_profile.is_none());
    for pose in &advice.poses {
        let share = pose.figures.support_after_bridges_mm3 / 18_600.0;
        if share > 0.6 || !pose.gates.is_empty() {
            assert!(pose.reasons.len() <= 2, "{:?}", pose.reasons);
        }
    }
}

/// The spool hangs over on either flange, and on its side it rolls.
#[test]
fn a_part_without_a_good_pose_is_told_so_with_what_would_help() {
    let advice = ranked(&part(spool(0.0)));
    assert!(advice.no_good_pose);
    assert!(
        advice
            .verdict
            .starts_with("Every pose of this part has a serious fault")
    );
    let changes: Vec<Change> = advice.poses[0].design.iter().map(|r| r.change).collect();
    assert_eq!(changes, [Change::Chamfer, Change::Split]);
    assert!(advice.poses[1..].iter().all(|p| p.design.is_empty()));
    // The same with the chamfer is fine.
    let mended = ranked(&part(spool(20.0)));
    assert!(!mended.no_good_pose, "{}", mended.verdict);
    assert!(mended.poses[0].design.is_empty());
}

/// A millimetre read as a metre: one is told of the unit, not of brims.
#[test]
fn a_crumb_is_told_to_look_at_its_unit() {
    let advice = ranked(&part(block([0.0; 3], [0.11, 0.09, 0.08])));
    assert!(advice.verdict.contains("--units"), "{}", advice.verdict);
    let first = &advice.poses[0];
    assert!(first.precautions.is_empty() && first.reasons.is_empty());
    assert_eq!(advice.margin.runner_up, None);
}

/// A plate under a machine that is 15 mm high stands on no edge of it: what comes second
/// cannot be printed, so it is nobody's runner-up and no weight hands it the place.
#[test]
fn what_cannot_be_printed_is_no_runner_up() {
    let plate = part(block([0.0; 3], [100.0, 80.0, 10.0]));
    let under = |height: f64| {
        let settings = Settings {
            bed_mm: [220.0, 220.0, height],
            ..Settings::default()
        };
        let hull = Hull::new(&plate.mesh.vertices).expect("a solid has a hull");
        let wanted = Wanted {
            named: Vec::new(),
            top: 3,
        };
        advice::advise(&Bench::new(&plate, &settings, hull), &wanted, &Silent).expect("not stopped")
    };
    let speaks_of_2 = |a: &Advice| a.poses[0].reasons.iter().any(|r| r.contains("pose 2"));
    let roomy = under(220.0);
    assert!(roomy.poses[1].gates.is_empty() && speaks_of_2(&roomy));
    assert_eq!(roomy.margin.runner_up, Some(2));
    let low = under(15.0);
    assert!(low.poses[0].gates.is_empty() && !low.poses[1].gates.is_empty());
    assert!(!speaks_of_2(&low), "{:?}", low.poses[0].reasons);
    assert_eq!(
        (low.margin.runner_up, low.margin.switches_if.len()),
        (None, 0)
    );
}
