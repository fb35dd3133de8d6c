//! A view at its place on the paper.

use super::arrange::BED_MORE;
use super::ink::Wash;
use super::lines::{Line, Seen};
use super::model::Model;
use super::picture::{Image, Pen, Picture};

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
    /// A point of the view plane on paper.
    pub fn point(&self, p: [f64; 2]) -> [f64; 2] {
        [
            self.left + (p[0] - self.lo[0]) * self.scale,
            self.base - (p[1] - self.lo[1]) * self.scale,
        ]
    }

    /// A polyline on paper.
    pub fn line(&self, line: &[[f64; 2]]) -> Line {
        line.iter().map(|p| self.point(*p)).collect()
    }

    /// Puts the lines of a view on the sheet, or a wash where they are more than
    /// `most_points`.
    pub fn view(&self, out: &mut Picture, seen: &Seen, model: &Model, hidden: bool, most: usize) {
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
        for (pen, list) in [
            (Pen::Hidden, &lines.hidden),
            (Pen::Edge, &lines.edges),
            (Pen::Outline, &lines.outline),
        ] {
            for line in list {
                out.stroke(pen, &self.line(line));
            }
        }
    }
}

/// The bed under an axonometric view: its outline around the part, what the part
/// covers left out, and the build direction.
pub fn ground_plane(out: &mut Picture, seen: &Seen, placed: &Placed) {
    let [x, y] = seen.posed.footprint_mm().map(|s| s / 2.0);
    // Both sides together; x and y are halves here.
    let more = 2.0 * BED_MORE * (x + y);
    let (x, y) = (x + more, y + more);
    let corners = [[-x, -y], [x, -y], [x, y], [-x, y], [-x, -y]];
    let frame = seen.depth.frame;
    for pair in corners.windows(2) {
        let ends = [pair[0], pair[1]]
            .map(|p| frame.px(seen.view.map(&nalgebra::Point3::new(p[0], p[1], 0.0))));
        let n = 200;
        let at = |i: usize| {
            let t = i as f64 / f64::from(n);
            [0, 1, 2].map(|k| ends[0][k] + t * (ends[1][k] - ends[0][k]))
        };
        let mut from: Option<usize> = None;
        for i in 0..=n as usize {
            let free = i < n as usize && seen.depth.clear(at(i));
            match (free, from) {
                (true, None) => from = Some(i),
                (false, Some(start)) => {
                    let line = [at(start), at(i)].map(|p| frame.mm([p[0], p[1]]));
                    out.stroke(Pen::Thin, &placed.line(&line));
                    from = None;
                }
                _ => {}
            }
        }
    }
}
