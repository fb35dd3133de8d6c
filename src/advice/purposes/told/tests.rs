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
    let down = round.down.expect("met");
    assert!(round.met && down[1].abs() > 0.999 && round.behind.expect("met") > 0.0);
    let start = match round.pose {
        Some(rank) => {
            let pose = &advice.poses[rank - 1];
            assert!((pose.total - advice.poses[0].total - round.behind.expect("met")).abs() < 1e-9);
            format!("If the 6 mm bore must be round, print pose {rank}: ")
        }
        None => "If the 6 mm bore must be round, print it with the ".into(),
    };
    assert!(round.says.starts_with(&start), "{}", round.says);
    assert!(
        round.says.contains("on the bed instead of"),
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
    let told = round_of(&before).down.expect("met");
    let down = after.poses[0].pose.down;
    assert!((down.y.abs() - told[1].abs()).abs() < 1e-9, "{down:?}");
    assert!(after.purposes.iter().all(|p| p.kind != PurposeKind::Round));
    let [asked] = &after.asked[..] else {
        panic!("{:?}", after.asked)
    };
    assert!(asked.met && before.asked.is_empty());
    assert_eq!(asked.says, "The 6 mm bore stands upright, as asked.");
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
            .starts_with("If the −Y side must be as flat and smooth as the bed, print pose "),
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

/// A foot with a slim arm, and a catch at its end if it has one.
fn arm(with_catch: bool) -> Advice {
    let foot = [[0.0, 3.0, 0.0], [40.0, 13.0, 8.0]];
    let arm = [[10.0, 4.0, 8.0], [12.5, 12.0, 33.0]];
    let catch = [[12.5, 4.0, 30.0], [13.7, 12.0, 33.0]];
    let solids = [foot, arm, catch];
    let solids = if with_catch {
        &solids[..]
    } else {
        &solids[..2]
    };
    advised(&boxes(solids, &[]), &Settings::default())
}

#[test]
fn an_arm_with_a_catch_asks_to_bend_within_its_layers() {
    let advice = arm(true);
    assert!(
        advice.poses[0].pose.down.z < -0.999,
        "{:?}",
        advice.poses[0].pose.down
    );
    let snap = |p: &&Purpose| p.kind == PurposeKind::Snap;
    let told = advice.purposes.iter().find(snap).expect("the arm");
    let start = "If the 22 mm arm with a catch must bend as a snap fit, print pose ";
    assert!(told.says.starts_with(start), "{}", told.says);
    assert_eq!(told.flag, "--load -z");
    assert!(told.down.expect("met")[2].abs() < 0.1, "{:?}", told.down);
    assert!(!arm(false).purposes.iter().any(|p| snap(&p)));
}

/// An underside that support marks is no purpose where the other pose would mark one, too; asked for
/// all the same, that pose comes first.
#[test]
fn an_underside_is_not_asked_for_at_the_price_of_another() {
    // A table on a foot: its top hangs over, or its foot does, whichever end is down.
    let top = [[0.0, 0.0, 30.0], [60.0, 40.0, 33.0]];
    let leg = [[25.0, 15.0, 0.0], [35.0, 25.0, 30.0]];
    let foot = [[10.0, 5.0, -3.0], [50.0, 35.0, 0.0]];
    let table = boxes(&[top, leg, foot], &[]);
    let advice = advised(&table, &Settings::default());
    let first = &advice.poses[0];
    assert!(first.figures.support_needed_mm3 > 1000.0);
    let seen = |p: &&Purpose| p.kind == PurposeKind::Seen;
    assert_eq!(advice.purposes.iter().find(seen), None);
    let settings = Settings {
        show: vec![first.pose.down],
        ..Settings::default()
    };
    let asked = advised(&table, &settings);
    let down = asked.poses[0].pose.down;
    assert!(down.dot(&first.pose.down) < 0.1, "{down:?}");
}

/// Four bars with a hole of this radius right through, along Y or along Z.
fn drilled(along_y: bool, radius_mm: f64) -> Soup {
    // Square holes are no bores: rings of wall in a bar are.
    let bar = lying_hole(2.0 * radius_mm + 4.0, radius_mm, 60.0, 32);
    let mut out = Vec::new();
    for k in 0..4 {
        let step = Vector3::new(20.0 * f64::from(k), 0.0, 0.0);
        let moved = bar.iter().map(|t| t.map(|p| p + step));
        out.extend(moved.map(|t| {
            if along_y {
                t
            } else {
                t.map(|p| Point3::new(p.x, -p.z, p.y))
            }
        }));
    }
    out
}

#[test]
fn alike_bores_are_one_purpose_with_their_number() {
    let advice = advised(&drilled(true, 4.0), &Settings::default());
    let bores: Vec<&Purpose> = (advice.purposes.iter())
        .filter(|p| p.kind == PurposeKind::Round)
        .collect();
    let [all] = bores[..] else {
        panic!("{:?}", advice.purposes)
    };
    assert_eq!(all.what, "the four 8 mm bores");
    assert!(
        all.asks.starts_with("Must the four 8 mm bores be round? "),
        "{}",
        all.asks
    );
}

/// Several alike holes of 6 mm are for screws, a single one of that size for a shaft.
#[test]
fn holes_for_screws_need_not_be_round() {
    let screws = advised(&drilled(true, 3.0), &Settings::default());
    let is_round = |p: &Purpose| p.kind == PurposeKind::Round;
    assert!(
        !screws.purposes.iter().any(is_round),
        "{:?}",
        screws.purposes
    );
    let shaft = advised(&bar(), &Settings::default());
    assert!(shaft.purposes.iter().any(is_round), "{:?}", shaft.purposes);
}

/// Seven raised pieces of several sizes on the side of a block that lies on the bed: they ask to
/// look elsewhere. Of one size they are pads.
#[test]
fn lettering_on_the_bed_asks_to_be_seen_and_pads_do_not() {
    let told = |wide: &dyn Fn(f64) -> f64| {
        let block = [[0.0, 0.0, 0.6], [80.0, 40.0, 12.0]];
        let pieces = (0..7).map(f64::from).map(|k| {
            let x = 6.0 + 10.0 * k;
            [[x, 12.0, 0.0], [x + wide(k), 28.0, 0.6]]
        });
        let solids: Vec<[[f64; 3]; 2]> = std::iter::once(block).chain(pieces).collect();
        let soup = boxes(&solids, &[]);
        with_bench(&soup, &Settings::default(), |bench| {
            super::super::reliefs::reliefs(&bench.layout.features, bench.part.mass.area_mm2)
        })
    };
    let letters = told(&|k| 2.0 + 0.5 * (k % 4.0));
    let [relief] = &letters[..] else {
        panic!("{letters:?}")
    };
    assert!(relief.side.z < -0.999 && relief.pieces == 7);
    assert!((relief.height_mm - 0.6).abs() < 1e-9);
    assert_eq!(told(&|_| 3.0), []);
}
