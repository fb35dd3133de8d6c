//! What the rules look at beside the figures: features of the part as they lie in its pose.

use crate::features::Hexagon;
use crate::figures::corners::{UprightEdge, upright_edge};
use crate::figures::feet::Foot;
use crate::figures::outer_wall;
use crate::figures::profile::{Jump, LayerProfile};
use crate::figures::quick::Bench;
use crate::figures::slicing;
use crate::gauge::holes::{UPRIGHT, UprightHole, WHOLE_RAD, lying_holes, upright_holes};
use crate::pose::{Pose, Posed};
use crate::settings::Settings;

/// Change of section area that draws a line one is told of, as a factor.
pub(super) const LINE_FACTOR: f64 = 2.0;
/// … further than this from bed and top, mm.
const LINE_CLEAR_MM: [f64; 2] = [1.0, 3.0];
/// Jumps of the section that are looked at, the largest first.
const MOST_JUMPS: usize = 8;
/// A round outside that goes all the way round takes up this share of the height at least, as a
/// sharp edge does.
const SIDE_SHARE: f64 = 0.5;

/// Where the layers begin, and how that shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum LayerSeam {
    /// It hides on this edge.
    Edge(UprightEdge),
    /// It shows on a round side of this diameter, mm.
    Round(f64),
}

/// What else there is to say of a pose.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct PoseTraits {
    /// Of several feet, the one that has the least area for its height.
    pub foot: Option<Foot>,
    /// The largest change of the section through which an outer wall runs, where the height
    /// layer profile is told.
    pub line: Option<Jump>,
    /// Upright holes.
    pub holes: Vec<UprightHole>,
    /// Pockets with six even walls, with the diameter of the hole at their end, mm.
    pub hexagons: Vec<(Hexagon, f64)>,
    /// Diameters of the round holes that lie, mm.
    pub lying_mm: Vec<f64>,
    /// Where the seam goes, where that is sure.
    pub seam: Option<LayerSeam>,
    /// Share of the contact area that faces flat on the bed make up; none of a scan.
    pub flat_share: Option<f64>,
}

impl PoseTraits {
    /// Those of a pose; with its layer profile, all of them. O(n).
    pub fn of(
        bench: &Bench,
        pose: &Pose,
        foot: Option<Foot>,
        layer_profile: Option<&LayerProfile>,
    ) -> Self {
        let features = &bench.layout.features;
        let mut traits = Self {
            foot,
            holes: upright_holes(bench.part, features, pose),
            hexagons: (features.hexagons(bench.part).iter())
                .filter_map(|h| Some((h.clone(), h.hole_mm(&features.bores)?)))
                .collect(),
            lying_mm: lying_holes(bench.part, features, pose),
            ..Self::default()
        };
        if let Some(layer_profile) = layer_profile {
            let posed = Posed::new(bench.part, pose.clone());
            traits.line = line(&posed, layer_profile, bench.settings.layer_mm);
            if !features.is_scan() {
                traits.seam = seam(bench, pose, &posed);
                traits.flat_share = flat_share(&posed, bench.settings, layer_profile);
            }
        }
        traits
    }
}

/// Area of the faces flat on the bed over that of the first layer.
fn flat_share(posed: &Posed, settings: &Settings, layer_profile: &LayerProfile) -> Option<f64> {
    let first_mm2 = layer_profile.area_mm2.first().copied()?;
    let within_mm = settings.touch_mm();
    let flat = (0..posed.normal_z.len())
        .filter(|&t| posed.normal_z[t] < 0.0 && posed.corners(t).iter().all(|p| p.z <= within_mm));
    let flat_mm2: f64 = flat.map(|t| posed.part.areas[t]).sum();
    Some(flat_mm2 / first_mm2.max(f64::MIN_POSITIVE))
}

/// The largest change of a layer profile through which an outer wall runs.
fn line(posed: &Posed, layer_profile: &LayerProfile, layer_mm: f64) -> Option<Jump> {
    let jumps = jumps(layer_profile, posed.height_mm);
    if jumps.is_empty() {
        return None;
    }
    let beside = |j: &Jump| [j.z_mm - layer_mm / 2.0, j.z_mm + layer_mm / 2.0];
    let mut planes: Vec<f64> = jumps.iter().flat_map(beside).collect();
    planes.sort_by(f64::total_cmp);
    let sections = slicing::cut(posed, &planes).sections;
    let pieces = |z: f64| {
        let at = planes.partition_point(|p| *p < z);
        sections.get(at).map_or(&[][..], |s| &s.pieces)
    };
    jumps.into_iter().find(|j| {
        let [below, above] = beside(j).map(pieces);
        outer_wall::runs_through(below, above, LINE_FACTOR)
    })
}

/// The changes of a layer profile that may draw a line, the largest first.
pub(super) fn jumps(layer_profile: &LayerProfile, height_mm: f64) -> Vec<Jump> {
    let [bed_mm, top_mm] = LINE_CLEAR_MM;
    let clear = bed_mm..height_mm - top_mm;
    let far = |j: &&Jump| j.ratio() >= LINE_FACTOR && clear.contains(&j.z_mm);
    let mut jumps: Vec<Jump> = layer_profile.jumps.iter().filter(far).cloned().collect();
    let change = |j: &Jump| (j.to_mm2 - j.from_mm2).abs();
    jumps.sort_by(|a, b| change(b).total_cmp(&change(a)));
    jumps.truncate(MOST_JUMPS);
    jumps
}

/// Where the seam goes: on the upright edge that runs up most of the part, or else it shows
/// on the largest round side. In between nothing is sure.
fn seam(bench: &Bench, pose: &Pose, posed: &Posed) -> Option<LayerSeam> {
    let long = SIDE_SHARE * posed.height_mm;
    let edge = upright_edge(posed);
    if let Some(edge) = edge {
        return (edge.length_mm > long).then_some(LayerSeam::Edge(edge));
    }
    let sides = bench.layout.features.bores.iter().filter(|b| {
        let upright = (pose.rotation() * b.axis).z.abs() >= UPRIGHT;
        !b.hole && upright && b.turn_rad >= WHOLE_RAD && b.length_mm > long
    });
    let widths = sides.map(|b| 2.0 * b.radius_mm);
    widths.reduce(f64::max).map(LayerSeam::Round)
}
