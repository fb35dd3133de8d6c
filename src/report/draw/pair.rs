//! A pose in axonometry over its underside: to be set beside others at one scale.

use super::arrange::isometric_box;
use super::dimension::LETTER_MM;
use super::model::DrawingModel;
use super::picture::{Anchor, Picture};
use super::surface::MarkedSurface;
use super::view::View;
use super::views::{alt, axonometric, contact_area, orthographic, side_seen, tripod};
use crate::pose::Posed;
use crate::report::sheet::SheetJob;
use crate::report::sheet::page::SheetPose;

/// Between the axonometric view and the underside of a pair, mm.
const PAIR_GAP: f64 = 5.0;

/// The largest scale at which [`pair`] fits into `room`.
pub fn scale(posed: &Posed, room: [f64; 2]) -> f64 {
    let [x, y] = posed.footprint_mm();
    let [w, low, high] = isometric_box([x, y, posed.height_mm]);
    (room[0] / w.max(x)).min((room[1] - PAIR_GAP) / (low + high + y))
}

/// A pose in axonometry with its underside below, at a given scale: to be set beside
/// others. Returns where its pictorial view ends, mm from the top, and the words for it too.
pub fn pair(
    job: &SheetJob,
    model: &DrawingModel,
    standing: &SheetPose,
    room: [f64; 2],
    scale: f64,
) -> (Picture, f64, String) {
    let (surface, posed) = (MarkedSurface::of(&standing.sliced), standing.sliced.posed());
    let [x, y] = posed.footprint_mm();
    let [_, low, high] = isometric_box([x, y, posed.height_mm]);
    let height = scale * (low + high + y) + PAIR_GAP;
    let mut out = Picture::new(room[0], height);
    let middle = [room[0] / 2.0, scale * high];
    axonometric(&mut out, model, &surface, scale, middle);
    tripod(&mut out, posed, scale, middle, LETTER_MM);
    let corner = [(room[0] - scale * x) / 2.0, height - 1.0];
    let under = orthographic(&mut out, model, &surface, View::below(), corner, scale, &[]);
    contact_area(&mut out, &surface, &under.0);
    let caption = format!("from below {}", side_seen(posed, &View::below()));
    let at = [room[0] / 2.0, scale * (low + high) + 2.6];
    out.label(at, caption, 2.1, Anchor::Middle);
    let alt = alt(&surface, &standing.figures, &job.name());
    (
        out,
        scale * (low + high),
        alt.replacen(
            ": from the front, from the side, from below and in a pictorial view",
            ": in a pictorial view and from below",
            1,
        ),
    )
}
