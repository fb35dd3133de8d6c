//! Overhang too small to need anything under it, whichever way it lies.
//!
//! - The wall of a bore no wider than the bridge limit: lying, its roof closes over
//!   itself. Common practice for screw holes.
//! - A ledge: a narrow plane strip that a wall below it holds along its length, such as
//!   the ring in a screw's counterbore, the face of a nut's pocket or the lip of a lid.
//!   The nozzle reaches past the wall by a few lines. 0.5–1.5 mm in the literature on
//!   extrusion limits; the ring of an M3 to M5 counterbore, 1.4–1.8 mm, is common practice.
//!
//! What counts does not depend on the pose, so that the sums over it are exact and
//! quick for every direction.

use super::bores::Bore;
use super::regions::Regions;
use crate::mesh::{NO_NEIGHBOUR, Part};

/// Widest ledge, mm.
const LEDGE_MM: f64 = 1.8;
/// Share of a ledge's outline at least from which a wall goes down.
const HELD_SHARE: f64 = 0.35;
/// Neighbours that turn by less than this are one curved surface, degrees.
const SOFT_DEG: f64 = 35.0;
/// Share of the outline from which on a strip is part of a curved surface.
const SOFT_SHARE: f64 = 0.25;

/// Whether each triangle belongs to something small.
///
/// `regions` and `bores` are those of `part`; `bridge_limit_mm` is the widest hole
/// that closes over itself. The width of a strip is taken as twice its area over its
/// outline: exact for a ring, a little low for a short strip. O(n).
pub fn small(part: &Part, regions: &Regions, bores: &[Bore], bridge_limit_mm: f64) -> Vec<bool> {
    let strips = strips(part, regions);
    let mut small: Vec<bool> = regions.of.iter().map(|&r| strips[r as usize]).collect();
    for bore in bores {
        if bore.hole && 2.0 * bore.radius_mm <= bridge_limit_mm {
            for &t in &bore.triangles {
                small[t as usize] = true;
            }
        }
    }
    small
}

/// What the outline of a region is like, mm.
#[derive(Debug, Clone, Copy, Default)]
struct Outline {
    all: f64,
    concave: f64,
    soft: f64,
}

/// Which regions are ledges.
fn strips(part: &Part, regions: &Regions) -> Vec<bool> {
    let soft = SOFT_DEG.to_radians().cos();
    let mut outlines = vec![Outline::default(); regions.list.len()];
    for (h, &across) in part.opposite.iter().enumerate() {
        let (t, i) = (h / 3, h % 3);
        let here = regions.of[t] as usize;
        let corners = part.mesh.corners(t);
        let length = (corners[(i + 1) % 3] - corners[i]).norm();
        if across == NO_NEIGHBOUR {
            outlines[here].all += length;
            continue;
        }
        let u = across as usize / 3;
        if regions.of[u] as usize == here {
            continue;
        }
        let outline = &mut outlines[here];
        outline.all += length;
        let far = part.mesh.corners(u)[(across as usize % 3 + 2) % 3];
        if (far - corners[i]).dot(&part.normals[t]) > 0.0 {
            outline.concave += length;
        }
        if part.normals[t].dot(&part.normals[u]) > soft {
            outline.soft += length;
        }
    }
    (regions.list.iter().zip(&outlines))
        .map(|(region, o)| {
            2.0 * region.area_mm2 <= LEDGE_MM * o.all
                && o.concave >= HELD_SHARE * o.all
                && o.soft <= SOFT_SHARE * o.all
        })
        .collect()
}
