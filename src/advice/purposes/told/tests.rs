use crate::advice::purposes::{Purpose, PurposeKind, check};
use crate::advice::{Advice, advise};
use crate::figures::fixture::{boxes, lying_hole, part};
use crate::figures::quick::Bench;
use crate::mesh::Part;
use crate::pose::Hull;
use crate::rank::search::{Silent, Wanted};
use crate::settings::Settings;
use nalgebra::{Point3, Unit, Vector3};

type Soup = Vec<[Point3<f64>; 3]>;

fn with_bench<T>(soup: &Soup, settings: &Settings, ask: impl Fn(&Bench) -> T) -> T {
    let part = Part::new(part(soup, false).mesh).expect("a solid").0;
    let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
    ask(&Bench::new(&part, settings, hull))
}

fn advised(soup: &Soup, settings: &Settings) -> Advice {
    with_bench(soup, settings, |bench| {
        advise(bench, &Wanted::first(5), &Silent).expect("not stopped")
    })
}

/// A bar along Y, 60 long, with a 6 mm bore along it.
fn bar() -> Soup {
    lying_hole(10.0, 3.0, 60.0, 32)
}

fn round_of(advice: &Advice) -> &Purpose {
    let round = |p: &&Purpose| p.kind == PurposeKind::Round;
    advice.purposes.iter().find(round).expect("the bore")
}

#[test]
fn a_lying_bore_asks_for_the_pose_that_stands_it_up_and_says_what_that_costs() {
    let advice = advised(&bar(), &Settings::default());
    let first = advice.poses[0].pose.down;
    assert!(first.y.abs() < 0.1, "{first:?}");
    let round = round_of(&advice);
    assert_eq!(
        (round.what.as_str(), round.flag.as_str()),
        ("the 6 mm bore", "--round +y")
    );
    assert!(round.down[1].abs() > 0.999 && round.behind > 0.0);
    let start = match round.pose {
        Some(rank) => {
            let pose = &advice.poses[rank - 1];
            assert!((pose.total - advice.poses[0].total - round.behind).abs() < 1e-9);
            format!("If the 6 mm bore must be round, print pose {rank}: ")
        }
        None => "If the 6 mm bore must be round, print it with the ".into(),
    };
    assert!(round.says.starts_with(&start), "{}", round.says);
    assert!(
        round.says.contains("of contact instead of"),
        "{}",
        round.says
    );
}

#[test]
fn the_flag_makes_the_purpose_count_and_then_it_is_not_told_again() {
    let soup = bar();
    let before = advised(&soup, &Settings::default());
    let settings = Settings {
        round: vec![Vector3::y_axis()],
        ..Settings::default()
    };
    let after = advised(&soup, &settings);
    let told = round_of(&before).down;
    let down = after.poses[0].pose.down;
    assert!((down.y.abs() - told[1].abs()).abs() < 1e-9, "{down:?}");
    assert!(after.purposes.iter().all(|p| p.kind != PurposeKind::Round));
    assert_eq!(after.poses[0].figures.round_missed, Some(0));
    assert_eq!(before.poses[0].figures.round_missed, None);
}

#[test]
fn nothing_is_said_where_nothing_changes() {
    let plate = boxes(&[[[0.0; 3], [60.0, 40.0, 3.0]]], &[]);
    let block = boxes(&[[[0.0; 3], [30.0, 20.0, 10.0]]], &[]);
    // Its bore stands upright as it is.
    let upright = lying_hole(30.0, 6.0, 8.0, 32);
    for soup in [plate, block, upright] {
        let advice = advised(&soup, &Settings::default());
        assert_eq!(advice.purposes, [], "{:?}", advice.poses[0].pose.down);
    }
}

/// A stand: a plate on edge on a larger foot.
#[test]
fn a_large_side_that_stands_asks_to_lie_and_so_does_the_flag() {
    let foot = [[0.0, 0.0, 0.0], [60.0, 50.0, 6.0]];
    let panel = [[0.0, 0.0, 6.0], [60.0, 6.0, 46.0]];
    let soup = boxes(&[foot, panel], &[]);
    let advice = advised(&soup, &Settings::default());
    let back = |p: &&Purpose| p.flag == "--flat -y";
    let told = advice
        .purposes
        .iter()
        .find(back)
        .expect("the back of the panel");
    assert!(
        told.says
            .starts_with("If the −Y side must be flat, print pose "),
        "{}",
        told.says
    );
    let settings = Settings {
        flat: vec![-Vector3::y_axis()],
        ..Settings::default()
    };
    let asked = advised(&soup, &settings);
    assert!(asked.poses[0].pose.down.y < -0.9999);
    assert_eq!(asked.poses[0].figures.flat_missed, Some(0));
}

#[test]
fn what_the_part_does_not_have_is_refused_with_the_nearest() {
    let askew = Unit::new_normalize(Vector3::new(0.0, 1.0, 0.2));
    for (settings, defect, hint) in [
        (
            Settings {
                round: vec![askew],
                ..Settings::default()
            },
            "the part has no round bore or boss along 0,0.9806,0.1961",
            "the nearest it has: +y",
        ),
        (
            Settings {
                flat: vec![askew],
                ..Settings::default()
            },
            "the part has no flat side that can lie on the bed towards 0,0.9806,0.1961",
            "the nearest it has: +y; +z; ",
        ),
    ] {
        let unmet = with_bench(&bar(), &settings, check).expect_err("not there");
        assert_eq!(unmet.defect, defect);
        assert!(unmet.hint.starts_with(hint), "{}", unmet.hint);
    }
    let there = Settings {
        round: vec![-Vector3::y_axis()],
        flat: vec![Vector3::x_axis()],
        ..Settings::default()
    };
    assert_eq!(with_bench(&bar(), &there, check), Ok(()));
}
