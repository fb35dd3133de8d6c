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
    let part = part_of(&boxes(solid, &[]));
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
