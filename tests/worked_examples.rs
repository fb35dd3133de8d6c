//! Whole parts with answers worked out by hand, through the whole road.
//!
//! The numbers are derived from the definitions (45° sharp: the limit is set to
//! 44.5° so that the margin of half a degree gives 45°), not taken from a program.

mod common;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use common::{
    PORTAL, block, figures, inside_out, measured, part, prism, sharp, sphere, together, turned,
};
use std::f64::consts::PI;
use wayup::mesh::Mesh;
use wayup::settings::Settings;

/// Contact, overhang, support of one pose against three closed forms.
#[track_caller]
fn check(mesh: &Mesh, down: [f64; 3], contact: f64, overhang: f64, support: f64) {
    let part = part(mesh.clone());
    let f = figures(&part, &sharp(), down);
    assert_relative_eq!(f.contact_area_mm2, contact, max_relative = 1e-6);
    // Where bodies overlap, what is exposed is found by columns, not by clipping.
    let exact = if part.overlapping { 2e-3 } else { 1e-6 };
    assert_abs_diff_eq!(
        f.overhang_area_mm2,
        overhang,
        epsilon = exact * overhang.max(1.0)
    );
    let slack = f.support_error_mm3.max(1e-6);
    assert!(
        (f.support_volume_mm3 - support).abs() <= slack,
        "support {} for {support}, stated error {slack}",
        f.support_volume_mm3
    );
    assert!(
        f.support_error_mm3 <= (0.005 * support).max(1.0),
        "error {} of {support}",
        f.support_error_mm3
    );
}

/// The profile stands in x–z; the prism runs along y after this turn.
fn profile(polygon: &[[f64; 2]], depth: f64) -> Mesh {
    let mut mesh = prism(polygon, depth);
    for p in &mut mesh.vertices {
        *p = nalgebra::Point3::new(p.x, depth - p.z, p.y);
    }
    mesh
}

fn tee() -> Mesh {
    // Stem 10 × 10 × 20 with a bar 30 × 10 × 5 on top.
    profile(
        &[
            [10.0, 0.0],
            [20.0, 0.0],
            [20.0, 20.0],
            [30.0, 20.0],
            [30.0, 25.0],
            [0.0, 25.0],
            [0.0, 20.0],
            [10.0, 20.0],
        ],
        10.0,
    )
}

fn portal() -> Mesh {
    profile(&PORTAL, 10.0)
}

fn comb() -> Mesh {
    // Base 40 × 10 × 4 with five tines 2 × 2 × 40, sunk 1 mm into it: six bodies
    // that overlap and count once.
    let mut bodies = vec![block([0.0, 0.0, 0.0], [40.0, 10.0, 4.0])];
    bodies.extend((0..5).map(|i| block([3.0 + 8.0 * f64::from(i), 4.0, 3.0], [2.0, 2.0, 41.0])));
    together(&bodies)
}

#[test]
fn a_tee_upright_inverted_and_on_its_profile() {
    let t = tee();
    assert_relative_eq!(
        part(t.clone()).mass.volume_mm3,
        3500.0,
        max_relative = 1e-12
    );
    check(&t, [0.0, 0.0, -1.0], 100.0, 200.0, 4000.0);
    check(&t, [0.0, 0.0, 1.0], 300.0, 0.0, 0.0);
    check(&t, [0.0, -1.0, 0.0], 350.0, 0.0, 0.0);
    check(&t, [1.0, 0.0, 0.0], 50.0, 200.0, 2000.0);
}

#[test]
fn a_portal_bridges_its_clear_span_and_a_leg_is_a_ledge() {
    let p = portal();
    check(&p, [0.0, 0.0, -1.0], 100.0, 200.0, 3000.0);
    check(&p, [0.0, 0.0, 1.0], 300.0, 0.0, 0.0);
    check(&p, [0.0, -1.0, 0.0], 300.0, 0.0, 0.0);
    check(&p, [1.0, 0.0, 0.0], 200.0, 150.0, 3000.0);
    let part = part(p);
    let upright = figures(&part, &sharp(), [0.0, 0.0, -1.0]);
    assert_eq!(upright.bridges.len(), 1);
    assert_relative_eq!(upright.bridge_longest_mm, 20.0, max_relative = 1e-3);
    assert_eq!(upright.contact_patches, 2);
    // Wider than the limit of 10 mm: the bridge carries nothing; at 20.5 all of it.
    assert_relative_eq!(
        upright.support_after_bridges_mm3,
        upright.support_volume_mm3
    );
    let wide = Settings {
        bridge_limit_mm: 20.5,
        ..sharp()
    };
    let held = figures(&part, &wide, [0.0, 0.0, -1.0]);
    assert_abs_diff_eq!(
        held.support_after_bridges_mm3,
        0.0,
        epsilon = held.support_error_mm3
    );
    assert_abs_diff_eq!(held.overhang_after_bridges_mm2, 0.0, epsilon = 1.0);
    // On a leg's side the far leg starts as a ledge 15 mm long, no bridge.
    let on_leg = figures(&part, &sharp(), [1.0, 0.0, 0.0]);
    assert_eq!(on_leg.bridges.len(), 0);
    assert_relative_eq!(on_leg.cantilever_longest_mm, 15.0, max_relative = 1e-3);
}

#[test]
fn a_comb_needs_no_support_and_sways_most() {
    let c = comb();
    check(&c, [0.0, 0.0, -1.0], 400.0, 0.0, 0.0);
    check(&c, [0.0, 0.0, 1.0], 20.0, 380.0, 15200.0);
    check(&c, [0.0, -1.0, 0.0], 160.0, 400.0, 1600.0);
    check(&c, [-1.0, 0.0, 0.0], 40.0, 400.0, 2160.0);
    let part = part(c);
    assert!(part.overlapping);
    let up = figures(&part, &sharp(), [0.0, 0.0, -1.0]);
    assert_relative_eq!(up.slender_ratio, 20.0, max_relative = 0.01);
    // 2 × 2 × 40, E 3500 N/mm², 1 N: 4.57143 mm (end-loaded cantilever, Roark; from
    // memory). The base gives a little more; layers cut the length to 0.2 mm.
    assert_relative_eq!(up.sway_mm_per_n, 4.57143, max_relative = 0.02);
    let lying = figures(&part, &sharp(), [0.0, -1.0, 0.0]);
    assert!(lying.sway_mm_per_n < 0.05 * up.sway_mm_per_n);
}

#[test]
fn a_closed_cavity_traps_all_its_support() {
    let cube = together(&[
        block([0.0; 3], [20.0; 3]),
        inside_out(block([2.0; 3], [16.0; 3])),
    ]);
    assert_relative_eq!(
        part(cube.clone()).mass.volume_mm3,
        3904.0,
        max_relative = 1e-12
    );
    for down in [
        [0.0, 0.0, -1.0],
        [0.0, 0.0, 1.0],
        [1.0, 0.0, 0.0],
        [0.0, -1.0, 0.0],
    ] {
        check(&cube, down, 400.0, 256.0, 4096.0);
        let f = figures(&part(cube.clone()), &sharp(), down);
        assert_relative_eq!(f.bridge_longest_mm, 16.0, max_relative = 1e-3);
        assert_relative_eq!(f.support_trapped_mm3, 4096.0, max_relative = 0.005);
    }
}

#[test]
fn a_sphere_leaves_a_cap_and_the_space_under_it() {
    let r = 10.0;
    let ball = part(sphere(r, 180, 256));
    let f = figures(&ball, &sharp(), [0.0, 0.0, -1.0]);
    let t = sharp().touch_mm();
    // 2πR²(1 − sin 45°) = 184.0302 less the cap below touch height, 2πRt. The
    // polyhedron is a little smaller and its facets change sides in steps.
    let cap = 2.0 * PI * r * r * (1.0 - 0.5_f64.sqrt()) - 2.0 * PI * r * t;
    assert_relative_eq!(f.overhang_area_mm2, cap, max_relative = 0.015);
    assert_relative_eq!(f.support_volume_mm3, 216.8817, max_relative = 0.015);
    assert_relative_eq!(f.height_mm, 20.0, max_relative = 1e-3);
    // Contact π(2Rt − t²) at the usual first layer of 0.2 mm.
    let usual = figures(&ball, &Settings::default(), [0.0, 0.0, -1.0]);
    assert_relative_eq!(
        usual.contact_area_mm2,
        PI * (2.0 * r * 0.1 - 0.01),
        max_relative = 0.01
    );
    // Mean cusp of a whole sphere is half the layer: 100 µm at 0.2 mm.
    assert_relative_eq!(usual.layer_steps_mean_um, 100.0, max_relative = 0.01);
}

#[test]
fn a_cone_on_its_tip_hangs_over_or_not() {
    // Half-angle 60°, radius 10, height 5.7735: all of it overhang.
    let wide = turned(
        &[
            [0.0, 0.0],
            [10.0, 10.0 / 3.0_f64.sqrt()],
            [0.0, 10.0 / 3.0_f64.sqrt()],
        ],
        720,
    );
    let f = figures(&part(wide), &sharp(), [0.0, 0.0, -1.0]);
    assert_relative_eq!(f.overhang_area_mm2, 362.7599, max_relative = 1e-3);
    assert_relative_eq!(f.support_volume_mm3, 1209.1996, max_relative = 0.006);
    let steep = turned(
        &[
            [0.0, 0.0],
            [10.0, 10.0 * 3.0_f64.sqrt()],
            [0.0, 10.0 * 3.0_f64.sqrt()],
        ],
        720,
    );
    let f = figures(&part(steep), &sharp(), [0.0, 0.0, -1.0]);
    assert_eq!(f.overhang_area_mm2, 0.0);
    assert_eq!(f.support_volume_mm3, 0.0);
}

#[test]
fn a_cube_on_an_edge_is_none_with_the_margin_and_half_without() {
    let cube = part(block([0.0; 3], [10.0; 3]));
    let edge = [-1.0, 0.0, -1.0];
    // Two faces at exactly 45°: none at a limit of 45° (margin half a degree) …
    let f = figures(&cube, &Settings::default(), edge);
    assert_eq!(f.overhang_area_mm2, 0.0);
    // … all of both, less what lies below touch height, at 44°: 200 mm², 500 mm³.
    let f = figures(
        &cube,
        &Settings {
            limit_deg: 44.0,
            ..sharp()
        },
        edge,
    );
    assert_relative_eq!(f.overhang_area_mm2, 200.0, max_relative = 2e-3);
    assert_relative_eq!(f.support_volume_mm3, 500.0, max_relative = 0.006);
}

#[test]
fn a_cube_on_a_corner_ranks_far_below_its_face() {
    let cube = part(block([0.0; 3], [10.0; 3]));
    let corner = measured(&cube, &Settings::default(), [-1.0, -1.0, -1.0]);
    assert_relative_eq!(corner.figures.height_mm, 17.3205, max_relative = 1e-5);
    assert_eq!(corner.figures.support_volume_mm3, 0.0);
    let face = measured(&cube, &Settings::default(), [0.0, 0.0, -1.0]);
    assert!(
        corner.total > face.total + 5.0,
        "{} {}",
        corner.total,
        face.total
    );
    assert_abs_diff_eq!(face.figures.tip_angle_deg, 45.0, epsilon = 1e-6);
}

#[test]
fn a_base_tilted_half_a_degree_does_not_touch_all_over() {
    let plate = part(block([0.0; 3], [30.0, 20.0, 5.0]));
    let a = 0.5_f64.to_radians();
    // The far edge lifts by 30·tan 0.5° = 0.2618 mm, above the touch height of 0.1:
    // the wedge below 0.1 mm is 0.1/sin 0.5° = 11.459 long, and beyond that the base is
    // overhang.
    let f = figures(
        &plate,
        &Settings::default(),
        [-libm::sin(a), 0.0, -libm::cos(a)],
    );
    let touching = 0.1 / libm::tan(a);
    // The section at touch height reaches from the wedge's end to the side face.
    assert!(f.contact_area_mm2 < 0.4 * 600.0, "{}", f.contact_area_mm2);
    assert_relative_eq!(
        f.contact_area_mm2,
        20.0 * (touching + 0.1 * libm::tan(a)),
        max_relative = 1e-3
    );
    assert_relative_eq!(
        f.overhang_area_mm2,
        20.0 * (30.0 - 0.1 / libm::sin(a)),
        max_relative = 1e-3
    );
}

#[test]
fn blocks_tip_where_statics_says() {
    // 10 × 10 × 40: atan(5/20) = 14.0362°.
    let tower = part(block([0.0; 3], [10.0, 10.0, 40.0]));
    let f = figures(&tower, &sharp(), [0.0, 0.0, -1.0]);
    assert_abs_diff_eq!(f.tip_angle_deg, 14.0362, epsilon = 0.01);
    // Base 10 × 10, top at z = 20 sheared: +8 leaves a margin of 1 (5.7106°), +12
    // has the centroid 1 mm outside.
    for (shear, angle) in [(8.0, 5.7106), (12.0, -5.7106)] {
        let mut leaning = block([0.0; 3], [10.0, 10.0, 20.0]);
        for p in &mut leaning.vertices {
            p.x += shear * p.z / 20.0;
        }
        let f = figures(&part(leaning), &sharp(), [0.0, 0.0, -1.0]);
        assert_abs_diff_eq!(f.tip_angle_deg, angle, epsilon = 0.06);
    }
}

#[test]
fn free_contraction_follows_the_longest_chord() {
    // ABS 90·10⁻⁶/K over 100 mm and 80 K: 0.72 mm; PLA 68, 35 K: 0.238 mm.
    let bar = part(block([0.0; 3], [100.0, 0.02, 10.0]));
    for (name, pull) in [("ABS", 0.72), ("PLA", 0.238)] {
        let settings = Settings {
            material: wayup::materials::Material::find(name).expect("in the table"),
            ..sharp()
        };
        let f = figures(&bar, &settings, [0.0, 0.0, -1.0]);
        assert_relative_eq!(f.base_shrinkage_mm, pull, max_relative = 1e-4);
    }
}

#[test]
fn a_pull_across_layers_is_the_square_of_the_cosine() {
    let cube = part(block([0.0; 3], [10.0; 3]));
    let a = 30.0_f64.to_radians();
    let load =
        nalgebra::Unit::new_normalize(nalgebra::Vector3::new(libm::sin(a), 0.0, libm::cos(a)));
    let settings = Settings {
        load: Some(load),
        ..sharp()
    };
    // σ_n = σ·cos² 30° = 0.75 σ (Gere, Mechanics of Materials; from memory).
    let f = figures(&cube, &settings, [0.0, 0.0, -1.0]);
    assert_relative_eq!(
        f.load_across_layers.expect("a load was given"),
        0.75,
        max_relative = 1e-12
    );
}

#[test]
fn a_tetrahedron_is_lowest_on_an_edge_yet_stands_on_a_face() {
    // Regular, edge 1 scaled to 10: face height 8.16497, edge-edge 7.07107.
    let s = 10.0 / 8.0_f64.sqrt();
    let mesh = Mesh {
        vertices: [
            [1.0, 1.0, 1.0],
            [1.0, -1.0, -1.0],
            [-1.0, 1.0, -1.0],
            [-1.0, -1.0, 1.0],
        ]
        .map(|p| nalgebra::Point3::from(p) * s)
        .to_vec(),
        triangles: vec![[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]],
    };
    let part = part(mesh);
    let edge = figures(&part, &sharp(), [0.0, 0.0, -1.0]);
    assert_relative_eq!(edge.height_mm, 7.071_068, max_relative = 1e-6);
    let face = figures(&part, &sharp(), [-1.0, -1.0, -1.0]);
    assert_relative_eq!(face.height_mm, 8.164_966, max_relative = 1e-6);
    assert!(face.contact_area_mm2 > 40.0 && edge.contact_area_mm2 < 1.0);
}
