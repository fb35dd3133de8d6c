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

/// Less of a triangle than this is not asked.
const LEAST_SHARE: f64 = 1e-9;
/// Height over longest side below which a triangle is thin.
const THIN: f64 = 1.0 / 3.0;

/// Mean of a value over small pieces of a triangle, none longer than `longest_mm` but where a side
/// has `most` of them: exact for a value that is linear.
///
/// A compact triangle is cut into n² equal pieces. A thin one is cut into strips across its longest side,
/// and these along it as often as they have room: cut n times both ways it would be asked far too often.
pub fn mean(
    corners: &[Point3<f64>; 3],
    longest_mm: f64,
    most: usize,
    mut value: impl FnMut(Point3<f64>) -> f64,
) -> f64 {
    let [of] = means(corners, longest_mm, most, |p| [value(p)]);
    of
}

/// The same of several values at once.
pub fn means<const N: usize>(
    corners: &[Point3<f64>; 3],
    longest_mm: f64,
    most: usize,
    mut value: impl FnMut(Point3<f64>) -> [f64; N],
) -> [f64; N] {
    let n = cuts(corners, longest_mm, most);
    let mut sums = [0.0; N];
    let add = |sums: &mut [f64; N], values: [f64; N], share: f64| {
        (0..N).for_each(|k| sums[k] += share * values[k]);
    };
    if n > 1
        && let Some(thin) = Thin::of(corners)
    {
        let longest_mm = longest_mm.max(thin.length_mm / most as f64);
        thin.each_strip(longest_mm, |p, share| add(&mut sums, value(p), share));
        return sums;
    }
    each_piece(corners, n, |p| add(&mut sums, value(p), 1.0));
    sums.map(|sum| sum / (n * n) as f64)
}

/// A thin triangle, cut at its height into two with a corner of the longest side each.
struct Thin {
    length_mm: f64,
    apex: Point3<f64>,
    foot: Point3<f64>,
    ends: [Point3<f64>; 2],
}

impl Thin {
    /// None where it is compact or has no area.
    fn of([a, b, c]: &[Point3<f64>; 3]) -> Option<Self> {
        let turns = [[a, b, c], [b, c, a], [c, a, b]];
        let side = |[a, b, _]: &[&Point3<f64>; 3]| (*b - *a).norm();
        let turns = turns.into_iter();
        let [a, b, apex] = turns.reduce(|x, y| if side(&y) > side(&x) { y } else { x })?;
        let along = b - a;
        let foot = a + along * (along.dot(&(apex - a)) / along.norm_squared());
        let length_mm = along.norm();
        ((apex - foot).norm() < THIN * length_mm).then_some(Self {
            length_mm,
            apex: *apex,
            foot,
            ends: [*a, *b],
        })
    }

    /// Hands over points with their shares of the area, which add up to 1.
    fn each_strip(&self, longest_mm: f64, mut take: impl FnMut(Point3<f64>, f64)) {
        let pieces = |mm: f64| (mm / longest_mm).ceil().max(1.0);
        let high_mm = (self.apex - self.foot).norm();
        for end in self.ends {
            let long_mm = (self.foot - end).norm();
            let half = long_mm / self.length_mm;
            if half < LEAST_SHARE {
                continue;
            }
            let n = pieces(long_mm);
            for k in 0..n as u32 {
                let [u, v] = [f64::from(k) / n, f64::from(k + 1) / n];
                // From the end to the height the strips widen evenly.
                let area = v * v - u * u;
                let at = 2.0 / 3.0 * (v * v * v - u * u * u) / area;
                let rows = pieces(at * high_mm);
                for row in 0..rows as u32 {
                    let up = (f64::from(row) + 0.5) / rows;
                    let far = self.foot + (self.apex - self.foot) * up;
                    take(end + (far - end) * at, half * area / rows);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A linear value has its mean at the centroid, whatever the shape.
    #[test]
    fn the_mean_of_a_plane_is_that_of_its_middle() {
        for tall in [0.01, 0.4, 20.0, 300.0] {
            let corners =
                [[0.0, 0.0], [50.0, 0.0], [7.0, tall]].map(|[x, y]| Point3::new(x, y, 2.0));
            let of = mean(&corners, 2.0, 20, |p| p.x + 3.0 * p.y);
            assert!((of - (19.0 + tall)).abs() < 1e-9, "{tall}: {of}");
        }
    }

    /// 50 mm long and 0.1 mm wide: 26 strips of 2 mm, not 25² pieces.
    #[test]
    fn a_thin_triangle_is_asked_along_its_length_only() {
        let corners = [[0.0, 0.0], [50.0, 0.0], [50.0, 0.1]].map(|[x, y]| Point3::new(x, y, 0.0));
        let (mut asked, mut last) = (0, 0.0_f64);
        mean(&corners, 2.0, 200, |p| {
            asked += 1;
            last = last.max(p.x);
            0.0
        });
        assert_eq!(asked, 26);
        assert!(last > 48.0, "{last}");
    }
}
