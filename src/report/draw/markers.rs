//! Purposes in the drawing: the axis of a bore or thread as a centre line, a side by an arrow that
//! points at it, a pull by an arrow both ways; each with the letter of its sentence.

use super::dimension::{self, LETTER_MM};
use super::marker::Marker;
use super::picture::{Anchor, Label, Pen, Picture};
use super::placed::Placed;
use super::surface::MarkedSurface;
use super::view::View;
use crate::advice::purposes::PurposeKind;
use nalgebra::{Point3, Vector3};

/// A direction with more than this towards the one who looks is seen end on.
const END_ON: f64 = 0.8;
/// A centre line goes on beyond the part by this, mm of paper; its dashes and gaps (ISO 128).
const BEYOND_MM: f64 = 2.0;
const LONG_MM: f64 = 3.0;
const GAP_MM: f64 = 0.6;
const DOT_MM: f64 = 0.4;
/// Length of the arrow at a side and of the arms of a cross, mm of paper.
const ARROW_MM: f64 = 5.0;
const CROSS_MM: f64 = 2.0;

/// Marks them, each in the first of the views in which it does not point at the one who looks.
pub(super) fn mark(
    out: &mut Picture,
    surface: &MarkedSurface,
    markers: &[Marker],
    views: &[(View, &Placed)],
) {
    let posed = surface.posed;
    let to_build = &posed.pose.build_from_part;
    let (mut lo, mut hi) = (
        Vector3::repeat(f64::INFINITY),
        Vector3::repeat(f64::NEG_INFINITY),
    );
    if !markers.is_empty() {
        for p in &posed.vertices {
            lo = lo.inf(&p.coords);
            hi = hi.sup(&p.coords);
        }
    }
    for marker in markers {
        let along = to_build * Vector3::from(marker.direction);
        let middle = Point3::from((lo + hi) / 2.0);
        let at = (marker.at_mm).map_or(middle, |p| to_build * Point3::from(p));
        let across = |v: &&(View, &Placed)| v.0.toward.dot(&along).abs() <= END_ON;
        let Some((view, placed)) = views.iter().find(across).or(views.first()) else {
            return;
        };
        let paper = |p: Point3<f64>| {
            let [u, v, _] = view.map(&p);
            placed.point([u, v])
        };
        let seen = [view.right.dot(&along), -view.up.dot(&along)];
        let length = libm::hypot(seen[0], seen[1]);
        let end = if length < 0.6 {
            cross(out, paper(at))
        } else {
            let way = seen.map(|x| x / length);
            let [back, front] = within(&at, &along, (&lo, &hi));
            let [a, b] = [back, front].map(|t| paper(at + along * t));
            match marker.kind {
                PurposeKind::Round | PurposeKind::Thread => centre_line(out, a, b, way),
                PurposeKind::Flat | PurposeKind::Relief | PurposeKind::Seen => {
                    let tail = [0, 1].map(|k| b[k] + ARROW_MM * way[k]);
                    out.stroke(Pen::Mark, &[tail, b]);
                    dimension::head(out, b, way.map(|x| -x));
                    tail
                }
                PurposeKind::Snap | PurposeKind::Pull => {
                    dimension::arrows(out, Pen::Mark, a, b);
                    b
                }
            }
        };
        out.labels.push(Label {
            at: [end[0] + 0.8, end[1] - 0.8],
            text: marker.letter.to_string(),
            size_mm: LETTER_MM,
            anchor: Anchor::Start,
            upright: false,
            mark: true,
        });
    }
}

/// How far along a line through a point of a box the box goes on, backwards and forwards.
fn within(
    at: &Point3<f64>,
    along: &Vector3<f64>,
    (lo, hi): (&Vector3<f64>, &Vector3<f64>),
) -> [f64; 2] {
    let mut reach = [f64::NEG_INFINITY, f64::INFINITY];
    for k in 0..3 {
        if along[k].abs() < 1e-6 {
            continue;
        }
        let (a, b) = ((lo[k] - at[k]) / along[k], (hi[k] - at[k]) / along[k]);
        reach = [reach[0].max(a.min(b)), reach[1].min(a.max(b))];
    }
    [reach[0].min(0.0), reach[1].max(0.0)]
}

/// A centre line from a to b and a little beyond; where it ends.
fn centre_line(out: &mut Picture, a: [f64; 2], b: [f64; 2], way: [f64; 2]) -> [f64; 2] {
    let start = [0, 1].map(|k| a[k] - BEYOND_MM * way[k]);
    let length = libm::hypot(b[0] - a[0], b[1] - a[1]) + 2.0 * BEYOND_MM;
    let at = |t: f64| [0, 1].map(|k| start[k] + t * way[k]);
    let (mut from, mut long) = (0.0, true);
    while from < length {
        let to = (from + if long { LONG_MM } else { DOT_MM }).min(length);
        out.stroke(Pen::Mark, &[at(from), at(to)]);
        (from, long) = (to + GAP_MM, !long);
    }
    at(length)
}

/// The centre mark of what is seen end on.
fn cross(out: &mut Picture, at: [f64; 2]) -> [f64; 2] {
    for [x, y] in [[CROSS_MM, 0.0], [0.0, CROSS_MM]] {
        out.stroke(Pen::Mark, &[[at[0] - x, at[1] - y], [at[0] + x, at[1] + y]]);
    }
    [at[0] + CROSS_MM, at[1]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::sliced::Sliced;
    use crate::pose::Pose;
    use crate::report::draw::fixture::{bench, blocks};
    use crate::settings::Settings;

    fn drawn(kind: PurposeKind, direction: [f64; 3]) -> Picture {
        let part = blocks(&[([0.0, 0.0, 0.0], [30.0, 20.0, 10.0])]);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let sliced = Sliced::new(&bench, Pose::as_stored(&part.mesh.vertices));
        let surface = MarkedSurface::of(&sliced);
        let marker = Marker {
            letter: 'A',
            kind,
            at_mm: Some([15.0, 10.0, 5.0]),
            direction,
        };
        let mut out = Picture::new(100.0, 100.0);
        let placed = Placed::at(1.0, [50.0, 50.0]);
        let views = [(View::front(), &placed), (View::left(), &placed)];
        mark(&mut out, &surface, &[marker], &views);
        out
    }

    #[test]
    fn an_axis_is_a_chain_line_as_long_as_the_part_and_a_little_more() {
        let out = drawn(PurposeKind::Round, [1.0, 0.0, 0.0]);
        let x = out.strokes.iter().flat_map(|s| s.1.iter().map(|p| p[0]));
        let (lo, hi) = x.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| {
            (a.min(x), b.max(x))
        });
        assert!((hi - lo - 34.0).abs() < 1e-9, "{lo} {hi}");
        assert!(out.strokes.len() > 10 && out.labels[0].text == "A");
        // Seen end on from the front it is drawn from the side, 20 long.
        let out = drawn(PurposeKind::Round, [0.0, 1.0, 0.0]);
        let x = out.strokes.iter().flat_map(|s| s.1.iter().map(|p| p[0]));
        let (lo, hi) = x.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| {
            (a.min(x), b.max(x))
        });
        assert!((hi - lo - 24.0).abs() < 1e-9, "{lo} {hi}");
    }

    #[test]
    fn a_side_has_an_arrow_that_points_at_it_from_outside() {
        let out = drawn(PurposeKind::Flat, [0.0, 0.0, 1.0]);
        let [(pen, line)] = &out.strokes[..] else {
            panic!("{:?}", out.strokes)
        };
        assert_eq!(*pen, Pen::Mark);
        // Paper goes downwards: the tail stands above the tip.
        assert!((line[1][1] - line[0][1] - ARROW_MM).abs() < 1e-9 && out.fills.len() == 1);
    }
}
