//! The drawing of a pose: front, side and underside in orthographic projection, and an
//! axonometric view, all on the ground; hatching says what the surface means.

use super::dimension::{self, LETTER_MM};
use super::hatch::{self, Arrow};
use super::ink::Wash;
use super::lines::{Line, Seen};
use super::model::Model;
use super::picture::{Anchor, Image, Label, Pen, Picture};
use super::props::{self, Prop};
use super::surface::Surface;
use super::view::{Angle, View};
use crate::figures::Figures;
use crate::words::{decimal, three};

/// Pixels along the longer side of a view's depth buffer.
const PX: usize = 1400;

/// Points of a view's lines beyond which it is washed as pixels instead.
const MOST_POINTS: usize = 9000;

/// Height over width from which a free-standing stretch gets a dimension (a house value).
const SLENDER_SHOWN: f64 = 5.0;

/// Distance of hatching lines on paper, mm.
const PITCH_MM: f64 = 1.5;

/// Steps of a scale within a power of ten. ISO 5455 prefers 1, 2 and 5; the others are
/// on the usual rulers and keep small parts from looking lost.
const SCALE_STEPS: [f64; 7] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0];

/// Room around the views on paper, mm: left, top, right, bottom, and between them.
const LEFT: f64 = 9.0;
const TOP: f64 = 3.0;
const RIGHT: f64 = 5.0;
const BOTTOM: f64 = 8.5;
const GAP: f64 = 11.0;

/// A finished drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// The picture.
    pub picture: Picture,
    /// Scale of the three views: "1 : 2".
    pub scale: String,
    /// What is to be seen, in words.
    pub alt: String,
}

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
                wash: Wash::of(seen, model, &lines),
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
    let more = 0.06 * (x + y);
    let (x, y) = (x + more, y + more);
    let corners = [[-x, -y], [x, -y], [x, y], [-x, y], [-x, -y]];
    let frame = seen.depth.frame;
    for pair in corners.windows(2) {
        let ends = [pair[0], pair[1]].map(|p| {
            frame.px(
                seen.view
                    .map(&nalgebra::Point3::new(p[0], p[1], 0.0)),
            )
        });
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

/// The largest scale of the series at which `mm` fit into `room`, and its name.
fn scale_for(mm: [f64; 2], room: [f64; 2]) -> (f64, String) {
    let most = (room[0] / mm[0].max(1e-9)).min(room[1] / mm[1].max(1e-9));
    // Reductions and enlargements, from the largest down.
    let powers = || (0..8).map(|p| 10.0_f64.powi(p));
    let enlarge = powers()
        .flat_map(|p| SCALE_STEPS.map(|s| s * p))
        .filter(|s| *s <= most)
        .fold(0.0, f64::max);
    if enlarge > 0.0 {
        return (enlarge, format!("{} : 1", decimal(enlarge, 1)));
    }
    let reduce = powers()
        .flat_map(|p| SCALE_STEPS.map(|s| s * p))
        .filter(|s| 1.0 / s <= most)
        .fold(f64::INFINITY, f64::min);
    if reduce.is_finite() {
        (1.0 / reduce, format!("1 : {}", decimal(reduce, 1)))
    } else {
        (most, "to fit".into())
    }
}

/// Draws a pose into a width of paper; the height follows, up to `size_mm[1]`.
///
/// `name` is used in the words beside the picture. A part without extent gives an empty
/// picture.
pub fn drawing(
    model: &Model,
    surface: &Surface,
    figures: &Figures,
    angle: Angle,
    size_mm: [f64; 2],
    name: &str,
) -> Drawing {
    let posed = surface.posed;
    let [x, y] = posed.footprint_mm();
    let z = posed.height_mm;
    let tall = size_mm[1] - TOP - BOTTOM;
    // The axonometric view gets what the others leave, and not less than a fair share.
    let room = size_mm[0] * 0.66 - LEFT - RIGHT - GAP;
    let (scale, scale_words) = scale_for([x + y, y + z], [room, tall - GAP]);
    let (px, py, pz) = (x * scale, y * scale, z * scale);
    let three_wide = LEFT + px + GAP + py + RIGHT;
    let height = (TOP + py + GAP + pz + BOTTOM)
        .max(0.36 * size_mm[0])
        .min(size_mm[1]);
    let mut out = Picture::new(size_mm[0], height);
    let side_left = LEFT + px + GAP;
    let ground_y = match angle {
        Angle::First => height - BOTTOM,
        Angle::Third => TOP + pz,
    };
    let underside_base = match angle {
        Angle::First => ground_y - pz - GAP,
        Angle::Third => ground_y + GAP + py,
    };
    let found = props::props(surface, PITCH_MM / scale);

    let front = orthographic(&mut out, model, surface, View::front(), [LEFT, ground_y], scale, &found);
    let side = orthographic(&mut out, model, surface, angle.side(), [side_left, ground_y], scale, &found);
    let under = orthographic(&mut out, model, surface, View::below(), [LEFT, underside_base], scale, &[]);
    for (view, placed) in [(View::front(), &front), (angle.side(), &side)] {
        contact_bar(&mut out, surface, &view, placed, ground_y);
    }
    contact_area(&mut out, surface, &under);
    dimension::ground(&mut out, [LEFT - 3.0, side_left + py + 3.0], ground_y);
    captions(&mut out, angle, [side_left, underside_base], [px, py], ground_y);
    let dim_y = ground_y + BOTTOM - 2.4;
    if angle == Angle::First {
        dimension::level(&mut out, [LEFT, LEFT + px], ground_y + 0.8, dim_y, &decimal(x, 1));
    } else {
        let edge = underside_base;
        dimension::level(&mut out, [LEFT, LEFT + px], edge + 0.8, edge + 6.0, &decimal(x, 1));
    }
    dimension::level(&mut out, [side_left, side_left + py], ground_y + 0.8, dim_y, &decimal(y, 1));
    dimension::upright(
        &mut out,
        [ground_y, ground_y - pz],
        LEFT - 0.8,
        LEFT - 4.6,
        &decimal(z, 1),
        false,
    );
    slender_line(&mut out, figures, &front, LEFT + px, ground_y, scale);

    let iso_left = three_wide + 2.0;
    let iso = [size_mm[0] - iso_left, height - 5.0];
    axonometric(&mut out, model, surface, [iso_left, height - 4.0], iso, scale);
    Drawing {
        picture: out,
        scale: scale_words,
        alt: alt(surface, figures, name),
    }
}

/// One of the three views with its hatching; returns where it lies.
fn orthographic(
    out: &mut Picture,
    model: &Model,
    surface: &Surface,
    view: View,
    corner: [f64; 2],
    scale: f64,
    found: &[Prop],
) -> Placed {
    let mut placed = Placed {
        scale,
        left: corner[0],
        base: corner[1],
        lo: [0.0; 2],
    };
    let Some(seen) = Seen::new(surface.posed, view, PX) else {
        return placed;
    };
    // The frame keeps some pixels free around the part.
    let frame = seen.depth.frame;
    let least = |k: usize| {
        seen.points
            .iter()
            .map(|p| p[k])
            .fold(f64::INFINITY, f64::min)
    };
    placed.lo = frame.mm([least(0), least(1)]);
    for line in props::seen(found, &seen, 0.4 / scale) {
        out.stroke(Pen::Prop, &placed.line(&line));
    }
    let hatching = hatch::hatching(surface, &seen, PITCH_MM / scale);
    for line in &hatching.over {
        out.stroke(Pen::Hatch, &placed.line(line));
    }
    for line in &hatching.bridged {
        out.stroke(Pen::Bridge, &placed.line(line));
    }
    placed.view(out, &seen, model, true, MOST_POINTS);
    for arrow in &hatching.arrows {
        bridge_arrow(out, &placed, arrow);
    }
    placed
}

fn bridge_arrow(out: &mut Picture, placed: &Placed, arrow: &Arrow) {
    let [a, b] = arrow.ends.map(|p| placed.point(p));
    let length = (b[0] - a[0]).hypot(b[1] - a[1]);
    dimension::arrows(out, Pen::Mark, a, b);
    let steep = (b[1] - a[1]).abs() > (b[0] - a[0]).abs();
    let text = decimal(arrow.span_mm, 1);
    let fits = length > super::lettering::width(&text) * LETTER_MM;
    let at = match (steep, fits) {
        (false, true) => [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1]) - 0.7],
        (true, true) => [f64::midpoint(a[0], b[0]) - 0.7, f64::midpoint(a[1], b[1])],
        _ => [a[0].max(b[0]) + 1.0, a[1].min(b[1]) - 0.9],
    };
    out.labels.push(Label {
        at,
        text,
        size_mm: LETTER_MM,
        anchor: if fits { Anchor::Middle } else { Anchor::Start },
        upright: steep && fits,
        mark: true,
    });
}

/// Solid ink along the ground where the part touches it.
fn contact_bar(out: &mut Picture, surface: &Surface, view: &View, placed: &Placed, ground_y: f64) {
    let mut spans: Vec<[f64; 2]> = surface
        .contact
        .pieces
        .iter()
        .map(|piece| {
            let us = piece.outer.iter().map(|p| {
                let point = nalgebra::Point3::new(p.x, p.y, 0.0);
                placed.point([view.map(&point)[0], 0.0])[0]
            });
            us.fold([f64::INFINITY, f64::NEG_INFINITY], |a, u| {
                [a[0].min(u), a[1].max(u)]
            })
        })
        .collect();
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span[0] <= last[1] + 0.1 => last[1] = last[1].max(span[1]),
            _ => joined.push(span),
        }
    }
    for [from, to] in joined {
        out.fill(&[
            [from, ground_y - 0.25],
            [to.max(from + 0.3), ground_y - 0.25],
            [to.max(from + 0.3), ground_y + 1.0],
            [from, ground_y + 1.0],
        ]);
    }
}

/// The section at touch height as solid ink in the view from below.
fn contact_area(out: &mut Picture, surface: &Surface, placed: &Placed) {
    for piece in &surface.contact.pieces {
        let ring = |points: &[nalgebra::Point2<f64>]| -> Line {
            points
                .iter()
                .map(|p| placed.point([p.x, -p.y]))
                .collect()
        };
        out.fills.push(piece.loops().map(ring).collect());
    }
}

fn captions(
    out: &mut Picture,
    angle: Angle,
    [side_left, under_base]: [f64; 2],
    [px, py]: [f64; 2],
    ground_y: f64,
) {
    let small = 2.1;
    let side = match angle {
        Angle::First => "from the left",
        Angle::Third => "from the right",
    };
    let low = match angle {
        Angle::First => ground_y + BOTTOM - 0.1,
        Angle::Third => ground_y + BOTTOM - 0.1,
    };
    let _ = low;
    out.label([LEFT + px + 1.2, under_base - 0.4], "from below", small, Anchor::Start);
    out.label(
        [side_left + py + 3.4, ground_y + 0.6],
        side,
        small,
        Anchor::Start,
    );
}

/// The dimension of the slimmest free-standing stretch, with its ratio.
fn slender_line(
    out: &mut Picture,
    figures: &Figures,
    front: &Placed,
    right_edge: f64,
    ground_y: f64,
    scale: f64,
) {
    let Some(s) = figures.slender.filter(|s| s.ratio >= SLENDER_SHOWN) else {
        return;
    };
    let tip_x = front.point([s.tip_mm[0], 0.0])[0];
    let y = [s.from_mm, s.to_mm].map(|z| ground_y - z * scale);
    if (y[0] - y[1]).abs() < 4.0 {
        return;
    }
    let text = format!("{} : 1", decimal(s.ratio, 1));
    dimension::upright(out, y, tip_x.min(right_edge) + 1.0, right_edge + 4.5, &text, true);
}

/// The axonometric view, as large as it may be.
fn axonometric(
    out: &mut Picture,
    model: &Model,
    surface: &Surface,
    corner: [f64; 2],
    room: [f64; 2],
    scale: f64,
) {
    let Some(seen) = Seen::new(surface.posed, View::isometric(), PX) else {
        return;
    };
    let frame = seen.depth.frame;
    let (w, h) = (
        frame.nx as f64 * frame.step_mm,
        frame.ny as f64 * frame.step_mm,
    );
    // A tenth of the room is kept for the ground around the part.
    let fit = (0.9 * room[0] / w).min(0.9 * room[1] / h).min(2.0 * scale.max(0.5 * room[0] / w));
    let placed = Placed {
        scale: fit,
        left: corner[0] + (room[0] - w * fit) / 2.0,
        base: corner[1] - 0.04 * room[1],
        lo: frame.lo,
    };
    ground_plane(out, &seen, &placed);
    let found = props::props(surface, PITCH_MM / fit);
    for line in props::seen(&found, &seen, 0.4 / fit) {
        out.stroke(Pen::Prop, &placed.line(&line));
    }
    placed.view(out, &seen, model, false, MOST_POINTS);
}

/// What the picture shows, for those who do not see it.
fn alt(surface: &Surface, figures: &Figures, name: &str) -> String {
    let mut text = format!(
        "Drawing of {name} as it stands on the bed, {} by {} by {} mm: from the front, from the side, from below and in axonometry.",
        decimal(figures.footprint_mm[0], 1),
        decimal(figures.footprint_mm[1], 1),
        decimal(figures.height_mm, 1)
    );
    text.push_str(&format!(
        " Solid ink: {} touching the bed.",
        crate::words::area(figures.contact_area_mm2)
    ));
    if figures.overhang_after_bridges_mm2 > 0.5 {
        text.push_str(&format!(
            " 45 degree hatching: {} that need holding up.",
            crate::words::area(figures.overhang_after_bridges_mm2)
        ));
    }
    let bridged = figures.overhang_area_mm2 - figures.overhang_after_bridges_mm2;
    if bridged > 0.5 && !surface.bridges.is_empty() {
        text.push_str(&format!(
            " Hatching along the strands: {} that bridges carry.",
            crate::words::area(bridged)
        ));
    }
    if figures.support_after_bridges_mm3 > 1.0 {
        text.push_str(" Upright lines: the room that support would fill.");
    }
    if let Some(s) = figures.slender.filter(|s| s.ratio >= SLENDER_SHOWN) {
        text.push_str(&format!(
            " A free-standing stretch is {} times as high as wide.",
            three(s.ratio)
        ));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_the_largest_of_the_series_that_fit() {
        assert_eq!(scale_for([100.0, 40.0], [100.0, 60.0]).1, "1 : 1");
        assert_eq!(scale_for([100.0, 40.0], [99.0, 60.0]).1, "1 : 1.5");
        assert_eq!(scale_for([270.0, 10.0], [90.0, 60.0]).1, "1 : 3");
        assert_eq!(scale_for([10.0, 10.0], [58.0, 60.0]).1, "5 : 1");
        assert_eq!(scale_for([1.0, 1.0], [15.5, 60.0]).1, "15 : 1");
        let (s, _) = scale_for([1500.0, 10.0], [90.0, 60.0]);
        assert!(1500.0 * s <= 90.0 && s == 0.05);
    }
}
