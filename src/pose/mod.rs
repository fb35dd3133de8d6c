//! Directions: hull, standing facets, lattice, yaw, symmetry, and the rotation of a pose.

mod corners;
pub mod hull;
pub mod lattice;
mod posed;
pub mod standing;
pub mod symmetry;

#[cfg(test)]
pub(crate) mod fixtures;

use crate::mesh::Part;
pub(crate) use crate::mesh::bounds;
use nalgebra::Vector3;
pub(crate) use posed::down_rotation;
pub use posed::{Placement, Pose, Posed};

pub(crate) use hull::in_plane;
pub use hull::{Degenerate, Facet, Hull};
pub use lattice::{canonical_frame, lattice};
pub use standing::{Rest, standing};
pub use symmetry::Symmetry;

/// ISO/ASTM 52921 letters (from memory of the standard): the build axes along the longest,
/// second and shortest extent of the part's own axis-aligned box, for example `ZXY`.
///
/// Equal extents are taken in the order X, Y, Z of the part. Where the part's axes are
/// not parallel to the build axes, each gets the build axis it is nearest to, by the
/// assignment with the largest sum of |cosines|; of equal sums the first in the order XYZ,
/// XZY, YXZ, YZX, ZXY, ZYX.
pub fn axes(part: &Part, pose: &Pose) -> String {
    const ORDERS: [&str; 6] = ["XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX"];
    let bounds = part.mesh.bounds();
    let size = bounds.map_or_else(Vector3::zeros, |(lo, hi)| hi - lo);
    let mut ranked = [0, 1, 2];
    ranked.sort_by(|&i, &j| size[j].total_cmp(&size[i]));
    let rotation = pose.rotation();
    let mut best = (f64::NEG_INFINITY, ORDERS[0]);
    for order in ORDERS {
        let build = order.bytes().map(|axis| usize::from(axis - b'X'));
        let sum: f64 = build.zip(ranked).map(|at| rotation[at].abs()).sum();
        if sum > best.0 + 1e-9 {
            best = (sum, order);
        }
    }
    best.1.into()
}

#[cfg(test)]
mod tests;
