use crate::gauge::card::*;
use crate::mesh::bvh::FacetBvh;
use crate::mesh::{ReadOptions, read_path};
use std::path::Path;

fn card_of(file: &str, down: [f64; 3]) -> Card {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("meshes")
        .join(file);
    let mut loaded = read_path(&path, &ReadOptions::default()).expect("a demo part");
    let part = loaded.take_part().expect("a solid").0;
    let down = Unit::new_normalize(Vector3::from(down));
    let level = Pose::new(&down, &part.mesh.vertices);
    let posed = crate::pose::Posed::new(&part, level.clone());
    let [x, y] = posed.footprint_mm();
    let features = Features::new(&part);
    let opposite = features.opposite(&part, &FacetBvh::new(&part.mesh));
    card(
        &features,
        opposite,
        &level,
        [x, y, posed.height_mm],
        &Settings::default(),
    )
}

fn has(card: &Card, kind: Measurement, along: BuildAxis, mm: f64, count: usize) -> bool {
    card.lines.iter().any(|l| {
        l.kind == kind
            && l.along == along
            && (l.nominal_mm - mm).abs() < 0.02 * mm
            && l.count == count
    })
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
