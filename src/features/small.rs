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
//!   without support (common practice), rounded ones too, whose flank runs on softly into crest and
//!   root: they are found by their helices.
//!
//! What counts does not depend on the pose, so that the sums over it are exact and
//! quick for every direction.

use super::found::Features;
use super::regions::Regions;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Point3, Vector3};

/// Widest ledge, mm.
const LEDGE_MM: f64 = 1.8;
/// Share of a ledge's outline at least from which a wall goes down.
const HELD_SHARE: f64 = 0.35;
/// Neighbours that turn by less than this are one curved surface, degrees.
const SOFT_DEG: f64 = 35.0;
/// Share of the outline from which on a strip is part of a curved surface.
const SOFT_SHARE: f64 = 0.25;
/// Widest ledge that goes round a curve, mm: the flank of an M24 thread is 2.1 (pitch 3 mm, ISO
/// 261, from memory).
const FLANK_MM: f64 = 2.4;
/// Facets beyond which no thread is looked for, so that a large part is laid out at once.
const MOST_FACETS: usize = 300_000;
/// Facets from which on a patch of soft edges goes round a curve …
const CURVED_FACETS: usize = 16;
/// … if its normals point so much apart: their sum by area over the area.
const ROUND_SHARE: f64 = 0.9;
/// Facets of a patch that are looked at one by one.
const FEW: usize = 32;
/// A wall below a ledge is at least this share of the ledge's width high (a stair whose treads
/// are wider leans more than 45°).
const WALL_SHARE: f64 = 0.99;

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
/// `features` are those of `part`; `widest_mm` is the diameter of the widest
/// bore that is small. The width of a strip is taken as twice its area over its
/// outline: exact for a ring, a little low for a short strip. O(n).
pub fn sizes(part: &Part, features: &Features, widest_mm: f64) -> Vec<Size> {
    let Features { regions, bores, .. } = features;
    let flat = strips(part, regions);
    let (group, curved) = curved_strips(part);
    let strip = |(&r, &g): (&u32, &u32)| flat[r as usize] || curved[g as usize];
    let size = |small| if small { Size::Small } else { Size::Large };
    let mut sizes: Vec<Size> = (regions.of.iter().zip(&group))
        .map(|of| size(strip(of)))
        .collect();
    // A part of more facets is looked at for threads only where somebody asks for them.
    let threads = if part.normals.len() <= MOST_FACETS {
        features.threads(part)
    } else {
        &[]
    };
    for thread in threads.iter().filter(|t| t.depth_mm <= FLANK_MM) {
        for &t in &thread.flanks {
            sizes[t as usize] = Size::Small;
        }
    }
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

/// What a patch of surface is like.
#[derive(Debug, Clone, Default)]
struct Patch {
    area_mm2: f64,
    /// Length of its outline, mm.
    outline_mm: f64,
    /// … from which a wall goes down that is as high as the patch is wide …
    held_mm: f64,
    /// … and across which the surface goes on softly.
    soft_mm: f64,
    /// The box around many facets.
    around: Option<Box<Around>>,
}

impl Patch {
    /// Twice the area over the outline: the width of a long strip.
    fn width_mm(&self) -> f64 {
        2.0 * self.area_mm2 / self.outline_mm.max(f64::MIN_POSITIVE)
    }

    /// Whether it is no wider than that, and a wall goes down along it.
    fn is_ledge(&self, widest_mm: f64) -> bool {
        self.width_mm() <= widest_mm && self.held_mm >= HELD_SHARE * self.outline_mm
    }
}

/// The facets of a part in patches.
struct Patches<'a> {
    part: &'a Part,
    list: Vec<Patch>,
    /// Facets, patch by patch, and where each patch begins.
    facets: Vec<u32>,
    starts: Vec<u32>,
}

impl<'a> Patches<'a> {
    /// The `count` patches; `of` says which a triangle belongs to. O(n).
    fn new(part: &'a Part, of: &[u32], count: usize) -> Self {
        let mut starts = vec![0; count + 1];
        for &patch in of {
            starts[patch as usize + 1] += 1;
        }
        for k in 0..count {
            starts[k + 1] += starts[k];
        }
        let (mut next, mut facets) = (starts.clone(), vec![0; of.len()]);
        for (t, &patch) in of.iter().enumerate() {
            facets[next[patch as usize] as usize] = t as u32;
            next[patch as usize] += 1;
        }
        let mut patches = Self {
            part,
            list: vec![Patch::default(); count],
            facets,
            starts,
        };
        for k in 0..count {
            let facets = patches.facets(k);
            let around = (facets.len() > FEW).then(|| Box::new(Around::of(part, facets)));
            let area_mm2 = facets.iter().map(|&t| part.areas[t as usize]).sum();
            (patches.list[k].area_mm2, patches.list[k].around) = (area_mm2, around);
        }
        patches.measure(of);
        patches
    }

    fn facets(&self, patch: usize) -> &[u32] {
        &self.facets[self.starts[patch] as usize..self.starts[patch + 1] as usize]
    }

    /// Outlines, and what goes on across them.
    fn measure(&mut self, of: &[u32]) {
        let (part, soft) = (self.part, libm::cos(SOFT_DEG.to_radians()));
        // Length of a half-edge, and the triangle across it, where that is of another patch.
        let edge = |h: usize| {
            let (t, i) = (h / 3, h % 3);
            let corners = part.mesh.corners(t);
            let across = part.opposite[h];
            let other = (across != NO_NEIGHBOUR).then_some(across as usize / 3);
            let length = (corners[(i + 1) % 3] - corners[i]).norm();
            (other.is_none_or(|u| of[u] != of[t])).then_some((length, corners[i], other))
        };
        for h in 0..part.opposite.len() {
            if let Some((length, ..)) = edge(h) {
                self.list[of[h / 3] as usize].outline_mm += length;
            }
        }
        for h in 0..part.opposite.len() {
            let Some((length, corner, Some(u))) = edge(h) else {
                continue;
            };
            let (t, i) = (h / 3, part.opposite[h] as usize % 3);
            let normal = part.normals[t];
            let here = of[t] as usize;
            if normal.dot(&part.normals[u]) > soft {
                self.list[here].soft_mm += length;
            }
            // The tread of a stair has a wall below it too, but a low one: its run counts as a
            // whole.
            let far = part.mesh.corners(u)[(i + 2) % 3];
            let high = self.list[here].width_mm() * WALL_SHARE;
            if (far - corner).dot(&normal) > 0.0
                && self.reach(of[u] as usize, &corner, &normal) >= high
            {
                self.list[here].held_mm += length;
            }
        }
    }

    /// How far a patch reaches from a point in a direction; of many facets an upper bound.
    fn reach(&self, patch: usize, from: &Point3<f64>, to: &Vector3<f64>) -> f64 {
        if let Some(around) = &self.list[patch].around {
            return around.reach(from, to);
        }
        let corners = (self.facets(patch).iter()).flat_map(|&t| self.part.mesh.corners(t as usize));
        corners.fold(0.0, |far, p| far.max((p - from).dot(to)))
    }

    /// Whether a patch goes round a curve.
    fn is_round(&self, patch: usize) -> bool {
        let facets = self.facets(patch);
        let flux = |&t: &u32| self.part.normals[t as usize] * self.part.areas[t as usize];
        facets.len() >= CURVED_FACETS
            && facets.iter().map(flux).sum::<Vector3<f64>>().norm()
                <= ROUND_SHARE * self.list[patch].area_mm2
    }
}

/// A box around points.
#[derive(Debug, Clone)]
struct Around {
    low: Point3<f64>,
    high: Point3<f64>,
}

impl Around {
    fn of(part: &Part, facets: &[u32]) -> Self {
        let mut around = Self {
            low: [f64::INFINITY; 3].into(),
            high: [f64::NEG_INFINITY; 3].into(),
        };
        for p in facets.iter().flat_map(|&t| part.mesh.corners(t as usize)) {
            around.low = around.low.inf(&p);
            around.high = around.high.sup(&p);
        }
        around
    }

    /// How far it reaches from a point in a direction, at most.
    fn reach(&self, from: &Point3<f64>, to: &Vector3<f64>) -> f64 {
        let far = Point3::from(to.zip_zip_map(
            &self.low.coords,
            &self.high.coords,
            |d, low, high| if d > 0.0 { high } else { low },
        ));
        (far - from).dot(to)
    }
}

/// Which regions are ledges.
fn strips(part: &Part, regions: &Regions) -> Vec<bool> {
    let patches = Patches::new(part, &regions.of, regions.list.len());
    (patches.list.iter())
        .map(|p| p.is_ledge(LEDGE_MM) && p.soft_mm <= SOFT_SHARE * p.outline_mm)
        .collect()
}

/// Patches of facets that meet softly: which of them a triangle belongs to, and which are
/// ledges round a curve.
fn curved_strips(part: &Part) -> (Vec<u32>, Vec<bool>) {
    let soft = libm::cos(SOFT_DEG.to_radians());
    let (mut of, mut stack, mut count) = (vec![u32::MAX; part.normals.len()], Vec::new(), 0);
    for seed in 0..of.len() {
        if of[seed] != u32::MAX {
            continue;
        }
        of[seed] = count;
        stack.push(seed);
        while let Some(t) = stack.pop() {
            for &across in &part.opposite[3 * t..3 * t + 3] {
                let u = across as usize / 3;
                if across != NO_NEIGHBOUR
                    && of[u] == u32::MAX
                    && part.normals[t].dot(&part.normals[u]) > soft
                {
                    of[u] = count;
                    stack.push(u);
                }
            }
        }
        count += 1;
    }
    let patches = Patches::new(part, &of, count as usize);
    let ledges = (patches.list.iter().enumerate())
        .map(|(k, p)| p.is_ledge(FLANK_MM) && patches.is_round(k))
        .collect();
    (of, ledges)
}
