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
        assert_eq!(all(&card, Measurement::Outside).len(), 1, "{card:#?}");
    }
    let mut closed = revolved(&[[0.0, 0.0], [10.0, 0.0], [10.0, 30.0], [0.0, 30.0]], 48);
    closed.extend(revolved(
        &[[0.0, 25.0], [4.0, 25.0], [4.0, 5.0], [0.0, 5.0]],
        48,
    ));
    let card = card_made(&closed);
    assert_eq!(all(&card, Measurement::Bore).len(), 0, "{card:#?}");
    assert_eq!(all(&card, Measurement::Outside).len(), 1, "{card:#?}");
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

/// A wheel with a hub is measured across, lying or upright; a rounded square and a polygon of twelve
/// sides are not round.
#[test]
fn a_round_outline_is_one_diameter() {
    let wheel = [
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 8.0],
        [10.0, 8.0],
        [10.0, 14.0],
        [0.0, 14.0],
    ];
    let soup = revolved(&wheel, 96);
    let says = |card: &Card| -> Vec<String> {
        let lines = card.groups().flat_map(|(_, lines)| lines);
        lines.map(|l| l.says.clone()).collect()
    };
    let upright = card_made(&soup);
    let said = says(&upright);
    assert_eq!(
        said[..2],
        [
            "outside Ø 60 mm over all about Z, measured across",
            "Z 14 mm over all"
        ]
    );
    let outside = all(&upright, Measurement::Outside);
    assert_eq!(
        outside.iter().map(|mm| mm.round()).collect::<Vec<_>>(),
        [60.0]
    );
    assert_eq!(upright.extents_mm.map(f64::round), [60.0, 60.0, 14.0]);
    // The rim is the outline and is not told again; the hub is.
    let pins = all(&upright, Measurement::Pin);
    assert_eq!(
        pins.iter().map(|mm| mm.round()).collect::<Vec<_>>(),
        [20.0],
        "{said:?}"
    );
    let part = Part::new(soup_part(&soup, false).mesh).expect("a solid").0;
    let lying = card_at(&part, [1.0, 0.0, 0.0], 0.0);
    assert_eq!(all(&lying, Measurement::Extent).len(), 1, "{lying:#?}");
    let about = lying.lines[0].along;
    assert!(about != BuildAxis::Z, "{lying:#?}");
    for sides in [4, 12] {
        let card = card_made(&revolved(&wheel, sides));
        assert!(all(&card, Measurement::Outside).is_empty(), "{sides}");
        assert_eq!(all(&card, Measurement::Extent).len(), 3, "{sides}");
    }
}

/// Bars on each other, each turned by 7.5° against the one below: at no height is there a diameter.
#[test]
fn what_goes_round_on_the_way_up_has_no_outside_diameter() {
    let step = |k: u32| {
        let low = 4.0 * f64::from(k);
        let (s, c) = libm::sincos((7.5 * f64::from(k)).to_radians());
        let bar = boxes(&[[[-30.0, -2.0, low], [30.0, 2.0, low + 4.0]]], &[]);
        let turned = move |p: Point3<f64>| Point3::new(c * p.x - s * p.y, s * p.x + c * p.y, p.z);
        bar.into_iter().map(move |t| t.map(turned))
    };
    let soup: Vec<_> = (0..24).flat_map(step).collect();
    let card = card_made(&soup);
    assert!(all(&card, Measurement::Outside).is_empty(), "{card:#?}");
}

/// A channel 24 wide, 20 high, with flanges of 3 beside a higher block: its height is no
/// thickness, that of its flanges and of its floor is one.
#[test]
fn the_depth_of_a_channel_is_no_wall() {
    let channel = [[0.0, 0.0, 0.0], [80.0, 24.0, 20.0]];
    let block = [[80.0, 0.0, 0.0], [92.0, 24.0, 32.0]];
    let groove = [[0.0, 3.0, 4.0], [80.0, 21.0, 20.0]];
    let card = card_made(&boxes(&[channel, block], &[groove]));
    let walls = all(&card, Measurement::Thickness);
    for mm in [3.0, 4.0] {
        assert!(
            walls.iter().any(|w| (w - mm).abs() < 1e-6),
            "{mm}: {walls:?}"
        );
    }
    for mm in [20.0, 16.0, 80.0] {
        assert!(
            !walls.iter().any(|w| (w - mm).abs() < 1e-6),
            "{mm}: {walls:?}"
        );
    }
}

/// Jaws of 150 mm do not open to 180 mm; walls of 2.97 and 3 mm read the same.
#[test]
fn what_no_calliper_opens_to_is_left_out_and_what_none_tells_apart_is_one() {
    let floor = |long: f64| [[0.0, 0.0, 0.0], [long + 6.0, 40.0, 4.0]];
    let walls = |long: f64| {
        [
            [[0.0, 0.0, 4.0], [2.97, 40.0, 20.0]],
            [[long + 3.0, 0.0, 4.0], [long + 6.0, 40.0, 20.0]],
        ]
    };
    for (long, slots) in [(90.0, 1), (180.0, 0)] {
        let [a, b] = walls(long);
        let card = card_made(&boxes(&[floor(long), a, b], &[]));
        assert_eq!(all(&card, Measurement::Slot).len(), slots, "{card:#?}");
        let thin = |mm: &f64| (2.9..3.1).contains(mm);
        let walls = all(&card, Measurement::Thickness);
        assert_eq!(walls.iter().filter(|mm| thin(mm)).count(), 1, "{walls:?}");
        assert!(
            card.lines
                .iter()
                .any(|l| thin(&l.nominal_mm) && l.count == 2)
        );
    }
}

/// A tube that lies, and one that stands.
#[test]
fn that_the_roof_of_a_lying_bore_sags_is_said_once() {
    let tube = [
        [3.0, 0.0],
        [10.0, 0.0],
        [10.0, 30.0],
        [3.0, 30.0],
        [3.0, 0.0],
    ];
    let part = Part::new(soup_part(&revolved(&tube, 48), false).mesh)
        .expect("a solid")
        .0;
    let notes = |down: [f64; 3]| {
        let card = card_at(&part, down, 0.0);
        assert_eq!(all(&card, Measurement::Bore).len(), 1, "{card:#?}");
        let sags = |n: &&String| n.contains("roof sags");
        card.notes.iter().filter(sags).count()
    };
    assert_eq!((notes([1.0, 0.0, 0.0]), notes([0.0, 0.0, -1.0])), (1, 0));
}

/// A rod with two necks has three rings of Ø 20 on one axis; two posts stand on two.
#[test]
fn pieces_of_one_axis_are_one_place() {
    let rod = [
        [0.0, 0.0],
        [10.0, 0.0],
        [10.0, 8.0],
        [7.0, 8.0],
        [7.0, 12.0],
        [10.0, 12.0],
        [10.0, 20.0],
        [7.0, 20.0],
        [7.0, 24.0],
        [10.0, 24.0],
        [10.0, 32.0],
        [0.0, 32.0],
    ];
    let mut soup = boxes(&[[[-40.0, -40.0, -5.0], [40.0, 40.0, 0.0]]], &[]);
    let one = revolved(&rod, 48);
    soup.extend(&one);
    let pins = |soup: &[[Point3<f64>; 3]]| {
        let card = card_made(soup);
        let wide = |l: &&Reading| l.kind == Measurement::Pin && l.nominal_mm > 19.0;
        card.lines
            .iter()
            .filter(wide)
            .map(|l| l.count)
            .sum::<usize>()
    };
    assert_eq!(pins(&soup), 1);
    let beside = |p: Point3<f64>| Point3::new(p.x + 25.0, p.y, p.z);
    soup.extend(one.iter().map(|t| t.map(beside)));
    assert_eq!(pins(&soup), 2);
}
