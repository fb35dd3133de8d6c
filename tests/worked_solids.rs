//! Simple solids whose mass, shadow, height and steps are known in closed form.
//!
//! All values are derived (box, cylinder, cube) or follow from exact coordinates
//! (icosphere); none was taken from a program.

mod common;

use approx::assert_relative_eq;
use common::{block, figures, part, prism, sharp};
use nalgebra::Point3;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use wayup::mesh::Mesh;
use wayup::settings::Settings;

/// The unit icosahedron with each facet cut in four `times` times, corners on the sphere.
fn icosphere(times: u32) -> Mesh {
    let g = f64::midpoint(1.0, 5.0_f64.sqrt());
    let mut vertices: Vec<Point3<f64>> = Vec::new();
    for (a, b) in [(1.0, g), (-1.0, g), (1.0, -g), (-1.0, -g)] {
        for p in [[0.0, a, b], [a, b, 0.0], [b, 0.0, a]] {
            vertices.push(Point3::from(Point3::from(p).coords.normalize()));
        }
    }
    // Facets are triples of corners one edge apart, seen from outside.
    let edge = 2.0 / (g * g + 1.0).sqrt();
    let near = |i: usize, j: usize| ((vertices[i] - vertices[j]).norm() - edge).abs() < 1e-9;
    let mut triangles: Vec<[u32; 3]> = Vec::new();
    for i in 0..12 {
        for j in i + 1..12 {
            for k in j + 1..12 {
                if near(i, j) && near(j, k) && near(k, i) {
                    let [a, b, c] = [i, j, k].map(|v| vertices[v].coords);
                    let out = a.cross(&b).dot(&c) > 0.0;
                    let [i, j, k] = [i, j, k].map(|v| v as u32);
                    triangles.push(if out { [i, j, k] } else { [i, k, j] });
                }
            }
        }
    }
    assert_eq!(triangles.len(), 20);
    for _ in 0..times {
        let mut middles: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        let mut finer = Vec::new();
        for [a, b, c] in triangles {
            let mut middle = |i: u32, j: u32| {
                *middles.entry((i.min(j), i.max(j))).or_insert_with(|| {
                    let m = vertices[i as usize].coords + vertices[j as usize].coords;
                    vertices.push(Point3::from(m.normalize()));
                    vertices.len() as u32 - 1
                })
            };
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            finer.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        triangles = finer;
    }
    Mesh {
        vertices,
        triangles,
    }
}

#[test]
fn an_icosphere_has_its_share_of_the_sphere() {
    for (times, facets, volume, area) in [
        (3, 1280, 0.991_394, 0.995_235),
        (4, 5120, 0.997_839, 0.998_805),
    ] {
        let ball = part(icosphere(times));
        assert_eq!(ball.mesh.triangles.len(), facets);
        let (v, a) = (4.0 / 3.0 * PI, 4.0 * PI);
        assert_relative_eq!(ball.mass.volume_mm3 / v, volume, epsilon = 1e-6);
        assert_relative_eq!(ball.mass.area_mm2 / a, area, epsilon = 1e-6);
        assert!(ball.mass.centroid.coords.norm() < 1e-9);
    }
}

#[test]
fn a_many_sided_cylinder_has_its_share_of_the_round_one() {
    // n·sin(2π/n)/2π.
    for (n, share) in [(16, 0.974_495), (64, 0.998_394)] {
        let ring: Vec<[f64; 2]> = (0..n)
            .map(|i| f64::from(i) * 2.0 * PI / f64::from(n))
            .map(|a| [10.0 * libm::cos(a), 10.0 * libm::sin(a)])
            .collect();
        let cylinder = part(prism(&ring, 5.0));
        let round = PI * 100.0 * 5.0;
        assert_relative_eq!(cylinder.mass.volume_mm3 / round, share, epsilon = 1e-6);
    }
}

#[test]
fn the_shadow_of_a_box_is_the_sum_over_its_faces() {
    // Faces 600, 300 and 200 mm²: Σ A·|n·d| is 400 along the 30 mm edge and at most
    // 1400, where d lies along (600, 300, 200)/700; over 2200 mm² of surface.
    let brick = part(block([0.0; 3], [10.0, 20.0, 30.0]));
    let settings = Settings {
        layer_mm: 0.2,
        ..sharp()
    };
    let f = figures(&brick, &settings, [600.0, 300.0, 200.0]);
    assert_relative_eq!(
        f.layer_steps_mean_um,
        200.0 * 1400.0 / 2200.0,
        max_relative = 1e-9
    );
    // Upright walls have none, level faces are left out.
    let f = figures(&brick, &settings, [0.0, 0.0, -1.0]);
    assert_relative_eq!(f.layer_steps_mean_um, 0.0, epsilon = 1e-9);
}

#[test]
fn a_step_is_the_layer_times_the_cosine() {
    // A wedge of square section turned about y: its two slopes at θ and 90° − θ. Cusp
    // t·cos θ (Dolenc & Mäkelä 1994, from memory): 0.2 mm at 15° .193185, 30° .173205,
    // 45° .141421, 60° .1.
    for (deg, cusp) in [
        (15.0, 0.193_185),
        (30.0, 0.173_205),
        (45.0, 0.141_421),
        (60.0, 0.1),
    ] {
        let a = f64::to_radians(deg);
        // Both pairs of slopes, weighed by area; the ends stand upright.
        let bar = part(block([0.0; 3], [8.0, 50.0, 3.0]));
        let f = figures(&bar, &sharp(), [libm::sin(a), 0.0, -libm::cos(a)]);
        let (flat, side, ends) = (2.0 * 8.0 * 50.0, 2.0 * 3.0 * 50.0, 2.0 * 8.0 * 3.0);
        let layer = sharp().layer_mm;
        let other = layer * libm::sin(a);
        let flat_cusp = cusp * layer / 0.2;
        let mean = (flat * flat_cusp + side * other) / (flat + side + ends);
        assert_relative_eq!(f.layer_steps_mean_um, 1000.0 * mean, max_relative = 1e-5);
    }
}

#[test]
fn a_box_is_lowest_on_its_largest_face_and_highest_on_a_corner() {
    let brick = part(block([0.0; 3], [10.0, 20.0, 30.0]));
    let flat = figures(&brick, &sharp(), [-1.0, 0.0, 0.0]);
    assert_relative_eq!(flat.height_mm, 10.0, max_relative = 1e-12);
    let corner = figures(&brick, &sharp(), [10.0, 20.0, 30.0]);
    assert_relative_eq!(corner.height_mm, 1400.0_f64.sqrt(), max_relative = 1e-12);
}
