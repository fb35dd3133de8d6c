//! One vertex a position: welding by exact equality, in a reproducible order.
//!
//! Positions are compared by bit pattern after −0.0 has become 0.0. Vertices are
//! numbered in order of first appearance among the triangle corners, whatever the
//! number of threads: corners are dealt into shards by hash, each shard is small
//! enough to be welded inside the processor's cache, and the numbering is one
//! serial pass at the end.

use super::{Mesh, each};
use nalgebra::Point3;
use rayon::prelude::*;

/// Corners hashed by one task.
const CHUNK: usize = 1 << 16;
/// Shards are a power of two; at a million triangles each holds some ten thousand positions.
const SHARD_BITS: u32 = 6;
const SHARDS: usize = 1 << SHARD_BITS;
const VACANT: u32 = u32::MAX;

/// A number as bits, of which three are a position: equal bits, equal place.
pub(crate) trait Ordinate: Copy + Eq + Send + Sync + Into<u64> {}

impl<B: Copy + Eq + Send + Sync + Into<u64>> Ordinate for B {}

fn hash<B: Ordinate>(position: [B; 3]) -> u32 {
    let mix = |a: u64, b: u64| {
        let wide = u128::from(a ^ 0x9e37_79b9_7f4a_7c15) * u128::from(b ^ 0xd1b5_4a32_d192_ed03);
        (wide as u64) ^ ((wide >> 64) as u64)
    };
    let [x, y, z] = position.map(Into::into);
    (mix(mix(x, y), z) >> 32) as u32
}

/// For every key, the index of the first key equal to it.
///
/// Fewer than `u32::MAX` keys.
fn first_equal<B: Ordinate>(keys: &[[B; 3]]) -> Vec<u32> {
    let hashes = each(keys, CHUNK, |k| hash(*k));
    let shard_of = |hash: u32| (hash >> (32 - SHARD_BITS)) as usize;

    let mut start = [0usize; SHARDS + 1];
    for &hash in &hashes {
        start[shard_of(hash) + 1] += 1;
    }
    for s in 0..SHARDS {
        start[s + 1] += start[s];
    }
    let mut order = vec![0u32; keys.len()];
    let mut next = start;
    for (i, &hash) in hashes.iter().enumerate() {
        let slot = &mut next[shard_of(hash)];
        order[*slot] = i as u32;
        *slot += 1;
    }

    let mut slices = Vec::with_capacity(SHARDS);
    let mut rest = order.as_mut_slice();
    for s in 0..SHARDS {
        let (shard, tail) = rest.split_at_mut(start[s + 1] - start[s]);
        slices.push(shard);
        rest = tail;
    }
    // Each shard replaces its corner list by (corner, first) knowledge in place.
    let firsts: Vec<Vec<u32>> = slices
        .into_par_iter()
        .map(|shard| {
            let size = (shard.len() * 2).next_power_of_two().max(4);
            let mut table = vec![VACANT; size];
            let mut firsts = Vec::with_capacity(shard.len());
            for &i in shard.iter() {
                let mut slot = hashes[i as usize] as usize & (size - 1);
                let first = loop {
                    let seen = table[slot];
                    if seen == VACANT {
                        table[slot] = i;
                        break i;
                    }
                    if keys[seen as usize] == keys[i as usize] {
                        break seen;
                    }
                    slot = (slot + 1) & (size - 1);
                };
                firsts.push(first);
            }
            firsts
        })
        .collect();

    // The shards' results go back to the corners they came from.
    let mut first = hashes;
    for (s, shard) in firsts.iter().enumerate() {
        for (&i, &f) in order[start[s]..start[s + 1]].iter().zip(shard) {
            first[i as usize] = f;
        }
    }
    first
}

/// Welds a soup of triangle corners (three consecutive keys a triangle).
///
/// `point` turns a key into a position in mm. Fewer than `u32::MAX` keys; a last
/// incomplete triple is left out.
pub(crate) fn weld_corners<B: Ordinate>(
    keys: &[[B; 3]],
    point: impl Fn([B; 3]) -> Point3<f64>,
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
        // A soup over a small grid: many repeats, all shards used.
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
