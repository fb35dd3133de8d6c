use super::*;
use crate::figures::fixture::{boxes, part_of};
use crate::pose::Hull;
use crate::rank::Origin;
use crate::rank::search::Search;
use crate::settings::Settings;
use nalgebra::Vector3;

type Box3 = [[f64; 3]; 2];

/// What is proposed for boxes as they stand, if this were the fault.
fn proposed(solid: &[Box3], fault: PoseFault) -> Vec<Remedy> {
    proposed_of(solid, &[], fault)
}

/// The same with some of it cut out.
fn proposed_of(solid: &[Box3], out: &[Box3], fault: PoseFault) -> Vec<Remedy> {
    let part = part_of(&boxes(solid, out));
    let settings = Settings::default();
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    let search = Search::new(&bench);
    let entry = search.score(search.candidate(-Vector3::z_axis(), Origin::Stored));
    remedies(&bench, &entry, &[fault])
}

/// Two prongs 40 apart: 5 wide and 60 high, 12 : 1, and 8 wide, 7.5 : 1, which may stand free.
#[test]
fn only_what_is_slender_is_tied_or_made_wider() {
    let fork = |wide: f64| -> Vec<Box3> {
        let prong = |x: f64| [[x, 0.0, 4.0], [x + wide, wide, 64.0]];
        vec![
            [[0.0, 0.0, 0.0], [60.0, 20.0, 4.0]],
            prong(0.0),
            prong(40.0),
        ]
    };
    let slim = proposed(&fork(5.0), PoseFault::Slender);
    assert_eq!(
        slim.iter().map(|r| r.change).collect::<Vec<_>>(),
        [Change::Brace, Change::Thicken]
    );
    assert!(
        slim[0]
            .says
            .contains("1 brace of 35 mm across, at z = 34 mm"),
        "{slim:?}"
    );
    assert!(
        slim[1].says.contains("7.5 mm wide instead of 5 mm"),
        "{slim:?}"
    );
    assert_eq!(proposed(&fork(8.0), PoseFault::Slender), []);
    // 8.16 : 1: 0.15 mm more is not worth a change.
    let hardly = proposed(&fork(7.35), PoseFault::Slender);
    assert!(
        hardly.iter().all(|r| r.change != Change::Thicken),
        "{hardly:?}"
    );
}

/// Prongs whose walls are 45 mm apart: no brace is as long.
#[test]
fn a_brace_goes_from_wall_to_wall_and_is_no_part_of_its_own() {
    let prong = |x: f64| [[x, 0.0, 4.0], [x + 5.0, 5.0, 64.0]];
    let fork = |apart: f64| -> Vec<Box3> {
        vec![
            [[0.0, 0.0, 0.0], [80.0, 20.0, 4.0]],
            prong(0.0),
            prong(5.0 + apart),
        ]
    };
    let far = proposed(&fork(45.0), PoseFault::Slender);
    assert!(far.iter().all(|r| r.change != Change::Brace), "{far:?}");
    let near = proposed(&fork(30.0), PoseFault::Slender);
    // It begins on a wall of the prong that is braced.
    let x = near[0].at_part_mm[0];
    assert_eq!(near[0].change, Change::Brace);
    assert!(
        (x - 5.0).abs() < 1e-6 || (x - 35.0).abs() < 1e-6,
        "{near:?}"
    );
}

/// A round bar that lies on a line of itself is cut flat; one that stands on a lug with a hole is not cut
/// through it.
#[test]
fn a_flat_is_cut_where_the_section_grows_and_not_through_a_lug() {
    let wedge = |steps: &[(f64, f64)]| -> Vec<Box3> {
        let mut low = 0.0;
        steps
            .iter()
            .map(|&(high, half)| {
                let step = [[-half, -half, low], [half, half, high]];
                low = high;
                step
            })
            .collect()
    };
    let cut = |solid: &[Box3]| proposed(solid, PoseFault::Foot)[0].says.clone();
    let grows = cut(&wedge(&[(1.0, 1.0), (4.0, 8.0), (60.0, 10.0)]));
    assert!(grows.starts_with("Cut a flat of"), "{grows}");
    let lug = cut(&wedge(&[(1.0, 3.0), (3.0, 1.0), (5.0, 8.0), (60.0, 10.0)]));
    assert!(!lug.starts_with("Cut a flat"), "{lug}");
}

/// A block whose centre of mass lies 10 mm beside its foot, and one where it is 0.1 mm.
#[test]
fn a_foot_is_carried_further_only_where_it_is_seen() {
    let leaning = |foot: f64| -> [Box3; 2] {
        [
            [[0.0, 0.0, 0.0], [foot, 20.0, 0.4]],
            [[0.0, 0.0, 0.4], [60.0, 20.0, 60.0]],
        ]
    };
    let fault = PoseFault::FailedGate(FailedGate::Tips);
    assert_eq!(proposed(&leaning(20.0), fault).len(), 1);
    assert_eq!(proposed(&leaning(29.9), fault), []);
}

/// A post 20 mm wide under a plate that reaches out 8 mm all round, 20 mm up.
fn mushroom(below: &[Box3], post: f64) -> Vec<Box3> {
    let half = post / 2.0;
    let mut all = vec![
        [[-half, -half, 0.0], [half, half, 20.0]],
        [
            [-half - 8.0, -half - 8.0, 20.0],
            [half + 8.0, half + 8.0, 26.0],
        ],
    ];
    all.extend_from_slice(below);
    all
}

/// The chamfer under the plate would start 11.3 mm lower, at its corners; a flange 4 mm below is in its way.
#[test]
fn a_chamfer_that_runs_into_the_part_is_not_offered() {
    let changes = |solid: &[Box3]| -> Vec<Change> {
        let all = proposed(solid, PoseFault::Support);
        all.iter().map(|r| r.change).collect()
    };
    assert_eq!(changes(&mushroom(&[], 20.0))[..1], [Change::Chamfer]);
    let flange = [[-15.0, -15.0, 14.0], [15.0, 15.0, 16.0]];
    // Glued on the post of 4 cm² it holds, on one of 0.36 cm² it does not.
    assert_eq!(changes(&mushroom(&[flange], 20.0)), [Change::Split]);
    let flange = [[-8.0, -8.0, 14.0], [8.0, 8.0, 16.0]];
    assert_eq!(changes(&mushroom(&[flange], 6.0)), []);
}

/// Walls so far apart carry a ceiling of so many spans within the limit; 16 mm is a matter of the machine.
#[test]
fn ribs_are_three_at_most_and_none_where_a_machine_bridges() {
    let changes = |span: f64| -> Vec<Change> {
        let end = 4.0 + span;
        let solid = [
            [[0.0, 0.0, 0.0], [4.0, 80.0, 60.0]],
            [[end, 0.0, 0.0], [end + 4.0, 80.0, 60.0]],
            [[0.0, 0.0, 60.0], [end + 4.0, 80.0, 64.0]],
        ];
        let all = proposed(&solid, PoseFault::Support);
        all.iter().map(|r| r.change).collect()
    };
    assert_eq!(changes(15.0), []);
    assert_eq!(changes(17.0)[..1], [Change::Rib]);
    // Much of it: the cut is offered as well.
    assert_eq!(changes(39.0), [Change::Rib, Change::Split]);
    assert_eq!(changes(41.0), [Change::Split]);
    let small = [
        [[0.0, 0.0, 0.0], [4.0, 30.0, 60.0]],
        [[24.0, 0.0, 0.0], [28.0, 30.0, 60.0]],
        [[0.0, 0.0, 60.0], [28.0, 30.0, 64.0]],
    ];
    let small = proposed(&small, PoseFault::Support);
    assert!(small.iter().all(|r| r.change == Change::Rib), "{small:?}");
}

/// A plate 70 mm wide on a post, its underside cut into four by ridges 2 mm high: one cut frees them all.
#[test]
fn a_ceiling_that_ridges_cut_up_is_one_to_split_at() {
    let solid = [
        [[-5.0, -5.0, 0.0], [5.0, 5.0, 20.0]],
        [[-35.0, -1.0, 18.0], [35.0, 1.0, 20.0]],
        [[-1.0, -35.0, 18.0], [1.0, 35.0, 20.0]],
        [[-35.0, -35.0, 20.0], [35.0, 35.0, 24.0]],
    ];
    let all = proposed(&solid, PoseFault::Support);
    assert_eq!(all[0].change, Change::Split, "{all:?}");
    // 68² less the post outside the ridges, 8², mm².
    assert!(all[0].says.contains("these 45.6 cm² on the bed"), "{all:?}");
}

/// A ceiling with a hole in it: a rib across it would block that.
#[test]
fn no_rib_goes_through_a_hole() {
    let hall = [
        [[0.0, 0.0, 0.0], [4.0, 60.0, 60.0]],
        [[24.0, 0.0, 0.0], [28.0, 60.0, 60.0]],
        [[0.0, 0.0, 60.0], [28.0, 60.0, 64.0]],
    ];
    let hole = [[10.0, 26.0, 59.0], [18.0, 34.0, 65.0]];
    let has_rib = |out: &[Box3]| {
        let all = proposed_of(&hall, out, PoseFault::Support);
        all.iter().any(|r| r.change == Change::Rib)
    };
    assert!(has_rib(&[]));
    assert!(!has_rib(&[hole]));
}
