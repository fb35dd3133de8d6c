//! Two small parts made here, for which the largest flat is not the way: a fork that
//! would wobble, and a hook whose tip would hang in the air.

use crate::mesh::{Mesh, Part};
use nalgebra::Point3;

/// Cuts along the three axes and which of the cells between them are filled.
struct Cells {
    cuts: [Vec<f64>; 3],
    filled: Vec<[usize; 3]>,
}

impl Cells {
    /// The surface between filled and empty cells. Every grid point is a vertex, so it
    /// closes whatever is filled.
    fn mesh(&self) -> Mesh {
        let [nx, ny, nz] = [0, 1, 2].map(|k| self.cuts[k].len());
        let at = |[i, j, k]: [usize; 3]| (i + nx * (j + ny * k)) as u32;
        let mut mesh = Mesh::default();
        for k in 0..nz {
            for j in 0..ny {
                for i in 0..nx {
                    mesh.vertices.push(Point3::new(
                        self.cuts[0][i],
                        self.cuts[1][j],
                        self.cuts[2][k],
                    ));
                }
            }
        }
        for cell in &self.filled {
            for axis in 0..3 {
                for far in [false, true] {
                    let mut beside = *cell;
                    beside[axis] = if far {
                        cell[axis] + 1
                    } else {
                        cell[axis].wrapping_sub(1)
                    };
                    if self.filled.contains(&beside) {
                        continue;
                    }
                    let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
                    let corner = |du: usize, dv: usize| {
                        let mut p = *cell;
                        p[axis] += usize::from(far);
                        p[u] += du;
                        p[v] += dv;
                        at(p)
                    };
                    let mut ring = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
                    if !far {
                        ring.reverse();
                    }
                    mesh.triangles.push([ring[0], ring[1], ring[2]]);
                    mesh.triangles.push([ring[0], ring[2], ring[3]]);
                }
            }
        }
        mesh
    }
}

/// A fork: a foot of 60 × 26 × 4 mm with two tines 4 mm square and 90 mm tall at its edge.
/// `None` never happens; the surface is closed.
pub fn fork() -> Option<Part> {
    let cuts = [
        vec![0.0, 8.0, 12.0, 48.0, 52.0, 60.0],
        vec![0.0, 4.0, 26.0],
        vec![0.0, 4.0, 94.0],
    ];
    let mut filled = Vec::new();
    for i in 0..5 {
        for j in 0..2 {
            filled.push([i, j, 0]);
        }
    }
    filled.push([1, 0, 1]);
    filled.push([3, 0, 1]);
    Part::new(Cells { cuts, filled }.mesh()).ok().map(|p| p.0)
}

/// A hook: a back of 18 × 6 × 70 mm, an arm 10 mm high out to 48 mm, its tip 20 mm higher.
/// `None` never happens; the surface is closed.
pub fn hook() -> Option<Part> {
    let cuts = [
        vec![0.0, 18.0],
        vec![0.0, 6.0, 40.0, 48.0],
        vec![0.0, 10.0, 30.0, 70.0],
    ];
    let filled = vec![
        [0, 0, 0],
        [0, 0, 1],
        [0, 0, 2],
        [0, 1, 0],
        [0, 2, 0],
        [0, 2, 1],
    ];
    Part::new(Cells { cuts, filled }.mesh()).ok().map(|p| p.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_parts_close_and_have_the_volume_of_their_blocks() {
        let fork = fork().expect("a part");
        assert!(fork.closed && !fork.overlapping);
        assert!((fork.mass.volume_mm3 - (60.0 * 26.0 * 4.0 + 2.0 * 16.0 * 90.0)).abs() < 1e-6);
        let hook = hook().expect("a part");
        assert!(hook.closed && !hook.overlapping);
        let profile = 6.0 * 70.0 + 34.0 * 10.0 + 8.0 * 30.0;
        assert!((hook.mass.volume_mm3 - 18.0 * profile).abs() < 1e-6);
    }
}
