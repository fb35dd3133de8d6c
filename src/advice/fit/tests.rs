use crate::advice::measure;
use crate::figures::fixture::{boxes, part as soup_part};
use crate::figures::quick::Bench;
use crate::mesh::Part;
use crate::pose::Hull;
use crate::settings::Settings;
use nalgebra::{Unit, Vector3};

/// What is said of a bar or plate on a bed of 220 × 220 mm in PLA.
fn said(size: [f64; 3], bed_mm: [f64; 3]) -> Vec<String> {
    let soup = boxes(&[[[0.0; 3], size]], &[]);
    let part = Part::new(soup_part(&soup, false).mesh).expect("a box").0;
    let settings = Settings {
        bed_mm,
        ..Settings::default()
    };
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    let bench = Bench::new(&part, &settings, hull);
    measure(&bench, Unit::new_unchecked(-Vector3::z())).reasons
}

const BED: [f64; 3] = [220.0, 220.0, 250.0];

/// (290 + 10)/√2 = 212.1: 3.9 mm to each edge. A bar of 290 mm of PLA pulls 0.69 mm:
/// demand 1.53, a brim of 4 · (1 + ln 1.53) = 5.7, 6 mm.
#[test]
fn a_bar_that_fits_the_diagonal_says_so_with_angle_and_brim() {
    let said = said([290.0, 10.0, 5.0], BED);
    let want = "Fits the bed only aslant, its long side at 45° to the front edge: the file that `wayup turn` writes has it that way. The bed has room for only 3 mm of the 6 mm brim: make it that wide, or use a larger bed.";
    assert!(said.iter().any(|s| s == want), "{said:#?}");
}

/// (300 + 11)/√2 = 219.9.
#[test]
fn a_bar_that_just_fits_has_no_room_for_a_brim() {
    let said = said([300.0, 11.0, 5.0], BED);
    let want =
        "The bed has no room for the brim of 6 mm: use glue on the bed instead, or a larger bed.";
    assert!(said.iter().any(|s| s.ends_with(want)), "{said:#?}");
}

/// Straight there are 3 mm at each end; on the diagonal, (214 + 20)/√2 = 165.5, 27.
#[test]
fn a_bar_too_long_for_its_brim_is_turned() {
    let said = said([214.0, 20.0, 2.0], BED);
    let want = "As it stands there is room for a brim of 3 mm only: turn it by 45° about Z on the bed for the brim of 5 mm.";
    assert!(said.iter().any(|s| s == want), "{said:#?}");
}

#[test]
fn a_plate_that_fills_the_bed_says_what_brim_has_room() {
    let said = said([215.0, 215.0, 3.0], BED);
    let want =
        "The bed has room for only 2 mm of the 6 mm brim: make it that wide, or use a larger bed.";
    assert!(said.iter().any(|s| s == want), "{said:#?}");
}

#[test]
fn a_quarter_turn_is_said_and_a_plain_fit_is_not() {
    let quarter = said([240.0, 20.0, 5.0], [220.0, 270.0, 250.0]);
    let want = "Fits the bed only with its long side from front to back: the file that `wayup turn` writes has it that way.";
    assert!(quarter.iter().any(|s| s == want), "{quarter:#?}");
    for size in [[100.0, 50.0, 10.0], [60.0, 60.0, 5.0]] {
        let plain = said(size, BED);
        assert!(
            !plain
                .iter()
                .any(|s| s.contains("bed has") || s.contains("its long side")),
            "{plain:#?}"
        );
    }
}
