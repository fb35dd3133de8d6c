//! A pose as a small figure: axonometric, on the ground, with the room that support
//! would fill; with the axes of the part where there is room.

use super::arrange::isometric_box;
use super::lines::Seen;
use super::model::DrawingModel;
use super::picture::Picture;
use super::placed::{Placed, on_bed};
use super::surface::MarkedSurface;
use super::view::View;
use super::views::tripod;

/// Width from which there is room for the axes of the part, mm.
const WITH_AXES_MM: f64 = 50.0;

/// Letters of the axes, mm: such a figure is printed at two thirds of its size and less.
pub(in crate::report) const LETTER_MM: f64 = 4.4;

/// Pixels along the longer side of the depth buffer.
const PX: usize = 420;

/// Draws a pose into a box; `surface` adds the room under overhang.
pub fn figure(
    model: &DrawingModel,
    seen_in: &crate::pose::Posed,
    surface: Option<&MarkedSurface>,
    size_mm: [f64; 2],
) -> Picture {
    let mut out = Picture::new(size_mm[0], size_mm[1]);
    let Some(seen) = Seen::new(seen_in, View::isometric(), PX) else {
        return out;
    };
    let [x, y] = seen_in.footprint_mm();
    let [w, low, high] = isometric_box([x, y, seen_in.height_mm]);
    let scale = ((size_mm[0] - 1.0) / w).min((size_mm[1] - 1.0) / (low + high));
    let middle = [size_mm[0] / 2.0, size_mm[1] - 0.5 - scale * low];
    let (placed, room) = (Placed::at(scale, middle), surface.map(|s| (s, 1.1)));
    on_bed(&mut out, &seen, model, room, &placed, 3000);
    if size_mm[0] >= WITH_AXES_MM {
        tripod(&mut out, seen_in, scale, middle, LETTER_MM);
    }
    out
}
