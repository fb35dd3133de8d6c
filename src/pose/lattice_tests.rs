use super::*;
use crate::pose::fixtures::*;
use approx::assert_relative_eq;

/// The exact covering radius: the empty cap around each triangle of the points' hull.
fn covering_deg(directions: &[Unit<Vector3<f64>>]) -> f64 {
    let points: Vec<_> = directions
        .iter()
        .map(|d| Point3::from(d.into_inner()))
        .collect();
    let hull = Hull::new(&points).unwrap();
    (0..hull.triangles.len())
        .map(|t| {
            let [a, b, c] = hull.corners(t);
            libm::acos((b - a).cross(&(c - a)).normalize().dot(&a.coords)).to_degrees()
        })
        .fold(0.0, f64::max)
}

#[test]
fn no_direction_is_far_from_the_lattice() {
    let lattice = lattice();
    assert_eq!(lattice.len(), 672);
    let radius = covering_deg(&lattice);
    assert!(radius <= COVERING_DEG, "{radius}");
    // The same by dense sampling, which shares no code with the hull.
    let mut random = Random::new(1);
    let worst = (0..50_000)
        .map(|_| {
            let d = random.direction();
            libm::acos(lattice.iter().map(|l| l.dot(&d)).fold(-1.0, f64::max)).to_degrees()
        })
        .fold(0.0, f64::max);
    assert!(
        worst <= radius + 1e-9 && worst > 0.9 * radius,
        "{worst} of {radius}"
    );
}

#[test]
fn half_turns_and_cyclic_order_of_axes_do_not_matter() {
    let lattice = lattice();
    for l in &lattice {
        for image in [
            Vector3::new(l.x, -l.y, -l.z),
            Vector3::new(-l.x, l.y, -l.z),
            Vector3::new(-l.x, -l.y, l.z),
            Vector3::new(l.y, l.z, l.x),
        ] {
            assert!(lattice.iter().any(|m| m.dot(&image) > 1.0 - 1e-9));
        }
    }
}

/// Mean shadow of a convex body over the sphere is a quarter of its surface (Cauchy).
#[test]
fn fibonacci_averages_the_sphere() {
    let mean = fibonacci(5000)
        .iter()
        .map(|d| 600.0 * d.x.abs() + 300.0 * d.y.abs() + 200.0 * d.z.abs())
        .sum::<f64>()
        / 5000.0;
    assert_relative_eq!(mean, 550.0, epsilon = 1e-3);
    assert!(fibonacci(0).is_empty());
    assert_eq!(fibonacci(1)[0].z, 0.0);
}

#[test]
fn third_moment_of_a_tetrahedron() {
    // Corner tetrahedron: ∫ (x − ¼)³ = ∫ x³ − ¾ ∫ x² + 3/16 ∫ x − V/64 with
    // ∫ xᵏ = k!·3!/(k + 3)! · V, V = 1/6 (Dirichlet's integral).
    let tetra = [[0., 0., 0.], [1., 0., 0.], [0., 1., 0.], [0., 0., 1.]].map(Point3::from);
    let part = part(hull_mesh(&tetra));
    let v = 1.0 / 6.0;
    let expected = v * (1.0 / 20.0 - 0.75 / 10.0 + 3.0 / 64.0 - 1.0 / 64.0);
    assert_relative_eq!(
        third_moment(&part, &Vector3::x()),
        expected,
        epsilon = 1e-15
    );
}

/// An asymmetric bracket, a block, a prism of square section, a cube and a right prism over an S.
fn shapes() -> Vec<crate::mesh::Mesh> {
    vec![
        prism(
            &[
                [0., 0.],
                [30., 0.],
                [30., 4.],
                [5., 5.],
                [4., 20.],
                [0., 20.],
            ],
            9.0,
        ),
        box_mesh([0.0; 3], [10.0, 20.0, 30.0]),
        box_mesh([0.0; 3], [10.0, 10.0, 30.0]),
        box_mesh([0.0; 3], [30.0, 30.0, 10.0]),
        box_mesh([0.0; 3], [10.0; 3]),
    ]
}

/// A part turned before writing gets the same lattice relative to itself, up to its own
/// symmetries: the heights over the lattice come out the same as a set.
#[test]
fn the_frame_turns_with_the_part() {
    let heights = |mesh: crate::mesh::Mesh| {
        let part = part(mesh);
        let hull = Hull::new(&part.mesh.vertices).unwrap();
        let frame = canonical_frame(&part, &hull);
        assert_relative_eq!(frame.matrix().determinant(), 1.0, epsilon = 1e-9);
        let mut all: Vec<f64> = lattice()
            .iter()
            .map(|d| hull.range_along(&(frame * d.into_inner())))
            .map(|(lo, hi)| hi - lo)
            .collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let mut random = Random::new(4);
    for (k, mesh) in shapes().into_iter().enumerate() {
        let reference = heights(mesh.clone());
        for _ in 0..20 {
            let turned = heights(turned_mesh(&mesh, &random.rotation()));
            for (a, b) in turned.iter().zip(&reference) {
                assert!((a - b).abs() < 1e-3, "shape {k}: {a} {b}");
            }
        }
    }
}

#[test]
fn axes_point_the_same_way_after_a_turn() {
    let mesh = shapes().swap_remove(0);
    let frame = |mesh| {
        let part = part(mesh);
        let hull = Hull::new(&part.mesh.vertices).unwrap();
        canonical_frame(&part, &hull)
    };
    let reference = frame(mesh.clone());
    let mut random = Random::new(9);
    for _ in 0..50 {
        let turn = random.rotation();
        let turned = frame(turned_mesh(&mesh, &turn));
        // In the plane of the profile the axes are fixed; across it the part is its own mirror image.
        for k in 0..2 {
            let (a, b) = (
                turned.matrix().column(k),
                turn * reference.matrix().column(k),
            );
            assert!(a.dot(&b) > 1.0 - 1e-8, "axis {k}: {}", a.dot(&b));
        }
    }
}
