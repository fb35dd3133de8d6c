//! What must hold of every ranked list, on the demo parts.

mod common;

use nalgebra::{Point3, Rotation3, Unit, Vector3};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering::Relaxed;
use wayup::advice::{self, Advice, RankedPose};
use wayup::figures::quick::Bench;
use wayup::figures::stop::Stop;
use wayup::materials::Material;
use wayup::mesh::{Part, ReadOptions, read_path};
use wayup::pose::Hull;
use wayup::pose::symmetry::Symmetry;
use wayup::rank::known::Known;
use wayup::rank::penalties::{BY_PURPOSE, ROWS};
use wayup::rank::search::{Progress, Search, Silent, Stage, Wanted, angle_deg};
use wayup::rank::{Confidence, FailedGate, Origin};
use wayup::report::compare::{self, Which};
use wayup::report::draw::model::DrawingModel;
use wayup::report::draw::view::Angle;
use wayup::report::json::PartFacts;
use wayup::report::sheet::{self, SheetJob};
use wayup::settings::weights::Penalty;
use wayup::settings::{Aim, Settings};

fn demo_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the demo parts")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e != "md"))
        .collect();
    files.sort();
    assert!(files.len() >= 13, "{} demo parts", files.len());
    files
}

fn part(path: &Path) -> Part {
    let mut loaded = read_path(path, &ReadOptions::default()).expect("a mesh");
    loaded.take_part().expect("a solid").0
}

fn advised(part: &Part, settings: &Settings) -> Advice {
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(part, settings, hull);
    advice::advise(
        &bench,
        &Wanted {
            named: Vec::new(),
            top: 5,
        },
        &Silent,
    )
    .expect("never stopped")
}

#[test]
fn totals_are_sums_in_order_and_entries_are_apart() {
    let settings = Settings::default();
    for file in demo_files() {
        let part = part(&file);
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let symmetry = Symmetry::detect(&part, &hull);
        let advice = advised(&part, &settings);
        let name = file.display();
        assert!(advice.poses.len() >= 2, "{name}");
        for pose in &advice.poses {
            let sum: f64 = pose.charges.iter().map(|c| c.value).sum();
            assert!((sum - pose.total).abs() < 1e-9, "{name}");
            assert!(pose.charges.iter().all(|c| c.value >= 0.0), "{name}");
            assert!((pose.pose.rotation().matrix().determinant() - 1.0).abs() < 1e-9);
        }
        for pair in advice.poses.windows(2) {
            if pair[0].gates.is_empty() == pair[1].gates.is_empty() {
                // Equal totals may differ in what is not printed.
                assert!(pair[0].total <= pair[1].total + 1e-5, "{name}");
            } else {
                assert!(pair[0].gates.is_empty(), "{name}: a gated pose comes first");
            }
        }
        for (i, a) in advice.poses.iter().enumerate() {
            for b in &advice.poses[i + 1..] {
                let apart = symmetry.apart_deg(&a.pose.down, &b.pose.down);
                assert!(apart > 9.99, "{name}: entries {apart}° apart");
            }
        }
    }
}

/// Each pose is cut into layers once, whatever reads them: no pose is cut for its words.
#[test]
fn a_pose_is_cut_into_layers_once() {
    let settings = Settings::default();
    let tray = demo("mouthpiece-tray.stl");
    let hull = Hull::new(&tray.mesh.vertices).expect("a hull");
    let bench = Bench::new(&tray, &settings, hull);
    let cut = || bench.layout.slicings();
    advice::measure(&bench, -Vector3::z_axis());
    assert_eq!(cut(), 1);
    let wanted = Wanted::default();
    let advice = advice::advise(&bench, &wanted, &Silent).expect("never stopped");
    assert!(!advice.no_good_pose);
    assert_eq!(cut() - 1, advice.candidates.fully_scored);
    // Nor for its drawings: sheet, comparison and picture take what was found.
    let facts = PartFacts::new(&tray, &[], Vec::new());
    let job = SheetJob {
        bench: &bench,
        advice: &advice,
        facts: &facts,
        angle: Angle::First,
        date: None,
        number: [1, 1],
    };
    let (before, model) = (cut(), DrawingModel::new(&tray));
    sheet::page(&job, &model);
    let pair = compare::pick(&advice, &[Which::Rank(1), Which::Stored]).expect("poses");
    compare::page(&job, &model, &pair);
    assert_eq!(cut(), before);
}

/// Nor is it cut again for what would help where no pose is good, or where it is asked for
/// once more.
#[test]
fn what_would_help_is_told_without_another_cut() {
    let settings = Settings::default();
    let post = common::part(common::block([0.0; 3], [3.0, 3.0, 120.0]));
    let hull = Hull::new(&post.mesh.vertices).expect("a hull");
    let bench = Bench::new(&post, &settings, hull);
    let known = Arc::new(Known::remembering(&post, &bench.layout));
    for _ in 0..2 {
        let search = Search::on(&bench, &known);
        let never = Stop::never();
        let told = advice::measure_until(&bench, &search, -Vector3::z_axis(), &never);
        let (pose, sliced) = told.expect("never stopped");
        assert!(!pose.design.is_empty(), "{:?}", pose.faults);
        assert!(sliced.spanning().bridges.is_empty());
    }
    assert_eq!(bench.layout.slicings(), 1);
    // A ball stands on next to nothing whichever way it lies.
    let ball = common::part(common::sphere(10.0, 24, 48));
    let hull = Hull::new(&ball.mesh.vertices).expect("a hull");
    let bench = Bench::new(&ball, &settings, hull);
    let told = advice::advise(&bench, &Wanted::default(), &Silent).expect("never stopped");
    assert!(told.no_good_pose && !told.poses[0].design.is_empty());
    assert_eq!(bench.layout.slicings(), told.candidates.fully_scored);
}

/// The search leaves out what its bound says cannot win: so the bound must hold.
#[test]
fn no_total_lies_below_its_bound() {
    let settings = Settings::default();
    for file in demo_files() {
        let part = part(&file);
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        for down in [
            Vector3::new(0.0, 0.0, -1.0),
            Vector3::new(0.0, 1.0, 0.0),
            Vector3::new(-0.6, 0.3, 0.8),
        ] {
            let down = nalgebra::Unit::new_normalize(down);
            let candidate = search.candidate(down, Origin::Named);
            let bound = candidate.bound;
            let total = search.score(candidate).total;
            assert!(
                bound <= total + 1e-9,
                "{}: bound {bound} above total {total}",
                file.display()
            );
        }
    }
}

/// A part that was turned at random before it was written in single precision gets
/// the same answer in its own frame.
#[test]
fn a_turned_part_gets_the_same_answer() {
    let settings = Settings::default();
    let turn = Rotation3::from_euler_angles(0.71, -1.13, 2.3);
    for name in ["page-holder.stl", "mouthpiece-tray.stl", "mute-cradle.off"] {
        let file = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("meshes")
            .join(name);
        let straight = part(&file);
        let mut mesh = straight.mesh.clone();
        for p in &mut mesh.vertices {
            *p = Point3::from((turn * *p).coords.map(|c| f64::from(c as f32)));
        }
        let turned = Part::new(mesh).expect("a solid").0;
        let (a, b) = (advised(&straight, &settings), advised(&turned, &settings));
        let (first, again) = (&a.poses[0], &b.poses[0]);
        assert!(
            (first.total - again.total).abs() < 0.02 * first.total,
            "{name}: {} and {}",
            first.total,
            again.total
        );
        let hull = Hull::new(&straight.mesh.vertices).expect("a hull");
        let symmetry = Symmetry::detect(&straight, &hull);
        let back = turn.inverse() * again.pose.down;
        assert!(
            symmetry.apart_deg(&first.pose.down, &back) < 0.1,
            "{name}: {}° apart",
            angle_deg(&first.pose.down, &back)
        );
    }
}

fn demo(name: &str) -> Part {
    part(
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("meshes")
            .join(name),
    )
}

fn unit(d: [f64; 3]) -> Unit<Vector3<f64>> {
    Unit::new_normalize(Vector3::from(d))
}

/// The pose of a list within half a degree of a direction.
fn at(advice: &Advice, d: [f64; 3]) -> &RankedPose {
    advice
        .poses
        .iter()
        .find(|p| angle_deg(&p.pose.down, &unit(d)) < 0.5)
        .expect("a pose of the list")
}

fn charge(pose: &RankedPose, row: Penalty) -> f64 {
    let found = pose.charges.iter().find(|c| c.penalty == row);
    found.expect("a row of the table").value
}

/// Layers part more easily than strands (σₙ = σ cos²θ, Gere, *Mechanics of Materials*,
/// from memory): a pull along the width of the hook turns it off its side, a pull down
/// leaves it there.
#[test]
fn the_load_turns_the_hook() {
    let hook = demo("wall-hanger.stl");
    let with = |load: [f64; 3], aim: Aim| {
        let settings = Settings {
            load: Some(unit(load)),
            aim,
            ..Settings::default()
        };
        advised(&hook, &settings)
    };
    let down = with([0.0, 0.0, -1.0], Aim::Strong);
    assert!(down.poses[0].pose.down.y.abs() > 0.99, "{}", down.verdict);
    assert!(charge(&down.poses[0], Penalty::Load) < 1e-9);
    let across = with([0.0, 1.0, 0.0], Aim::Strong);
    assert!(
        across.poses[0].pose.down.y.abs() < 0.1,
        "{}",
        across.verdict
    );
    assert!(charge(&across.poses[0], Penalty::Load) < 1e-9);
    let sound = with([0.0, 1.0, 0.0], Aim::Sound);
    assert!((charge(at(&sound, [0.0, -1.0, 0.0]), Penalty::Load) - 4.0).abs() < 1e-9);
}

/// A tag whose back must come out clean does not lie on it.
#[test]
fn a_side_to_be_shown_stays_off_the_bed() {
    let tag = demo("tuning-key-tag.stl");
    let showing = |d: [f64; 3]| {
        let settings = Settings {
            show: vec![unit(d)],
            ..Settings::default()
        };
        advised(&tag, &settings).poses[0].pose.down
    };
    assert!(showing([0.0, 0.0, 1.0]).z < -0.99);
    assert!(showing([0.0, 0.0, -1.0]).z.abs() < 0.1);
}

/// The foot fits a bed of 220 only across it and one of 300 straight; in a cube of 100 it
/// fits in no pose, and all come gated.
#[test]
fn the_bed_decides_what_fits() {
    let foot = demo("stand-foot.stl");
    let on = |side: f64| {
        let settings = Settings {
            bed_mm: [side, side, side],
            ..Settings::default()
        };
        advised(&foot, &settings)
    };
    let (small, large, none) = (on(220.0), on(300.0), on(100.0));
    for advice in [&small, &large] {
        assert!(advice.poses[0].gates.is_empty());
        assert!(advice.poses[0].pose.down.z < -0.99);
    }
    let long_side = |advice: &Advice| {
        let turn = advice.poses[0].pose.rotation() * Vector3::x();
        libm::atan2(turn.y.abs(), turn.x.abs()).to_degrees()
    };
    let (straight, across) = (long_side(&large), long_side(&small));
    assert!(
        straight < 5.0 && across > 30.0 && across < 60.0,
        "{straight}, {across}"
    );
    assert!(
        none.poses
            .iter()
            .all(|p| p.gates.contains(&FailedGate::DoesNotFit))
    );
}

/// A bar of cross-shaped section stands on its end, 40 mm tall: nothing hangs over. A machine of
/// 35 mm prints it only lying.
#[test]
fn a_low_machine_lays_the_part_down() {
    let section = [
        [11.0, 0.0],
        [19.0, 0.0],
        [19.0, 11.0],
        [30.0, 11.0],
        [30.0, 19.0],
        [19.0, 19.0],
        [19.0, 30.0],
        [11.0, 30.0],
        [11.0, 19.0],
        [0.0, 19.0],
        [0.0, 11.0],
        [11.0, 11.0],
    ];
    let bar = common::part(common::prism(&section, 40.0));
    let first = advised(&bar, &Settings::default()).poses[0].pose.down;
    assert!(first.z.abs() > 0.99, "{first:?}");
    let settings = Settings {
        bed_mm: [220.0, 220.0, 35.0],
        ..Settings::default()
    };
    let advice = advised(&bar, &settings);
    assert!(advice.poses[0].gates.is_empty() && advice.poses[0].pose.down.z.abs() < 0.1);
    for pose in &advice.poses {
        let too_tall = pose.gates.contains(&FailedGate::DoesNotFit);
        assert_eq!(too_tall, pose.figures.height_mm > 35.0, "{:?}", pose.gates);
    }
}

/// Each aim multiplies the rows that its column names, and nothing else: a pose's charges
/// under it are those under `sound` times the factor.
#[test]
fn aims_move_their_rows() {
    let holder = demo("page-holder.stl");
    let under = |aim: Aim| {
        let settings = Settings {
            aim,
            ..Settings::default()
        };
        advised(&holder, &settings)
    };
    let sound = under(Aim::Sound);
    for aim in [Aim::Clean, Aim::Quick, Aim::Strong] {
        let other = under(aim);
        for down in [[0.0, -1.0, 0.0], [0.0, 0.0, -1.0]] {
            for row in ROWS.iter() {
                let (a, b) = (
                    charge(at(&sound, down), row.penalty),
                    charge(at(&other, down), row.penalty),
                );
                let factor = row.weight_for(aim) / row.weight;
                assert!((b - factor * a).abs() < 1e-9, "{} {aim:?}", row.name());
            }
        }
    }
    // Standing takes longer than lying: in a hurry the gap widens.
    let gap = |a: &Advice| at(a, [0.0, 0.0, -1.0]).total - at(a, [0.0, -1.0, 0.0]).total;
    let quick = under(Aim::Quick);
    assert!(gap(&quick) > 1.5 * gap(&sound));
    // And of the poses far behind one that takes less time comes further up.
    let fourth = |a: &Advice| a.poses[3].figures.print_min;
    assert!(fourth(&quick) < fourth(&sound));
}

/// On its feet the saddle has more contact and a rough roof over the channel, on an end smooth
/// walls: a sound print stands on the feet, a clean one on an end.
#[test]
fn clean_tells_apart_what_sound_does_not() {
    let saddle = demo("cable-saddle.3mf");
    let gap = |aim: Aim| {
        let settings = Settings {
            aim,
            ..Settings::default()
        };
        let advice = advised(&saddle, &settings);
        at(&advice, [0.0, 0.0, -1.0]).total - at(&advice, [0.0, 1.0, 0.0]).total
    };
    let (sound, clean) = (gap(Aim::Sound), gap(Aim::Clean));
    assert!(-1.0 < sound && sound < 0.0, "{sound}");
    assert!(clean > 0.0 && clean > sound + 0.5, "{sound} {clean}");
}

/// Deflection goes with 1/E (Roark's, cantilever with end load, from memory): prongs of
/// rubber standing are out of the question, and the charge says so.
#[test]
fn a_soft_material_sways() {
    let holder = demo("page-holder.stl");
    let of = |name: &str| {
        let settings = Settings {
            material: Material::find(name).expect("a row"),
            ..Settings::default()
        };
        let advice = advised(&holder, &settings);
        let standing = at(&advice, [0.0, 0.0, -1.0]);
        (
            standing.figures.sway_mm_per_n,
            charge(standing, Penalty::Sway),
        )
    };
    let (pla, tpu) = (of("PLA"), of("TPU"));
    assert!((tpu.0 / pla.0 - 3500.0 / 60.0).abs() < 1e-3 * tpu.0 / pla.0);
    assert!(tpu.1 > pla.1 + 2.0);
}

/// The change that is said to hand the first place over does so: with the row's weight set
/// there, the totals are equal.
#[test]
fn the_stated_switch_is_where_totals_meet() {
    let settings = Settings::default();
    let mut told = 0;
    for name in ["wall-hanger.stl", "cable-saddle.3mf", "page-holder.stl"] {
        let advice = advised(&demo(name), &settings);
        let [first, second] = [&advice.poses[0], &advice.poses[1]];
        for change in &advice.margin.switches_if {
            let row = ROWS
                .iter()
                .find(|r| change.contains(&format!("weight of {} ", r.name())))
                .expect("the row is named");
            let to: f64 = change
                .rsplit(' ')
                .next()
                .and_then(|w| w.parse().ok())
                .expect("a weight");
            let moved = |pose: &RankedPose, weight: f64| {
                pose.total + charge(pose, row.penalty) * (weight / row.weight - 1.0)
            };
            // Three digits are printed: a hundredth beyond is on the other side.
            let beyond = to + (to - row.weight).signum() * 0.01 * to.max(0.01 * row.weight);
            assert!(
                moved(second, beyond) < moved(first, beyond),
                "{name}: {change}"
            );
            assert!(moved(second, row.weight) >= moved(first, row.weight));
            told += 1;
        }
    }
    assert!(told > 0, "no change was told");
}

/// The saddle stands on its feet, with its end faces close behind; both are alike and count as
/// one, and the rest of the makers go by a purpose. Equal poses of a part whose symmetry is known
/// count once.
#[test]
fn confidence_tells_a_close_case_from_a_clear_one() {
    let settings = Settings::default();
    let saddle = advised(&demo("cable-saddle.3mf"), &settings);
    assert_eq!(saddle.confidence, Confidence::Close);
    assert!(saddle.poses[0].pose.down.z < -0.99);
    let [feet, end, twin] = [0, 1, 2].map(|i| saddle.poses[i].share.expect("at the defaults"));
    let all = feet + end + BY_PURPOSE;
    assert!(end == twin && (all - 1.0).abs() < 1e-3, "{feet} {end}");
    let comb = advised(&demo("drum-rim-comb.obj"), &settings);
    assert_eq!(
        (comb.confidence, comb.poses[0].equivalent),
        (Confidence::Clear, 2)
    );
    // Away from the defaults there are no shares, and the weights decide.
    let clean = Settings {
        aim: Aim::Clean,
        ..Settings::default()
    };
    let saddle = advised(&demo("cable-saddle.3mf"), &clean);
    assert!(saddle.poses.iter().all(|p| p.share.is_none()));
    assert_eq!(saddle.confidence, Confidence::Tied);
}

/// Says yes to "stop?" from the nth question on.
struct Patience {
    left: AtomicUsize,
    asked_in_vain: AtomicUsize,
}

impl Patience {
    fn new(questions: usize) -> Self {
        Self {
            left: AtomicUsize::new(questions),
            asked_in_vain: AtomicUsize::new(0),
        }
    }
}

impl Progress for Patience {
    fn step(&self, _: Stage, _: usize, _: usize) {}

    fn cancelled(&self) -> bool {
        let less = |left: usize| left.checked_sub(1);
        let gone = self.left.fetch_update(Relaxed, Relaxed, less).is_err();
        self.asked_in_vain.fetch_add(usize::from(gone), Relaxed);
        gone
    }
}

#[test]
fn work_stops_in_the_middle_of_a_pose_and_nothing_half_measured_is_seen() {
    let settings = Settings::default();
    let part = part(&Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/mute-cradle.off"));
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    let wanted = Wanted {
        named: Vec::new(),
        top: 5,
    };
    let whole = advised(&part, &settings);
    // Sections and bridges ask once a layer, in every pose.
    let patient = Patience::new(usize::MAX);
    let found = Search::new(&bench).run(&wanted, &patient).expect("time");
    let asked = usize::MAX - patient.left.load(Relaxed);
    let layers = found.entries.iter().map(|e| e.figures.layers).min();
    let least = 2 * layers.expect("an entry") as usize * found.counts.fully_scored;
    assert!(asked > least, "{asked} questions, {least} layers");
    let mut cut_short = 0;
    let (mut questions, mut stopped) = (1, 0);
    loop {
        let patience = Patience::new(questions);
        let search = Search::new(&bench);
        match search.run(&wanted, &patience) {
            Err(_) => stopped += 1,
            Ok(found) => {
                // What was measured is what is measured without any haste.
                for e in &found.entries {
                    assert_eq!(search.score(e.candidate.clone()).figures, e.figures);
                }
                if patience.asked_in_vain.load(Relaxed) == 0 {
                    assert_eq!(found.counts.fully_scored, whole.candidates.fully_scored);
                    break;
                }
                assert!(found.counts.fully_scored < whole.candidates.fully_scored);
                cut_short += 1;
            }
        }
        // One more question for each piece of work that had begun, not one for each layer left.
        let vain = patience.asked_in_vain.load(Relaxed);
        assert!(vain < 2500, "{vain} questions after a yes");
        questions *= 2;
    }
    assert!(stopped >= 3 && cut_short >= 1, "{stopped}, {cut_short}");
}

/// A block looks the same upside down, but a side that must come out clean does not: of the
/// two poses on its large faces the one with that side up wins.
#[test]
fn a_side_to_show_tells_symmetric_poses_apart() {
    let block = common::part(common::block([0.0; 3], [30.0, 20.0, 6.0]));
    for side in [Vector3::z_axis(), -Vector3::z_axis()] {
        let settings = Settings {
            show: vec![side],
            ..Settings::default()
        };
        let advice = advised(&block, &settings);
        let first = &advice.poses[0];
        assert!(first.pose.down.dot(&side) < -0.999, "{:?}", first.pose.down);
        assert_eq!(
            (first.equivalent, first.figures.show_marked_mm2),
            (1, Some(0.0))
        );
    }
    assert_eq!(advised(&block, &Settings::default()).poses[0].equivalent, 2);
}
