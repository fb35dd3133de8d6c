//! Overhang too small to need anything under it, whichever way it lies.
//!
//! - The wall of a bore whose roof beyond the overhang limit spans no more than the
//!   bridge limit: lying, it closes over itself. A lying hole of diameter d has a roof of
//!   chord d·cos(limit). Common practice for screw holes.
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

/// How small what a triangle belongs to is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// Not small: it needs support where it hangs over.
    Large,
    /// A bore of up to twice the width that is small: it closes, with a sag.
    Middling,
    /// Needs nothing.
    Small,
}

/// The size of what each triangle belongs to.
///
/// `regions` and `bores` are those of `part`; `widest_mm` is the diameter of the widest
/// bore that is small. The width of a strip is taken as twice its area over its
/// outline: exact for a ring, a little low for a short strip. O(n).
pub fn sizes(part: &Part, regions: &Regions, bores: &[Bore], widest_mm: f64) -> Vec<Size> {
    let strips = strips(part, regions);
    let mut sizes: Vec<Size> = (regions.of.iter())
        .map(|&r| {
            if strips[r as usize] {
                Size::Small
            } else {
                Size::Large
            }
        })
        .collect();
    for bore in bores.iter().filter(|b| b.hole) {
        let size = match 2.0 * bore.radius_mm {
            d if d <= widest_mm => Size::Small,
            d if d <= 2.0 * widest_mm => Size::Middling,
            _ => continue,
        };
        for &t in &bore.triangles {
            sizes[t as usize] = size;
        }
    }
    sizes
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
    let soft = libm::cos(SOFT_DEG.to_radians());
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
