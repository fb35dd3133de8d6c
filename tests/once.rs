//! What does not depend on the pose is found once a part, whatever asks for it.

use std::path::Path;
use wayup::advice;
use wayup::features::Features;
use wayup::figures::quick::Bench;
use wayup::mesh::bvh::FacetBvh;
use wayup::pose::Hull;
use wayup::rank::search::{Silent, Wanted};
use wayup::session::intake;
use wayup::settings::Settings;

/// Regions and bores found, hierarchies built, while `work` goes on.
fn made(work: impl FnOnce()) -> [usize; 2] {
    let count = || [Features::found(), FacetBvh::built()];
    let before = count();
    work();
    let after = count();
    [after[0] - before[0], after[1] - before[1]]
}

/// One test, since the counts are those of the whole process.
#[test]
fn regions_bores_and_the_hierarchy_are_made_once_a_part() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/mouthpiece-tray.stl");
    let advised = made(|| {
        let part = intake::read(&path, None).expect("a part").part;
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let settings = Settings::default();
        let bench = Bench::new(&part, &settings, hull);
        let advice = advice::advise(&bench, &Wanted::default(), &Silent).expect("never stopped");
        assert!(advice.poses.iter().all(|p| p.card.lines.len() > 3));
    });
    assert_eq!(advised, [1, 1]);
    #[cfg(feature = "desk")]
    assert_eq!(made(|| desk_session(&path)), [1, 1]);
}

/// A part is opened, ranked under two settings, turned, and asked for a face.
#[cfg(feature = "desk")]
fn desk_session(path: &Path) {
    use nalgebra::{Unit, Vector3};
    use wayup::desk::engine::part::DeskPart;
    use wayup::desk::engine::{advice, hand};

    let intake = intake::read(path, None).expect("a part");
    let part = DeskPart::new(
        1,
        intake,
        false,
        wayup::session::config::Resolved::default(),
    )
    .expect("a hull");
    let mut settings = Settings::default();
    for layer_mm in [0.2, 0.3] {
        settings.layer_mm = layer_mm;
        advice::full(&part, &settings, &Silent, &|_| ()).expect("never stopped");
        assert!(advice::from_memory(&part, &settings).is_some());
    }
    let turn = hand::HandTurn {
        seq: 1,
        down: Unit::new_normalize(Vector3::new(0.3, -0.5, -0.8)),
        ranked: Vec::new(),
    };
    let message = hand::quick(&part, &settings, &turn);
    assert!(message.to_string().contains("figures") && hand::face(&part, 0).is_some());
}
