//! Polygons to triangles: a fan where that is right, ears where the outline is hollow.

use nalgebra::{Point3, Vector3};

/// Above this many corners a hollow outline is fanned: cutting ears takes time with
/// the cube of the count in the worst case.
const MOST_EARS: usize = 512;

/// Splits one polygon, given by vertex indices in range of `points`, into triangles
/// that keep its sense. Fewer than three corners give none.
pub(super) fn triangulate(points: &[Point3<f64>], polygon: &[u32], out: &mut Vec<[u32; 3]>) {
    match *polygon {
        [] | [_] | [_, _] => {}
        [a, b, c] => out.push([a, b, c]),
        _ => {
            let normal = newell(points, polygon);
            let hollow = (0..polygon.len()).any(|i| turn(points, polygon, i, &normal) < 0.0);
            if hollow && polygon.len() <= MOST_EARS {
                cut_ears(points, polygon, &normal, out);
            } else {
                fan(polygon, out);
            }
        }
    }
}

fn fan(polygon: &[u32], out: &mut Vec<[u32; 3]>) {
    if let Some((&hub, rest)) = polygon.split_first() {
        out.extend(rest.windows(2).map(|edge| [hub, edge[0], edge[1]]));
    }
}

/// Twice the area vector of the outline (M. E. Newell's sum, from memory).
fn newell(points: &[Point3<f64>], polygon: &[u32]) -> Vector3<f64> {
    let at = |i: usize| points[polygon[i % polygon.len()] as usize];
    let origin = at(0);
    (0..polygon.len())
        .map(|i| (at(i) - origin).cross(&(at(i + 1) - origin)))
        .sum()
}

/// Sine-like measure of the turn at corner `i`: negative where the outline is hollow.
fn turn(points: &[Point3<f64>], polygon: &[u32], i: usize, normal: &Vector3<f64>) -> f64 {
    let n = polygon.len();
    let at = |i: usize| points[polygon[i % n] as usize];
    (at(i) - at(i + n - 1))
        .cross(&(at(i + 1) - at(i)))
        .dot(normal)
}

fn cut_ears(
    points: &[Point3<f64>],
    polygon: &[u32],
    normal: &Vector3<f64>,
    out: &mut Vec<[u32; 3]>,
) {
    let mut left = polygon.to_vec();
    while left.len() > 3 {
        let n = left.len();
        let is_ear = |i: usize| {
            if turn(points, &left, i, normal) <= 0.0 {
                return false;
            }
            let corners = [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
            let [a, b, c] = corners.map(|v| points[v as usize]);
            let inside = |p: Point3<f64>| {
                let left_of =
                    |a: Point3<f64>, b: Point3<f64>| (b - a).cross(&(p - a)).dot(normal) >= 0.0;
                left_of(a, b) && left_of(b, c) && left_of(c, a)
            };
            !left
                .iter()
                .any(|v| !corners.contains(v) && inside(points[*v as usize]))
        };
        // An outline that crosses itself may have no ear; the rest is then fanned.
        let Some(ear) = (0..n).find(|&i| is_ear(i)) else {
            break;
        };
        out.push([left[(ear + n - 1) % n], left[ear], left[(ear + 1) % n]]);
        left.remove(ear);
    }
    fan(&left, out);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(points: &[Point3<f64>], triangles: &[[u32; 3]]) -> (f64, Vector3<f64>) {
        let areas = triangles.iter().map(|t| {
            let [a, b, c] = t.map(|v| points[v as usize]);
            (b - a).cross(&(c - a)) / 2.0
        });
        (areas.clone().map(|a| a.norm()).sum(), areas.sum())
    }

    #[test]
    fn hollow_outlines_are_cut_without_overlap() {
        // An L, an arrow head and a U, turned out of the axes.
        let outlines: [(&[[f64; 2]], f64); 3] = [
            (
                &[[0., 0.], [2., 0.], [2., 1.], [1., 1.], [1., 2.], [0., 2.]],
                3.0,
            ),
            (&[[0., 0.], [1., 1.], [2., 0.], [1., 3.]], 2.0),
            (
                &[
                    [0., 0.],
                    [3., 0.],
                    [3., 3.],
                    [2., 3.],
                    [2., 1.],
                    [1., 1.],
                    [1., 3.],
                    [0., 3.],
                ],
                7.0,
            ),
        ];
        for (outline, expected) in outlines {
            let points: Vec<_> = outline
                .iter()
                .map(|[x, y]| Point3::new(0.6 * x, *y, 0.8 * x))
                .collect();
            for start in 0..outline.len() {
                let polygon: Vec<u32> = (0..outline.len())
                    .map(|i| ((i + start) % outline.len()) as u32)
                    .collect();
                let mut triangles = Vec::new();
                triangulate(&points, &polygon, &mut triangles);
                assert_eq!(triangles.len(), outline.len() - 2);
                let (sum, vector) = area(&points, &triangles);
                assert!((sum - expected).abs() < 1e-12, "{sum} for {expected}");
                assert!((vector.norm() - expected).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn too_few_corners_give_nothing() {
        let mut out = Vec::new();
        triangulate(&[Point3::origin()], &[0, 0], &mut out);
        triangulate(&[Point3::origin()], &[], &mut out);
        assert!(out.is_empty());
    }
}
