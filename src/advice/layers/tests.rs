use super::*;
use crate::figures::fixture;
use crate::figures::quick::Bench;
use crate::pose::Hull;
use crate::rank::Origin;
use crate::rank::search::Search;
use nalgebra::Point3;

type Box3 = [[f64; 3]; 2];

/// The layer sentence of each of some poses of a union of boxes, as if these were the list.
fn said(solid: &[Box3], holes: &[Box3], downs: &[[f64; 3]]) -> Vec<Option<String>> {
    said_of(&fixture::boxes(solid, holes), downs)
}

/// The same of any soup.
fn said_of(soup: &[[Point3<f64>; 3]], downs: &[[f64; 3]]) -> Vec<Option<String>> {
    let part = fixture::part_of(soup);
    let settings = Settings::default();
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    let search = Search::new(&bench);
    let listed: Vec<Scored> = downs
        .iter()
        .map(|d| Unit::new_normalize(Vector3::from(*d)))
        .map(|down| search.score(search.candidate(down, Origin::Resting)))
        .collect();
    listed.iter().map(|s| sentence(s, &listed)).collect()
}

const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

#[test]
fn a_post_on_a_plate_is_named_by_its_root_and_height() {
    let plate = [[0.0, 0.0, 0.0], [30.0, 30.0, 4.0]];
    let post = [[10.0, 10.0, 4.0], [16.0, 16.0, 44.0]];
    let said = said(&[plate, post], &[], &[DOWN]);
    assert_eq!(
        said[0].as_deref(),
        Some(
            "Bent sideways, it parts first between the layers at z = 4 mm, where the post (about 6 mm wide, 40 mm high) meets its base."
        )
    );
}

/// Standing on its base the corner parts; lying on its profile the layers go round it.
#[test]
fn the_corner_of_a_bracket_counts_and_the_pose_on_its_profile_is_offered() {
    let base = [[0.0, 0.0, 0.0], [40.0, 25.0, 4.0]];
    let wall = [[0.0, 0.0, 4.0], [4.0, 25.0, 40.0]];
    let said = said(&[base, wall], &[], &[DOWN, [0.0, -1.0, 0.0]]);
    assert_eq!(
        said[0].as_deref(),
        Some(
            "Bent, it parts first between the layers at z = 4 mm, in the corner where the wall (about 4 mm thick, 36 mm high) meets its base. Pose 2 (−Y side down) runs the layers round that corner."
        )
    );
    assert_eq!(
        said[1].as_deref(),
        Some(
            "Every layer follows the whole profile: bent in its plane, it does not part between layers."
        )
    );
}

#[test]
fn a_flat_bar_has_its_layers_along_it_and_of_a_block_nothing_is_said() {
    let plate = said(&[[[0.0, 0.0, 0.0], [80.0, 40.0, 4.0]]], &[], &[DOWN]);
    assert_eq!(
        plate[0].as_deref(),
        Some(
            "It lies flat: the layers run along its whole length, so bending it does not part them."
        )
    );
    // A square plate has no length, and of a block nothing is known that is not so of each print.
    for size in [[60.0, 50.0, 4.0], [20.0, 20.0, 20.0]] {
        assert_eq!(said(&[[[0.0; 3], size]], &[], &[DOWN]), [None]);
    }
}

/// Tines that stand bend across their layers, and snap; lying they bend along them.
#[test]
fn a_tuning_fork_bends_along_its_layers_only_where_it_lies() {
    let handle = [[-30.0, 5.0, 0.0], [0.0, 10.0, 3.0]];
    let yoke = [[0.0, 0.0, 0.0], [5.0, 15.0, 3.0]];
    let tines = [0.0, 12.0].map(|y| [[5.0, y, 0.0], [65.0, y + 3.0, 3.0]]);
    let solid = [handle, yoke, tines[0], tines[1]];
    let said = said(&solid, &[], &[DOWN, [-1.0, 0.0, 0.0]]);
    assert_eq!(
        said[0].as_deref(),
        Some(
            "Its 2 thin arms (3 mm wide) lie in the layers: they bend along them and do not part."
        )
    );
    let standing = said[1].as_deref().unwrap_or_default();
    assert!(
        standing.contains("each post (about 3 mm wide, 60 mm high) meets its base. If they are to flex, take pose 1 (−Z side down): its layers run along them."),
        "{said:?}"
    );
    assert!(!standing.contains("arms"), "{said:?}");
}

/// A narrow cup on a thin floor, a stump, a taper, an angle that stands on its end: where any of them
/// would part nobody knows, and a hand parts none.
#[test]
fn where_no_wall_or_post_bends_no_place_is_said() {
    let cup = [
        [0.0, 0.0],
        [5.0, 0.0],
        [5.0, 60.0],
        [4.2, 60.0],
        [4.2, 1.0],
        [0.0, 1.0],
    ];
    let cone = [[0.0, 0.0], [4.0, 0.0], [1.5, 120.0], [0.0, 120.0]];
    // What stands on its end is told so, without a place.
    let on_end = "It stands on its end: bent or pulled hard, it parts between layers.";
    let on_end = [Some(on_end.to_owned())];
    for profile in [&cup[..], &cone[..]] {
        assert_eq!(said_of(&fixture::revolved(profile, 48), &[DOWN]), on_end);
    }
    let plate = [[0.0, 0.0, 0.0], [40.0, 40.0, 4.0]];
    let stump = [[10.0, 10.0, 4.0], [22.0, 22.0, 44.0]];
    let legs = [
        [[0.0, 0.0, 0.0], [30.0, 3.0, 120.0]],
        [[0.0, 0.0, 0.0], [3.0, 30.0, 120.0]],
    ];
    for solid in [[plate, stump], legs] {
        assert_eq!(said(&solid, &[], &[DOWN]), [None]);
    }
}

#[test]
fn the_aim_for_strength_asks_for_the_load() {
    let settings = |load| Settings {
        aim: Aim::Strong,
        load,
        ..Settings::default()
    };
    let says = aim(&settings(None)).expect("said");
    assert!(says.contains("`--load X,Y,Z`"), "{says}");
    assert_eq!(aim(&settings(Some(Vector3::x_axis()))), None);
    assert_eq!(aim(&Settings::default()), None);
}

/// A leg 5 mm thick and 40 high over a base, with a row of four holes: stress 40/(26·25/6) in the
/// row, 0.37 mm⁻². A pose on its profile has no such joint.
#[test]
fn a_bracket_with_a_row_of_holes_is_told_its_corner() {
    let base = [[0.0, 0.0, 0.0], [60.0, 50.0, 5.0]];
    let leg = [[0.0, 0.0, 5.0], [5.0, 50.0, 45.0]];
    let holes: Vec<Box3> = (0..4)
        .map(|k| 4.0 + 12.0 * f64::from(k))
        .map(|y| [[-1.0, y, 15.0], [6.0, y + 6.0, 21.0]])
        .collect();
    let told = said(&[base, leg], &holes, &[DOWN, [0.0, -1.0, 0.0]]);
    let says = told[0].as_deref().expect("said");
    assert!(
        says.starts_with("Bent, ") && says.contains("parts between layers. Pose 2 (−Y side down)"),
        "{says}"
    );
    let parts = |s: &String| s.contains("parts between");
    assert!(!told[1].as_ref().is_some_and(parts), "{told:?}");
}

/// A box with a floor has one section above it, and no layer has the whole profile.
#[test]
fn a_box_with_a_floor_is_no_profile() {
    let walls = [[[0.0, 0.0, 0.0], [80.0, 60.0, 30.0]]];
    let room = [[[2.0, 2.0, 2.0], [78.0, 58.0, 31.0]]];
    let through = [[[2.0, 2.0, -1.0], [78.0, 58.0, 31.0]]];
    assert_eq!(said(&walls, &room, &[DOWN]), [None]);
    let says = said(&walls, &through, &[DOWN]);
    assert!(
        says[0]
            .as_deref()
            .is_some_and(|s| s.contains("whole profile")),
        "{says:?}"
    );
}
