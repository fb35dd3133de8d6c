//! Overhang too small to need anything under it, whichever way it lies.
//!
//! - The wall of a bore whose roof beyond the overhang limit spans no more than the
//!   bridge limit: lying, it closes over itself. A lying hole of diameter d has a roof of
//!   chord d·cos(limit). Common practice for screw holes.
//! - A ledge: a narrow plane strip that a wall below it holds along its length, such as
//!   the ring in a screw's counterbore, the face of a nut's pocket or the lip of a lid.
//!   The nozzle reaches past the wall by a few lines. 0.5–1.5 mm in the literature on
//!   extrusion limits; the ring of an M3 to M5 counterbore, 1.4–1.8 mm, is common practice.
//! - The same round a curve: the flank of a screw thread, a bevelled ring. Threads print upright
//!   without support (common practice).
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
/// Facets from which on a patch of soft edges goes round a curve.
const CURVED_FACETS: usize = 16;

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
    let flat = strips(part, regions);
    let (group, curved) = curved_strips(part);
    let strip = |(&r, &g): (&u32, &u32)| flat[r as usize] || curved[g as usize];
    let size = |small| if small { Size::Small } else { Size::Large };
    let mut sizes: Vec<Size> = (regions.of.iter().zip(&group))
        .map(|of| size(strip(of)))
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

/// What the outline of a patch of surface is like, mm.
#[derive(Debug, Clone, Copy, Default)]
struct Outline {
    all: f64,
    concave: f64,
    soft: f64,
}

impl Outline {
    /// Whether a patch of that area is as narrow as a ledge, and a wall goes down along it.
    fn is_ledge(&self, area_mm2: f64) -> bool {
        2.0 * area_mm2 <= LEDGE_MM * self.all && self.concave >= HELD_SHARE * self.all
    }
}

/// Outlines of `count` patches; `of` says which patch a triangle belongs to.
fn outlines(part: &Part, of: &[u32], count: usize) -> Vec<Outline> {
    let soft = libm::cos(SOFT_DEG.to_radians());
    let mut outlines = vec![Outline::default(); count];
    for (h, &across) in part.opposite.iter().enumerate() {
        let (t, i) = (h / 3, h % 3);
        let here = of[t] as usize;
        let corners = part.mesh.corners(t);
        let length = (corners[(i + 1) % 3] - corners[i]).norm();
        if across == NO_NEIGHBOUR {
            outlines[here].all += length;
            continue;
        }
        let u = across as usize / 3;
        if of[u] as usize == here {
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
    outlines
}

/// Which regions are ledges.
fn strips(part: &Part, regions: &Regions) -> Vec<bool> {
    (regions.list.iter())
        .zip(outlines(part, &regions.of, regions.list.len()))
        .map(|(region, o)| o.is_ledge(region.area_mm2) && o.soft <= SOFT_SHARE * o.all)
        .collect()
}

/// Patches of facets that meet softly: which of them a triangle belongs to, and which are
/// ledges round a curve.
fn curved_strips(part: &Part) -> (Vec<u32>, Vec<bool>) {
    let soft = libm::cos(SOFT_DEG.to_radians());
    let (mut of, mut stack) = (vec![u32::MAX; part.normals.len()], Vec::new());
    let mut patches: Vec<(usize, f64)> = Vec::new();
    for seed in 0..of.len() {
        if of[seed] != u32::MAX {
            continue;
        }
        let (id, mut facets, mut area_mm2) = (patches.len() as u32, 0, 0.0);
        of[seed] = id;
        stack.push(seed);
        while let Some(t) = stack.pop() {
            facets += 1;
            area_mm2 += part.areas[t];
            for &across in &part.opposite[3 * t..3 * t + 3] {
                let u = across as usize / 3;
                if across != NO_NEIGHBOUR
                    && of[u] == u32::MAX
                    && part.normals[t].dot(&part.normals[u]) > soft
                {
                    of[u] = id;
                    stack.push(u);
                }
            }
        }
        patches.push((facets, area_mm2));
    }
    let ledges = (patches.iter())
        .zip(outlines(part, &of, patches.len()))
        .map(|(&(facets, area_mm2), o)| facets >= CURVED_FACETS && o.is_ledge(area_mm2))
        .collect();
    (of, ledges)
}
