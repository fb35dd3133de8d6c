//! Taking out what prints nothing: faces without area, faces that are there twice,
//! and gaps smaller than the file's precision.

use super::defect::{Defect, DefectKind, DefectTally};
use super::edges::{Pairing, ends, middle, pair};
use super::{Mesh, NO_NEIGHBOUR};
use crate::tol;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Height over longest edge below which a triangle has no area: its normal would
/// be rounding noise of double precision.
const LEAST_HEIGHT_REL: f64 = 1e-12;

/// Twice the area vector of a triangle.
pub(crate) fn double_area([a, b, c]: &[Point3<f64>; 3]) -> Vector3<f64> {
    (b - a).cross(&(c - a))
}

/// Whether a triangle has no area worth the name.
pub(crate) fn is_sliver(corners: &[Point3<f64>; 3]) -> bool {
    let [a, b, c] = corners;
    let sides = [b - a, c - b, a - c].map(|side| side.norm_squared());
    let longest = sides[0].max(sides[1]).max(sides[2]);
    // Not `<`: the comparison must hold for zero and for what underflows to it.
    double_area(corners).norm() <= LEAST_HEIGHT_REL * longest
}

/// Cleans `mesh` and pairs its edges.
pub(crate) fn clean(mesh: &mut Mesh, defects: &mut Vec<Defect>) -> Pairing {
    let mut zero_area = DefectTally::default();
    drop_repeated(mesh, &mut zero_area);
    let mut pairing = pair(mesh);

    let mut duplicates = DefectTally::default();
    if drop_duplicates(mesh, &pairing, &mut duplicates) {
        pairing = pair(mesh);
    }
    if let Some((joined, joined_pairing, defect)) = join_open_edges(mesh, &pairing, &mut zero_area)
    {
        *mesh = joined;
        pairing = joined_pairing;
        defects.push(defect);
    }
    if drop_slivers(mesh, &pairing, &mut zero_area) {
        pairing = pair(mesh);
    }
    defects.extend(zero_area.defect(DefectKind::ZeroAreaFaces));
    defects.extend(duplicates.defect(DefectKind::DuplicateFaces));
    pairing
}

fn drop_repeated(mesh: &mut Mesh, tally: &mut DefectTally) {
    let Mesh {
        vertices,
        triangles,
    } = mesh;
    triangles.retain(|&[a, b, c]| {
        let fine = a != b && b != c && c != a;
        if !fine {
            tally.add(|| vertices[a as usize]);
        }
        fine
    });
}

/// Drops triangles without area, except those that hold the surface together: a
/// sliver along an edge with a vertex on it is what closes that edge.
fn drop_slivers(mesh: &mut Mesh, pairing: &Pairing, tally: &mut DefectTally) -> bool {
    let slivers: Vec<usize> = (0..mesh.triangles.len())
        .into_par_iter()
        .with_min_len(1 << 14)
        .filter(|&t| is_sliver(&mesh.corners(t)))
        .collect();
    let mut drop = Vec::new();
    for &t in &slivers {
        tally.add(|| mesh.corners(t)[0]);
        if pairing.across[3 * t..3 * t + 3].contains(&NO_NEIGHBOUR) {
            drop.push(t);
        }
    }
    remove(mesh, &drop)
}

/// Removes triangles by ascending number; false if there was nothing to do.
fn remove(mesh: &mut Mesh, drop: &[usize]) -> bool {
    let mut next = drop.iter().peekable();
    let mut t = 0;
    mesh.triangles.retain(|_| {
        let gone = next.next_if(|d| **d == t).is_some();
        t += 1;
        !gone
    });
    !drop.is_empty()
}

/// Drops faces that are there twice.
///
/// A face and its mirror image stay: two bodies that share a face each keep their
/// side. They go where nothing else is attached (both), and where the whole mesh is
/// double-sided (one of each).
fn drop_duplicates(mesh: &mut Mesh, pairing: &Pairing, tally: &mut DefectTally) -> bool {
    let mut suspects: Vec<u32> = pairing.crowd.iter().map(|h| h / 3).collect();
    let pillow = |t: usize| {
        let across = &pairing.across[3 * t..3 * t + 3];
        across[0] != NO_NEIGHBOUR && across.iter().all(|h| h / 3 == across[0] / 3)
    };
    let pillows = (0..mesh.triangles.len()).filter(|&t| pillow(t));
    suspects.extend(pillows.map(|t| t as u32));
    suspects.sort_unstable();
    suspects.dedup();

    let mut faces: Vec<([u32; 3], bool, u32)> = suspects
        .iter()
        .map(|&t| {
            let [a, b, c] = mesh.triangles[t as usize];
            let mut sorted = [a, b, c];
            sorted.sort_unstable();
            let even = [[a, b, c], [b, c, a], [c, a, b]].contains(&sorted);
            (sorted, even, t)
        })
        .collect();
    faces.sort_unstable();

    let mut drop = Vec::new();
    let mut mirrored = Vec::new();
    let groups = faces.chunk_by(|p, q| p.0 == q.0);
    for group in groups.filter(|group| group.len() > 1) {
        let isolated = group.len() == 2 && pillow(group[0].2 as usize);
        for side in group.chunk_by(|p, q| p.1 == q.1) {
            let kept = usize::from(!isolated);
            drop.extend(side.iter().skip(kept).map(|face| face.2 as usize));
        }
        if !isolated && group[0].1 != group[group.len() - 1].1 {
            // The later of the two sides' first faces.
            let other = group.iter().find(|face| face.1);
            let last = other.map_or(group[0].2, |face| face.2);
            mirrored.push(group[0].2.max(last) as usize);
        }
    }
    if 2 * mirrored.len() + drop.len() == mesh.triangles.len() {
        drop.extend(mirrored);
    }
    drop.sort_unstable();
    for &t in &drop {
        tally.add(|| mesh.corners(t)[0]);
    }
    remove(mesh, &drop)
}

/// Joins vertices on open edges that lie within the file's precision of each other,
/// if that closes edges and spoils none.
fn join_open_edges(
    mesh: &Mesh,
    pairing: &Pairing,
    zero_area: &mut DefectTally,
) -> Option<(Mesh, Pairing, Defect)> {
    let (lo, hi) = mesh.bounds()?;
    let reach = tol::length((hi - lo).max());
    if pairing.open.is_empty() || reach <= 0.0 {
        return None;
    }
    let open = pairing.open.iter();
    let rim = open.flat_map(|&h| <[u32; 2]>::from(ends(mesh, h)));
    let mut rim: Vec<u32> = rim.collect();
    rim.sort_unstable();
    rim.dedup();

    // Vertices by cell of the reach's size; a vertex joins the lowest-numbered one
    // within reach, which lies in its own or a neighbouring cell.
    let cell = |v: u32| ((mesh.vertices[v as usize] - lo) / reach).map(|c| c.floor() as i64);
    let mut cells: Vec<([i64; 3], u32)> = rim.iter().map(|&v| (cell(v).into(), v)).collect();
    cells.sort_unstable();
    let mut joined: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
    let mut moved = false;
    for &v in &rim {
        let home = cell(v);
        let mut best = v;
        for step in 0..27 {
            let near = home + Vector3::new(step % 3 - 1, step / 3 % 3 - 1, step / 9 - 1);
            let near: [i64; 3] = near.into();
            let from = cells.partition_point(|(c, _)| *c < near);
            let same = cells[from..].iter().take_while(|(c, _)| *c == near);
            for &(_, other) in same.take(64) {
                let gap = mesh.vertices[other as usize] - mesh.vertices[v as usize];
                if other < best && gap.norm() <= reach {
                    best = other;
                }
            }
        }
        // `best` is lower and has been decided already.
        joined[v as usize] = joined[best as usize];
        moved |= best != v;
    }
    if !moved {
        return None;
    }
    let mut result = mesh.clone();
    for v in result.triangles.as_flattened_mut() {
        *v = joined[*v as usize];
    }
    let mut collapsed = DefectTally::default();
    drop_repeated(&mut result, &mut collapsed);
    let after = pair(&result);
    if after.open.len() >= pairing.open.len() || after.crowded.len() > pairing.crowded.len() {
        return None;
    }
    zero_area.append(&collapsed);
    let closed = (pairing.open.len() - after.open.len()) as u64;
    let at = middle(mesh, pairing.open[0]);
    let defect = Defect::new(DefectKind::JoinedEdges, closed, at);
    Some((result, after, defect))
}

/// Drops vertices that no triangle uses; the others keep their order.
pub(crate) fn drop_unused(mesh: &mut Mesh) {
    const UNSEEN: u32 = u32::MAX;
    let mut number = vec![UNSEEN; mesh.vertices.len()];
    for &v in mesh.triangles.as_flattened() {
        number[v as usize] = 0;
    }
    if !number.contains(&UNSEEN) {
        return;
    }
    for (kept, n) in number.iter_mut().filter(|n| **n != UNSEEN).enumerate() {
        *n = kept as u32;
    }
    let mut v = 0;
    mesh.vertices.retain(|_| {
        let used = number[v] != UNSEEN;
        v += 1;
        used
    });
    for v in mesh.triangles.as_flattened_mut() {
        *v = number[*v as usize];
    }
}

/// Whether all vertices lie within the file's precision of one plane or line.
///
/// The plane goes through three vertices that are far apart, so its error at any
/// other vertex is a few times that of the vertices.
pub(crate) fn is_flat(mesh: &Mesh) -> bool {
    let Some((lo, hi)) = mesh.bounds() else {
        return true;
    };
    let Some(&a) = mesh.vertices.first() else {
        return true;
    };
    let within = tol::COPLANAR_REL * (hi - lo).norm();
    let farthest = |distance: &dyn Fn(&Point3<f64>) -> f64| {
        mesh.vertices.iter().fold((0.0, a), |best, p| {
            let d = distance(p);
            if d > best.0 { (d, *p) } else { best }
        })
    };
    let (length, b) = farthest(&|p| (p - a).norm());
    if length <= within {
        return true;
    }
    let along = (b - a) / length;
    let (width, c) = farthest(&|p| along.cross(&(p - a)).norm());
    if width <= within {
        return true;
    }
    let normal = (b - a).cross(&(c - a)).normalize();
    farthest(&|p| normal.dot(&(p - a)).abs()).0 <= within
}
