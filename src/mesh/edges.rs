//! Which half-edge lies across which: pairing by bucket, no hash map.
//!
//! Half-edge `3t + i` runs from corner i to corner i + 1 of triangle t. Half-edges
//! are dealt into one bucket per lower vertex number, and each small bucket is
//! sorted by the higher one: linear in the mesh and close to it in memory.

use super::{Mesh, NO_NEIGHBOUR};
use nalgebra::{Point3, Vector3};

/// Half-edges paired, and what did not pair.
#[derive(Default)]
pub(crate) struct Pairing {
    /// Half-edge across each half-edge, or [`NO_NEIGHBOUR`]. Symmetric.
    pub(crate) across: Vec<u32>,
    /// One half-edge of every edge with a single triangle, ascending by vertex.
    pub(crate) open: Vec<u32>,
    /// Half-edges without partner at edges of three or more triangles.
    pub(crate) unmatched: Vec<u32>,
    /// One half-edge of every edge of three or more triangles.
    pub(crate) crowded: Vec<u32>,
    /// All half-edges of such edges.
    pub(crate) crowd: Vec<u32>,
    /// One half-edge of every pair that runs the same way.
    pub(crate) same_way: Vec<u32>,
}

/// Ends of half-edge `h`, in its direction.
pub(crate) fn ends(mesh: &Mesh, h: u32) -> (u32, u32) {
    let t = &mesh.triangles[(h / 3) as usize];
    match h % 3 {
        0 => (t[0], t[1]),
        1 => (t[1], t[2]),
        _ => (t[2], t[0]),
    }
}

/// Middle of half-edge `h`.
pub(crate) fn middle(mesh: &Mesh, h: u32) -> Point3<f64> {
    let (a, b) = ends(mesh, h);
    nalgebra::center(&mesh.vertices[a as usize], &mesh.vertices[b as usize])
}

/// Pairs all half-edges of a mesh without repeated indices in a triangle.
///
/// Two triangles at an edge pair whichever way they run. At an edge of more, those
/// that bound the same wedge of material pair, as far as directions allow.
pub(crate) fn pair(mesh: &Mesh) -> Pairing {
    let count = 3 * mesh.triangles.len();
    let mut start = vec![0u32; mesh.vertices.len() + 1];
    for t in &mesh.triangles {
        for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
            start[a.min(b) as usize] += 1;
        }
    }
    let mut sum = 0;
    for s in &mut start {
        sum += *s;
        *s = sum;
    }
    // Filled from the back, `start` ends as the first slot of each bucket; going
    // through the half-edges backwards keeps each bucket in ascending order.
    let mut slots = vec![0u64; count];
    for (t, triangle) in mesh.triangles.iter().enumerate().rev() {
        for i in (0..3).rev() {
            let (a, b) = (triangle[i], triangle[(i + 1) % 3]);
            let slot = &mut start[a.min(b) as usize];
            *slot -= 1;
            slots[*slot as usize] = (u64::from(a.max(b)) << 32) | (3 * t + i) as u64;
        }
    }

    let mut pairing = Pairing {
        across: vec![NO_NEIGHBOUR; count],
        ..Pairing::default()
    };
    for bounds in start.windows(2) {
        let bucket = &mut slots[bounds[0] as usize..bounds[1] as usize];
        bucket.sort_unstable();
        for edge in bucket.chunk_by(|a, b| a >> 32 == b >> 32) {
            match *edge {
                [only] => pairing.open.push(only as u32),
                [a, b] => {
                    let (a, b) = (a as u32, b as u32);
                    pairing.across[a as usize] = b;
                    pairing.across[b as usize] = a;
                    if ends(mesh, a) == ends(mesh, b) {
                        pairing.same_way.push(a);
                    }
                }
                _ => {
                    pairing.crowded.push(edge[0] as u32);
                    pairing.crowd.extend(edge.iter().map(|h| *h as u32));
                    pair_crowd(mesh, edge, &mut pairing);
                }
            }
        }
    }
    pairing
}

/// One triangle at a crowded edge.
struct Leaf {
    half_edge: u32,
    /// Runs from the lower to the higher vertex number.
    forward: bool,
    /// Angle around the edge.
    angle: f64,
}

/// Steps to a radian in which angles around an edge are compared: far coarser than
/// rounding, so that faces that coincide do, and far finer than a file can mean.
const STEPS: f64 = 1e9;

/// Pairs the triangles at a crowded edge so that each pair bounds one wedge of
/// material. Going round the edge counter-clockwise (seen against its direction), a
/// backward triangle faces the way we come from and opens a wedge, a forward one
/// closes it. At equal angles closing comes first: of two bodies that share a face
/// each keeps its own side.
fn pair_crowd(mesh: &Mesh, edge: &[u64], pairing: &mut Pairing) {
    let (a, b) = ends(mesh, edge[0] as u32);
    let (low, high) = (a.min(b), a.max(b));
    let foot = mesh.vertices[low as usize];
    let along = mesh.vertices[high as usize] - foot;
    let length = along.norm();
    let axis = if length > 0.0 {
        along / length
    } else {
        Vector3::z()
    };
    let arm = |h: u32| {
        let t = mesh.triangles[(h / 3) as usize];
        let apex = t.into_iter().find(|v| *v != low && *v != high);
        let reach = mesh.vertices[apex.unwrap_or(low) as usize] - foot;
        reach - axis * reach.dot(&axis)
    };
    let zero = arm(edge[0] as u32);
    let side = axis.cross(&zero);
    let mut leaves: Vec<Leaf> = edge
        .iter()
        .map(|slot| {
            let half_edge = *slot as u32;
            let arm = arm(half_edge);
            let angle = (libm::atan2(arm.dot(&side), arm.dot(&zero)) * STEPS).round();
            let turn = (std::f64::consts::TAU * STEPS).round();
            Leaf {
                half_edge,
                forward: ends(mesh, half_edge).0 == low,
                angle: angle + if angle < 0.0 { turn } else { 0.0 },
            }
        })
        .collect();
    // True sorts after false: closing (forward) first.
    leaves.sort_by(|p, q| {
        p.angle
            .total_cmp(&q.angle)
            .then(q.forward.cmp(&p.forward))
            .then(p.half_edge.cmp(&q.half_edge))
    });

    // Matching brackets on a circle: two rounds, an opening may find its closing
    // only after the seam.
    let n = leaves.len();
    let mut opened: Vec<usize> = Vec::new();
    let mut matched = vec![false; n];
    for step in 0..2 * n {
        let i = step % n;
        if matched[i] {
            continue;
        }
        if !leaves[i].forward {
            if step < n {
                opened.push(i);
            }
        } else if let Some(o) = opened.pop() {
            matched[i] = true;
            matched[o] = true;
            let (p, q) = (leaves[o].half_edge, leaves[i].half_edge);
            pairing.across[p as usize] = q;
            pairing.across[q as usize] = p;
        }
    }
    let left = leaves.iter().zip(matched).filter(|(_, matched)| !matched);
    pairing
        .unmatched
        .extend(left.map(|(leaf, _)| leaf.half_edge));
}
