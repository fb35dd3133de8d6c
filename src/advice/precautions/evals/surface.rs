//! What shows on the sides.

use super::{RuleInput, Spoken};
use crate::advice::precautions::traits::LayerSeam;
use crate::advice::support::needs_support;
use crate::figures::Stretch;
use crate::words;

/// A layer done sooner than this is still soft under the next one, s.
pub(in super::super) const QUICK_LAYER_S: f64 = 6.0;
/// … over at least this height, mm.
const QUICK_HEIGHT_MM: f64 = 2.0;
/// A seam on a part lower than this is not worth a thought, mm (house value).
const SEAM_HEIGHT_MM: f64 = 15.0;
/// Share of the height that an edge runs over which hides it (house value).
const SEAM_SHARE: f64 = 0.8;

pub(in super::super) fn line(g: &RuleInput) -> Spoken {
    let jump = g.traits.line.as_ref()?;
    let areas = words::areas(jump.from_mm2, jump.to_mm2);
    let says = format!(
        "A line may show on the sides at z = {}: the section goes from {areas} there, so layer time and shrinkage change.",
        words::length(jump.z_mm)
    );
    Some((jump.ratio(), says))
}

pub(in super::super) fn quick_layers(g: &RuleInput) -> Spoken {
    // A file of several parts is printed as several anyway, and support that is printed along
    // leaves no layer so short.
    let supported = needs_support(g.figures, g.settings);
    let layer_profile = g
        .layer_profile
        .filter(|_| g.bodies.parts.is_none() && !supported)?;
    let s = g.settings;
    let seconds = |area: f64| area * s.layer_mm / s.rate_mm3_s + s.layer_change_s;
    // Nothing is printed of a layer of slivers.
    let slivers = |z: f64| {
        let here = |s: &&Stretch| s.from_mm < z && z < s.to_mm;
        g.slivers.iter().filter(here).count()
    };
    // The first layer is printed slowly anyway.
    let layers: Vec<(f64, f64)> = (layer_profile
        .z_mm
        .iter()
        .zip(&layer_profile.area_mm2)
        .zip(&layer_profile.pieces))
    .map(|((&z, &area), &n)| (z, if slivers(z) == n as usize { 0.0 } else { area }))
    .skip(1)
    .collect();
    let last = layers.last()?.0;
    // The highest run of quick layers.
    let quick = |&(_, area): &(f64, f64)| area > 0.0 && seconds(area) < QUICK_LAYER_S;
    let (from, to, least) = (layers.chunk_by(|a, b| quick(a) == quick(b)))
        .filter(|run| quick(&run[0]))
        .map(|run| {
            let times = run.iter().map(|l| seconds(l.1));
            let least = times.fold(f64::INFINITY, f64::min);
            (run[0].0, run[run.len() - 1].0, least)
        })
        .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
        .filter(|run| run.1 - run.0 >= QUICK_HEIGHT_MM)?;
    let whole = from <= layers[0].0 && to >= last;
    // From the bottom of the first layer of the run to the top of its last one.
    let (from, to) = (from - s.layer_mm / 2.0, to + s.layer_mm / 2.0);
    let (from, to) = (words::decimal(from, 1), words::decimal(to, 1));
    let place = if whole {
        String::new()
    } else {
        format!(" from z = {from} to {to} mm")
    };
    let says = format!(
        "Print two copies, or set a minimum layer time: a layer{place} takes as little as {} s and is soft under the next one.",
        words::decimal(least, 0)
    );
    Some((least, says))
}

pub(in super::super) fn seam(g: &RuleInput) -> Spoken {
    // With several outlines a layer there are as many seams.
    let single = g.layer_profile.is_none_or(|layer_profile| {
        let one = layer_profile.pieces.iter().filter(|n| **n <= 1).count();
        10 * one >= 9 * layer_profile.pieces.len()
    });
    let high = |seam: &LayerSeam| match seam {
        LayerSeam::Edge(edge) => edge.length_mm >= SEAM_SHARE * g.figures.height_mm,
        LayerSeam::Round(_) => true,
    };
    let shows = g.gates.is_empty() && single && g.figures.height_mm >= SEAM_HEIGHT_MM;
    let (value, says) = match g.traits.seam.filter(|seam| shows && high(seam))? {
        LayerSeam::Edge(edge) => {
            let [x, y] = edge.at_mm.map(|v| words::decimal(v, 0));
            let place = if edge.inner {
                "into the inner corner"
            } else {
                "on the upright edge"
            };
            let says = format!(
                "Put the layer seam {place} at x {x}, y {y} from the middle: it shows least there."
            );
            (edge.length_mm, says)
        }
        LayerSeam::Round(diameter) => {
            let wide = words::decimal(diameter, 1);
            let says = format!(
                "Put the layer seam at the back: there is no edge to hide it, and it shows on the round side (Ø {wide} mm)."
            );
            (0.0, says)
        }
    };
    Some((value, says))
}
