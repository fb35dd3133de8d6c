//! Plane regions: neighbouring facets that lie in one plane.

use crate::mesh::{NO_NEIGHBOUR, Part};
use crate::tol;
use nalgebra::{Point3, Unit, Vector3};

/// Neighbours whose normals differ by less are one region, whatever their size, degrees.
/// Fine tessellations of round surfaces stay above it up to 2,000 facets a turn.
const SAME_PLANE_DEG: f64 = 0.15;

/// Plane regions of a part.
#[derive(Debug, Clone, Default)]
pub struct Regions {
    /// Region of each triangle.
    pub of: Vec<u32>,
    /// The regions, by first triangle.
    pub list: Vec<Region>,
}

impl Regions {
    /// Triangles of each region, ascending.
    pub fn facets(&self) -> Vec<Vec<u32>> {
        let mut facets = vec![Vec::new(); self.list.len()];
        for (t, &r) in self.of.iter().enumerate() {
            facets[r as usize].push(t as u32);
        }
        facets
    }
}

/// One plane region.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Area-weighted outward normal.
    pub normal: Unit<Vector3<f64>>,
    /// Area, mm².
    pub area_mm2: f64,
    /// A point of the region: the area-weighted centroid, mm.
    pub centre: Point3<f64>,
}

/// Groups facets that share an edge and lie in one plane.
///
/// O(n). A part without facets has no regions.
pub(super) fn regions(part: &Part) -> Regions {
    let n = part.mesh.triangles.len();
    let flat = tol::COPLANAR_REL * part.extent();
    let same = libm::cos(SAME_PLANE_DEG.to_radians());
    let mut of = vec![u32::MAX; n];
    let mut list = Vec::new();
    let mut stack = Vec::new();
    for seed in 0..n {
        if of[seed] != u32::MAX {
            continue;
        }
        let id = list.len() as u32;
        of[seed] = id;
        stack.push(seed);
        let origin = part.mesh.corners(seed)[0];
        let plane = part.normals[seed];
        let (mut flux, mut area, mut moment) = (Vector3::zeros(), 0.0, Vector3::zeros());
        while let Some(t) = stack.pop() {
            let corners = part.mesh.corners(t);
            flux += part.normals[t] * part.areas[t];
            area += part.areas[t];
            moment +=
                (corners[0].coords + corners[1].coords + corners[2].coords) * (part.areas[t] / 3.0);
            for i in 0..3 {
                let across = part.opposite[3 * t + i];
                if across == NO_NEIGHBOUR {
                    continue;
                }
                let u = (across / 3) as usize;
                if of[u] != u32::MAX {
                    continue;
                }
                // Against the seed's plane, not the neighbour's, so that a chain of
                // small turns does not drift round a corner.
                let turn = part.normals[u].dot(&plane);
                let apart = part
                    .mesh
                    .corners(u)
                    .iter()
                    .map(|p| (p - origin).dot(&plane).abs())
                    .fold(0.0, f64::max);
                if turn > same || (apart <= flat && turn > 0.5) {
                    of[u] = id;
                    stack.push(u);
                }
            }
        }
        list.push(Region {
            normal: Unit::try_new(flux, 0.0)
                .unwrap_or_else(|| Unit::new_unchecked(part.normals[seed])),
            area_mm2: area,
            centre: if area > 0.0 {
                Point3::from(moment / area)
            } else {
                origin
            },
        });
    }
    Regions { of, list }
}
