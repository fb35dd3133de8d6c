//! One vertex a position: welding by exact equality, in a reproducible order.
//!
//! Positions are compared by bit pattern after −0.0 has become 0.0. Vertices are
//! numbered in order of first appearance among the triangle corners, whatever the
//! number of threads: equal ones stand side by side once all are sorted.

use super::Mesh;
use nalgebra::Point3;
use rayon::prelude::*;

const VACANT: u32 = u32::MAX;

/// For every key, the index of the first key equal to it.
///
/// Fewer than `u32::MAX` keys.
fn first_equal<K: Copy + Ord + Send + Sync>(keys: &[K]) -> Vec<u32> {
    let numbered = keys.par_iter().enumerate();
    let mut order: Vec<(K, u32)> = numbered.map(|(i, key)| (*key, i as u32)).collect();
    order.par_sort_unstable();
    let mut first = vec![0; keys.len()];
    for equal in order.chunk_by(|a, b| a.0 == b.0) {
        for (_, i) in equal {
            first[*i as usize] = equal[0].1;
        }
    }
    first
}

/// Welds a soup of triangle corners (three consecutive keys a triangle; equal bits,
/// equal place).
///
/// `point` turns a key into a position in mm. Fewer than `u32::MAX` keys; a last
/// incomplete triple is left out.
pub(crate) fn weld_corners<K: Copy + Ord + Send + Sync>(
    keys: &[K],
    point: impl Fn(K) -> Point3<f64>,
) -> Mesh {
    let mut number = first_equal(keys);
    let mut vertices = Vec::with_capacity(keys.len() / 6 + 8);
    for i in 0..number.len() {
        let first = number[i] as usize;
        if first == i {
            number[i] = vertices.len() as u32;
            vertices.push(point(keys[i]));
        } else {
            number[i] = number[first];
        }
    }
    let triangles = number.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
    Mesh {
        vertices,
        triangles,
    }
}

fn canonical_bits(p: Point3<f64>) -> [u64; 3] {
    // Adding 0.0 turns −0.0 into 0.0 and changes nothing else.
    [
        (p.x + 0.0).to_bits(),
        (p.y + 0.0).to_bits(),
        (p.z + 0.0).to_bits(),
    ]
}

/// Welds an indexed mesh; vertices that no triangle uses disappear.
///
/// Every index must be in range.
pub(crate) fn weld_indexed(points: &[Point3<f64>], triangles: &[[u32; 3]]) -> Mesh {
    weld_points(points.len(), |i| points[i], triangles.iter().copied())
}

/// The same of `count` points that are asked for one by one, wherever they lie.
pub(crate) fn weld_points(
    count: usize,
    point: impl Fn(usize) -> Point3<f64>,
    triangles: impl Iterator<Item = [u32; 3]>,
) -> Mesh {
    let keys: Vec<[u64; 3]> = (0..count).map(|i| canonical_bits(point(i))).collect();
    let first = first_equal(&keys);
    let mut number = vec![VACANT; count];
    let mut vertices = Vec::new();
    let triangles = triangles
        .map(|t| {
            t.map(|v| {
                let first = first[v as usize] as usize;
                if number[first] == VACANT {
                    number[first] = vertices.len() as u32;
                    vertices.push(point(first) + nalgebra::Vector3::zeros());
                }
                number[first]
            })
        })
        .collect();
    Mesh {
        vertices,
        triangles,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn negative_zero_and_zero_are_one_vertex() {
        let points = [
            Point3::new(0.0, 0.0, 0.0),
            Point3::new(1.0, -0.0, 0.0),
            Point3::new(0.0, 1.0, -0.0),
            Point3::new(-0.0, -0.0, -0.0),
        ];
        let mesh = weld_indexed(&points, &[[0, 1, 2], [3, 2, 1]]);
        assert_eq!(mesh.vertices.len(), 3);
        assert_eq!(mesh.triangles, [[0, 1, 2], [0, 2, 1]]);
        assert!(
            mesh.vertices
                .iter()
                .all(|p| p.iter().all(|c| c.is_sign_positive()))
        );
    }

    #[test]
    fn numbering_follows_first_appearance_and_matches_a_plain_map() {
        // A soup over a small grid: many repeats.
        let keys: Vec<[u32; 3]> = (0u32..30_000)
            .map(|i| [(i * 7919) % 23, (i * 104_729) % 19, (i * 31) % 17])
            .collect();
        let mesh = weld_corners(&keys, |k| Point3::from(k.map(f64::from)));
        let mut seen: Vec<[u32; 3]> = Vec::new();
        let mut map = std::collections::BTreeMap::new();
        let expected: Vec<u32> = keys
            .iter()
            .map(|k| {
                *map.entry(*k).or_insert_with(|| {
                    seen.push(*k);
                    seen.len() as u32 - 1
                })
            })
            .collect();
        assert_eq!(mesh.triangles.as_flattened(), expected);
        assert_eq!(mesh.vertices.len(), seen.len());
    }

    #[test]
    fn unused_vertices_disappear() {
        let points: Vec<_> = [9.0, 0.0, 1.0, 2.0]
            .map(|x| Point3::new(x, x * x, 0.0))
            .into();
        let mesh = weld_indexed(&points, &[[3, 1, 2]]);
        assert_eq!(mesh.vertices, [points[3], points[1], points[2]]);
        assert_eq!(mesh.triangles, [[0, 1, 2]]);
    }
}
