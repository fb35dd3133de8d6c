//! All features of a part, found once.

use super::bodies::{Bodies, bodies};
use super::bores::{Bore, bores};
use super::cylinders::cylinders;
use super::hexagons::{Hexagon, hexagons};
use super::hooks::{Hook, hooks};
use super::opposite::{Opposite, opposite};
use super::reach::Surfaces;
use super::regions::{Regions, regions};
use super::threads::{Thread, threads};
use crate::mesh::Part;
use crate::mesh::bvh::FacetBvh;
use nalgebra::Point3;
use rayon::prelude::*;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A surface of more triangles than this of which hardly two share a plane is a scan,
/// with nothing on it for a jaw to take hold of.
const SCAN_TRIANGLES: usize = 20_000;
const SCAN_SHARE: f64 = 0.9;

/// Bores and bosses of which it is found out whether jaws get there, largest surface first.
const MOST_ROUNDS: usize = 200;

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
    held: OnceLock<Vec<Option<Point3<f64>>>>,
    bodies: OnceLock<Bodies>,
    hexagons: OnceLock<Vec<Hexagon>>,
    threads: OnceLock<Vec<Thread>>,
    hooks: OnceLock<Vec<Hook>>,
}

static FOUND: AtomicUsize = AtomicUsize::new(0);

impl Features {
    /// How often features of any part were found in this process.
    pub fn found() -> usize {
        FOUND.load(Ordering::Relaxed)
    }

    /// Finds regions and bores. O(n log n); a part without facets has none.
    pub fn new(part: &Part) -> Self {
        let Some(features) = Self::unless(part, &|| false) else {
            unreachable!("what is never stopped comes to an end");
        };
        features
    }

    /// The same; none where `stopped` said so before that was done.
    pub fn unless(part: &Part, stopped: &dyn Fn() -> bool) -> Option<Self> {
        FOUND.fetch_add(1, Ordering::Relaxed);
        let regions = regions(part);
        if stopped() {
            return None;
        }
        let mut bores = bores(part, &regions);
        bores.extend(cylinders(part, &bores));
        bores.sort_by(Bore::larger_first);
        Some(Self {
            bores,
            regions,
            opposite: OnceLock::new(),
            held: OnceLock::new(),
            bodies: OnceLock::new(),
            hexagons: OnceLock::new(),
            threads: OnceLock::new(),
            hooks: OnceLock::new(),
        })
    }

    /// A surface of many triangles of which hardly two share a plane.
    pub fn is_scan(&self) -> bool {
        let triangles = self.regions.of.len();
        let faces = self.regions.list.len() as f64;
        triangles > SCAN_TRIANGLES && faces > SCAN_SHARE * triangles as f64
    }

    /// Which bodies of the part hang together, and which lie apart. `part` is the one that the
    /// features are of, `bvh` is over its facets. Found at the first call: O(n log n).
    pub fn bodies(&self, part: &Part, bvh: &FacetBvh) -> &Bodies {
        self.bodies.get_or_init(|| bodies(part, bvh))
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

    /// Of each of the largest bores and bosses where the jaws of a calliper can hold it, if they
    /// get there; none of a scan. As [`Self::opposite`].
    pub fn held(&self, part: &Part, bvh: &FacetBvh) -> &[Option<Point3<f64>>] {
        if let Some(held) = self.held.get() {
            return held;
        }
        let held = if self.is_scan() {
            Vec::new()
        } else {
            let surfaces = Surfaces::new(part, bvh);
            let round = |b: &Bore| surfaces.round(&b.centre, &b.axis, b.radius_mm, b.hole);
            let most = self.bores.len().min(MOST_ROUNDS);
            self.bores[..most].par_iter().map(round).collect()
        };
        // Found without the lock: a thread that waits in there may take up a job that asks for this too.
        self.held.get_or_init(|| held)
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

    /// Thin arms with a catch at the free end, longest first; a scan has none. `part` is the one
    /// that the features are of, `bvh` is over its facets. Found at the first call.
    pub fn hooks(&self, part: &Part, bvh: &FacetBvh) -> &[Hook] {
        self.hooks.get_or_init(|| {
            if self.is_scan() {
                Vec::new()
            } else {
                hooks(part, bvh, &self.regions)
            }
        })
    }

    /// Screw threads, largest first; a scan has none. `part` is the one that the features are of.
    /// Found at the first call: O(n) for each axis looked at.
    pub fn threads(&self, part: &Part) -> &[Thread] {
        if let Some(threads) = self.threads.get() {
            return threads;
        }
        let threads = if self.is_scan() {
            Vec::new()
        } else {
            threads(part, &self.regions, &self.bores)
        };
        // Without the lock, as `held`.
        self.threads.get_or_init(|| threads)
    }
}
