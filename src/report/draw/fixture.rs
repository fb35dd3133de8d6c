//! Parts of blocks for the tests of drawings.

use crate::figures::quick::Bench;
use crate::mesh::{Mesh, Part};
use crate::pose::Hull;
use crate::settings::Settings;
use nalgebra::Point3;

/// A closed part of blocks (lo, hi), each a body of its own.
pub fn blocks(list: &[([f64; 3], [f64; 3])]) -> Part {
    let mut mesh = Mesh::default();
    for (lo, hi) in list {
        let base = mesh.vertices.len() as u32;
        for i in 0..8 {
            let pick = |k: usize| if i >> k & 1 == 1 { hi[k] } else { lo[k] };
            mesh.vertices.push(Point3::new(pick(0), pick(1), pick(2)));
        }
        for [a, b, c, d] in [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ] {
            mesh.triangles.push([base + a, base + b, base + c]);
            mesh.triangles.push([base + a, base + c, base + d]);
        }
    }
    Part::new(mesh).expect("a part").0
}

/// A box from the origin.
pub fn cuboid(x: f64, y: f64, z: f64) -> Part {
    blocks(&[([0.0; 3], [x, y, z])])
}

/// A part laid out for measuring.
pub fn bench<'a>(part: &'a Part, settings: &'a Settings) -> Bench<'a> {
    let hull = Hull::new(&part.mesh.vertices).expect("a hull");
    Bench::new(part, settings, hull)
}
