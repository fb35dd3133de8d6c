//! A pose as a small figure: axonometric, on the ground, with the room that support
//! would fill.

use super::arrange::isometric_box;
use super::lines::Seen;
use super::model::Model;
use super::picture::{Pen, Picture};
use super::placed::{Placed, ground_plane};
use super::props;
use super::surface::Surface;
use super::view::View;

/// Pixels along the longer side of the depth buffer.
const PX: usize = 420;

/// Draws a pose into a box; `surface` adds the room under overhang.
pub fn figure(
    model: &Model,
    seen_in: &crate::pose::Posed,
    surface: Option<&Surface>,
    size_mm: [f64; 2],
) -> Picture {
    let mut out = Picture::new(size_mm[0], size_mm[1]);
    let Some(seen) = Seen::new(seen_in, View::isometric(), PX) else {
        return out;
    };
    let [x, y] = seen_in.footprint_mm();
    let [w, low, high] = isometric_box([x, y, seen_in.height_mm]);
    let scale = ((size_mm[0] - 1.0) / w).min((size_mm[1] - 1.0) / (low + high));
    let placed = Placed {
        scale,
        left: size_mm[0] / 2.0,
        base: size_mm[1] - 0.5 - scale * low,
        lo: [0.0; 2],
    };
    ground_plane(&mut out, &seen, &placed);
    if let Some(surface) = surface {
        let found = props::props(surface, 1.1 / scale);
        for line in props::seen(&found, &seen, 1.1 / scale) {
            out.stroke(Pen::Prop, &placed.line(&line));
        }
    }
    placed.view(&mut out, &seen, model, false, 3000);
    out
}
