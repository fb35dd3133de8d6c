//! A triangle in small equal pieces, to ask something of each.

use nalgebra::Point3;

/// How many pieces a side is cut into so that none is longer than `longest_mm`, at most
/// `most` and at least one.
pub fn cuts(corners: &[Point3<f64>; 3], longest_mm: f64, most: usize) -> usize {
    let [a, b, c] = corners;
    let side = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    ((side / longest_mm).ceil() as usize).clamp(1, most)
}

/// Cuts each side into `n` and hands over the centroid of each of the n² equal pieces.
pub fn each_piece(corners: &[Point3<f64>; 3], n: usize, mut take: impl FnMut(Point3<f64>)) {
    let [a, b, c] = corners;
    let (u, v) = ((b - a) / n as f64, (c - a) / n as f64);
    for j in 0..n {
        for i in 0..n - j {
            let (fi, fj) = (i as f64, j as f64);
            take(a + u * (fi + 1.0 / 3.0) + v * (fj + 1.0 / 3.0));
            if i + j + 1 < n {
                take(a + u * (fi + 2.0 / 3.0) + v * (fj + 2.0 / 3.0));
            }
        }
    }
}

/// Mean of a value over the centroids of the n² equal pieces.
pub fn mean(
    corners: &[Point3<f64>; 3],
    n: usize,
    mut value: impl FnMut(Point3<f64>) -> f64,
) -> f64 {
    let mut sum = 0.0;
    each_piece(corners, n, |p| sum += value(p));
    sum / (n * n) as f64
}
