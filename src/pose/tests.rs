use super::*;
use approx::assert_relative_eq;
use fixtures::*;
use nalgebra::{Matrix3, Unit};

fn six_axes() -> Vec<Unit<Vector3<f64>>> {
    [Vector3::x_axis(), Vector3::y_axis(), Vector3::z_axis()]
        .into_iter()
        .flat_map(|a| [a, -a])
        .collect()
}

#[test]
fn quarter_turns_are_exact() {
    let mesh = box_mesh([1.1, 2.3, 3.7], [11.7, 22.9, 33.1]);
    let part = part(mesh);
    for down in six_axes() {
        let pose = Pose::new(&down, &part.mesh.vertices);
        let r = pose.rotation();
        assert!(
            r.matrix()
                .iter()
                .all(|c| [0.0, 1.0, -1.0].contains(c) && !(*c == 0.0 && c.is_sign_negative()))
        );
        assert_eq!(r.matrix().determinant(), 1.0);
        assert_eq!(r * down, -Vector3::z_axis());
        let posed = Posed::new(&part, pose);
        // An axis-aligned box stays one: eight corners, two values a coordinate.
        for k in 0..3 {
            let mut values: Vec<f64> = posed.vertices.iter().map(|p| p[k]).collect();
            values.sort_by(f64::total_cmp);
            values.dedup();
            assert_eq!(values.len(), 2);
        }
        let [x, y] = posed.footprint_mm();
        assert!(x >= y);
        assert!(posed.normal_z.iter().all(|n| [0.0, 1.0, -1.0].contains(n)));
    }
    // A direction that rounding put off the axis is that axis.
    let nearly = Unit::new_normalize(Vector3::new(1e-12, -1e-13, 1.0));
    assert_eq!(
        Pose::new(&nearly, &part.mesh.vertices).down,
        Vector3::z_axis()
    );
}

#[test]
fn any_direction_goes_down() {
    let mut random = Random::new(6);
    let part = part(box_mesh([0.0; 3], [10.0, 20.0, 30.0]));
    let hull = Hull::new(&part.mesh.vertices).unwrap();
    for k in 0..2000 {
        let mut d = random.direction().into_inner();
        if k % 4 == 0 {
            // Near the poles of the formula.
            d = Vector3::new(d.x * 1e-7, d.y * 1e-7, d.z.signum());
        }
        let down = Unit::new_normalize(d);
        let pose = Pose::new(&down, &hull.vertices);
        let r = *pose.rotation().matrix();
        assert_relative_eq!(r.determinant(), 1.0, epsilon = 1e-12);
        assert!((r * r.transpose() - Matrix3::identity()).norm() < 1e-14);
        assert!((r * down.into_inner() + Vector3::z()).norm() < 1e-14);
        let posed = Posed::new(&part, pose);
        let (lo, hi) = hull.range_along(&down);
        assert_relative_eq!(posed.height_mm, hi - lo, epsilon = 1e-9);
        let low = posed
            .vertices
            .iter()
            .map(|p| p.z)
            .fold(f64::INFINITY, f64::min);
        assert_eq!(low, 0.0);
        for k in 0..2 {
            let (lo, hi) = posed
                .vertices
                .iter()
                .fold((0f64, 0f64), |(a, b), p| (a.min(p[k]), b.max(p[k])));
            assert_relative_eq!(lo, -hi, epsilon = 1e-12);
        }
        let n = part
            .normals
            .iter()
            .zip(&posed.normal_z)
            .map(|(n, z)| ((r * n).z - z).abs())
            .fold(0.0, f64::max);
        assert!(n < 1e-14);
    }
}

/// The footprint is that of the least rectangle, whatever way the part was turned in its file.
#[test]
fn footprint_does_not_depend_on_the_file() {
    let mesh = prism(&[[0., 0.], [10., 0.], [13., 4.], [3., 4.]], 7.0);
    let mut random = Random::new(8);
    for _ in 0..100 {
        let turn = random.rotation();
        let part = part(turned_mesh(&mesh, &turn));
        let down = Unit::new_normalize(turn * -Vector3::z());
        let posed = Posed::new(&part, Pose::new(&down, &part.mesh.vertices));
        let [x, y] = posed.footprint_mm();
        // The parallelogram of base 13 and height 4: 52 mm², its other rectangles have 88.
        assert_relative_eq!(x, 13.0, epsilon = 1e-4);
        assert_relative_eq!(y, 4.0, epsilon = 1e-4);
        assert_relative_eq!(posed.height_mm, 7.0, epsilon = 1e-4);
    }
}

#[test]
fn letters_of_axis_parallel_poses() {
    // ISO/ASTM 52921 (from memory): 30 ‖ Z, 20 ‖ X, 10 ‖ Y is ZXY.
    let part = part(box_mesh([0.0; 3], [10.0, 20.0, 30.0]));
    let letters = |down: Unit<Vector3<f64>>| axes(&part, &Pose::new(&down, &part.mesh.vertices));
    assert_eq!(letters(-Vector3::z_axis()), "ZXY");
    assert_eq!(letters(Vector3::x_axis()), "XYZ");
    assert_eq!(letters(Vector3::y_axis()), "XZY");
    assert_eq!(axes(&part, &Pose::as_stored(&part.mesh.vertices)), "ZYX");
    let tilted = Unit::new_normalize(Vector3::new(0.1, 0.2, -1.0));
    assert_eq!(letters(tilted), "ZXY");
}

#[test]
fn a_further_turn_keeps_the_part_on_the_bed() {
    let part = part(box_mesh([0.0; 3], [10.0, 20.0, 30.0]));
    let pose = Pose::new(&Vector3::x_axis(), &part.mesh.vertices);
    let quarter = pose.turned(std::f64::consts::FRAC_PI_2, &part.mesh.vertices);
    assert_eq!(quarter.down, pose.down);
    assert_eq!(Posed::new(&part, quarter).footprint_mm(), [20.0, 30.0]);
    let eighth = Posed::new(
        &part,
        pose.turned(std::f64::consts::FRAC_PI_4, &part.mesh.vertices),
    );
    assert_relative_eq!(
        eighth.footprint_mm()[0],
        50.0 / 2f64.sqrt(),
        epsilon = 1e-12
    );
    assert_eq!(eighth.height_mm, 10.0);
}

#[test]
fn nothing_has_no_offset() {
    let pose = Pose::new(&Vector3::x_axis(), &[]);
    assert_eq!(pose.build_from_part.translation.vector, Vector3::zeros());
}
