use super::*;
use crate::figures::feet::Foot;
use crate::figures::fixture::revolved;
use crate::materials::Material;

fn with(material: &str, figures: Figures) -> Case {
    let mut case = Case::of(figures);
    case.settings.material = Material::find(material).expect("a row");
    case
}

fn on(feet: Option<Foot>, figures: Figures) -> String {
    let mut case = Case::of(figures);
    case.traits.foot = feet;
    case.said("brim").unwrap_or_default()
}

/// Each foot of 25 mm² and 30 mm: 4 · 30 / 25 = 4.8, 4 · 2.569 = 10.3 mm, though the four
/// together, 100 mm² for 34 mm, come to 1.36.
#[test]
fn the_brim_is_judged_for_each_foot() {
    let table = Figures {
        height_mm: 34.0,
        contact_area_mm2: 100.0,
        ..calm()
    };
    let foot = Foot {
        at_mm: [-20.0, 10.0],
        area_mm2: 25.0,
        alone_mm: 30.0,
        alike: 4,
    };
    assert_eq!(
        on(Some(foot), table),
        "Brim 10 mm wide, above all round 4 feet: each has 25 mm² on the bed and stands alone for 30 mm."
    );
    // A large foot and a tiny one far off: 4 · 10 / 12 = 3.33, 4 · 2.204 = 8.8 mm. In sum there
    // is enough.
    let tiny = Foot {
        at_mm: [60.2, -4.8],
        area_mm2: 12.0,
        alone_mm: 10.0,
        alike: 1,
    };
    assert_eq!(
        on(Some(tiny), calm()),
        "Brim 9 mm wide round the foot of 12 mm² at x 60, y \u{2212}5 from the middle: it stands alone for 10 mm."
    );
    let enough = Foot {
        area_mm2: 200.0,
        ..tiny
    };
    let said = on(Some(enough), calm());
    assert_eq!(said, "");
}

/// A foot in the mesh: a plate on a block of 20 × 20 and a post of 4 × 3.
#[test]
fn the_foot_is_found_in_a_mesh() {
    let boxes = [
        [[0.0, 0.0, 0.0], [20.0, 20.0, 10.0]],
        [[60.0, 8.0, 0.0], [64.0, 11.0, 10.0]],
        [[0.0, 0.0, 10.0], [64.0, 20.0, 14.0]],
    ];
    let said = told_of(&boxes, &[], "PLA");
    let brim = said.iter().find(|s| s.starts_with("Brim")).expect("a brim");
    assert!(
        brim.starts_with("Brim 9 mm wide round the foot of 12 mm² at x 30, y 0 from the middle"),
        "{said:?}"
    );
}

#[test]
fn soft_material_lifts_no_corner_and_needs_no_closed_machine() {
    // 0.00375 · 300 mm of free contraction.
    let long = Figures {
        base_shrinkage_mm: 1.125,
        ..calm()
    };
    let soft = with("TPU", long.clone());
    assert_eq!(soft.said("brim"), None);
    assert_eq!(soft.said("draught"), None);
    let stiff = with("ABS", long);
    assert!(stiff.said("brim").expect("said").starts_with("Brim 8 mm"));
    assert!(stiff.said("draught").expect("said").contains("closed"));
}

#[test]
fn the_fan_of_a_bridge_fits_the_material() {
    let bridge = Figures {
        bridges: vec![Bridge {
            z_mm: 7.0,
            span_mm: 8.0,
            area_mm2: 80.0,
            direction_deg: 0.0,
            around_hole: None,
            across: None,
        }],
        bridge_longest_mm: 8.0,
        ..calm()
    };
    for (material, fan) in [
        ("PLA", "full fan"),
        ("TPU", "full fan"),
        ("PETG", "fan at about half"),
        ("ABS", "little or no fan (ABS warps)"),
        ("PC", "little or no fan (PC warps)"),
    ] {
        let said = with(material, bridge.clone()).said("bridge").expect("said");
        assert!(said.contains(fan), "{said}");
        assert_eq!(said.contains("full fan"), fan == "full fan", "{said}");
    }
}

#[test]
fn only_filament_that_takes_up_water_is_dried() {
    let said = |material| with(material, calm()).said("drying");
    for dry in ["PLA", "ABS", "ASA"] {
        assert_eq!(said(dry), None);
    }
    assert_eq!(
        said("PA").as_deref(),
        Some(
            "Dry the PA for about 10 h at 80 °C first and keep it dry while it prints: damp, it strings and its layers hold less."
        )
    );
    for wet in ["PC", "TPU"] {
        assert!(said(wet).expect("said").starts_with("Dry the "));
    }
    let light = said("PETG").expect("said");
    assert_eq!(
        light,
        "Dry PETG that has stood open for about 4 h at 65 °C: damp, it strings."
    );
}

#[test]
fn detail_and_bores_on_the_bed_are_told() {
    let mut case = Case::of(calm());
    case.near = BedDetail {
        islands: 2,
        ..BedDetail::default()
    };
    assert_eq!(case.said("detail_on_the_bed"), None);
    case.near.grooves = 4;
    assert!(
        case.said("detail_on_the_bed")
            .expect("said")
            .contains("2 raised spots, 4 sunk spots")
    );
    case.traits.holes = holes(&[5.0, 4.5, 5.0]);
    assert_eq!(
        case.said("bores_on_the_bed").as_deref(),
        Some(
            "Set first-layer compensation to about 0.2 mm: the first layer squeezes 3 holes on the bed narrower (Ø 4.5, 5 mm)."
        )
    );
    case.near.openings.shaped_mm = vec![5.7, 12.0];
    assert_eq!(
        case.said("bores_on_the_bed").as_deref(),
        Some(
            "Set first-layer compensation to about 0.2 mm: the first layer squeezes 5 holes on the bed narrower (Ø 4.5, 5 mm; 5.7, 12 mm wide)."
        )
    );
    case.near.openings.shaped_mm.clear();
    // One that was found as a bore too, and one that was not.
    case.near.openings.round_mm = vec![5.1, 12.0];
    let said = case.said("bores_on_the_bed").expect("said");
    assert!(
        said.contains("squeezes 4 holes on the bed narrower (Ø 4.5, 5, 12 mm)"),
        "{said}"
    );
    case.near.openings.round_mm.clear();
    // A chamfer: the round wall begins higher up.
    case.traits.holes[0].from_mm = 0.5;
    case.traits.holes.truncate(1);
    assert_eq!(case.said("bores_on_the_bed"), None);
    case.near.openings.shaped_mm.push(5.7);
    assert_eq!(
        case.said("bores_on_the_bed").as_deref(),
        Some(
            "Set first-layer compensation to about 0.2 mm: the first layer squeezes the hole on the bed narrower (5.7 mm wide)."
        )
    );
}

/// A plate with a slot of 4 × 14 through it, and one with a groove on the bed that is closed above.
#[test]
fn a_slot_on_the_bed_is_found_in_a_mesh() {
    let plate = [[[0.0; 3], [60.0, 40.0, 6.0]]];
    let slot = |deep: f64| told_of(&plate, &[[[20.0, 10.0, 0.0], [24.0, 24.0, deep]]], "PLA");
    let says = "the first layer squeezes the hole on the bed narrower (4 mm wide)";
    let said = slot(6.0);
    assert!(said.iter().any(|s| s.contains(says)), "{said:?}");
    let said = slot(1.0);
    assert!(!said.iter().any(|s| s.contains("compensation")), "{said:?}");
}

/// A turned part that stands on a sharp ring, and one that stands on a disc.
#[test]
fn what_stands_on_an_edge_is_sunk_into_the_bed() {
    let says = |profile: &[[f64; 2]]| {
        let all = told_of_soup(&revolved(profile, 48), "PLA");
        all.iter()
            .any(|s| s.starts_with("Sink the part 0.2 mm into the bed"))
    };
    let rim = [[25.0, 10.0], [25.0, 20.0], [0.0, 20.0]];
    assert!(says(&[&[[0.0, 10.0], [15.0, 0.0]][..], &rim].concat()));
    assert!(!says(&[&[[0.0, 0.0], [15.0, 0.0]][..], &rim].concat()));
}
