//! The surface as the page draws it: a block of little-endian numbers.
//!
//! `WYM1`, then the numbers of vertices, triangles and edges (u32); positions (f32, mm,
//! from [`origin_mm`]); triangles (three u32); the plane region of each triangle (u32,
//! all bits set for one without area); sharp edges (two u32).

use crate::features::Regions;
use crate::mesh::Part;
use crate::report::draw::model::DrawingModel;
use crate::report::number::significant;
use nalgebra::Point3;

/// First word of the block: `WYM1`.
pub const MAGIC: u32 = 0x314d_5957;

/// The point of the part frame that is the origin of the block, mm: the middle of the
/// box, in so few digits that JSON carries it as it is.
pub fn origin_mm(part: &Part) -> Point3<f64> {
    part.mesh.bounds().map_or_else(Point3::origin, |(lo, hi)| {
        nalgebra::center(&lo, &hi).map(|c| significant(c, 7))
    })
}

/// The block; `regions` are those of the part. O(n).
pub fn block(part: &Part, regions: &Regions) -> Vec<u8> {
    let model = DrawingModel::new(part);
    let origin = origin_mm(part);
    let (vertices, triangles) = (&part.mesh.vertices, &part.mesh.triangles);
    let mut out =
        Vec::with_capacity(16 + 12 * vertices.len() + 16 * triangles.len() + 8 * model.edges.len());
    let mut word = |w: u32| out.extend_from_slice(&w.to_le_bytes());
    word(MAGIC);
    word(vertices.len() as u32);
    word(triangles.len() as u32);
    word(model.edges.len() as u32);
    for p in vertices {
        for c in (p - origin).iter() {
            word((*c as f32).to_bits());
        }
    }
    for v in triangles.as_flattened() {
        word(*v);
    }
    for (region, area) in regions.of.iter().zip(&part.areas) {
        word(if *area > 0.0 { *region } else { u32::MAX });
    }
    for h in &model.edges {
        for v in model.ends(*h) {
            word(v as u32);
        }
    }
    out
}
