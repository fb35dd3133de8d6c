//! Every figure against the tilt, one small plot each.

use super::tilt::Step;
use crate::report::draw::picture::{Anchor, Pen, Picture, number};
use crate::report::figures::{FigureKey, figure};
use crate::report::series::Series;
use crate::settings::Settings;
use crate::words::decimal;

/// Size of one plot, mm.
const SIZE: [f64; 2] = [56.0, 27.0];

/// Left edge, right edge, base and top of the field, mm.
const FIELD: [f64; 4] = [9.0, 53.0, 21.5, 5.5];

/// The curves of the lesson.
pub fn curves(steps: &[Step], settings: &Settings) -> Vec<Series> {
    [
        FigureKey::Contact,
        FigureKey::Overhang,
        FigureKey::Bridged,
        FigureKey::Slenderness,
        FigureKey::Support,
        FigureKey::Total,
    ]
    .map(|key| {
        let figure = figure(key);
        let of = |s: &Step| figure.value(&s.measured(settings)).unwrap_or(0.0);
        Series::new(figure, steps.iter().map(of).collect())
    })
    .into()
}

/// The plot of a curve up to so many degrees; a script moves its `cursor` by
/// [`cursor_mm`] a step.
pub fn svg(curve: &Series, degrees: f64) -> String {
    let [x0, x1, base, top] = FIELD;
    let most = curve.values.iter().copied().fold(0.0, f64::max).max(1e-9);
    let n = (curve.values.len().max(2) - 1) as f64;
    let mut out = Picture::new(SIZE[0], SIZE[1]);
    out.stroke(Pen::Thin, &[[x0, base], [x1 + 1.0, base]]);
    out.stroke(Pen::Thin, &[[x0, base], [x0, top - 1.0]]);
    let point = |(i, v): (usize, &f64)| {
        let x = x0 + i as f64 / n * (x1 - x0);
        [x, base - v / most * (base - top)]
    };
    let line: Vec<[f64; 2]> = curve.values.iter().enumerate().map(point).collect();
    out.stroke(Pen::Outline, &line);
    let unit = match curve.scale.unit() {
        "" => String::new(),
        unit => format!(", {unit}"),
    };
    let (label, cell) = (&curve.figure.label, |v| curve.scale.cell(v));
    let (name, last) = (
        format!("{label}{unit}"),
        format!("{}°", decimal(degrees, 0)),
    );
    out.label([x0 - 0.9, top + 0.9], cell(most), 2.5, Anchor::End);
    out.label([x0 - 0.9, base + 0.9], "0", 2.5, Anchor::End);
    out.label([x0, base + 3.6], "0°", 2.5, Anchor::Middle);
    out.label([x1, base + 3.6], last, 2.5, Anchor::Middle);
    out.label([x0 + 1.0, 3.2], name, 3.0, Anchor::Start);
    let values = || curve.values.iter().copied();
    let (low, high) = (
        values().fold(f64::INFINITY, f64::min),
        values().fold(0.0, f64::max),
    );
    let ([low, high], said) = ([low, high].map(cell), curve.said());
    let [start, end] = [said.first(), said.last()].map(|s| s.map_or("", String::as_str));
    let alt = format!(
        "{label} against tilt: {start} at the start, {end} at the end, between {low} and {high}{unit}."
    );
    let [x, from, to] = [x0, base, top - 1.0].map(number);
    let cursor = format!("<path class=\"m cursor\" d=\"M{x} {from}V{to}\"/></svg>");
    out.svg(&alt).replacen("</svg>", &cursor, 1)
}

/// How far the cursor moves for one of `n` steps, in units of the plot.
pub fn cursor_mm(n: usize) -> f64 {
    (FIELD[1] - FIELD[0]) / n.max(1) as f64
}
