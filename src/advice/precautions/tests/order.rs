use super::*;

/// A part for which nearly every rule has something to say.
fn crowded() -> Case {
    let f = Figures {
        support_needed_mm3: 3000.0,
        support_trapped_mm3: 400.0,
        overhang_charged_mm2: 500.0,
        cantilever_longest_mm: 9.0,
        base_shrinkage_mm: 2.0,
        islands: vec![Island {
            z_mm: 3.0,
            area_mm2: 4.0,
            graze: false,
        }],
        bridges: vec![Bridge {
            z_mm: 7.0,
            span_mm: 8.0,
            area_mm2: 80.0,
            direction_deg: 0.0,
            around_hole: None,
            across: None,
        }],
        ..calm()
    };
    let mut case = Case::of(f);
    case.settings.material = crate::materials::Material::find("PC").expect("a row");
    case.near.islands = 5;
    case.traits.holes = holes(&[5.0]);
    case.traits.seam = Some(traits::LayerSeam::Round(40.0));
    case
}

#[test]
fn no_more_is_said_than_is_read_and_the_least_goes_first() {
    let notes = crowded().notes();
    let keys: Vec<&str> = notes.iter().map(|n| n.key).collect();
    assert_eq!(
        keys,
        [
            "detail_on_the_bed",
            "drying",
            "brim",
            "draught",
            "bores_on_the_bed",
            "support",
            "trapped_support",
            "undersize_holes",
        ]
    );
    assert_eq!(keys.len(), MOST_NOTES);
}

#[test]
fn the_file_comes_first_then_turning_then_the_machine_then_what_is_left_to_do() {
    let at = |key: Precaution| RULES.iter().position(|r| r.key == key).expect("a rule");
    let order = [
        Precaution::OpenSurface,
        Precaution::TooLarge,
        Precaution::Brim,
        Precaution::Support,
        Precaution::Bridge,
        Precaution::LineOnTheSide,
        Precaution::NutFit,
        Precaution::CleanUp,
    ];
    assert!(order.map(at).is_sorted(), "{:?}", order.map(at));
}
