//! Dimension lines, the ground and the symbol of the projection (ISO 129-1, ISO 5456-2,
//! from memory).

use super::join::apart;
use super::picture::{Anchor, Label, Pen, Picture, circle};
use super::view::Angle;

/// Length of an arrowhead, mm.
const HEAD_MM: f64 = 1.9;

/// Lettering of dimensions, mm.
pub const LETTER_MM: f64 = 2.7;

/// An arrowhead with its tip at `tip` that points along `along` (unit).
pub fn head(out: &mut Picture, tip: [f64; 2], along: [f64; 2]) {
    let (back, half) = (HEAD_MM, HEAD_MM / 6.5);
    let foot = [tip[0] - back * along[0], tip[1] - back * along[1]];
    let off = [-along[1] * half, along[0] * half];
    out.fill(&[
        tip,
        [foot[0] + off[0], foot[1] + off[1]],
        [foot[0] - off[0], foot[1] - off[1]],
    ]);
}

/// A line with heads at both ends, from outside where it is too short for them.
pub fn arrows(out: &mut Picture, pen: Pen, a: [f64; 2], b: [f64; 2]) {
    let length = apart(a, b);
    if length < 1e-9 {
        return;
    }
    let along = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    if length >= 2.4 * HEAD_MM {
        out.stroke(pen, &[a, b]);
        head(out, a, along.map(|x| -x));
        head(out, b, along);
    } else {
        let tail = 1.8 * HEAD_MM;
        out.stroke(
            pen,
            &[
                [a[0] - tail * along[0], a[1] - tail * along[1]],
                [b[0] + tail * along[0], b[1] + tail * along[1]],
            ],
        );
        head(out, a, along);
        head(out, b, along.map(|x| -x));
    }
}

/// A level dimension between two upright helping lines that begin at `from_y`.
pub fn level(out: &mut Picture, [x0, x1]: [f64; 2], from_y: f64, y: f64, text: &str) {
    let past = 0.8 * (y - from_y).signum();
    for x in [x0, x1] {
        out.stroke(Pen::Thin, &[[x, from_y], [x, y + past]]);
    }
    arrows(out, Pen::Thin, [x0, y], [x1, y]);
    let width = super::lettering::width(text) * LETTER_MM;
    let (x, anchor) = if x1 - x0 > width + 0.5 {
        (f64::midpoint(x0, x1), Anchor::Middle)
    } else {
        (x1 + 2.0 * HEAD_MM, Anchor::Start)
    };
    out.label([x, y - 0.7], text, LETTER_MM, anchor);
}

/// An upright dimension between two level helping lines that begin at `from_x`; `mark`
/// letters it in the accent colour.
pub fn upright(out: &mut Picture, [y0, y1]: [f64; 2], from_x: f64, x: f64, text: &str, mark: bool) {
    let past = 0.8 * (x - from_x).signum();
    for y in [y0, y1] {
        out.stroke(Pen::Thin, &[[from_x, y], [x + past, y]]);
    }
    arrows(
        out,
        if mark { Pen::Mark } else { Pen::Thin },
        [x, y0],
        [x, y1],
    );
    let width = super::lettering::width(text) * LETTER_MM;
    let fits = (y1 - y0).abs() > width + 0.5;
    let (at, anchor) = if fits {
        ([x - 0.7, f64::midpoint(y0, y1)], Anchor::Middle)
    } else {
        ([x - 0.7, y0.min(y1) - 2.0 * HEAD_MM], Anchor::Start)
    };
    out.labels.push(Label {
        at,
        text: text.into(),
        size_mm: LETTER_MM,
        anchor,
        upright: true,
        mark,
    });
}

/// The ground from `x0` to `x1` at height `y` of the paper, hatched below.
pub fn ground(out: &mut Picture, [x0, x1]: [f64; 2], y: f64) {
    out.stroke(Pen::Ground, &[[x0, y], [x1, y]]);
    let (step, drop) = (1.6, 1.3);
    let mut x = x0 + drop;
    while x <= x1 {
        out.stroke(Pen::Thin, &[[x, y], [x - drop, y + drop]]);
        x += step;
    }
}

/// The symbol of the projection: a frustum from the side and from its small end.
pub fn symbol(angle: Angle) -> Picture {
    let mut out = Picture::new(15.0, 7.0);
    let (frustum, circles) = match angle {
        Angle::First => (0.8, 11.0),
        Angle::Third => (7.6, 3.8),
    };
    let cone = [
        [frustum, 2.1],
        [frustum + 6.0, 0.7],
        [frustum + 6.0, 6.3],
        [frustum, 4.9],
        [frustum, 2.1],
    ];
    out.stroke(Pen::Outline, &cone);
    for r in [1.4, 2.8] {
        out.stroke(Pen::Outline, &circle([circles, 3.5], r, 48));
    }
    out.stroke(Pen::Thin, &[[frustum - 0.7, 3.5], [frustum + 6.7, 3.5]]);
    out.stroke(Pen::Thin, &[[circles - 3.5, 3.5], [circles + 3.5, 3.5]]);
    out.stroke(Pen::Thin, &[[circles, 0.0], [circles, 7.0]]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_angle_has_the_frustum_on_the_left() {
        // ISO 5456-2: what is seen from the left stands on the right (from memory).
        let left_end = |angle| {
            symbol(angle)
                .strokes
                .iter()
                .find(|s| s.1.len() == 5)
                .map(|s| s.1[0][0])
        };
        assert!(left_end(Angle::First) < Some(2.0));
        assert!(left_end(Angle::Third) > Some(7.0));
    }

    #[test]
    fn heads_turn_inward_on_short_dimensions() {
        let mut long = Picture::new(50.0, 10.0);
        arrows(&mut long, Pen::Thin, [0.0, 0.0], [20.0, 0.0]);
        let mut short = Picture::new(50.0, 10.0);
        arrows(&mut short, Pen::Thin, [10.0, 0.0], [12.0, 0.0]);
        let foot = |p: &Picture| p.fills[0][0][1][0] - p.fills[0][0][0][0];
        assert!(foot(&long) > 0.0 && foot(&short) < 0.0);
    }
}
