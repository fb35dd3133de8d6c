//! Ceilings with a hole in them: a counterbore that looks down, with a smaller hole through.
//!
//! What bridges past the hole is held at both ends; what meets it ends at its edge, where
//! nothing holds. Closed by a layer of its own, the same ceiling would bridge.

use super::chords::Cutter;
use crate::figures::CeilingHole;
use crate::plane::overlay::{Area, widest_at};
use crate::plane::polygon;
use crate::plane::rect::{hull2d, min_area_rectangle, span};
use nalgebra::Point2;

/// Holes narrower than this many lines close over themselves (house value).
const LEAST_LINES: f64 = 2.0;

/// A hole counts from this share of what the ceiling would span without it: strands find
/// their way past a smaller one (house value).
const LEAST_SHARE: f64 = 0.25;

/// Perimeter² over 4π·area of a hole that still counts as round: that of a hexagon is 1.10.
const ROUND: f64 = 1.12;

/// A hole goes on upwards at least as far, mm: a lower one is a dent in the ceiling, over which strands
/// of the next layers close (house value).
pub(super) const LEAST_HIGH_MM: f64 = 1.0;

/// The free holes of an overhang area, where they are large beside its span and all of it
/// would bridge if they were closed. `goes_on` tells whether what is open at a place stays so.
pub(super) fn around_hole(
    gap: &Area,
    overhang: &Area,
    line_mm: f64,
    offset_mm: f64,
    goes_on: impl Fn(Point2<f64>) -> bool,
) -> Option<CeilingHole> {
    let widths: Vec<f64> = loops(overhang)
        .filter(is_free_hole)
        .filter(|outline| inside(outline).is_some_and(&goes_on))
        .filter_map(width)
        .filter(|w| *w >= LEAST_LINES * line_mm)
        .collect();
    let width_mm = widths.iter().copied().reduce(f64::max)?;
    let [gap, overhang] = [gap, overhang].map(closed);
    let cut = Cutter::new(&gap, &overhang, line_mm, offset_mm).best();
    let held = cut.chords.iter().all(super::cut::Chord::bridged);
    let spans = cut.chords.iter().map(super::cut::Chord::length);
    let closed_span_mm = spans.fold(0.0, f64::max);
    (held && closed_span_mm > 0.0 && width_mm >= LEAST_SHARE * closed_span_mm).then_some(
        CeilingHole {
            width_mm,
            count: widths.len() as u32,
            closed_span_mm,
        },
    )
}

type Edge = (Point2<f64>, Point2<f64>, bool);

/// The closed outlines of an area.
fn loops(area: &Area) -> impl Iterator<Item = &[Edge]> {
    (area.starts.iter().enumerate()).map(|(i, &from)| {
        let to = area.starts.get(i + 1).map_or(area.edges.len(), |&t| t);
        &area.edges[from..to]
    })
}

/// Whether an outline goes round a hole with nothing below its edge.
fn is_free_hole(outline: &&[Edge]) -> bool {
    let ends = outline.iter().map(|e| (e.0, e.1));
    outline.iter().all(|e| !e.2) && polygon::area_within(ends) < 0.0
}

/// A point within an outline, at half its height.
fn inside(outline: &[Edge]) -> Option<Point2<f64>> {
    let (low, high) = span(outline.iter().map(|e| e.0.y));
    widest_at(0.5 * (low + high), outline)
}

/// Diameter of a round outline, shorter side of another.
fn width(outline: &[Edge]) -> Option<f64> {
    let points: Vec<Point2<f64>> = outline.iter().map(|e| e.0).collect();
    let around = min_area_rectangle(&hull2d(&points))?;
    let length: f64 = outline.iter().map(|e| (e.1 - e.0).norm()).sum();
    let area = polygon::area_within(outline.iter().map(|e| (e.0, e.1))).abs();
    let round = length * length <= ROUND * 4.0 * std::f64::consts::PI * area;
    Some(if round {
        around.long_mm
    } else {
        around.short_mm
    })
}

/// The area without its free holes.
fn closed(area: &Area) -> Area {
    let (mut edges, mut starts) = (Vec::with_capacity(area.edges.len()), Vec::new());
    for outline in loops(area).filter(|l| !is_free_hole(l)) {
        starts.push(edges.len());
        edges.extend_from_slice(outline);
    }
    Area {
        mm2: polygon::area_within(edges.iter().map(|e| (e.0, e.1))).abs(),
        edges,
        starts,
        around: area.around,
    }
}
