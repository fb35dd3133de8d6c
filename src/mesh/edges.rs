//! Which half-edge lies across which: those of one edge stand side by side once all are
//! sorted by their ends.
//!
//! Half-edge `3t + i` runs from corner i to corner i + 1 of triangle t.

use super::{Mesh, NO_NEIGHBOUR};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Half-edges paired, and what did not pair.
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
    // By the lower end, then the higher one, then by number.
    let mut edges: Vec<([u32; 2], u32)> = (0..count as u32)
        .into_par_iter()
        .map(|h| {
            let (a, b) = ends(mesh, h);
            ([a.min(b), a.max(b)], h)
        })
        .collect();
    edges.par_sort_unstable();
    let mut pairing = Pairing {
        across: vec![NO_NEIGHBOUR; count],
        open: Vec::new(),
        unmatched: Vec::new(),
        crowded: Vec::new(),
        crowd: Vec::new(),
        same_way: Vec::new(),
    };
    for edge in edges.chunk_by(|a, b| a.0 == b.0) {
        match *edge {
            [(_, only)] => pairing.open.push(only),
            [(_, a), (_, b)] => {
                pairing.across[a as usize] = b;
                pairing.across[b as usize] = a;
                if ends(mesh, a) == ends(mesh, b) {
                    pairing.same_way.push(a);
                }
            }
            _ => {
                let crowd: Vec<u32> = edge.iter().map(|(_, h)| *h).collect();
                pairing.crowded.push(crowd[0]);
                pairing.crowd.extend_from_slice(&crowd);
                pair_crowd(mesh, &crowd, &mut pairing);
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
fn pair_crowd(mesh: &Mesh, crowd: &[u32], pairing: &mut Pairing) {
    let (a, b) = ends(mesh, crowd[0]);
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
        let apex = t
            .into_iter()
            .find(|v| *v != low && *v != high)
            .unwrap_or(low);
        let reach = mesh.vertices[apex as usize] - foot;
        reach - axis * reach.dot(&axis)
    };
    let zero = arm(crowd[0]);
    let side = axis.cross(&zero);
    let mut leaves: Vec<Leaf> = crowd
        .iter()
        .map(|&half_edge| {
            let arm = arm(half_edge);
            let angle = (arm.dot(&side).atan2(arm.dot(&zero)) * STEPS).round();
            let turn = (std::f64::consts::TAU * STEPS).round();
            let angle = if angle < 0.0 {
                angle + turn
            } else {
                angle + 0.0
            };
            Leaf {
                half_edge,
                forward: ends(mesh, half_edge).0 == low,
                angle,
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
    pairing.unmatched.extend(
        leaves
            .iter()
            .zip(&matched)
            .filter(|(_, m)| !**m)
            .map(|(leaf, _)| leaf.half_edge),
    );
}
