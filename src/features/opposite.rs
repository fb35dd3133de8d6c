//! Large plane faces opposite each other: plates, walls and slots.
//!
//! From a face the way goes straight to the next surface, through the material or through
//! the open; where that is a plane face that looks the other way, the two are a pair.

use super::reach::Surfaces;
use super::regions::Regions;
use crate::mesh::bvh::FacetBvh;
use crate::mesh::{NO_NEIGHBOUR, Part};
use nalgebra::{Point3, Unit, Vector3, center};

/// Faces below this area are no hold for a calliper's jaw, mm² (house value).
const LEAST_FACE_MM2: f64 = 20.0;
/// … nor below this share of the surface of a large part.
const LEAST_FACE_SHARE: f64 = 0.002;
/// Faces looked at, largest first.
const MOST_FACES: usize = 16;
/// Places tried on each face: its largest facets.
const PLACES: usize = 2;
/// Opposite faces are parallel to within this, cosine (0.5°).
const PARALLEL: f64 = 0.999_96;
/// Faces nearer to each other than this are one, mm.
const LEAST_APART_MM: f64 = 0.02;
/// Slots narrower than this take no jaw, mm (house value).
const LEAST_SLOT_MM: f64 = 2.0;

/// What lies between two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// They look away from each other: a plate or a wall.
    Material,
    /// They look towards each other: a slot.
    Open,
}

/// Two plane faces that look away from or towards each other. Part frame, mm.
#[derive(Debug, Clone)]
pub struct Opposite {
    /// What lies between them.
    pub between: Between,
    /// Outward normal of the first.
    pub normal: Unit<Vector3<f64>>,
    /// Half way between them, where jaws can hold them if they can anywhere.
    pub middle: Point3<f64>,
    /// The jaws of a calliper get to both.
    pub reached: bool,
    /// How far apart they are.
    pub apart_mm: f64,
    /// Area of the smaller one, mm².
    pub area_mm2: f64,
    /// Width of the narrower one, mm: twice its area over its outline, exact for a long strip, half
    /// the side of a square.
    pub narrow_mm: f64,
}

/// Length of the outline of each region, its holes included, mm. O(n).
fn outlines(part: &Part, regions: &Regions) -> Vec<f64> {
    let mut out = vec![0.0; regions.list.len()];
    for (h, &across) in part.opposite.iter().enumerate() {
        let (t, i) = (h / 3, h % 3);
        let region = regions.of[t];
        if across == NO_NEIGHBOUR || regions.of[across as usize / 3] != region {
            let corners = part.mesh.corners(t);
            out[region as usize] += (corners[(i + 1) % 3] - corners[i]).norm();
        }
    }
    out
}

/// Plane faces and what lies straight before and behind them.
pub(super) fn opposite(part: &Part, bvh: &FacetBvh, regions: &Regions) -> Vec<Opposite> {
    let least = LEAST_FACE_MM2.max(LEAST_FACE_SHARE * part.mass.area_mm2);
    let mut order: Vec<usize> = (0..regions.list.len())
        .filter(|&r| regions.list[r].area_mm2 >= least)
        .collect();
    order.sort_by(|&a, &b| {
        let (ra, rb) = (&regions.list[a], &regions.list[b]);
        rb.area_mm2.total_cmp(&ra.area_mm2).then(a.cmp(&b))
    });
    order.truncate(MOST_FACES);
    let mut facets = regions.facets();
    let surfaces = Surfaces::new(part, bvh);
    let outlines = outlines(part, regions);
    let width_mm = |r: usize| 2.0 * regions.list[r].area_mm2 / outlines[r].max(f64::MIN_POSITIVE);
    let mut found: Vec<((usize, usize), Opposite)> = Vec::new();
    for &r in &order {
        let region = &regions.list[r];
        let places = &mut facets[r];
        let area = |t: u32| part.areas[t as usize];
        let larger = |a: &u32, b: &u32| area(*b).total_cmp(&area(*a)).then(a.cmp(b));
        if places.len() > PLACES {
            places.select_nth_unstable_by(PLACES - 1, larger);
            places.truncate(PLACES);
        }
        places.sort_by(larger);
        for t in places.iter().map(|t| *t as usize) {
            let [a, b, c] = part.mesh.corners(t);
            // Off the middle, so that a symmetrical part is not hit on an edge.
            let from = Point3::from(a.coords * 0.37 + b.coords * 0.36 + c.coords * 0.27);
            for (between, way) in [(Between::Material, -1.0), (Between::Open, 1.0)] {
                let ray = Unit::new_unchecked(region.normal.into_inner() * way);
                let Some(hit) = bvh.first_hit(&part.mesh, &from, &ray, |hit| {
                    hit.triangle != t && hit.apart_mm > 1e-6
                }) else {
                    continue;
                };
                let apart_mm = hit.apart_mm;
                let other = regions.of[hit.triangle] as usize;
                let facing = regions.list[other].normal.dot(&region.normal) < -PARALLEL;
                let key = (r.min(other), r.max(other));
                if !facing || apart_mm < LEAST_APART_MM {
                    continue;
                }
                let known = found.iter().position(|(k, _)| *k == key);
                if known.is_some_and(|i| found[i].1.reached) {
                    continue;
                }
                let across = from + *ray * apart_mm;
                let place = match between {
                    Between::Material => surfaces.flats(from, across, false),
                    Between::Open if apart_mm < LEAST_SLOT_MM => None,
                    Between::Open => surfaces.flats(from, across, true),
                };
                if let Some(i) = known {
                    if let Some(middle) = place {
                        (found[i].1.middle, found[i].1.reached) = (middle, true);
                    }
                    continue;
                }
                found.push((
                    key,
                    Opposite {
                        between,
                        normal: region.normal,
                        middle: place.unwrap_or_else(|| center(&from, &across)),
                        reached: place.is_some(),
                        apart_mm,
                        area_mm2: region.area_mm2.min(regions.list[other].area_mm2),
                        narrow_mm: width_mm(r).min(width_mm(other)),
                    },
                ));
            }
        }
    }
    found.into_iter().map(|(_, pair)| pair).collect()
}
