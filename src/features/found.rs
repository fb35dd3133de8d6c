//! All features of a part, found once.

use super::bores::{Bore, bores};
use super::hexagons::{Hexagon, hexagons};
use super::opposite::{Opposite, opposite};
use super::regions::{Regions, regions};
use crate::mesh::Part;
use crate::mesh::bvh::FacetBvh;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A surface of more triangles than this of which hardly two share a plane is a scan,
/// with nothing on it for a jaw to take hold of.
const SCAN_TRIANGLES: usize = 20_000;
const SCAN_SHARE: f64 = 0.9;

/// Plane regions and bores of a part, and the faces opposite each other. Part frame, mm.
///
/// Nothing else finds regions or bores: who needs them is handed these.
#[derive(Debug)]
pub struct Features {
    /// Plane regions.
    pub regions: Regions,
    /// Bores and bosses, largest surface first.
    pub bores: Vec<Bore>,
    opposite: OnceLock<Vec<Opposite>>,
    hexagons: OnceLock<Vec<Hexagon>>,
}

static FOUND: AtomicUsize = AtomicUsize::new(0);

impl Features {
    /// How often features of any part were found in this process.
    pub fn found() -> usize {
        FOUND.load(Ordering::Relaxed)
    }

    /// Finds regions and bores. O(n log n); a part without facets has none.
    pub fn new(part: &Part) -> Self {
        FOUND.fetch_add(1, Ordering::Relaxed);
        let regions = regions(part);
        Self {
            bores: bores(part, &regions),
            regions,
            opposite: OnceLock::new(),
            hexagons: OnceLock::new(),
        }
    }

    /// A surface of many triangles of which hardly two share a plane.
    pub fn is_scan(&self) -> bool {
        let triangles = self.regions.of.len();
        let faces = self.regions.list.len() as f64;
        triangles > SCAN_TRIANGLES && faces > SCAN_SHARE * triangles as f64
    }

    /// Large plane faces opposite each other; a scan has none. `part` is the one that the
    /// features are of, `bvh` is over its facets. Found at the first call: O(n) for each face
    /// looked at.
    pub fn opposite(&self, part: &Part, bvh: &FacetBvh) -> &[Opposite] {
        self.opposite.get_or_init(|| {
            if self.is_scan() {
                Vec::new()
            } else {
                opposite(part, bvh, &self.regions)
            }
        })
    }

    /// Pockets with six even walls; a scan has none. `part` is the one that the features are
    /// of. Found at the first call.
    pub fn hexagons(&self, part: &Part) -> &[Hexagon] {
        self.hexagons.get_or_init(|| {
            if self.is_scan() {
                Vec::new()
            } else {
                hexagons(part, &self.regions)
            }
        })
    }
}
