use super::*;
use approx::assert_relative_eq;
use proptest::prelude::*;

fn points(xy: &[[f64; 2]]) -> Vec<Point2<f64>> {
    xy.iter().map(|&[x, y]| Point2::new(x, y)).collect()
}

fn turned(p: &[Point2<f64>], angle: f64) -> Vec<Point2<f64>> {
    let r = nalgebra::Rotation2::new(angle);
    p.iter().map(|q| r * q).collect()
}

fn regular(n: usize, radius: f64) -> Vec<Point2<f64>> {
    (0..n)
        .map(|k| {
            let (s, c) = libm::sincos(2.0 * PI * k as f64 / n as f64);
            Point2::new(radius * c, radius * s)
        })
        .collect()
}

fn least_area(p: &[Point2<f64>]) -> f64 {
    min_area_rectangle(&hull2d(p)).unwrap().area_mm2()
}

#[test]
fn rectangles_of_known_polygons() {
    // Freeman & Shapira 1975: areas worked out edge by edge.
    assert_relative_eq!(
        least_area(&points(&[[0., 0.], [4., 0.], [0., 3.]])),
        12.0,
        epsilon = 1e-12
    );
    let slanted = points(&[[0., 0.], [10., 0.], [13., 4.], [3., 4.]]);
    assert_relative_eq!(least_area(&slanted), 52.0, epsilon = 1e-12);
    // Side 1: circumradius 1/(2 sin(π/n)). Hexagon √3 · 2, pentagon (golden ratio) · √(5 + 2√5)/2.
    assert_relative_eq!(
        least_area(&regular(6, 1.0)),
        2.0 * 3f64.sqrt(),
        epsilon = 1e-12
    );
    let pentagon = regular(5, 0.5 / libm::sin(PI / 5.0));
    let golden = f64::midpoint(1.0, 5f64.sqrt());
    assert_relative_eq!(
        least_area(&pentagon),
        golden * (5.0 + 2.0 * 5f64.sqrt()).sqrt() / 2.0,
        epsilon = 1e-12
    );
    let square = turned(&points(&[[0., 0.], [1., 0.], [1., 1.], [0., 1.]]), PI / 6.0);
    assert_relative_eq!(least_area(&square), 1.0, epsilon = 1e-12);
    let (x0, x1) = range(&square, Vector2::x());
    assert_relative_eq!((x1 - x0).powi(2), 1.866_025_403_784, epsilon = 1e-9);
}

#[test]
fn an_axis_aligned_rectangle_is_not_turned() {
    let r =
        min_area_rectangle(&hull2d(&points(&[[1., 2.], [4., 2.], [4., 3.], [1., 3.]]))).unwrap();
    assert_eq!((r.along, r.long_mm, r.short_mm), (Vector2::x(), 3.0, 1.0));
    assert_eq!((r.centre, r.angle_rad), (Point2::new(2.5, 2.5), 0.0));
    let tall =
        min_area_rectangle(&hull2d(&points(&[[0., 0.], [1., 0.], [1., 3.], [0., 3.]]))).unwrap();
    assert_eq!((tall.along, tall.long_mm), (Vector2::y(), 3.0));
    let square =
        min_area_rectangle(&hull2d(&points(&[[0., 0.], [2., 0.], [2., 2.], [0., 2.]]))).unwrap();
    assert_eq!(square.along, Vector2::x());
}

#[test]
fn few_points() {
    assert!(hull2d(&[]).is_empty() && min_area_rectangle(&[]).is_none());
    assert_eq!(hull2d(&points(&[[1., 1.]; 4])).len(), 1);
    let line = hull2d(&points(&[[0., 0.], [2., 2.], [1., 1.], [3., 3.]]));
    assert_eq!(line, points(&[[0., 0.], [3., 3.]]));
    let r = min_area_rectangle(&line).unwrap();
    assert_relative_eq!(r.long_mm, 18f64.sqrt(), epsilon = 1e-12);
    assert!(r.short_mm < 1e-12);
    assert!(margin(&line, &Point2::new(1.0, 1.0)) <= 0.0);
    assert_eq!(tip_angle(&Point3::new(0.0, 0.0, 1.0), &[]), -FRAC_PI_2);
}

#[test]
fn tip_angles_of_blocks() {
    let base = hull2d(&points(&[[0., 0.], [10., 0.], [10., 10.], [0., 10.]]));
    // Block 10 × 10 × 40: atan(5/20). Sheared by 8 and 12: centroid at x = 9 and 11, 10 up.
    let deg = |c: [f64; 3]| tip_angle(&Point3::from(c), &base).to_degrees();
    assert_relative_eq!(deg([5., 5., 20.]), 14.036_243, epsilon = 1e-5);
    assert_relative_eq!(deg([9., 5., 10.]), 5.710_593, epsilon = 1e-5);
    assert_relative_eq!(deg([11., 5., 10.]), -5.710_593, epsilon = 1e-5);
    assert_relative_eq!(deg([5., 5., 5.]), 45.0, epsilon = 1e-12);
    assert_relative_eq!(
        margin(&base, &Point2::new(13.0, 14.0)),
        -5.0,
        epsilon = 1e-12
    );
}

#[test]
fn a_long_bar_fits_on_the_diagonal_only() {
    // A bar of length l and width w lies on the diagonal of a square bed of side
    // b where (l + w)/√2 ≤ b.
    let bar = |l: f64| hull2d(&points(&[[0., 0.], [l, 0.], [l, 10.], [0., 10.]]));
    let yaw = fits_at_some_yaw(&bar(290.0), 220.0, 220.0).unwrap();
    let p = turned(&bar(290.0), yaw);
    for u in [Vector2::x(), Vector2::y()] {
        let (lo, hi) = range(&p, u);
        assert!(hi - lo <= 220.0);
    }
    let limit = 220.0 * 2f64.sqrt() - 10.0;
    assert!(fits_at_some_yaw(&bar(limit - 1e-6), 220.0, 220.0).is_some());
    assert!(fits_at_some_yaw(&bar(limit + 1e-3), 220.0, 220.0).is_none());
    assert_eq!(fits_at_some_yaw(&bar(220.0), 220.0, 220.0), Some(0.0));
    assert_eq!(fits_at_some_yaw(&bar(240.0), 220.0, 250.0), Some(FRAC_PI_2));
}

/// Found by the property below: the last stretch of angles ran half a turn too far.
#[test]
fn a_yaw_in_the_last_stretch_of_angles_is_found() {
    let corners = [(-28, -16), (43, 4), (-31, 44), (-21, -37)];
    let p = corners.map(|(x, y)| Point2::new(f64::from(x), f64::from(y)));
    let yaw = fits_at_some_yaw(&hull2d(&p), 73.592_1, 81.201_76).expect("a yaw that fits");
    let q = turned(&p, yaw);
    let ((x0, x1), (y0, y1)) = (range(&q, Vector2::x()), range(&q, Vector2::y()));
    assert!(x1 - x0 <= 73.592_1 + 1e-6 && y1 - y0 <= 81.201_76 + 1e-6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn hull_is_convex_and_holds_all(raw in prop::collection::vec((-4i8..=4, -4i8..=4), 1..40)) {
        let p: Vec<_> = raw.iter().map(|&(x, y)| Point2::new(f64::from(x), f64::from(y))).collect();
        let h = hull2d(&p);
        let n = h.len();
        if n >= 3 {
            for i in 0..n {
                prop_assert!(turn(&h[i], &h[(i + 1) % n], &h[(i + 2) % n]) > 0.0);
                prop_assert!(p.iter().all(|q| turn(&h[i], &h[(i + 1) % n], q) >= 0.0));
            }
        }
    }

    /// Of many points most are left out before they are put in order: none of the corners.
    #[test]
    fn what_is_left_out_early_is_no_corner(
        raw in prop::collection::vec((-9i8..=9, -9i8..=9), 32..200), turn_rad in 0.0..PI,
    ) {
        let p: Vec<_> = raw.iter().map(|&(x, y)| Point2::new(f64::from(x), f64::from(y))).collect();
        for p in [turned(&p, turn_rad), p] {
            let kept = outer_ids(&p);
            for (i, q) in (0..).zip(&p).filter(|(i, _)| !kept.contains(i)) {
                // Were it a corner it would lie outside the hull of the others, or on it.
                let hull = hull2d(&p);
                let sides = hull.iter().zip(hull.iter().cycle().skip(1));
                for (a, b) in sides {
                    prop_assert!(turn(a, b, q) > 0.0, "{i}: {q}");
                }
            }
        }
    }

    #[test]
    fn no_turned_box_beats_the_rectangle(raw in prop::collection::vec((-50i8..=50, -50i8..=50), 3..40), angle in 0.0..PI) {
        let p: Vec<_> = raw.iter().map(|&(x, y)| Point2::new(f64::from(x), f64::from(y))).collect();
        let least = least_area(&p);
        let q = turned(&p, angle);
        let ((x0, x1), (y0, y1)) = (range(&q, Vector2::x()), range(&q, Vector2::y()));
        prop_assert!((x1 - x0) * (y1 - y0) >= least - 1e-9);
        // The same points turned have the same rectangle.
        prop_assert!((least_area(&q) - least).abs() <= 1e-9 * least.max(1.0));
    }

    #[test]
    fn a_yaw_is_found_wherever_a_scan_finds_one(
        raw in prop::collection::vec((-50i8..=50, -50i8..=50), 3..20), bx in 20.0..140.0, by in 20.0..140.0,
    ) {
        let p: Vec<_> = raw.iter().map(|&(x, y)| Point2::new(f64::from(x), f64::from(y))).collect();
        let h = hull2d(&p);
        let fits = |yaw: f64, room: f64| {
            let q = turned(&h, yaw);
            let ((x0, x1), (y0, y1)) = (range(&q, Vector2::x()), range(&q, Vector2::y()));
            x1 - x0 <= bx + room && y1 - y0 <= by + room
        };
        let (yaw, most) = roomiest_yaw(&h, bx, by).unwrap_or((0.0, room(&h, 0.0, [bx, by])));
        prop_assert!((room(&h, yaw, [bx, by]) - most).abs() <= 1e-6);
        prop_assert!((0..720).all(|k| room(&h, f64::from(k) * PI / 720.0, [bx, by]) <= most + 1e-6));
        match fits_at_some_yaw(&h, bx, by) {
            Some(yaw) => prop_assert!(fits(yaw, 1e-6)),
            None => prop_assert!((0..720).all(|k| !fits(f64::from(k) * PI / 720.0, 0.0))),
        }
    }
}
