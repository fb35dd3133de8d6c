//! The drawing of each step of a tilt, all to one scale and on one bed.

use super::tilt::Step;
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::report::draw::hatch;
use crate::report::draw::lines::Seen;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::picture::{Anchor, Pen, Picture};
use crate::report::draw::placed::{Placed, on_bed};
use crate::report::draw::surface::MarkedSurface;
use crate::report::draw::view::View;
use crate::report::draw::views::contact_area;

/// Size of a frame, and of the part of it for the view that turns, mm.
const SIZE: [f64; 2] = [150.0, 78.0];
const TURNING: f64 = 92.0;

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
    // Left, right, low and high over all steps, and the same of the underside.
    let mut reach = [0.0_f64; 4];
    let mut plan = [0.0_f64; 2];
    for posed in standing.iter().map(Sliced::posed) {
        for p in &posed.vertices {
            let [u, v, _] = view.map(p);
            reach = [
                reach[0].min(u),
                reach[1].max(u),
                reach[2].min(v),
                reach[3].max(v),
            ];
        }
        let [x, y] = posed.footprint_mm();
        plan = [plan[0].max(x), plan[1].max(y)];
    }
    let scale = (0.88 * TURNING / (reach[1] - reach[0]).max(1e-9))
        .min(0.86 * SIZE[1] / (reach[3] - reach[2]).max(1e-9))
        .min((SIZE[0] - TURNING - 4.0) / plan[0].max(1e-9))
        .min((SIZE[1] - 10.0) / plan[1].max(1e-9));
    let origin = [
        TURNING / 2.0 - scale * f64::midpoint(reach[0], reach[1]),
        SIZE[1] * 0.93 + scale * reach[2],
    ];
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
    }
    if let Some(seen) = Seen::new(posed, View::below(), PX) {
        let middle = TURNING + (SIZE[0] - TURNING) / 2.0;
        let placed = Placed::at(scale, [middle, SIZE[1] / 2.0]);
        let hatching = hatch::hatching(&surface, &seen, PITCH_MM / scale);
        placed.strokes(&mut out, Pen::Hatch, &hatching.over);
        placed.strokes(&mut out, Pen::Bridge, &hatching.bridged);
        placed.view(&mut out, &seen, model, false, MOST_POINTS);
        contact_area(&mut out, &surface, &placed);
        out.label([middle, SIZE[1] - 1.0], "from below", 2.8, Anchor::Middle);
    }
    out
}
