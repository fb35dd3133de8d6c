//! The drawing of a pose: front, side and underside in orthographic projection, and an
//! axonometric view, all on the ground; hatching says what the surface means.

use super::arrange::{Arrangement, BOTTOM, LEFT, arrange, isometric_box};
use super::dimension::{self, LETTER_MM};
use super::hatch::{self, Arrow};
use super::join::apart;
use super::lettering;
use super::lines::{Polyline, Seen};
use super::markers;
use super::model::DrawingModel;
use super::picture::{Anchor, Label, Pen, Picture};
use super::placed::{Placed, on_bed};
use super::props::{self, Prop};
use super::spans::spans;
use super::surface::MarkedSurface;
use super::view::{Angle, View};
use crate::figures::Figures;
use crate::pose::Posed;
use crate::words::{self, area, decimal, three};
use nalgebra::{Point3, Unit, Vector3};

/// Pixels of a view's depth buffer a mm of paper, and along its longer side at least and
/// at most. What is finer than that on paper is not drawn as lines.
const PX_PER_MM: f64 = 16.0;
const PX: (f64, f64) = (300.0, 1400.0);

/// Points of a view's lines beyond which it is washed as pixels instead.
const MOST_POINTS: usize = 5000;

/// Height over width from which a free-standing stretch gets a dimension (a house value).
const SLENDER_SHOWN: f64 = 5.0;

/// Distance of hatching lines on paper, mm.
const PITCH_MM: f64 = 1.5;

/// A finished drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// The picture.
    pub picture: Picture,
    /// Scale of the three views: "1 : 2".
    pub scale: String,
    /// What is to be seen, in words.
    pub alt: String,
    /// What the kinds of ink mean, as far as they occur.
    pub key: String,
}

/// Draws a pose into a width of paper; the height follows, up to `size_mm[1]`.
///
/// `name` is used in the words beside the picture. A part without extent gives an empty
/// picture.
pub fn drawing(
    model: &DrawingModel,
    surface: &MarkedSurface,
    figures: &Figures,
    angle: Angle,
    size_mm: [f64; 2],
    name: &str,
) -> Drawing {
    let [x, y] = surface.posed.footprint_mm();
    let z = surface.posed.height_mm;
    let plan = arrange([x, y, z], size_mm, angle);
    let scale = plan.scale;
    let [px, py, pz] = [x, y, z].map(|v| v * scale);
    let (ground_y, side_left) = (plan.ground_y, plan.side_left);
    let mut out = Picture::new(size_mm[0], plan.height);
    axonometric(&mut out, model, surface, plan.axonometric, plan.middle);
    tripod(
        &mut out,
        surface.posed,
        plan.axonometric,
        plan.middle,
        LETTER_MM,
    );
    let found = props::props(surface, PITCH_MM / scale);
    let mut view = |view: View, corner: [f64; 2], found: &[Prop]| {
        orthographic(&mut out, model, surface, view, corner, scale, found)
    };
    let front = view(View::front(), [LEFT, ground_y], &found);
    let side = view(angle.side(), [side_left, ground_y], &found);
    let under = view(View::below(), [LEFT, plan.under_base], &[]);
    let sides = [(View::front(), &front.0), (angle.side(), &side.0)];
    if under.1 == 0 {
        hidden_bridges(&mut out, surface, &sides);
    }
    for (view, placed) in sides {
        contact_bar(&mut out, surface, &view, placed, ground_y);
    }
    markers::mark(&mut out, surface, &surface.markers, &sides);
    contact_area(&mut out, surface, &under.0);
    dimension::ground(&mut out, [LEFT - 3.0, side_left + py + 3.0], ground_y);
    captions(&mut out, surface.posed, angle, &plan, [px, py, pz]);
    let dim_y = ground_y + BOTTOM - 2.4;
    let wide = [LEFT, LEFT + px];
    let [from_y, at_y] = match angle {
        Angle::First => [ground_y + 0.8, dim_y],
        Angle::Third => [plan.under_base + 0.8, plan.under_base + 5.5],
    };
    dimension::level(&mut out, wide, from_y, at_y, &decimal(x, 1));
    let deep = [side_left, side_left + py];
    dimension::level(&mut out, deep, ground_y + 0.8, dim_y, &decimal(y, 1));
    let tall = [ground_y, ground_y - pz];
    dimension::upright(
        &mut out,
        tall,
        LEFT - 0.8,
        LEFT - 4.6,
        &decimal(z, 1),
        false,
    );
    slender_line(&mut out, figures, &front.0, LEFT + px, ground_y, scale);
    Drawing {
        key: key(&out),
        picture: out,
        scale: plan.words,
        alt: alt(surface, figures, name),
    }
}

/// Pixels for a view that is so large on paper, mm.
fn pixels(longest_mm: f64) -> usize {
    (PX_PER_MM * longest_mm).clamp(PX.0, PX.1) as usize
}

/// One of the three views with its hatching; returns where it lies and the number of its
/// bridge arrows.
pub(super) fn orthographic(
    out: &mut Picture,
    model: &DrawingModel,
    surface: &MarkedSurface,
    view: View,
    corner: [f64; 2],
    scale: f64,
    found: &[Prop],
) -> (Placed, usize) {
    let mut placed = Placed::at(scale, corner);
    let [x, y] = surface.posed.footprint_mm();
    let longest = x.max(y).max(surface.posed.height_mm) * scale;
    let Some(seen) = Seen::new(surface.posed, view, pixels(longest)) else {
        return (placed, 0);
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
    placed.strokes(out, Pen::Prop, &props::seen(found, &seen, PITCH_MM / scale));
    let hatching = hatch::hatching(surface, &seen, PITCH_MM / scale);
    placed.strokes(out, Pen::Hatch, &hatching.over);
    placed.strokes(out, Pen::Bridge, &hatching.bridged);
    placed.view(out, &seen, model, true, MOST_POINTS);
    // On a scan the grain of the surface bridges everywhere: no arrows there.
    if seen.is_fine(model) {
        return (placed, 0);
    }
    for arrow in &hatching.arrows {
        bridge_arrow(out, &placed, arrow);
    }
    (placed, hatching.arrows.len())
}

/// Arrows for bridges that no view shows from below, under their ceilings.
fn hidden_bridges(out: &mut Picture, surface: &MarkedSurface, sides: &[(View, &Placed)]) {
    for span in spans(surface, surface.settings.bridge_limit_mm) {
        for (view, placed) in sides {
            let along = view.right.dot(&span.along);
            if along.abs() < 0.95 {
                continue;
            }
            let [u, v, _] = view.map(&span.middle);
            let half = span.span_mm / 2.0;
            let arrow = Arrow {
                ends: [u - half, u + half].map(|u| [u, v - 0.9 / placed.scale]),
                span_mm: span.span_mm,
            };
            bridge_arrow(out, placed, &arrow);
            break;
        }
    }
}

fn bridge_arrow(out: &mut Picture, placed: &Placed, arrow: &Arrow) {
    let [a, b] = arrow.ends.map(|p| placed.point(p));
    let length = apart(a, b);
    dimension::arrows(out, Pen::Mark, a, b);
    let steep = (b[1] - a[1]).abs() > (b[0] - a[0]).abs();
    let text = decimal(arrow.span_mm, 1);
    let fits = length > lettering::width(&text) * LETTER_MM;
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
fn contact_bar(
    out: &mut Picture,
    surface: &MarkedSurface,
    view: &View,
    placed: &Placed,
    ground_y: f64,
) {
    let mut spans: Vec<[f64; 2]> = surface
        .contact
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
pub fn contact_area(out: &mut Picture, surface: &MarkedSurface, placed: &Placed) {
    for piece in surface.contact {
        let ring = |points: &[nalgebra::Point2<f64>]| -> Polyline {
            points.iter().map(|p| placed.point([p.x, -p.y])).collect()
        };
        out.fills.push(piece.loops().map(ring).collect());
    }
}

/// The side of the part that a view shows, in brackets: "(−Y side)", "(12° from −Y to +X)".
pub(super) fn side_seen(posed: &Posed, view: &View) -> String {
    let rotation = posed.pose.rotation();
    let side = words::side(&Unit::new_normalize(rotation.inverse() * view.toward));
    format!("({})", side.strip_prefix("side ").unwrap_or(&side))
}

/// Which view is which, with the part's own side.
fn captions(
    out: &mut Picture,
    posed: &Posed,
    angle: Angle,
    plan: &Arrangement,
    [px, py, pz]: [f64; 3],
) {
    let side = match angle {
        Angle::First => "from the left",
        Angle::Third => "from the right",
    };
    let top = plan.ground_y - pz;
    // Over the views that stand in first angle; under the dimensions in third, where nothing stands below.
    let (stand_y, under_y) = match angle {
        Angle::First => (top - 1.2, plan.under_base + 2.6),
        Angle::Third => (plan.ground_y + BOTTOM + 0.4, plan.under_base + 9.0),
    };
    for (view, name, left, wide, y) in [
        (View::front(), "from the front", LEFT, px, stand_y),
        (angle.side(), side, plan.side_left, py, stand_y),
        (View::below(), "from below", LEFT, px, under_y),
    ] {
        let own = side_seen(posed, &view);
        let one_line = format!("{name} {own}");
        // The gap between the views is free as well.
        if lettering::width(&one_line) * CAPTION_MM <= wide + 8.0 || angle == Angle::Third {
            out.label([left, y], one_line, CAPTION_MM, Anchor::Start);
        } else if name == "from below" {
            out.label([left, y], name, CAPTION_MM, Anchor::Start);
            out.label([left, y + 2.3], own, CAPTION_MM, Anchor::Start);
        } else {
            out.label([left, y - 2.3], name, CAPTION_MM, Anchor::Start);
            out.label([left, y], own, CAPTION_MM, Anchor::Start);
        }
    }
}

/// Lettering of captions, mm.
const CAPTION_MM: f64 = 2.1;

/// Arms of the tripod, mm of paper before they are foreshortened.
const ARM_MM: f64 = 6.0;

/// A bed drawn narrower than twice this leaves no room for the tripod within its box.
const NARROW_MM: f64 = 22.0;

/// The axes of the part in its pictorial view, in the corner beside the bed that is empty: the part lies
/// with its long side along X.
pub(super) fn tripod(
    out: &mut Picture,
    posed: &Posed,
    scale: f64,
    middle: [f64; 2],
    letter_mm: f64,
) {
    let [x, y] = posed.footprint_mm();
    let [wide, low, _] = isometric_box([x, y, posed.height_mm]);
    let reach = ARM_MM + 1.5;
    // Beside a narrow bed, where its corner has no room.
    let half = wide * scale / 2.0;
    let right = if half < NARROW_MM {
        half + 0.6 * reach
    } else {
        half - reach
    };
    let at = [
        (middle[0] + right).min(out.width_mm - reach),
        (middle[1] + low * scale - 4.5).min(out.height_mm - 5.5),
    ];
    axes(out, posed, &View::isometric(), at, letter_mm);
}

/// The axes of the part as a view shows them, from a point of the paper, or above it where one
/// would leave the paper.
pub(in crate::report) fn axes(
    out: &mut Picture,
    posed: &Posed,
    view: &View,
    at: [f64; 2],
    letter_mm: f64,
) {
    let seen = [Vector3::x(), Vector3::y(), Vector3::z()]
        .map(|axis| view.map(&Point3::from(posed.pose.rotation() * axis)));
    let deepest = seen.iter().fold(0.0, |deep: f64, [_, v, _]| deep.max(-v));
    let below = ARM_MM * deepest + 0.5 * letter_mm + 0.5 * letter_mm;
    let at = [at[0], at[1].min(out.height_mm - below)];
    for ([u, v, _], name) in seen.into_iter().zip(["X", "Y", "Z"]) {
        let tip = [at[0] + ARM_MM * u, at[1] - ARM_MM * v];
        out.stroke(Pen::Edge, &[at, tip]);
        let size = libm::hypot(u, v);
        // Seen from its end an axis has no direction: its letter stands beside the corner.
        let way = if size > 0.12 {
            [u / size, -v / size]
        } else {
            [-0.7, -0.7]
        };
        let letter = [
            tip[0] + 0.55 * letter_mm * way[0],
            tip[1] + 0.55 * letter_mm * way[1] + 0.35 * letter_mm,
        ];
        out.label(letter, name, letter_mm, Anchor::Middle);
    }
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
    dimension::upright(
        out,
        y,
        tip_x.min(right_edge) + 1.0,
        right_edge + 4.5,
        &text,
        true,
    );
}

/// The axonometric view on its bed.
pub(super) fn axonometric(
    out: &mut Picture,
    model: &DrawingModel,
    surface: &MarkedSurface,
    scale: f64,
    middle: [f64; 2],
) {
    let [x, y] = surface.posed.footprint_mm();
    let [wide, low, high] = isometric_box([x, y, surface.posed.height_mm]);
    let longest = wide.max(low + high) * scale;
    let Some(seen) = Seen::new(surface.posed, View::isometric(), pixels(longest)) else {
        return;
    };
    let (placed, room) = (Placed::at(scale, middle), Some((surface, PITCH_MM)));
    on_bed(out, &seen, model, room, &placed, MOST_POINTS);
}

/// What the kinds of ink in a picture mean.
fn key(picture: &Picture) -> String {
    let has = |pen: Pen| picture.strokes.iter().any(|s| s.0 == pen);
    let mut parts = vec!["Solid ink: contact"];
    for (pen, means) in [
        (Pen::Hatch, "45° hatching: overhang"),
        (Pen::Bridge, "hatching along an arrow: a bridge"),
        (Pen::Prop, "thin upright lines: space that support fills"),
        (Pen::Hidden, "dashed edges lie behind"),
    ] {
        if has(pen) {
            parts.push(means);
        }
    }
    parts.join("; ") + "."
}

/// What the picture shows, for those who do not see it.
pub(super) fn alt(surface: &MarkedSurface, figures: &Figures, name: &str) -> String {
    let ([x, y], z) = (figures.footprint_mm, figures.height_mm);
    let [x, y, z] = [x, y, z].map(|v| decimal(v, 1));
    let needed = figures.overhang_needed_mm2();
    let bridged = figures.overhang_area_mm2 - needed;
    let [contact, hatched, carried] = [figures.contact_area_mm2, needed, bridged].map(area);
    let mut text = format!(
        "Drawing of {name} as it stands on the bed, {x} by {y} by {z} mm: from the front, from the side, from below and in a pictorial view. Solid ink: {contact} of contact."
    );
    if needed > 0.5 {
        text += &format!(" 45 degree hatching: {hatched} of overhang.");
    }
    if bridged > 0.5 && !surface.bridges.is_empty() {
        text += &format!(" Hatching along arrows: {carried} that bridges carry.");
    }
    if figures.support_needed_mm3 > 1.0 {
        text += " Upright lines: space that support fills.";
    }
    if let Some(s) = figures.slender.filter(|s| s.ratio >= SLENDER_SHOWN) {
        let ratio = three(s.ratio);
        text += &format!(" A free-standing stretch is {ratio} times as high as wide.");
    }
    text
}
