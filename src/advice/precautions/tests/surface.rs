use super::*;
use crate::figures::corners::UprightEdge;
use crate::figures::mock::disc;
use crate::figures::mock::ring;

#[test]
fn a_line_is_told_of_where_an_outer_wall_runs_on() {
    // A plate with two tines on it: its wall ends where they begin.
    let comb = Stack::new(0.2)
        .up_to(4.0, &[rectangle(20.0, 5.0, 40.0, 10.0)])
        .up_to(44.0, &[square(4.0, 5.0, 2.0), square(12.0, 5.0, 2.0)]);
    assert_eq!(told(&comb).said("line_on_the_side"), None);
    // A pot: the outside runs on where the floor ends.
    let pot = Stack::new(0.2)
        .up_to(4.0, &[disc(0.0, 0.0, 20.0, 120)])
        .up_to(44.0, &[ring(0.0, 0.0, 20.0, 18.0, 120)]);
    let said = told(&pot).said("line_on_the_side").expect("said");
    assert!(
        said.contains("z = 4 mm: the section goes from 12.6 to 2.39 cm²"),
        "{said}"
    );
    // The top of a boss in a tray, walls beside it: nothing changes for them.
    let wall = rectangle(0.0, 30.0, 60.0, 2.0);
    let boss = Stack::new(0.2)
        .up_to(10.0, &[wall.clone(), disc(0.0, 0.0, 10.0, 60)])
        .up_to(20.0, &[wall]);
    assert_eq!(told(&boss).said("line_on_the_side"), None);
}

#[test]
fn quick_layers_say_where_and_never_speak_of_the_first_one() {
    let comb = Stack::new(0.2)
        .up_to(4.0, &[rectangle(20.0, 5.0, 40.0, 10.0)])
        .up_to(44.0, &[square(4.0, 5.0, 2.0), square(12.0, 5.0, 2.0)]);
    // 8 mm² · 0.2 / 5 + 2 = 2.3 s from 4 mm on; the plate takes 18 s.
    assert_eq!(
        told(&comb).said("quick_layers").as_deref(),
        Some(
            "Print two copies, or set a minimum layer time: a layer from z = 4 to 44 mm takes as little as 2 s and is soft under the next one."
        )
    );
    let post = Stack::new(0.2).up_to(20.0, &[square(0.0, 0.0, 3.0)]);
    assert_eq!(
        told(&post).said("quick_layers").as_deref(),
        Some(
            "Print two copies, or set a minimum layer time: a layer takes as little as 2 s and is soft under the next one."
        )
    );
    // Only the first layer is quick: feet under a block.
    let feet = Stack::new(0.2)
        .up_to(0.2, &[square(0.0, 0.0, 3.0)])
        .up_to(20.0, &[square(0.0, 0.0, 30.0)]);
    assert_eq!(told(&feet).said("quick_layers"), None);
    let mut coarse = told(&feet);
    coarse.settings.first_layer_mm = 0.2;
    assert_eq!(coarse.said("quick_layers"), None);
}

#[test]
fn the_seam_goes_where_it_shows_least() {
    let mut case = Case::of(calm());
    assert_eq!(case.said("layer_seam"), None);
    let mut edge = UprightEdge {
        at_mm: [10.2, -6.1],
        length_mm: 20.0,
        inner: true,
    };
    case.traits.seam = Some(traits::LayerSeam::Edge(edge));
    assert_eq!(
        case.said("layer_seam").as_deref(),
        Some(
            "Put the layer seam into the inner corner at x 10, y \u{2212}6 from the middle: it shows least there."
        )
    );
    edge.inner = false;
    case.traits.seam = Some(traits::LayerSeam::Edge(edge));
    assert!(
        case.said("layer_seam")
            .expect("said")
            .contains("on the upright edge at x 10")
    );
    case.traits.seam = Some(traits::LayerSeam::Round(40.0));
    assert_eq!(
        case.said("layer_seam").as_deref(),
        Some(
            "Put the layer seam at the back: there is no edge to hide it, and it shows on the round side (Ø 40 mm)."
        )
    );
}

/// A box has upright edges, a turned part none, a pyramid neither edge nor round side.
#[test]
fn the_seam_is_found_in_a_mesh() {
    let seam = |said: Vec<String>| said.into_iter().find(|s| s.contains("layer seam"));
    let ell = [
        [[0.0, 0.0, 0.0], [30.0, 10.0, 18.0]],
        [[0.0, 10.0, 0.0], [10.0, 30.0, 18.0]],
    ];
    let said = seam(told_of(&ell, &[], "PLA")).expect("said");
    assert!(said.contains("inner corner at x"), "{said}");
    let round = revolved(&[[0.0, 0.0], [20.0, 0.0], [20.0, 15.0], [0.0, 15.0]], 60);
    let said = seam(told_of_soup(&round, "PLA")).expect("said");
    assert!(said.contains("round side (Ø 40 mm)"), "{said}");
    // A plate hides it well enough anywhere.
    let plate = [[0.0, 0.0, 0.0], [30.0, 10.0, 8.0]];
    assert_eq!(seam(told_of(&[plate], &[], "PLA")), None);
    let cone = revolved(&[[0.0, 0.0], [20.0, 0.0], [5.0, 15.0], [0.0, 15.0]], 60);
    assert_eq!(seam(told_of_soup(&cone, "PLA")), None);
}
