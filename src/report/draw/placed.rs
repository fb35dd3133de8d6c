//! A view at its place on the paper.

use super::arrange::BED_MORE;
use super::join::{between, runs};
use super::lines::{Polyline, Seen};
use super::model::DrawingModel;
use super::picture::{Image, Pen, Picture};
use super::props;
use super::surface::MarkedSurface;
use super::wash::Wash;

/// A view put on paper: scale and where its frame's lower left corner lies.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// mm of paper a mm of the part.
    pub scale: f64,
    /// Paper x of the frame's left edge.
    pub left: f64,
    /// Paper y of the frame's lower edge.
    pub base: f64,
    /// Lower left corner of the frame in the view plane, mm.
    pub lo: [f64; 2],
}

impl Placed {
    /// At this scale with the middle of the footprint here.
    pub fn at(scale: f64, [left, base]: [f64; 2]) -> Self {
        Self {
            scale,
            left,
            base,
            lo: [0.0; 2],
        }
    }

    /// A point of the view plane on paper.
    pub fn point(&self, p: [f64; 2]) -> [f64; 2] {
        let [u, v] = [0, 1].map(|k| (p[k] - self.lo[k]) * self.scale);
        [self.left + u, self.base - v]
    }

    /// A polyline on paper.
    pub fn line(&self, line: &[[f64; 2]]) -> Polyline {
        line.iter().map(|p| self.point(*p)).collect()
    }

    /// Polylines of the view plane in one pen.
    pub fn strokes(&self, out: &mut Picture, pen: Pen, lines: &[Polyline]) {
        for line in lines {
            out.stroke(pen, &self.line(line));
        }
    }

    /// Puts the lines of a view on the sheet, or a wash where they are more than
    /// `most_points`.
    pub fn view(
        &self,
        out: &mut Picture,
        seen: &Seen,
        model: &DrawingModel,
        hidden: bool,
        most: usize,
    ) {
        let fine = seen.is_fine(model);
        let lines = seen.lines(model, hidden && !fine);
        if fine || lines.points() > most {
            let frame = seen.depth.frame;
            let [x, y] = self.point(frame.mm([0.0, frame.ny as f64]));
            let side = frame.step_mm * self.scale;
            out.images.push(Image {
                place: [x, y, frame.nx as f64 * side, frame.ny as f64 * side],
                wash: Wash::of(seen, model, &lines.without_specks(frame)),
            });
            return;
        }
        self.strokes(out, Pen::Hidden, &lines.hidden);
        self.strokes(out, Pen::Edge, &lines.edges);
        self.strokes(out, Pen::Outline, &lines.outline);
    }
}

/// A view from above on the bed, in lines up to `most` points. With a surface it shows
/// the room under overhang as upright lines, so far apart, mm of paper.
pub fn on_bed(
    out: &mut Picture,
    seen: &Seen,
    model: &DrawingModel,
    room: Option<(&MarkedSurface, f64)>,
    placed: &Placed,
    most: usize,
) {
    ground_plane(out, seen, placed);
    if let Some((surface, pitch_mm)) = room {
        let pitch_mm = pitch_mm / placed.scale;
        let found = props::props(surface, pitch_mm);
        placed.strokes(out, Pen::Prop, &props::seen(&found, seen, pitch_mm));
    }
    placed.view(out, seen, model, false, most);
}

/// The bed under an axonometric view: its outline around the part, what the part
/// covers left out, and the build direction.
fn ground_plane(out: &mut Picture, seen: &Seen, placed: &Placed) {
    let [x, y] = seen.posed.footprint_mm().map(|s| s / 2.0);
    // Both sides together; x and y are halves here.
    let more = 2.0 * BED_MORE * (x + y);
    let (x, y) = (x + more, y + more);
    let corners = [[-x, -y], [x, -y], [x, y], [-x, y], [-x, -y]];
    let frame = seen.depth.frame;
    for pair in corners.windows(2) {
        let corner = |[x, y]: [f64; 2]| seen.view.map(&nalgebra::Point3::new(x, y, 0.0));
        let [a, b] = [pair[0], pair[1]].map(|p| frame.px(corner(p)));
        let n = 200;
        let at = |i: usize| between(a, b, i as f64 / f64::from(n));
        let free: Vec<bool> = (0..n as usize).map(|i| seen.depth.clear(at(i))).collect();
        for (from, to, _) in runs(&free).into_iter().filter(|r| r.2) {
            let line = [at(from), at(to)].map(|p| frame.mm([p[0], p[1]]));
            out.stroke(Pen::Thin, &placed.line(&line));
        }
    }
}
