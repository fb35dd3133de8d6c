use crate::figures::fixture::{boxes, part as soup_part, revolved};
use crate::gauge::card::*;
use crate::mesh::bvh::FacetBvh;
use crate::mesh::{Part, ReadOptions, read_path};
use crate::pose::Pose;
use std::path::Path;

/// The card of a part with `down` to the bed, turned by `yaw_deg` from the default.
fn card_at(part: &Part, down: [f64; 3], yaw_deg: f64) -> Card {
    let down = Unit::new_normalize(Vector3::from(down));
    let corners = &part.mesh.vertices;
    let level = Pose::new(&down, corners);
    let written = level.turned(yaw_deg.to_radians(), corners);
    let posed = crate::pose::Posed::new(part, level.clone());
    let [x, y] = posed.footprint_mm();
    let features = Features::new(part);
    let bvh = FacetBvh::new(&part.mesh);
    let found = JawWork {
        features: &features,
        opposite: features.opposite(part, &bvh),
        held: features.held(part, &bvh),
    };
    let stands = AsWritten {
        level: &level,
        written: &written,
        extents_mm: [x, y, posed.height_mm],
        corners,
    };
    card(&found, &stands, &Settings::default())
}

fn card_of(file: &str, down: [f64; 3]) -> Card {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("meshes")
        .join(file);
    let mut loaded = read_path(&path, &ReadOptions::default()).expect("a demo part");
    card_at(&loaded.take_part().expect("a solid").0, down, 0.0)
}

/// The card of made boxes, as they are, or of any soup.
fn card_made(soup: &[[Point3<f64>; 3]]) -> Card {
    let part = Part::new(soup_part(soup, false).mesh).expect("a solid").0;
    card_at(&part, [0.0, 0.0, -1.0], 0.0)
}

fn has(card: &Card, kind: Measurement, along: BuildAxis, mm: f64, count: usize) -> bool {
    card.lines.iter().any(|l| {
        l.kind == kind
            && l.along == along
            && (l.nominal_mm - mm).abs() < 0.02 * mm
            && l.count == count
    })
}

fn all(card: &Card, kind: Measurement) -> Vec<f64> {
    let of_kind = card.lines.iter().filter(|l| l.kind == kind);
    of_kind.map(|l| l.nominal_mm).collect()
}

/// Dimensions from the table of the demo parts.
#[test]
fn the_rack_shows_its_slot_and_wells() {
    let card = card_of("valve-oil-rack.stl", [0.0, 0.0, -1.0]);
    let sizes: Vec<f64> = card.lines[..3].iter().map(|l| l.nominal_mm).collect();
    for (got, want) in sizes.iter().zip([100.0, 36.0, 34.0]) {
        assert!((got - want).abs() < 0.01, "{sizes:?}");
    }
    assert!(
        has(&card, Measurement::Bore, BuildAxis::Z, 27.0, 3),
        "{card:#?}"
    );
    assert!(
        has(&card, Measurement::Slot, BuildAxis::Y, 8.0, 1)
            || has(&card, Measurement::Slot, BuildAxis::X, 8.0, 1),
        "{card:#?}"
    );
    assert!(card.notes[0].contains("Zero the calliper"));
}

/// On its back, 114 long along X, the foot plate is 4 thick along X.
#[test]
fn the_page_holder_shows_its_plate() {
    let card = card_of("page-holder.stl", [0.0, -1.0, 0.0]);
    assert!(
        card.lines.iter().any(|l| l.kind == Measurement::Thickness
            && l.along == BuildAxis::X
            && (l.nominal_mm - 4.0).abs() < 0.01),
        "{card:#?}"
    );
}

/// A box with a rib of 3 mm across its middle, without a lid and with one.
#[test]
fn a_wall_inside_a_closed_box_is_not_gripped() {
    let rib = [[28.5, 2.0, 2.0], [31.5, 38.0, 20.0]];
    let shell = [[0.0, 0.0, 0.0], [60.0, 40.0, 30.0]];
    let open = [[2.0, 2.0, 2.0], [28.5, 38.0, 30.0]];
    let other = [[31.5, 2.0, 2.0], [58.0, 38.0, 30.0]];
    let over = [[28.5, 2.0, 20.0], [31.5, 38.0, 30.0]];
    let card = card_made(&boxes(&[shell, rib], &[open, other, over]));
    let walls = all(&card, Measurement::Thickness);
    assert!(walls.iter().any(|mm| (mm - 3.0).abs() < 0.01), "{card:#?}");
    assert!(walls.iter().any(|mm| (mm - 2.0).abs() < 0.01), "{card:#?}");
    // The jaws go over the rib from above, a few millimetres deep.
    let held = (card.lines.iter()).find(|l| (l.nominal_mm - 3.0).abs() < 0.01);
    let [_, _, z] = held.expect("the rib").at_mm;
    assert!((16.0..18.0).contains(&z), "{card:#?}");
    let closed = [open, other, over].map(|[lo, hi]| [lo, [hi[0], hi[1], 28.0]]);
    let card = card_made(&boxes(&[shell, rib], &closed));
    let inside = [Measurement::Thickness, Measurement::Slot].map(|kind| all(&card, kind));
    assert!(inside.iter().all(Vec::is_empty), "{card:#?}");
}

/// A block with slots of 1.5 and 6 mm from above, one walled in, and one of 6 mm that
/// opens 30 mm deep in a pit too deep for inside jaws.
#[test]
fn only_slots_that_jaws_get_into_are_on_the_card() {
    let block = [[0.0, 0.0, 0.0], [80.0, 30.0, 50.0]];
    let slot = |x: f64, wide: f64, z: [f64; 2]| [[x, 5.0, z[0]], [x + wide, 25.0, z[1]]];
    let slots = |holes: &[[[f64; 3]; 2]]| {
        let card = card_made(&boxes(&[block], holes));
        all(&card, Measurement::Slot)
    };
    assert_eq!(slots(&[slot(10.0, 1.5, [30.0, 50.0])]).len(), 0);
    let got = slots(&[slot(10.0, 6.0, [30.0, 50.0])]);
    // Its length of 20 mm is one as well.
    assert!(got.iter().any(|mm| (mm - 6.0).abs() < 1e-9), "{got:?}");
    assert_eq!(slots(&[slot(10.0, 6.0, [10.0, 30.0])]).len(), 0);
    let got = slots(&[slot(10.0, 6.0, [5.0, 20.0]), slot(4.0, 18.0, [20.0, 50.0])]);
    assert!(!got.iter().any(|mm| (mm - 6.0).abs() < 1e-9), "{got:?}");
    assert!(got.iter().any(|mm| (mm - 18.0).abs() < 1e-9), "{got:?}");
}

/// The middle of a plate of 200 mm is out of reach; its edge is not.
#[test]
fn a_plate_is_held_near_its_edge() {
    let plate = [[0.0, 0.0, 0.0], [140.0, 140.0, 4.0]];
    let post = [[65.0, 65.0, 4.0], [75.0, 75.0, 30.0]];
    let card = card_made(&boxes(&[plate, post], &[]));
    let thick = card
        .lines
        .iter()
        .find(|l| l.kind == Measurement::Thickness && l.along == BuildAxis::Z);
    let [x, y, _] = thick.expect("the plate").at_mm;
    assert!(x.abs().max(y.abs()) > 70.0 - 10.0, "{card:#?}");
    // Jaws do not reach from the edge to the post: the height is read on a flat plate.
    let said = "Jaws of 40 mm do not reach both ends of Z: read it with a rule and a square on a flat plate.";
    assert!(card.notes.iter().any(|n| n == said), "{:#?}", card.notes);
}

/// Tubes of 20 mm with a bore; one closed at both ends; a peg.
#[test]
fn bores_are_wide_enough_and_open_outside() {
    let tube = |r: f64| {
        revolved(
            &[[r, 0.0], [10.0, 0.0], [10.0, 30.0], [r, 30.0], [r, 0.0]],
            48,
        )
    };
    for (r, count) in [(1.2, 0), (3.0, 1)] {
        let card = card_made(&tube(r));
        assert_eq!(all(&card, Measurement::Bore).len(), count, "{card:#?}");
        assert_eq!(all(&card, Measurement::Pin).len(), 1, "{card:#?}");
    }
    let mut closed = revolved(&[[0.0, 0.0], [10.0, 0.0], [10.0, 30.0], [0.0, 30.0]], 48);
    closed.extend(revolved(
        &[[0.0, 25.0], [4.0, 25.0], [4.0, 5.0], [0.0, 5.0]],
        48,
    ));
    let card = card_made(&closed);
    assert_eq!(all(&card, Measurement::Bore).len(), 0, "{card:#?}");
    assert_eq!(all(&card, Measurement::Pin).len(), 1, "{card:#?}");
}

/// 0.25 + 0.002 · (200 − 50) = 0.55.
#[test]
fn long_sizes_need_a_longer_tool_and_have_more_tolerance() {
    let card = card_made(&boxes(&[[[0.0, 0.0, 0.0], [200.0, 30.0, 10.0]]], &[]));
    let off: Vec<f64> = card.lines.iter().map(|l| l.tolerance_mm).collect();
    assert_eq!(off[..3], [0.55, 0.25, 0.25]);
    let said = "X is longer than a common calliper of 150 mm: use a rule or a longer calliper.";
    assert!(card.notes.iter().any(|n| n == said), "{:#?}", card.notes);
    let card = card_made(&boxes(&[[[0.0, 0.0, 0.0], [200.0, 180.0, 10.0]]], &[]));
    assert!(
        card.notes
            .iter()
            .any(|n| n.starts_with("X and Y are longer than")),
        "{card:#?}"
    );
    let card = card_made(&boxes(&[[[0.0, 0.0, 0.0], [100.0, 30.0, 10.0]]], &[]));
    assert_eq!(card.notes.len(), 2, "{card:#?}");
}

#[test]
fn fits_stand_apart_from_overall_sizes_and_walls() {
    let card = card_of("valve-oil-rack.stl", [0.0, 0.0, -1.0]);
    let groups: Vec<CardGroup> = card.groups().map(|g| g.0).collect();
    assert_eq!(groups, CardGroup::ALL, "{card:#?}");
    for (group, lines) in card.groups() {
        assert!(
            lines
                .iter()
                .all(|l| l.group == group && l.kind.group() == group)
        );
    }
    let said = card.notes.last().expect("a note");
    assert!(
        said.starts_with("Slots and bores come out a little undersize"),
        "{said}"
    );
}

/// A bar of 290 mm lies across a bed of 220: X and Y are not what jaws lie along.
#[test]
fn a_part_that_stands_aslant_is_measured_along_itself() {
    let bar = boxes(
        &[
            [[0.0, 0.0, 0.0], [290.0, 20.0, 10.0]],
            [[0.0, 0.0, 10.0], [4.0, 20.0, 30.0]],
        ],
        &[],
    );
    let bar = Part::new(soup_part(&bar, false).mesh).expect("a solid").0;
    let card = card_at(&bar, [0.0, 0.0, -1.0], 38.0);
    let said: Vec<&str> = card.lines[..3].iter().map(|l| l.says.as_str()).collect();
    let want = [
        "290 mm over all along the part, at 38° to X",
        "20 mm over all across the part, at −52° to X",
        "Z 30 mm over all",
    ];
    assert_eq!(said, want);
    let along: Vec<BuildAxis> = card.lines[..3].iter().map(|l| l.along).collect();
    assert_eq!(along, [BuildAxis::Aslant, BuildAxis::Aslant, BuildAxis::Z]);
    assert_eq!(card.lines[0].label(), "along the part over all");
    let wall = (card.lines.iter()).find(|l| (l.nominal_mm - 4.0).abs() < 1e-9);
    let wall = wall.expect("the wall at the end");
    assert!(
        wall.says.starts_with("4 mm thick along the part, at x"),
        "{wall:#?}"
    );
    assert!(
        card.notes
            .iter()
            .any(|n| n.contains("its long side at 38° to X")),
        "{card:#?}"
    );
    // A quarter turn: X and Y change places.
    let card = card_at(&bar, [0.0, 0.0, -1.0], 90.0);
    let sizes: Vec<f64> = card.lines[..3].iter().map(|l| l.nominal_mm).collect();
    assert_eq!(sizes, [20.0, 290.0, 30.0]);
    let wall = (card.lines.iter()).find(|l| (l.nominal_mm - 4.0).abs() < 1e-9);
    assert_eq!(wall.map(|l| l.along), Some(BuildAxis::Y), "{card:#?}");
}
