//! The drawing of each step of a tilt, all to one scale and on one bed.

use super::tilt::Step;
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::mesh::bounds;
use crate::report::draw::hatch;
use crate::report::draw::lines::Seen;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::picture::{Pen, Picture};
use crate::report::draw::placed::{Placed, on_bed};
use crate::report::draw::small::LETTER_MM;
use crate::report::draw::surface::MarkedSurface;
use crate::report::draw::view::View;
use crate::report::draw::views::{axes, contact_area};
use nalgebra::Point2;

/// Size of a frame, and of the part of it for the view that turns, mm.
const SIZE: [f64; 2] = [150.0, 78.0];
const TURNING: f64 = 92.0;

/// Where the axes of the part stand, mm.
const AXES_MM: [f64; 2] = [TURNING - 8.0, SIZE[1] - 8.0];

/// Pixels along the longer side of a depth buffer.
const PX: usize = 1000;

/// Points of lines beyond which a view becomes a wash.
const MOST_POINTS: usize = 3000;

/// Distance of hatching lines on paper, mm.
const PITCH_MM: f64 = 1.5;

/// Draws every step: the part on its bed, and what the bed sees of it.
pub fn frames(model: &DrawingModel, steps: &[Step], bench: &Bench) -> Vec<Picture> {
    let standing: Vec<Sliced> = (steps.iter())
        .map(|s| Sliced::new(bench, s.pose.clone()))
        .collect();
    let view = View::leaning();
    // The box around all steps in this view, and that of the underside.
    let posed = || standing.iter().map(Sliced::posed);
    let corners = posed().flat_map(|p| &p.vertices).map(|p| view.map(p));
    let corners = corners.map(|[u, v, _]| Point2::new(u, v));
    let [lo, hi] = bounds(corners.chain([Point2::origin()])).unwrap_or_default();
    let plan = posed().map(|p| Point2::from(p.footprint_mm()));
    let plan = plan.fold(Point2::origin(), |a, b| a.sup(&b));
    let scale = (0.88 * TURNING / (hi.x - lo.x).max(1e-9))
        .min(0.86 * SIZE[1] / (hi.y - lo.y).max(1e-9))
        .min((SIZE[0] - TURNING - 4.0) / plan.x.max(1e-9))
        .min((SIZE[1] - 10.0) / plan.y.max(1e-9));
    let middle = TURNING / 2.0 - scale * f64::midpoint(lo.x, hi.x);
    let origin = [middle, SIZE[1] * 0.93 + scale * lo.y];
    standing
        .iter()
        .map(|sliced| frame(model, sliced, scale, origin))
        .collect()
}

fn frame(model: &DrawingModel, sliced: &Sliced, scale: f64, origin: [f64; 2]) -> Picture {
    let mut out = Picture::new(SIZE[0], SIZE[1]);
    let (surface, posed) = (MarkedSurface::of(sliced), sliced.posed());
    if let Some(seen) = Seen::new(posed, View::leaning(), PX) {
        let (placed, room) = (Placed::at(scale, origin), Some((&surface, PITCH_MM)));
        on_bed(&mut out, &seen, model, room, &placed, MOST_POINTS);
        axes(&mut out, posed, &View::leaning(), AXES_MM, LETTER_MM);
    }
    if let Some(seen) = Seen::new(posed, View::below(), PX) {
        let middle = TURNING + (SIZE[0] - TURNING) / 2.0;
        let placed = Placed::at(scale, [middle, SIZE[1] / 2.0]);
        let hatching = hatch::hatching(&surface, &seen, PITCH_MM / scale);
        placed.strokes(&mut out, Pen::Hatch, &hatching.over);
        placed.strokes(&mut out, Pen::Bridge, &hatching.bridged);
        placed.view(&mut out, &seen, model, false, MOST_POINTS);
        contact_area(&mut out, &surface, &placed);
    }
    out
}
