use super::*;
use crate::figures::mock::{Stack, disc, rectangle, ring, square};
use crate::figures::{Layers, Piece, Section};
use crate::settings::Settings;
use approx::assert_relative_eq;
use nalgebra::Point2;

fn of(stack: &Stack) -> Vec<Stretch> {
    of_layers(&stack.layers())
}

fn of_layers(layers: &Layers) -> Vec<Stretch> {
    let settings = Settings::default();
    let tree = PieceTree::new(layers, settings.line_mm);
    stretches(&tree, settings.line_mm, settings.material.e_mpa)
}

/// `(from, to, footing)` of every stretch.
fn runs(stretches: &[Stretch]) -> Vec<(f64, f64, Footing)> {
    let tidy = |x: f64| (x * 1e6).round() / 1e6;
    stretches
        .iter()
        .map(|s| (tidy(s.from_mm), tidy(s.to_mm), s.footing))
        .collect()
}

#[test]
fn slender_post_on_a_plate_is_height_over_width() {
    // Closed form of the definition: h / a.
    let s = Stack::new(0.2)
        .up_to(3.0, &[square(0.0, 0.0, 30.0)])
        .up_to(43.0, &[square(5.0, 5.0, 4.0)]);
    let all = of(&s);
    assert_eq!(
        runs(&all),
        [(0.0, 3.0, Footing::Bed), (3.0, 43.0, Footing::Part)]
    );
    let worst = slenderest(&all).unwrap();
    assert_relative_eq!(worst.ratio, 10.0, max_relative = 1e-9);
    assert_relative_eq!(worst.width_mm, 4.0, max_relative = 1e-9);
    assert_relative_eq!(worst.tip_mm[..], [5.0, 5.0, 43.0][..], max_relative = 1e-9);
    assert_relative_eq!(all[0].ratio, 0.1, max_relative = 1e-9);
}

#[test]
fn slender_comb_has_five_tines_of_twenty() {
    // T12: base 40 × 10 × 4, five tines 2 × 2 × 40: height over width 20; each alone
    // T23: 4.57143 mm per N at E 3500; the base below adds ∫ s²/(E·I), worked by hand.
    let tines: Vec<_> = (0..5)
        .map(|k| square(4.0 + 8.0 * f64::from(k), 5.0, 2.0))
        .collect();
    let s = Stack::new(0.2)
        .up_to(4.0, &[rectangle(20.0, 5.0, 40.0, 10.0)])
        .up_to(44.0, &tines);
    let all = of(&s);
    assert_eq!(all.len(), 6);
    for tine in &all[1..] {
        assert_relative_eq!(tine.ratio, 20.0, max_relative = 1e-9);
        let base = (44.0_f64.powi(3) - 40.0_f64.powi(3)) / 3.0 / (3500.0 * 40.0 * 1000.0 / 12.0);
        assert_relative_eq!(
            tine.sway_mm_per_n,
            4.571_428_571 + base,
            max_relative = 1e-9
        );
    }
    assert_relative_eq!(
        slenderest(&all).unwrap().tip_mm[0],
        4.0,
        max_relative = 1e-9
    );
}

#[test]
fn sway_of_a_standing_post_matches_the_cantilever_tables() {
    // T23: 2 × 2 × 40; T24: Ø 3 × 30; both E 3500 N/mm². Doubling the height: × 8.
    let sway = |piece: Piece, height| softest_sway(&of(&Stack::new(0.2).up_to(height, &[piece])));
    assert_relative_eq!(
        sway(square(0.0, 0.0, 2.0), 40.0),
        4.571_43,
        max_relative = 1e-6
    );
    assert_relative_eq!(
        sway(disc(0.0, 0.0, 1.5, 2000), 30.0),
        0.646_725,
        max_relative = 1e-5
    );
    let (low, tall) = (
        sway(square(0.0, 0.0, 2.0), 20.0),
        sway(square(0.0, 0.0, 2.0), 40.0),
    );
    assert_relative_eq!(tall / low, 8.0, max_relative = 1e-9);
}

#[test]
fn sway_of_stepped_and_tapered_posts_matches_the_integral() {
    let e = 3500.0;
    let inertia = |a: f64| a.powi(4) / 12.0;
    let stepped = Stack::new(0.2)
        .up_to(10.0, &[square(0.0, 0.0, 4.0)])
        .up_to(30.0, &[square(0.0, 0.0, 2.5)]);
    let expected = (30.0_f64.powi(3) - 20.0_f64.powi(3)) / (3.0 * e * inertia(4.0))
        + 20.0_f64.powi(3) / (3.0 * e * inertia(2.5));
    assert_relative_eq!(softest_sway(&of(&stepped)), expected, max_relative = 1e-9);
    // Square taper a₀ at the base, a₁ at the tip: 12/E·∫ s²/a(s)⁴ ds = 4L³/(E·a₁·a₀³).
    let (base, tip, length) = (6.0, 3.0, 40.0);
    let taper = Stack::new(0.1).shaped(length, |z| {
        vec![square(0.0, 0.0, base + (tip - base) * z / length)]
    });
    let expected = 4.0 * length.powi(3) / (e * tip * base.powi(3));
    assert_relative_eq!(softest_sway(&of(&taper)), expected, max_relative = 1e-4);
}

#[test]
fn slender_taper_is_one_stretch_whatever_its_slope_and_place() {
    for (height, radius) in [(60.0, 2.0), (20.0, 20.0), (5.0, 60.0)] {
        for shift in [0.02, 0.05, 0.1, 0.15, 0.19] {
            // The apex lies at a different height within its layer each time.
            let apex = height - 0.2 + shift;
            let cone = Stack::new(0.2).shaped(height, |z| {
                vec![disc(0.0, 0.0, radius * (1.0 - z / apex).max(0.0), 24)]
            });
            let all = of(&cone);
            assert_eq!(all.len(), 1, "{height} {radius} {shift}: {:?}", runs(&all));
            assert!(all[0].to_mm > height - 0.5);
        }
    }
}

#[test]
fn slender_legs_end_where_they_merge_and_a_post_starts_on_top() {
    let legs = [square(-10.0, 0.0, 3.0), square(10.0, 0.0, 3.0)];
    let s = Stack::new(0.2)
        .up_to(15.0, &legs)
        .up_to(18.0, &[rectangle(0.0, 0.0, 30.0, 6.0)])
        .up_to(30.0, &[square(0.0, 0.0, 2.0)]);
    let expected = [
        (0.0, 15.0, Footing::Bed),
        (0.0, 15.0, Footing::Bed),
        (15.0, 18.0, Footing::Part),
        (18.0, 30.0, Footing::Part),
    ];
    assert_eq!(runs(&of(&s)), expected);
}

#[test]
fn slender_head_on_a_neck_stays_one_stretch_of_median_width() {
    let s = Stack::new(0.2)
        .up_to(30.0, &[square(0.0, 0.0, 2.0)])
        .up_to(40.0, &[square(0.0, 0.0, 12.0)]);
    let all = of(&s);
    assert_eq!(runs(&all), [(0.0, 40.0, Footing::Bed)]);
    assert_relative_eq!(all[0].ratio, 20.0, max_relative = 1e-9);
}

#[test]
fn slender_median_goes_by_height() {
    // A thick first layer weighs by its height: 2 mm of 4 and 2 mm of 6 wide give 5.
    assert_eq!(median(&[(6.0, 0.5), (4.0, 2.0), (6.0, 1.5)]), 5.0);
    assert_eq!(median(&[(6.0, 0.5), (4.0, 2.1), (6.0, 1.5)]), 4.0);
    assert_eq!(median(&[(1.0, 1.0)]), 1.0);
    assert_eq!(median(&[]), 0.0);
}

#[test]
fn slender_bumps_neither_branch_nor_count() {
    // Raised letters 0.4 mm high beside a post: the tower goes on into the post.
    let tower = square(0.0, 0.0, 10.0);
    let (post, letter) = (square(-1.0, 0.0, 7.5), square(4.0, 4.0, 1.0));
    let s = Stack::new(0.2)
        .up_to(20.0, &[tower])
        .up_to(20.4, &[post.clone(), letter])
        .up_to(40.0, &[post]);
    assert_eq!(runs(&of(&s)), [(0.0, 40.0, Footing::Bed)]);
    // Nothing but bumps on top: the stretch ends at the highest.
    let crown = Stack::new(0.2)
        .up_to(20.0, &[square(0.0, 0.0, 10.0)])
        .up_to(20.2, &[square(-3.0, 0.0, 1.0), square(3.0, 0.0, 1.0)])
        .up_to(20.4, &[square(3.0, 0.0, 1.0)]);
    assert_eq!(runs(&of(&crown)), [(0.0, 20.4, Footing::Bed)]);
    // The same prongs, four layers high, are branches.
    let prongs = Stack::new(0.2)
        .up_to(20.0, &[square(0.0, 0.0, 10.0)])
        .up_to(20.8, &[square(-3.0, 0.0, 1.0), square(3.0, 0.0, 1.0)]);
    assert_eq!(of(&prongs).len(), 3);
}

#[test]
fn slender_hanging_arm_has_its_own_stretch_and_braces_nothing() {
    // A hook: post to 50 mm, an arm that hangs from 30 mm up to the beam at 45 mm.
    let (post, arm) = (square(0.0, 0.0, 4.0), square(20.0, 0.0, 3.0));
    let beam = rectangle(9.75, 0.0, 23.5, 4.0);
    let s = Stack::new(0.2)
        .up_to(30.0, std::slice::from_ref(&post))
        .up_to(45.0, &[post, arm])
        .up_to(50.0, &[beam]);
    let all = of(&s);
    assert_eq!(
        runs(&all),
        [(0.0, 50.0, Footing::Bed), (30.0, 45.0, Footing::Air)]
    );
    // The arm bends from its own start.
    let arm_sway = 15.0_f64.powi(3) / (3.0 * 3500.0 * 81.0 / 12.0);
    assert_relative_eq!(all[1].sway_mm_per_n, arm_sway, max_relative = 1e-9);
}

#[test]
fn slender_tube_with_a_pin_inside_keeps_them_apart() {
    let s = Stack::new(0.2)
        .up_to(2.0, &[disc(0.0, 0.0, 12.0, 90)])
        .up_to(
            32.0,
            &[ring(0.0, 0.0, 12.0, 10.0, 90), square(0.0, 0.0, 3.0)],
        );
    let all = of(&s);
    assert_eq!(all.len(), 3);
    assert_relative_eq!(slenderest(&all).unwrap().ratio, 10.0, max_relative = 1e-9);
}

#[test]
fn slender_leaning_post_is_followed() {
    // 45° lean: each layer lies 0.2 mm further on.
    let s = Stack::new(0.2).shaped(30.0, |z| vec![square(z, 0.0, 3.0)]);
    let all = of(&s);
    assert_eq!(runs(&all), [(0.0, 30.0, Footing::Bed)]);
    assert_relative_eq!(all[0].tip_mm[0], 29.9, max_relative = 1e-9);
}

#[test]
fn slender_ratio_is_the_same_at_any_scale_and_turn() {
    let ratio = |scale: f64, turn: f64| {
        let (s, c) = libm::sincos(turn);
        let place = |p: &Piece| {
            let map = |q: &Point2<f64>| {
                Point2::new(scale * (c * q.x - s * q.y), scale * (s * q.x + c * q.y))
            };
            Piece::from_loops(p.outer.iter().map(map).collect(), vec![])
        };
        let stack = Stack::new(0.2 * scale)
            .up_to(2.0 * scale, &[place(&square(0.0, 0.0, 20.0))])
            .up_to(
                32.0 * scale,
                &[
                    place(&rectangle(2.0, 1.0, 3.0, 5.0)),
                    place(&square(-6.0, 0.0, 4.0)),
                ],
            );
        slenderest(&of(&stack)).unwrap().ratio
    };
    for (scale, turn) in [(1.0, 0.0), (3.0, 0.4), (0.5, 2.0)] {
        assert_relative_eq!(ratio(scale, turn), 10.0, max_relative = 1e-9);
    }
}

#[test]
fn slender_of_nothing_or_little_is_none() {
    for stack in [
        Stack::new(0.2),
        Stack::new(0.2).up_to(0.6, &[square(0.0, 0.0, 5.0)]),
    ] {
        let all = of(&stack);
        assert!(all.is_empty());
        assert_eq!(slenderest(&all), None);
        assert_eq!(softest_sway(&all), 0.0);
    }
    // Sections without levels, and pieces without area, do no harm.
    let odd = Layers {
        sections: vec![
            Section {
                z_mm: 0.1,
                pieces: vec![Piece::default(), square(0.0, 0.0, 1.0)]
            };
            6
        ],
        levels_mm: vec![],
    };
    let all = of_layers(&odd);
    assert!(all.iter().all(|s| s.ratio == 0.0 && s.sway_mm_per_n == 0.0));
}
