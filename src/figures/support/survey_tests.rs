use super::*;
use crate::figures::fixture::{boxes, moved, part, posed, sphere};
use crate::figures::support::tests::{comb, hollow, pi, sharp, tee};
use crate::figures::support::{Support, support};
use crate::mesh::Part;
use crate::pose::lattice::spiral;
use nalgebra::UnitQuaternion;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

type Soup = Vec<[Point3<f64>; 3]>;

fn brief(soup: &Soup, down: [f64; 3], settings: &Settings) -> SurveyedSupport {
    let part = part(soup, false);
    let down = Unit::new_normalize(Vector3::from(down));
    Survey::new(&part).support(&down, settings, Stop::never())
}

fn full(part: &Part, down: &Unit<Vector3<f64>>, settings: &Settings) -> Support {
    let turn = UnitQuaternion::from_rotation_matrix(&crate::pose::down_rotation(down));
    support(
        &posed(part, turn),
        settings,
        &|_, _, _| false,
        Stop::never(),
    )
}

fn ball_over_plate(gap: f64) -> Soup {
    let plate = boxes(&[[[-15.0, -15.0, 0.0], [15.0, 15.0, 4.0]]], &[]);
    let ball = moved(&sphere(10.0, 256), [0.0, 0.0, 14.0 + gap]);
    plate.into_iter().chain(ball).collect()
}

/// ∫ (R − √(R² − r²)) 2πr dr from `from` to R·cos 45°, R = 10.
fn under_ball(from: f64) -> f64 {
    let (radius, to) = (10.0_f64, 10.0 * FRAC_1_SQRT_2);
    let whole =
        |r: f64| PI * radius * r * r + 2.0 / 3.0 * PI * libm::pow(radius * radius - r * r, 1.5);
    whole(to) - whole(from)
}

#[test]
fn solids_have_the_support_of_their_formula() {
    // Boxes: worked examples T10 to T13, derived by hand. Balls: the integral above, from
    // touch height (0.1 mm) up on the bed; over a plate the gap is added over the disc.
    let on_bed = (2.0 * 10.0 * 0.1 - 0.01_f64).sqrt();
    let ball: Soup = sphere(10.0, 256);
    let disc = PI * 50.0;
    for (name, soup, down, expected) in [
        ("T upright", tee(), [0.0, 0.0, -1.0], 4000.0),
        ("T inverted", tee(), [0.0, 0.0, 1.0], 0.0),
        ("T on end", tee(), [-1.0, 0.0, 0.0], 2000.0),
        ("bridge", pi(), [0.0, 0.0, -1.0], 3000.0),
        ("bridge on a leg", pi(), [1.0, 0.0, 0.0], 3000.0),
        ("comb inverted", comb(), [0.0, 0.0, 1.0], 15200.0),
        ("hollow cube", hollow(), [0.0, 1.0, 0.0], 4096.0),
        ("ball", ball.clone(), [0.0, 0.0, -1.0], under_ball(on_bed)),
        (
            "ball on its side",
            ball,
            [0.6, 0.8, 0.0],
            under_ball(on_bed),
        ),
        (
            "ball over a plate",
            ball_over_plate(5.0),
            [0.0, 0.0, -1.0],
            under_ball(0.0) + 5.0 * disc,
        ),
    ] {
        let s = brief(&soup, down, &sharp());
        println!("{name}: {s:?}, expected {expected}");
        assert!(s.resolved, "{name}");
        assert!(s.error_mm3 <= (0.02 * s.volume_mm3).max(1.0), "{name}");
        // The balls have facets 1.4° wide, and a facet is overhang as a whole or not at all.
        let facets = if name.starts_with("ball") { 0.01 } else { 0.0 };
        let off = (s.volume_mm3 - expected).abs();
        assert!(off <= s.error_mm3 + facets * expected, "{name}: {s:?}");
    }
}

#[test]
fn directions_have_the_support_measured_in_full() {
    let settings = Settings::default();
    let (mut n, mut outside) = (0, 0);
    for soup in [tee(), pi(), comb(), hollow(), ball_over_plate(3.0)] {
        let part = part(&soup, false);
        let survey = Survey::new(&part);
        for down in spiral(40) {
            let s = survey.support(&down, &settings, Stop::never());
            let whole = full(&part, &down, &settings);
            let off = (s.volume_mm3 - whole.volume_mm3).abs();
            assert!(s.resolved, "{down:?}: {s:?}");
            assert!(
                off <= (0.02 * whole.volume_mm3).max(1.0) + whole.error_mm3,
                "{down:?}: {s:?}, {whole:?}"
            );
            n += 1;
            outside += usize::from(off > s.error_mm3 + whole.error_mm3);
        }
    }
    // The error is said to hold in 99 cases of 100.
    assert!(outside * 100 <= n, "{outside} of {n}");
}

#[test]
fn a_part_without_overhang_and_one_without_triangles_have_none() {
    let cube = boxes(&[[[0.0; 3], [10.0; 3]]], &[]);
    for soup in [cube, Vec::new()] {
        let s = brief(&soup, [0.0, 0.0, -1.0], &Settings::default());
        assert_eq!((s.volume_mm3, s.error_mm3, s.resolved), (0.0, 0.0, true));
    }
}

#[test]
fn it_ends_when_it_is_told_to() {
    let part = part(&tee(), false);
    let asked = std::sync::atomic::AtomicUsize::new(0);
    let stop = || {
        asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        true
    };
    let down = -Vector3::z_axis();
    let s = Survey::new(&part).support(&down, &Settings::default(), Stop::when(&stop));
    assert_eq!(s.volume_mm3, 0.0);
    assert!(asked.into_inner() > 0);
}
