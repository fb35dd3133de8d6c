//! One vertex far from all others, as a slip in a file leaves it.

use super::Mesh;
use crate::words::short;
use nalgebra::Point3;

/// A vertex is stray if it is farther from all others than so many times their extent.
const FAR: f64 = 1000.0;
/// Fewer vertices beside it enclose nothing: a needle has no stray one.
const LEAST_OTHERS: usize = 4;

/// Where the one stray vertex of a mesh is, in mm; `None` where there is none, or more than one.
pub(crate) fn stray(mesh: &Mesh) -> Option<String> {
    let all = &mesh.vertices;
    if all.len() <= LEAST_OTHERS {
        return None;
    }
    let farthest = |from: &Point3<f64>| {
        let far = |p: &Point3<f64>| (p - from).amax();
        all.iter().max_by(|p, q| far(p).total_cmp(&far(q)))
    };
    // Whichever vertex comes first, one of these is it.
    let b = farthest(all.first()?)?;
    let found = [b, farthest(b)?].into_iter().find(|v| {
        let mut others = all.iter().filter(|p| p != v);
        others.next().is_some_and(|first| {
            let (mut nearest, mut extent) = ((*v - first).amax(), 0.0_f64);
            for p in others {
                nearest = nearest.min((*v - p).amax());
                extent = extent.max((p - first).amax());
            }
            nearest > FAR * extent
        })
    })?;
    Some([found.x, found.y, found.z].map(short).join(", "))
}
