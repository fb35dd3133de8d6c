use super::*;
use crate::figures::fixture::{
    boxes, lying_hole, moved, part, posed, revolved, sphere, volume, yaw,
};
use nalgebra::{Point3, UnitQuaternion, Vector3};
use std::f64::consts::{FRAC_PI_2, PI};

pub(super) type Soup = Vec<[Point3<f64>; 3]>;
const BRIDGED_NOWHERE: fn(f64, f64, f64) -> bool = |_, _, _| false;

/// A limit of 45° sharp: the settings' limit less the margin.
pub(super) fn sharp() -> Settings {
    Settings {
        limit_deg: 44.5,
        ..Settings::default()
    }
}

pub(super) fn measure(soup: &Soup, turn: UnitQuaternion<f64>, settings: &Settings) -> Support {
    let part = part(soup, false);
    support(
        &posed(&part, turn),
        settings,
        &BRIDGED_NOWHERE,
        Stop::never(),
    )
}

/// Turns the direction `down` of the part to −Z, then `deg` about Z.
fn down(d: [f64; 3], deg: f64) -> UnitQuaternion<f64> {
    yaw(deg) * crate::pose::down_rotation(&nalgebra::Unit::new_normalize(Vector3::from(d)))
}

fn assert_within(found: f64, true_value: f64, error: f64) {
    assert!(
        (found - true_value).abs() <= error + 1e-9 * true_value.abs(),
        "{found} is not {true_value} ± {error}"
    );
}

fn cube(lo: [f64; 3], side: f64) -> [[f64; 3]; 2] {
    [lo, lo.map(|x| x + side)]
}

pub(super) fn tee() -> Soup {
    boxes(
        &[
            [[10.0, 0.0, 0.0], [20.0, 10.0, 20.0]],
            [[0.0, 0.0, 20.0], [30.0, 10.0, 25.0]],
        ],
        &[],
    )
}

pub(super) fn pi() -> Soup {
    boxes(
        &[
            [[0.0, 0.0, 0.0], [5.0, 10.0, 15.0]],
            [[25.0, 0.0, 0.0], [30.0, 10.0, 15.0]],
            [[0.0, 0.0, 15.0], [30.0, 10.0, 20.0]],
        ],
        &[],
    )
}

pub(super) fn comb() -> Soup {
    let tines = (0..5).map(|k| {
        let x = 3.0 + 8.0 * f64::from(k);
        [[x, 4.0, 4.0], [x + 2.0, 6.0, 44.0]]
    });
    let solid: Vec<_> = tines
        .chain([[[0.0, 0.0, 0.0], [40.0, 10.0, 4.0]]])
        .collect();
    boxes(&solid, &[])
}

pub(super) fn hollow() -> Soup {
    boxes(&[cube([0.0; 3], 20.0)], &[cube([2.0; 3], 16.0)])
}

#[test]
fn fixtures_are_closed_and_face_outward() {
    // Volumes from the worked examples T10 to T13, and V = 4πR³/3.
    for (soup, expected) in [
        (tee(), 3500.0),
        (pi(), 3000.0),
        (comb(), 2400.0),
        (hollow(), 3904.0),
    ] {
        assert_within(volume(&soup), expected, 1e-9);
    }
    assert_within(volume(&sphere(10.0, 256)), 4000.0 / 3.0 * PI, 3.0);
    assert_within(
        volume(&lying_hole(8.0, 5.0, 12.0, 256)),
        12.0 * (256.0 - 25.0 * PI),
        0.5,
    );
}

#[test]
fn whole_parts_have_the_support_of_their_table() {
    // Worked examples T10 to T12 (derived by hand): pose, support in mm³. Only
    // the piece above half the first layer counts, which here is all of it.
    let rows: [(&str, Soup, [f64; 3], f64); 14] = [
        ("T upright", tee(), [0.0, 0.0, -1.0], 4000.0),
        ("T inverted", tee(), [0.0, 0.0, 1.0], 0.0),
        ("T flat", tee(), [0.0, -1.0, 0.0], 0.0),
        ("T on end", tee(), [-1.0, 0.0, 0.0], 2000.0),
        ("Π upright", pi(), [0.0, 0.0, -1.0], 3000.0),
        ("Π inverted", pi(), [0.0, 0.0, 1.0], 0.0),
        ("Π flat", pi(), [0.0, 1.0, 0.0], 0.0),
        ("Π on a leg", pi(), [1.0, 0.0, 0.0], 3000.0),
        ("comb upright", comb(), [0.0, 0.0, -1.0], 0.0),
        ("comb inverted", comb(), [0.0, 0.0, 1.0], 15200.0),
        ("comb flat", comb(), [0.0, -1.0, 0.0], 1600.0),
        ("comb on end", comb(), [-1.0, 0.0, 0.0], 2160.0),
        ("hollow cube", hollow(), [0.0, 0.0, -1.0], 4096.0),
        ("hollow cube on its side", hollow(), [0.0, 1.0, 0.0], 4096.0),
    ];
    for (name, soup, d, expected) in rows {
        for deg in [0.0, 17.0, 45.0, 90.0] {
            let s = measure(&soup, down(d, deg), &Settings::default());
            println!("{name} {deg}: {s:?}");
            assert_within(s.volume_mm3, expected, s.error_mm3);
            assert!(
                s.resolved && s.error_mm3 <= (0.005 * expected).max(1.0),
                "{name}: {s:?}"
            );
            assert_eq!(s.after_bridges_mm3, s.volume_mm3);
            assert_eq!(s.unmatched_columns, 0);
        }
    }
}

#[test]
fn a_closed_cavity_traps_its_support_and_an_open_one_does_not() {
    // T13: void 16 × 16 × 16, all of it under its ceiling.
    let s = measure(&hollow(), yaw(0.0), &Settings::default());
    assert_within(s.trapped_mm3, 4096.0, 1e-6);
    assert_within(s.scar.below, 256.0, 1e-6);
    assert_within(s.scar.above, 256.0, 1e-6);
    let window = [[8.0, -1.0, 8.0], [12.0, 3.0, 12.0]];
    let opened = boxes(&[cube([0.0; 3], 20.0)], &[cube([2.0; 3], 16.0), window]);
    let s = measure(&opened, yaw(30.0), &Settings::default());
    assert_within(s.volume_mm3, 4096.0 + 4.0 * 2.0 * 4.0, s.error_mm3);
    assert_eq!(s.trapped_mm3, 0.0);
    // Open to the bed only: a cup upside down comes off the bed with its support bare.
    let cup = boxes(
        &[cube([0.0; 3], 20.0)],
        &[[[2.0, 2.0, -1.0], [18.0, 18.0, 18.0]]],
    );
    let s = measure(&cup, yaw(0.0), &Settings::default());
    assert_within(s.volume_mm3, 16.0 * 16.0 * 18.0, s.error_mm3);
    assert_eq!(s.trapped_mm3, 0.0);
    // A thin wall in a wide part: 0.8 mm against a first cell of about 1.5 mm.
    let wide = boxes(
        &[[[0.0, 0.0, 0.0], [100.0, 100.0, 20.0]]],
        &[[[0.8, 0.8, 0.8], [99.2, 99.2, 19.2]]],
    );
    let s = measure(&wide, yaw(0.0), &Settings::default());
    assert_within(s.trapped_mm3, 98.4 * 98.4 * 18.4, 1e-3);
}

#[test]
fn a_stepped_way_out_frees_support() {
    // A cavity that opens through a shaft which turns twice.
    let soup = boxes(
        &[cube([0.0; 3], 30.0)],
        &[
            cube([10.0; 3], 10.0),
            [[13.0, 13.0, 15.0], [26.0, 17.0, 18.0]],
            [[23.0, 13.0, 15.0], [26.0, 17.0, 31.0]],
        ],
    );
    let s = measure(&soup, yaw(0.0), &Settings::default());
    assert!(s.volume_mm3 > 1000.0 && s.trapped_mm3 == 0.0, "{s:?}");
}

#[test]
fn curved_parts_have_the_support_of_their_closed_form() {
    // T14: cap beyond 45° 184.0302 mm², support 216.8817 mm³ for R 10. The touch
    // height is made nothing of, as the closed form has none.
    let settings = Settings {
        first_layer_mm: 0.0,
        ..sharp()
    };
    let s = measure(&sphere(10.0, 720), yaw(11.0), &settings);
    assert_within(s.volume_mm3, 216.8817, 0.005 * 216.9);
    assert_within(s.exposed_overhang_mm2, 184.0302, 0.005 * 184.0);
    assert_within(s.scar.above, 184.0302, 0.005 * 184.0);
    assert_eq!(s.scar.below, 0.0);
    // T15: cone on its tip, R 10, half-angle 60°: 1209.1996 mm³; 30°: none.
    let cone = |half_deg: f64| {
        let height = 10.0 / libm::tan(half_deg.to_radians());
        revolved(&[[0.0, 0.0], [10.0, height], [0.0, height]], 720)
    };
    assert_within(
        measure(&cone(60.0), yaw(0.0), &settings).volume_mm3,
        1209.1996,
        0.3,
    );
    assert_eq!(measure(&cone(30.0), yaw(0.0), &settings).volume_mm3, 0.0);
    // T16: roof of a lying hole ∅10 beyond 45°: chord 7.0711, arc 7.8540 a mm; the void
    // below is 2√(r² − x²) high, so r²(1 + π/2) a mm (integrated by hand).
    let s = measure(&lying_hole(8.0, 5.0, 12.0, 720), yaw(23.0), &sharp());
    println!("{s:?}");
    assert_within(
        s.volume_mm3,
        12.0 * 25.0 * (1.0 + FRAC_PI_2),
        s.error_mm3 + 0.5,
    );
    assert_within(s.scar.below, 12.0 * 7.0711, 0.5);
    assert_within(s.scar.above, 12.0 * 7.8540, 0.5);
    assert_eq!(s.trapped_mm3, 0.0);
}

#[test]
fn a_cube_on_its_edge_counts_beyond_the_limit_only() {
    // T17: two faces at exactly 45°: nothing at a limit of 45°, 500 mm³ below it.
    let soup = boxes(&[cube([0.0; 3], 10.0)], &[]);
    let turn = yaw(40.0) * UnitQuaternion::from_axis_angle(&Vector3::x_axis(), PI / 4.0);
    assert_eq!(measure(&soup, turn, &Settings::default()).volume_mm3, 0.0);
    let below = Settings {
        limit_deg: 44.0,
        first_layer_mm: 0.0,
        ..Settings::default()
    };
    let s = measure(&soup, turn, &below);
    assert_within(s.volume_mm3, 500.0, 1e-6);
    // With a touch height t, what lies within t of the edge is left out: 2·t²/2 a mm.
    let s = measure(
        &soup,
        turn,
        &Settings {
            limit_deg: 44.0,
            first_layer_mm: 2.0,
            ..Settings::default()
        },
    );
    assert_within(s.volume_mm3, 500.0 - 10.0, 1e-6);
}

#[test]
fn bodies_that_overlap_count_once_and_touching_ones_have_no_void_between() {
    let slab = boxes(&[[[0.0, 0.0, 10.0], [20.0, 10.0, 14.0]]], &[]);
    let leg = boxes(&[[[0.0, 0.0, 0.0], [5.0, 10.0, 12.0]]], &[]);
    let touching = boxes(&[[[0.0, 0.0, 0.0], [5.0, 10.0, 10.0]]], &[]);
    for other in [leg, touching] {
        let soup: Soup = slab.iter().chain(&other).copied().collect();
        let s = measure(&soup, yaw(29.0), &Settings::default());
        println!("{s:?}");
        assert_within(s.volume_mm3, 15.0 * 10.0 * 10.0, s.error_mm3);
        assert!(s.error_mm3 <= 7.5);
        assert_within(s.exposed_overhang_mm2, 150.0, s.exposed_error_mm2);
        assert_within(s.hidden_overhang_mm2, 50.0, s.exposed_error_mm2);
        assert_eq!(s.scar.below, 0.0);
    }
}

#[test]
fn what_a_bridge_carries_is_left_out() {
    let part = part(&pi(), false);
    let posed = posed(&part, yaw(0.0));
    let all = support(
        &posed,
        &Settings::default(),
        &|_, _, z| (z - 15.0).abs() < 1e-9,
        Stop::never(),
    );
    assert_within(all.volume_mm3, 3000.0, 1e-6);
    assert_eq!(all.after_bridges_mm3, 0.0);
    assert_eq!(all.scar, SupportMarks::default());
    let half = support(
        &posed,
        &Settings::default(),
        &|_, y, _| y < 3.0,
        Stop::never(),
    );
    println!("{half:?}");
    assert_within(half.after_bridges_mm3, 2100.0, half.error_mm3);
    assert_within(half.scar.above, 140.0, 1.0);
    assert!(half.error_mm3 <= 10.5);
}

#[test]
fn support_on_the_part_leaves_a_scar_below() {
    // A shelf over a step: 10 × 10 of it above the step at z = 4, 10 × 10 above the bed.
    let soup = boxes(
        &[
            [[0.0, 0.0, 0.0], [5.0, 10.0, 20.0]],
            [[0.0, 0.0, 0.0], [15.0, 10.0, 4.0]],
            [[0.0, 0.0, 20.0], [25.0, 10.0, 25.0]],
        ],
        &[],
    );
    let s = measure(&soup, yaw(0.0), &Settings::default());
    println!("{s:?}");
    assert_within(
        s.volume_mm3,
        10.0 * 10.0 * 16.0 + 10.0 * 10.0 * 20.0,
        s.error_mm3,
    );
    assert_within(s.scar.below, 100.0, 1.0);
    assert_within(s.scar.above, 200.0, 1e-6);
}

#[test]
fn an_open_surface_is_measured_and_marked() {
    let mut soup = pi();
    let whole = soup.len();
    for drop in 0..whole {
        let removed = soup.remove(drop);
        let s = measure(&soup, yaw(8.0), &Settings::default());
        assert!(s.volume_mm3.is_finite() && s.volume_mm3 >= 0.0);
        soup.insert(drop, removed);
    }
    // Without its top the slab's underside is still held up.
    let bare: Soup = soup
        .iter()
        .filter(|t| t.iter().any(|p| p.z < 20.0))
        .copied()
        .collect();
    assert!(bare.len() < whole);
    let s = measure(&bare, yaw(8.0), &Settings::default());
    assert!(s.unmatched_columns > 0);
    assert_within(s.volume_mm3, 3000.0, s.error_mm3);
}

#[test]
fn nothing_to_measure_is_nothing() {
    assert_eq!(
        measure(&Vec::new(), yaw(0.0), &Settings::default()).volume_mm3,
        0.0
    );
    let flat: Soup = vec![[[0.0, 0.0, 1.0], [0.0, 1.0, 5.0], [0.0, 3.0, 2.0]].map(Point3::from)];
    assert_eq!(
        measure(&flat, yaw(0.0), &Settings::default()).volume_mm3,
        0.0
    );
}

/// Numbers in 0 to 1 that look random (Knuth's MMIX multiplier, from memory).
pub(super) struct Numbers(pub u64);

impl Numbers {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.next()
    }
}

/// A part with every kind of border: sloped ceiling over a ball over a stepped base.
fn motley() -> Soup {
    let base = boxes(
        &[
            [[0.0, 0.0, 0.0], [40.0, 30.0, 4.0]],
            [[10.0, 5.0, 4.0], [25.0, 12.0, 9.0]],
        ],
        &[],
    );
    let ball = moved(&sphere(9.0, 48), [20.0, 15.0, 22.0]);
    base.into_iter()
        .chain(ball)
        .chain(moved(&tee(), [-3.0, 8.0, 3.0]))
        .collect()
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let part = part(&motley(), true);
    let posed = posed(&part, yaw(12.0));
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        format!(
            "{:?}",
            pool.install(|| support(
                &posed,
                &Settings::default(),
                &|x, _, _| x > 3.0,
                Stop::never()
            ))
        )
    };
    let one = run(1);
    assert_eq!(one, run(2));
    assert_eq!(one, run(7));
}

#[test]
fn yaw_face_order_and_subdivision_change_nothing_beyond_the_error() {
    let soup = motley();
    let first = measure(&soup, yaw(0.0), &sharp());
    println!("{first:?}");
    let mut reversed = soup.clone();
    reversed.reverse();
    let split: Soup = soup
        .iter()
        .flat_map(|&[a, b, c]| {
            let mid = |p: Point3<f64>, q: Point3<f64>| nalgebra::center(&p, &q);
            let (ab, bc, ca) = (mid(a, b), mid(b, c), mid(c, a));
            [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
        })
        .collect();
    let mut others: Vec<Support> = [reversed, split]
        .iter()
        .map(|s| measure(s, yaw(0.0), &sharp()))
        .collect();
    others.extend([1.0, 33.0, 90.0, 211.0].map(|deg| measure(&soup, yaw(deg), &sharp())));
    for s in others {
        assert_within(
            s.volume_mm3,
            first.volume_mm3,
            s.error_mm3 + first.error_mm3,
        );
        assert_within(
            s.exposed_overhang_mm2,
            first.exposed_overhang_mm2,
            s.exposed_error_mm2 + first.exposed_error_mm2,
        );
        assert_within(s.scar.below, first.scar.below, 0.02 * first.scar.below);
        assert_eq!(s.unmatched_columns, 0);
    }
}

#[test]
fn trapped_support_is_what_a_flood_of_unit_cells_cannot_reach() {
    let mut n = Numbers(3);
    let (mut compared, mut some) = (0, 0);
    while compared < 12 {
        const N: i32 = 5;
        let full: Vec<bool> = (0..N * N * N).map(|_| n.next() < 0.8).collect();
        let within = |c: [i32; 3]| c.iter().all(|x| (0..N).contains(x));
        let at = |c: [i32; 3]| ((c[2] * N + c[1]) * N + c[0]) as usize;
        let is_full = |c: [i32; 3]| within(c) && full[at(c)];
        let cells: Vec<[i32; 3]> = (0..N)
            .flat_map(|x| (0..N).flat_map(move |y| (0..N).map(move |z| [x, y, z])))
            .collect();
        // Voids that meet along a vertical edge only are joined or not by rounding.
        let pinched = cells.iter().any(|&[x, y, z]| {
            let [a, b, c, d] =
                [[x, y, z], [x + 1, y + 1, z], [x + 1, y, z], [x, y + 1, z]].map(is_full);
            a == b && c == d && a != c
        });
        let bed = (0..N).any(|x| (0..N).any(|y| is_full([x, y, 0])));
        if pinched || !bed {
            continue;
        }
        let mut open: Vec<[i32; 3]> = cells
            .iter()
            .copied()
            .filter(|c| !is_full(*c) && (c.contains(&0) || c.contains(&(N - 1))))
            .collect();
        let mut reached = vec![false; full.len()];
        while let Some(c) = open.pop() {
            if std::mem::replace(&mut reached[at(c)], true) {
                continue;
            }
            for (a, step) in [(0, 1), (0, -1), (1, 1), (1, -1), (2, 1), (2, -1)] {
                let mut next = c;
                next[a] += step;
                if within(next) && !is_full(next) && !reached[at(next)] {
                    open.push(next);
                }
            }
        }
        // Every void cell of a stack lies below a ceiling unless nothing full is above it.
        let trapped = cells
            .iter()
            .filter(|c| !is_full(**c) && !reached[at(**c)])
            .count() as f64;
        let solid: Vec<_> = cells
            .iter()
            .filter(|c| is_full(**c))
            .map(|c| cube(c.map(f64::from), 1.0))
            .collect();
        let part = part(&boxes(&solid, &[]), true);
        let posed = posed(&part, yaw(n.between(0.0, 90.0)));
        let s = support(
            &posed,
            &Settings::default(),
            &BRIDGED_NOWHERE,
            Stop::never(),
        );
        println!("{trapped} {s:?}");
        assert_within(s.trapped_mm3, trapped, s.error_mm3.max(0.02 * trapped));
        compared += 1;
        some += usize::from(trapped > 0.0);
    }
    assert!(some >= 3, "{some}");
}
