//! Every figure against the tilt, one small plot each.

use super::tilt::Step;
use crate::report::draw::picture::{Anchor, Pen, Picture, number};
use crate::report::figures::{BRIDGED, CONTACT, Figure, OVERHANG, SLENDERNESS, SUPPORT, TOTAL};
use crate::report::quantity::Scale;
use crate::settings::Settings;
use crate::words::decimal;

/// Size of one plot, mm.
const SIZE: [f64; 2] = [56.0, 27.0];

/// Left edge, right edge, base and top of the field, mm.
const FIELD: [f64; 4] = [9.0, 53.0, 21.5, 5.5];

/// A figure as a curve.
pub struct Curve {
    /// The figure.
    pub figure: &'static Figure,
    values: Vec<f64>,
    scale: Scale,
}

/// The curves of the lesson.
pub fn curves(steps: &[Step], settings: &Settings) -> Vec<Curve> {
    [
        &CONTACT,
        &OVERHANG,
        &BRIDGED,
        &SLENDERNESS,
        &SUPPORT,
        &TOTAL,
    ]
    .map(|figure| {
        let of = |s: &Step| figure.value(&s.measured(settings)).unwrap_or(0.0);
        let values: Vec<f64> = steps.iter().map(of).collect();
        Curve {
            figure,
            scale: figure.quantity.scale(&values),
            values,
        }
    })
    .into()
}

impl Curve {
    /// The value at a step with its unit.
    pub fn value(&self, step: usize) -> String {
        self.scale
            .say(self.values.get(step).copied().unwrap_or(0.0))
    }

    /// The plot; a script moves its `cursor` by [`cursor_mm`] a step.
    pub fn svg(&self, steps: &[Step]) -> String {
        let [x0, x1, base, top] = FIELD;
        let most = self.values.iter().copied().fold(0.0, f64::max).max(1e-9);
        let n = (self.values.len().max(2) - 1) as f64;
        let mut out = Picture::new(SIZE[0], SIZE[1]);
        out.stroke(Pen::Thin, &[[x0, base], [x1 + 1.0, base]]);
        out.stroke(Pen::Thin, &[[x0, base], [x0, top - 1.0]]);
        let line: Vec<[f64; 2]> = self
            .values
            .iter()
            .enumerate()
            .map(|(i, v)| {
                [
                    x0 + i as f64 / n * (x1 - x0),
                    base - v / most * (base - top),
                ]
            })
            .collect();
        out.stroke(Pen::Outline, &line);
        let last = steps.last().map_or(0.0, |s| s.degrees);
        out.label(
            [x0 - 0.9, top + 0.9],
            self.scale.cell(most),
            2.5,
            Anchor::End,
        );
        out.label([x0 - 0.9, base + 0.9], "0", 2.5, Anchor::End);
        out.label([x0, base + 3.6], "0°", 2.5, Anchor::Middle);
        out.label(
            [x1, base + 3.6],
            format!("{}°", decimal(last, 0)),
            2.5,
            Anchor::Middle,
        );
        let unit = match self.scale.unit() {
            "" => String::new(),
            unit => format!(", {unit}"),
        };
        out.label(
            [x0 + 1.0, 3.2],
            format!("{}{unit}", self.figure.label),
            3.0,
            Anchor::Start,
        );
        let (low, high) = self
            .values
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |a, v| (a.0.min(*v), a.1.max(*v)));
        let alt = format!(
            "{} against tilt: {} at the start, {} at the end, between {} and {}{unit}.",
            self.figure.label,
            self.value(0),
            self.value(self.values.len().max(1) - 1),
            self.scale.cell(low),
            self.scale.cell(high)
        );
        let cursor = format!(
            "<path class=\"m cursor\" d=\"M{} {}V{}\"/></svg>",
            number(x0),
            number(base),
            number(top - 1.0)
        );
        out.svg(&alt).replacen("</svg>", &cursor, 1)
    }
}

/// How far the cursor moves for one of `n` steps, in units of the plot.
pub fn cursor_mm(n: usize) -> f64 {
    (FIELD[1] - FIELD[0]) / n.max(1) as f64
}
