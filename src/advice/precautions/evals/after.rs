//! What fits and what is left to do once the part is off the bed.

use super::bed::{beyond, diameters, has_brim};
use super::{RuleInput, Spoken};
use crate::advice::support::needs_support;
use crate::gauge::holes::{MOST_DRILLED_MM, UprightHole};
use crate::plane::rect;
use crate::words;

/// Upright holes up to this diameter come out undersize by a part that matters, mm: up to it, something
/// is meant to fit, a shaft or a bearing.
const MOST_UNDERSIZE_MM: f64 = 40.0;
/// How deep a hole is at least to count as one that something goes through, mm.
const LEAST_DEEP_MM: f64 = 2.0;
/// Threads and the width across flats of their nuts and bolt heads, mm (ISO 4032, ISO 4017, from memory).
const NUTS: [(&str, f64); 5] = [
    ("M3", 5.5),
    ("M4", 7.0),
    ("M5", 8.0),
    ("M6", 10.0),
    ("M8", 13.0),
];
/// Threads and the holes for their heat-set inserts, mm (typical values, from memory), …
const INSERTS: [(&str, f64); 4] = [("M2", 3.2), ("M3", 4.0), ("M4", 5.6), ("M5", 6.4)];
/// … how far a hole may be off, and how many diameters deep it is at most.
const INSERT_OFF_MM: f64 = 0.05;
const INSERT_DEEP: f64 = 3.0;
/// Alike holes from which they count as such.
pub(in super::super) const LEAST_INSERTS: usize = 2;
/// A pocket for a nut is this much wider than the nut at most, and as much narrower where it was drawn too
/// small, mm.
const NUT_PLAY_MM: (f64, f64) = (-0.35, 0.45);
/// … and a nut goes in by hand from this on, easily from that on.
const NUT_LEAST_MM: f64 = 0.1;
const NUT_EASY_MM: f64 = 0.2;
/// A bolt's hole is so many times as wide as its thread: cut by itself, or with play.
const BOLT_PLAY: (f64, f64) = (0.82, 1.4);
/// Shallowest pocket that holds a nut, mm.
const NUT_DEEP_MM: f64 = 1.5;

pub(in super::super) fn undersize(g: &RuleInput) -> Spoken {
    let deep = |h: &&UprightHole| h.deep_mm() >= LEAST_DEEP_MM && !h.seat;
    let holes = g.traits.holes.iter().filter(deep).map(|h| h.diameter_mm);
    let mut holes: Vec<f64> = holes.collect();
    // One that a cross hole breaks into is seen where it opens on the bed.
    holes.extend(beyond(&holes, &g.near.openings.round_mm));
    holes.retain(|d| *d <= MOST_UNDERSIZE_MM);
    // A pin may be in it.
    if holes.is_empty() || g.bodies.in_place.is_some() {
        return None;
    }
    let (least, most) = rect::span(holes.iter().copied());
    let (what, them) = if holes.len() == 1 {
        ("The upright hole comes", "it")
    } else {
        ("Upright holes come", "them")
    };
    let says = format!(
        "{what} out 0.1 to 0.2 mm undersize ({}): {}.",
        diameters(&holes),
        if least > MOST_DRILLED_MM {
            format!("model {them} wider by as much where something must fit")
        } else if most > MOST_DRILLED_MM {
            format!(
                "where something must fit, drill those up to {MOST_DRILLED_MM} mm to size and model the others wider by as much"
            )
        } else {
            format!(
                "where something must fit, drill {them} to size or model {them} wider by as much"
            )
        }
    );
    (g.gates.is_empty()).then_some((holes.len() as f64, says))
}

/// Holes that lie: their roofs sag. Where support is kept out of them, that is said there.
pub(in super::super) fn lying(g: &RuleInput) -> Spoken {
    let holes = &g.traits.lying_mm;
    if holes.is_empty() || g.kept_out.is_some() || g.bodies.in_place.is_some() {
        return None;
    }
    let sizes = diameters(holes);
    // A blind one is drilled no deeper.
    let says = format!(
        "Roofs of horizontal holes sag ({sizes}): where something must fit, clear the hole with a drill of its size; in a blind one stop at the bottom."
    );
    g.gates.is_empty().then_some((holes.len() as f64, says))
}

pub(in super::super) fn nuts(g: &RuleInput) -> Spoken {
    let play = NUT_PLAY_MM.0..=NUT_PLAY_MM.1;
    let fits = |across: f64| NUTS.iter().find(|n| play.contains(&(across - n.1)));
    // What bolt goes through the hole says which nut is meant.
    let is_for = |hole_mm: f64, across: f64| {
        let bolt = fits(across).and_then(|n| n.0[1..].parse::<f64>().ok());
        bolt.is_some_and(|d| (BOLT_PLAY.0 * d..=BOLT_PLAY.1 * d).contains(&hole_mm))
    };
    let meant = g
        .traits
        .hexagons
        .iter()
        .filter(|(h, hole)| h.depth_mm >= NUT_DEEP_MM && is_for(*hole, h.across_mm));
    let widths: Vec<f64> = meant.map(|(h, _)| h.across_mm).collect();
    // The narrowest that fits one, and all that fit the same.
    let narrow = widths.iter().copied().filter(|w| fits(*w).is_some());
    let across = narrow.reduce(f64::min)?;
    let (thread, flats) = *fits(across)?;
    let n = widths
        .iter()
        .filter(|w| fits(**w).is_some_and(|f| f.0 == thread))
        .count();
    let (wide, flats_mm) = (words::decimal(across, 1), words::decimal(flats, 1));
    let tight = across - flats < NUT_LEAST_MM;
    let (by, why) = if across - flats < -0.05 {
        (flats + NUT_EASY_MM - across, "is too small for its")
    } else {
        (NUT_EASY_MM, "leaves no play for its")
    };
    let by = words::decimal(by, 1);
    let says = match (n, tight) {
        (1, false) => format!(
            "Print a test of the hexagon first: {wide} mm across flats is for the nut or bolt head of an {thread}."
        ),
        (_, false) => format!(
            "Print a test of one hexagon first: {n} are {wide} mm across flats, for the nuts or bolt heads of an {thread}."
        ),
        (_, true) => format!(
            "Model the hexagon for the {thread} nut or bolt head {by} mm wider: {wide} mm across flats {why} {flats_mm} mm."
        ),
    };
    (g.gates.is_empty()).then_some((n as f64, says))
}

pub(in super::super) fn inserts(g: &RuleInput) -> Spoken {
    let fits = |h: &UprightHole| {
        let deep = h.deep_mm() >= h.diameter_mm && h.deep_mm() <= INSERT_DEEP * h.diameter_mm;
        let near = |i: &&(&str, f64)| (h.diameter_mm - i.1).abs() <= INSERT_OFF_MM;
        INSERTS
            .iter()
            .position(|i| near(&i))
            .filter(|_| h.blind && deep)
    };
    let found: Vec<usize> = g.traits.holes.iter().filter_map(fits).collect();
    let of = |i: usize| found.iter().filter(|f| **f == i).count();
    // The thread of most holes, the smaller of equal ones.
    let most = (0..INSERTS.len()).rev().max_by_key(|&i| of(i))?;
    let ((thread, wide), n) = (INSERTS[most], of(most));
    let wide = words::decimal(wide, 1);
    let says = format!(
        "If the {n} blind holes of Ø {wide} mm take {thread} heat-set inserts, melt one into a test print first."
    );
    (g.gates.is_empty()).then_some((n as f64, says))
}

pub(in super::super) fn clean_up(g: &RuleInput) -> Spoken {
    let brim = has_brim(g);
    let support = g.gates.is_empty() && needs_support(g.figures, g.settings);
    let what = match (brim, support) {
        (false, false) => return None,
        (true, false) => "Cut the brim off with a knife, away from your hand",
        (false, true) => "Break the support away with pliers",
        (true, true) => "Break the support away with pliers and cut the brim off",
    };
    let says = format!("{what}; wear eye protection.");
    Some((f64::from(u8::from(brim) + u8::from(support)), says))
}
