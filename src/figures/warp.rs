//! How far the base of a part wants to shrink on the bed.

use nalgebra::Point2;

/// Longest chord of a convex polygon (counter-clockwise, no three corners on a line), mm.
/// 0 for fewer than two corners.
///
/// That of the contact section, times the contraction of the material, is the free thermal
/// contraction across the base: ΔL = α·L·ΔT. Both ends are opposite corners: two parallel
/// lines closed on the polygon pass through them (Shamos 1978, from memory).
pub fn longest_chord_mm(hull: &[Point2<f64>]) -> f64 {
    let n = hull.len();
    let mut longest: f64 = 0.0;
    let mut far = 1;
    for (i, a) in hull.iter().enumerate() {
        let b = hull[(i + 1) % n];
        // Walks on while the next corner is further from the edge a–b, or as far.
        let mut steps = 0;
        loop {
            let (here, next) = (hull[far % n], hull[(far + 1) % n]);
            longest = longest.max((here - a).norm()).max((here - b).norm());
            steps += 1;
            if steps > n || (b - a).perp(&(next - here)) < 0.0 {
                break;
            }
            far += 1;
        }
    }
    longest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::mock::{circle, rectangle};
    use crate::materials::Material;
    use crate::plane::rect::hull2d;
    use approx::assert_relative_eq;

    #[test]
    fn warp_pull_is_the_textbook_contraction() {
        // T26: ABS 90e-6 over 100 mm and 80 K, 0.72 mm; PLA 68e-6 over 35 K, 0.238 mm.
        let bar = [Point2::new(0.0, 0.0), Point2::new(100.0, 0.0)];
        let pull = |name| longest_chord_mm(&bar) * Material::find(name).unwrap().contraction();
        assert_relative_eq!(pull("ABS"), 0.72, max_relative = 1e-12);
        assert_relative_eq!(pull("PLA"), 0.238, max_relative = 1e-12);
    }

    #[test]
    fn warp_chord_is_the_diagonal_of_a_rectangle_and_the_diameter_of_a_disc() {
        let plate = rectangle(7.0, -2.0, 40.0, 30.0).outer;
        assert_relative_eq!(longest_chord_mm(&plate), 50.0, max_relative = 1e-12);
        assert_relative_eq!(
            longest_chord_mm(&circle(0.0, 3.0, 8.0, 72)),
            16.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn warp_chord_agrees_with_all_pairs() {
        let mut seed = 11_u64;
        let mut random = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 40) as f64 / f64::from(1 << 24)
        };
        for round in 0..600 {
            let n = 2 + round % 17;
            // Half of the sets lie on a coarse grid: many co-linear and equal points.
            let grid = if round % 2 == 0 { 4.0 } else { 1e6 };
            let points: Vec<_> = (0..n)
                .map(|_| Point2::new((random() * grid).round(), (random() * grid * 0.6).round()))
                .collect();
            let brute = points
                .iter()
                .flat_map(|p| points.iter().map(move |q| (p - q).norm()))
                .fold(0.0, f64::max);
            assert_relative_eq!(
                longest_chord_mm(&hull2d(&points)),
                brute,
                max_relative = 1e-14
            );
        }
    }

    #[test]
    fn warp_of_a_point_or_nothing_is_nil() {
        assert_eq!(longest_chord_mm(&[]), 0.0);
        assert_eq!(longest_chord_mm(&hull2d(&[Point2::new(3.0, 4.0); 3])), 0.0);
        let line: Vec<_> = (0..5)
            .map(|k| Point2::new(f64::from(k), 2.0 * f64::from(k)))
            .collect();
        assert_relative_eq!(
            longest_chord_mm(&hull2d(&line)),
            80.0_f64.sqrt(),
            max_relative = 1e-14
        );
    }
}
