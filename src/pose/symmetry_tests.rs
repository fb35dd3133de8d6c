use super::*;
use crate::mesh::Mesh;
use crate::pose::fixtures::*;
use nalgebra::{Point3, Rotation3};

fn of(mesh: Mesh) -> Symmetry {
    let part = part(mesh);
    let hull = Hull::new(&part.mesh.vertices).unwrap();
    Symmetry::detect(&part, &hull)
}

fn regular(n: u32, radius: f64) -> Vec<[f64; 2]> {
    (0..n)
        .map(|k| {
            let (s, c) = libm::sincos(TAU * f64::from(k) / f64::from(n));
            [radius * c, radius * s]
        })
        .collect()
}

/// An angle bracket, star-shaped about its inner corner.
fn bracket() -> Mesh {
    prism(
        &[
            [12., 6.],
            [0., 6.],
            [0., 0.],
            [20., 0.],
            [20., 12.],
            [12., 12.],
        ],
        5.0,
    )
}

fn tetrahedron() -> Mesh {
    hull_mesh(&[[1., 1., 1.], [1., -1., -1.], [-1., 1., -1.], [-1., -1., 1.]].map(Point3::from))
}

/// Orders of the full groups, mirrors included (Schoenflies: any crystallography text).
#[test]
fn orders_of_known_groups() {
    let shapes = [
        ("cube Oh", box_mesh([0.0; 3], [10.0; 3]), 48),
        ("square bar D4h", box_mesh([0.0; 3], [10.0, 10.0, 40.0]), 16),
        ("box D2h", box_mesh([0.0; 3], [10.0, 20.0, 30.0]), 8),
        ("tetrahedron Td", tetrahedron(), 24),
        ("hexagonal nut D6h", prism(&regular(6, 8.0), 5.0), 24),
        ("triangular prism D3h", prism(&regular(3, 8.0), 5.0), 12),
        (
            "parallelogram prism C2h",
            prism(&[[0., 0.], [10., 0.], [13., 4.], [3., 4.]], 6.0),
            4,
        ),
        (
            "right triangle prism Cs",
            prism(&[[0., 0.], [10., 0.], [0., 6.]], 5.0),
            2,
        ),
        ("angle bracket Cs", bracket(), 2),
    ];
    let mut random = Random::new(12);
    for (name, mesh, order) in shapes {
        let s = of(mesh.clone());
        assert_eq!(s.isometries.len(), order, "{name}");
        assert_eq!(s.isometries[0], Matrix3::identity());
        assert!(s.axis.is_none());
        // Closed under composition, and of determinant ±1.
        for m in &s.isometries {
            assert!((m * m.transpose() - Matrix3::identity()).norm() < 1e-12);
            for n in &s.isometries {
                assert!(
                    s.isometries.iter().any(|k| (m * n - k).norm() < 1e-5),
                    "{name}"
                );
            }
        }
        for trial in 0..25 {
            let turned = of(turned_mesh(&mesh, &random.rotation()));
            assert_eq!(turned.isometries.len(), order, "{name}, turn {trial}");
        }
    }
}

#[test]
fn all_faces_of_a_cube_are_one_pose() {
    let mut random = Random::new(13);
    for _ in 0..20 {
        let turn = random.rotation();
        let s = of(turned_mesh(&box_mesh([0.0; 3], [10.0; 3]), &turn));
        assert_eq!(
            s.isometries
                .iter()
                .filter(|m| m.determinant() > 0.0)
                .count(),
            24
        );
        let faces: Vec<Unit<Vector3<f64>>> = [1.0, -1.0]
            .iter()
            .flat_map(|&h| (0..3).map(move |k| (h, k)))
            .map(|(h, k)| {
                let mut d = Vector3::zeros();
                d[k] = h;
                Unit::new_normalize(turn * d)
            })
            .collect();
        assert!(faces.iter().all(|f| s.equivalent(&faces[0], f)));
        let corner = Unit::new_normalize(turn * Vector3::new(1., 1., 1.));
        assert!(!s.equivalent(&faces[0], &corner));
        assert_eq!((s.orbit(&faces[0]), s.orbit(&corner)), (6, 8));
    }
}

/// A dent in one face leaves the hull as symmetric as before, but not the part.
#[test]
fn a_dent_breaks_the_symmetry() {
    let mut mesh = box_mesh([0.0; 3], [10.0; 3]);
    // The top (z = 10) as a fan about a point 1 mm below its middle.
    mesh.triangles.retain(|t| !t.iter().all(|&v| v >= 4));
    mesh.vertices.push(Point3::new(5.0, 5.0, 9.0));
    for [a, b] in [[4, 5], [5, 7], [7, 6], [6, 4]] {
        mesh.triangles.push([a, b, 8]);
    }
    let s = of(mesh.clone());
    assert_eq!(s.isometries.len(), 8);
    assert!(!s.equivalent(&Vector3::z_axis(), &-Vector3::z_axis()));
    assert!(s.equivalent(&Vector3::x_axis(), &-Vector3::y_axis()));
    assert!(!s.equivalent(&Vector3::x_axis(), &Vector3::z_axis()));
    // Off the middle in one direction only one mirror is left.
    mesh.vertices[8].x = 6.0;
    assert_eq!(of(mesh.clone()).isometries.len(), 2);
    mesh.vertices[8].y = 6.5;
    assert_eq!(of(mesh).isometries.len(), 1);
}

/// A flat cut unevenly, and one with vertices inside it, are flats all the same.
#[test]
fn triangulation_of_flats_does_not_matter() {
    let mut mesh = box_mesh([0.0; 3], [10.0; 3]);
    mesh.triangles.retain(|t| !t.iter().all(|&v| v >= 4));
    mesh.vertices.push(Point3::new(2.0, 3.0, 10.0));
    for [a, b] in [[4, 5], [5, 7], [7, 6], [6, 4]] {
        mesh.triangles.push([a, b, 8]);
    }
    assert_eq!(of(mesh).isometries.len(), 48);
}

#[test]
fn a_fine_cylinder_is_a_body_of_revolution() {
    let mut random = Random::new(14);
    for n in [24, 90, 1000] {
        let turn = random.rotation();
        let s = of(turned_mesh(&prism(&regular(n, 10.0), 30.0), &turn));
        let axis = s.axis.expect("round");
        assert!((turn * Vector3::z()).dot(&axis).abs() > 1.0 - 1e-9, "{n}");
        let at = |d: [f64; 3]| Unit::new_normalize(turn * Vector3::from(d));
        assert!(s.equivalent(&at([1., 0., 1.]), &at([0.6, 0.8, -1.])));
        assert!(s.equivalent(&at([0., 0., 1.]), &at([0., 0., -1.])));
        assert_eq!(
            (s.orbit(&at([0., 0., 1.])), s.orbit(&at([1., 0., 0.]))),
            (2, 1)
        );
        assert!(!s.equivalent(&at([1., 0., 1.]), &at([1., 0., 1.01])));
    }
    // A cone frustum has a top and a bottom.
    let mut cup = prism(&regular(48, 10.0), 30.0);
    cup.vertices
        .iter_mut()
        .filter(|p| p.z > 0.0)
        .for_each(|p| p.x *= 0.5);
    cup.vertices
        .iter_mut()
        .filter(|p| p.z > 0.0)
        .for_each(|p| p.y *= 0.5);
    let s = of(cup);
    assert!(s.axis.is_some());
    assert!(!s.equivalent(&Vector3::z_axis(), &-Vector3::z_axis()));
    assert!(s.equivalent(&Vector3::x_axis(), &-Vector3::y_axis()));
}

#[test]
fn what_has_no_symmetry_has_one() {
    let mesh = prism(
        &[
            [0., 0.],
            [30., 0.],
            [30., 4.],
            [5., 5.],
            [4., 20.],
            [0., 20.],
        ],
        9.0,
    );
    // A prism is its own mirror image across its height.
    assert_eq!(of(mesh.clone()).isometries.len(), 2);
    let mut leaning = mesh;
    leaning
        .vertices
        .iter_mut()
        .filter(|p| p.z > 0.0)
        .for_each(|p| p.x += 0.3);
    assert_eq!(of(leaning).isometries.len(), 1);
    let flat = [[0., 0., 0.], [1., 0., 0.], [0., 1., 0.]].map(Point3::from);
    let hull = Hull::new(&flat).unwrap();
    assert!(hull.flat);
    let part = part(tetrahedron());
    assert_eq!(
        Symmetry::detect(&part, &hull).isometries,
        [Matrix3::identity()]
    );
}

/// Time on a large symmetric mesh; run by hand in release mode.
#[test]
#[ignore = "a measurement, not a check"]
fn time_of_a_large_part() {
    let shapes = [
        (
            "ball",
            hull_mesh(&written(&ball(250_000, 10.0), &Rotation3::identity())),
        ),
        ("drum", prism(&regular(20_000, 10.0), 30.0)),
        (
            "drum of a thousand sides",
            prism(&regular(1000, 10.0), 30.0),
        ),
    ];
    for (name, mesh) in shapes {
        let part = part(mesh);
        let hull = Hull::new(&part.mesh.vertices).unwrap();
        hull.facets();
        let start = std::time::Instant::now();
        let s = Symmetry::detect(&part, &hull);
        let (triangles, order) = (part.mesh.triangles.len(), s.isometries.len());
        println!(
            "{name}: {triangles} triangles, {order} maps, axis {:?}, {:?}",
            s.axis.is_some(),
            start.elapsed()
        );
    }
}
