//! Connected shells, and faces that agree on a side.

use super::defect::DefectTally;
use super::edges::{Pairing, ends, middle};
use super::{Mesh, NO_NEIGHBOUR};

/// Connected shells of a mesh.
pub(crate) struct Shells {
    /// Triangles of each shell, ascending; shells in order of their first triangle.
    pub(crate) lists: Vec<Vec<u32>>,
    /// Whether every edge of the shell has an oppositely running partner.
    pub(crate) closed: Vec<bool>,
}

/// Finds shells over paired edges and turns triangles that run against the majority
/// of their shell. Pairs that still run the same way are parted: the surface has
/// one side only.
pub(crate) fn shells(
    mesh: &mut Mesh,
    pairing: &mut Pairing,
    flipped: &mut DefectTally,
    one_sided: &mut DefectTally,
) -> Shells {
    const UNSEEN: u32 = u32::MAX;
    let count = mesh.triangles.len();
    let across = &pairing.across;
    let mut shell_of = vec![UNSEEN; count];
    let mut turn = vec![false; count];
    let mut sizes: Vec<u32> = Vec::new();
    let mut stack = Vec::new();
    let oriented = pairing.same_way.is_empty();
    for seed in 0..count as u32 {
        if shell_of[seed as usize] != UNSEEN {
            continue;
        }
        let shell = sizes.len() as u32;
        shell_of[seed as usize] = shell;
        stack.push(seed);
        let mut size = 0;
        while let Some(t) = stack.pop() {
            size += 1;
            for h in 3 * t..3 * t + 3 {
                let other = across[h as usize];
                if other == NO_NEIGHBOUR || shell_of[(other / 3) as usize] != UNSEEN {
                    continue;
                }
                let next = other / 3;
                shell_of[next as usize] = shell;
                if !oriented {
                    let against = ends(mesh, h) == ends(mesh, other);
                    turn[next as usize] = turn[t as usize] ^ against;
                }
                stack.push(next);
            }
        }
        sizes.push(size);
    }

    let mut lists: Vec<Vec<u32>> = sizes
        .iter()
        .map(|n| Vec::with_capacity(*n as usize))
        .collect();
    for (t, shell) in shell_of.iter().enumerate() {
        lists[*shell as usize].push(t as u32);
    }
    if !oriented {
        for list in &lists {
            let against = list.iter().filter(|t| turn[**t as usize]).count();
            if 2 * against > list.len() {
                for &t in list {
                    turn[t as usize] = !turn[t as usize];
                }
            }
        }
        for (t, _) in turn.iter().enumerate().filter(|(_, turned)| **turned) {
            flipped.add(|| mesh.corners(t)[0]);
        }
        turn_triangles(mesh, &mut pairing.across, &turn);
        for h in 0..pairing.across.len() as u32 {
            let other = pairing.across[h as usize];
            if other != NO_NEIGHBOUR && ends(mesh, h) == ends(mesh, other) {
                one_sided.add(|| middle(mesh, h));
                pairing.across[h as usize] = NO_NEIGHBOUR;
                pairing.across[other as usize] = NO_NEIGHBOUR;
            }
        }
    }
    let closed = lists
        .iter()
        .map(|list| {
            list.iter().all(|&t| {
                let h = 3 * t as usize;
                !pairing.across[h..h + 3].contains(&NO_NEIGHBOUR)
            })
        })
        .collect();
    Shells { lists, closed }
}

/// Reverses the marked triangles and keeps the half-edge partners in step.
pub(crate) fn turn_triangles(mesh: &mut Mesh, across: &mut [u32], turn: &[bool]) {
    // (a, b, c) becomes (a, c, b): half-edge 0 is what 2 was, 1 stays, 2 was 0.
    let moved = |h: u32| {
        if h != NO_NEIGHBOUR && turn[(h / 3) as usize] {
            h - h % 3 + (2 - h % 3)
        } else {
            h
        }
    };
    for (t, partners) in across.chunks_exact_mut(3).enumerate() {
        if turn[t] {
            partners.swap(0, 2);
            mesh.triangles[t].swap(1, 2);
        }
        for partner in partners {
            *partner = moved(*partner);
        }
    }
}
