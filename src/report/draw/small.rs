//! A pose as a small figure: axonometric, on the ground, with the room that support
//! would fill.

use super::lines::Seen;
use super::model::Model;
use super::picture::{Pen, Picture};
use super::props;
use super::views::{Placed, ground_plane};
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
    let frame = seen.depth.frame;
    let (w, h) = (
        frame.nx as f64 * frame.step_mm,
        frame.ny as f64 * frame.step_mm,
    );
    // A tenth is kept for the ground around the part.
    let scale = ((size_mm[0] - 1.0) / w).min((size_mm[1] - 1.0) / h) * 0.9;
    let placed = Placed {
        scale,
        left: (size_mm[0] - w * scale) / 2.0,
        base: size_mm[1] - 0.5 - (size_mm[1] - 1.0) * 0.04,
        lo: frame.lo,
    };
    ground_plane(&mut out, &seen, &placed);
    if let Some(surface) = surface {
        let found = props::props(surface, 1.1 / scale);
        for line in props::seen(&found, &seen, 0.4 / scale) {
            out.stroke(Pen::Prop, &placed.line(&line));
        }
    }
    placed.view(&mut out, &seen, model, false, 3000);
    out
}
