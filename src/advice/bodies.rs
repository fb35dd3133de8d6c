//! What separate bodies of a part are: crumbs, parts side by side, bodies that run in another.

use crate::features::bodies::GAP_MM;
use crate::features::{Captive, Lump};
use crate::figures::quick::Bench;
use crate::figures::{Figures, Island, slicing};
use crate::pose::{Pose, Posed, bounds};
use crate::words;
use nalgebra::Point3;

/// A body no larger than this is a crumb whatever its shape, in line widths.
const CRUMB_LINES: f64 = 2.0;
/// So is one of this share of the largest body's volume at most …
const CRUMB_SHARE: f64 = 1e-4;
/// … that holds no more than this, mm³ …
const CRUMB_MM3: f64 = 1.0;
/// … and is no longer than this, mm (house values).
const CRUMB_MM: f64 = 3.0;
/// A gap is the same all round if its mean is no more than this times its least (house value).
const EVEN_GAP: f64 = 1.2;
/// A body that begins no higher than this is squeezed by the first layers, mm.
const SQUEEZED_MM: f64 = 0.5;

/// A gap this wide is closed by two squeezed outlines, mm (common practice: each grows 0.1–0.3 mm) …
const CLOSES_MM: f64 = 0.6;
/// … of so many pieces of the first layer.
const MOST_PIECES: usize = 16;

/// The bodies of a part that are apart from each other.
pub(super) struct BodyKinds<'a> {
    bench: &'a Bench<'a>,
    lumps: &'a [Lump],
    /// Indices of the crumbs, the largest first.
    crumbs: Vec<usize>,
    /// Parts that could be printed one by one.
    parts: usize,
    captives: &'a [Captive],
}

/// A value to hold against a threshold, with what is said of it.
pub(super) type BodyRemark = Option<(f64, String)>;

/// What is said of the bodies of a part.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct BodyRemarks {
    /// Number of crumbs.
    pub crumbs: BodyRemark,
    /// Number of parts side by side.
    pub parts: BodyRemark,
    /// Number of bodies that run in another.
    pub in_place: BodyRemark,
}

impl<'a> BodyKinds<'a> {
    /// Sorts the bodies. Of an open surface only crumbs are told.
    pub(super) fn new(bench: &'a Bench) -> Self {
        let found = bench.layout.bodies(bench.part);
        let (lumps, largest) = (
            &found.lumps,
            found.lumps.first().map_or(0.0, |l| l.volume_mm3),
        );
        let least_mm = CRUMB_LINES * bench.settings.line_mm;
        let tiny = |l: &Lump| {
            let slight = l.volume_mm3 <= CRUMB_MM3.min(CRUMB_SHARE * largest);
            l.longest_mm() <= least_mm || slight && l.longest_mm() <= CRUMB_MM
        };
        let mut crumbs: Vec<usize> = (1..lumps.len()).filter(|&k| tiny(&lumps[k])).collect();
        crumbs.sort_by(|&a, &b| {
            let long = |k: usize| lumps[k].longest_mm();
            long(b).total_cmp(&long(a)).then(a.cmp(&b))
        });
        let captives = if bench.part.closed {
            &found.captives[..]
        } else {
            &[]
        };
        let mut kinds = Self {
            bench,
            lumps,
            crumbs,
            parts: 1,
            captives,
        };
        if bench.part.closed {
            kinds.parts = kinds.count(&found.tied);
        }
        kinds
    }

    /// Groups of lumps, crumbs left out, that planes part from each other.
    fn count(&self, tied: &[(usize, usize)]) -> usize {
        let mut of: Vec<usize> = (0..self.lumps.len()).collect();
        for &(a, b) in tied {
            let (a, b) = (of[a].min(of[b]), of[a].max(of[b]));
            of.iter_mut().filter(|g| **g == b).for_each(|g| *g = a);
        }
        let whole = (0..of.len()).filter(|k| !self.crumbs.contains(k));
        let mut groups: Vec<usize> = whole.map(|k| of[k]).collect();
        groups.sort_unstable();
        groups.dedup();
        groups.len().max(1)
    }

    /// Box of some lumps in a pose.
    fn posed(&self, lumps: impl Iterator<Item = usize>, pose: &Pose) -> Option<[Point3<f64>; 2]> {
        let part = self.bench.part;
        bounds(
            lumps
                .flat_map(|k| self.lumps[k].triangles(part))
                .flat_map(|t| part.mesh.corners(t as usize))
                .map(|p| pose.build_from_part * p),
        )
    }

    /// Extents along build X, Y and Z in a pose without crumbs; none where there are no crumbs.
    pub(super) fn extents_mm(&self, pose: &Pose) -> Option<[f64; 3]> {
        let whole = (0..self.lumps.len()).filter(|k| !self.crumbs.contains(k));
        let [lo, hi] = self
            .posed(whole, pose)
            .filter(|_| !self.crumbs.is_empty())?;
        Some((hi - lo).into())
    }

    /// The figures of a pose without what begins in the air as a crumb, or in the gap above
    /// the body that it runs in.
    pub(super) fn without_stray_starts(&self, f: &Figures, pose: &Pose) -> Option<Figures> {
        if f.islands.is_empty() || self.crumbs.is_empty() && self.captives.is_empty() {
            return None;
        }
        let in_gap = |k: usize, low: &Point3<f64>| {
            let part = self.bench.part;
            let corners =
                (self.lumps[k].triangles(part)).flat_map(|t| part.mesh.corners(t as usize));
            let lowest = corners.filter(|p| (pose.build_from_part * p).z <= low.z + 1e-6);
            let below = |p: Point3<f64>| self.bench.void_below(&p, &pose.down);
            lowest
                .take(8)
                .any(|p| below(p).is_some_and(|mm| mm <= GAP_MM))
        };
        let captives = self.captives.iter().map(|c| c.inner);
        let stray: Vec<[Point3<f64>; 2]> = (self.crumbs.iter().copied())
            .filter_map(|k| self.posed([k].into_iter(), pose))
            .chain(captives.filter_map(|k| {
                let around = self.posed([k].into_iter(), pose)?;
                in_gap(k, &around[0]).then_some(around)
            }))
            .collect();
        let layer_mm = self.bench.settings.layer_mm;
        let of = |s: &Island, [lo, hi]: &[Point3<f64>; 2]| {
            let plan_mm2 = (hi.x - lo.x) * (hi.y - lo.y);
            (s.z_mm - lo.z).abs() <= layer_mm && s.area_mm2 <= 1.01 * plan_mm2
        };
        let mut left = f.clone();
        (left.islands).retain(|s| !stray.iter().any(|around| of(s, around)));
        Some(left)
    }

    /// What is said of them in a pose.
    pub(super) fn remarks(&self, pose: &Pose) -> BodyRemarks {
        BodyRemarks {
            crumbs: self.of_crumbs(),
            parts: self.of_parts(),
            in_place: self.of_captives(pose),
        }
    }

    fn of_crumbs(&self) -> BodyRemark {
        let first = &self.lumps[*self.crumbs.first()?];
        let at = nalgebra::center(&first.bounds[0], &first.bounds[1]);
        let [x, y, z] = [at.x, at.y, at.z].map(|c| words::decimal(c, 1));
        let place = format!("x {x}, y {y}, z {z} in the file");
        let size = words::decimal(first.longest_mm().max(0.01), 2);
        let n = self.crumbs.len();
        let says = if n == 1 {
            format!(
                "Delete the loose crumb of {size} mm at {place}: it belongs to no surface of the part, and the sizes leave it out."
            )
        } else {
            format!(
                "Delete the {n} loose crumbs, the largest {size} mm at {place}: they belong to no surface of the part, and the sizes leave them out."
            )
        };
        Some((n as f64, says))
    }

    fn of_parts(&self) -> BodyRemark {
        let n = self.parts;
        let says = if n == 2 {
            "Two parts lie in this file, apart from each other: print them as separate parts, each in its own best pose. This advice takes them as one.".to_string()
        } else {
            format!(
                "{n} parts lie in this file, apart from each other: print them as separate parts, each in its own best pose. This advice takes them as one."
            )
        };
        if n > 1 {
            return Some((n as f64, says));
        }
        self.of_entwined()
    }

    /// Bodies that touch nowhere, yet that no plane parts, and with more room between them than
    /// one that runs in another has.
    fn of_entwined(&self) -> BodyRemark {
        let n = self.lumps.len() - self.crumbs.len().min(self.lumps.len());
        let apart = self.bench.part.closed && self.captives.is_empty() && n > 1;
        let says = format!(
            "{n} bodies lie in this file that touch nowhere, one round another: print them one by one, unless they are to come off the bed assembled. This advice takes them as one."
        );
        apart.then_some((n as f64, says))
    }

    /// Whether two pieces of the first layer are so near each other that they grow together when they
    /// are squeezed.
    fn is_gap_on_bed(&self, pose: &Pose) -> bool {
        let posed = Posed::new(self.bench.part, pose.clone());
        let height_mm = 0.5 * self.bench.settings.first_layer_mm;
        let cut = slicing::cut(&posed, &[height_mm]);
        let Some(pieces) = cut.sections.first().map(|s| &s.pieces[..]) else {
            return false;
        };
        let mut pairs = (pieces.iter().take(MOST_PIECES).enumerate()).flat_map(|(k, a)| {
            pieces
                .iter()
                .take(MOST_PIECES)
                .skip(k + 1)
                .map(move |b| (a, b))
        });
        pairs.any(|(a, b)| {
            a.nearest(b)
                .is_some_and(|(_, apart_mm)| apart_mm <= CLOSES_MM)
        })
    }

    fn of_captives(&self, pose: &Pose) -> BodyRemark {
        let narrow = self.captives.iter().map(|c| c.gap_mm).reduce(f64::min)?;
        let even = |c: &Captive| c.mean_gap_mm <= EVEN_GAP * narrow;
        let gap = words::decimal(narrow, 2);
        let mut inner: Vec<usize> = self.captives.iter().map(|c| c.inner).collect();
        inner.sort_unstable();
        inner.dedup();
        let n = inner.len();
        let what = if n == 1 {
            let place = if self.captives.iter().all(even) {
                "all round"
            } else {
                "where it is narrowest"
            };
            format!("A body runs in another with a gap of {gap} mm {place}")
        } else {
            format!("{n} bodies run in others with gaps of {gap} mm and more")
        };
        let lowest = |k: usize| self.posed([k].into_iter(), pose).map_or(0.0, |b| b[0].z);
        let squeezed = self
            .captives
            .iter()
            .any(|c| lowest(c.inner) <= SQUEEZED_MM && lowest(c.outer) <= SQUEEZED_MM);
        let first = if squeezed && self.is_gap_on_bed(pose) {
            " Compensate the first layers: squeezed wide, they close the gap at the bed."
        } else {
            ""
        };
        let says = format!(
            "{what}: if it is to work as printed, keep support out of the gap and work it free after cooling.{first}"
        );
        Some((n as f64, says))
    }
}
