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
const FIELD: [f64; 4] = [10.0, 52.5, 21.5, 5.5];

/// Lettering, mm: 9 points where three plots stand side by side on A4.
const LETTER: f64 = 3.3;

/// A dip: the value there is below this share of the largest value on both sides of it.
const DIP: f64 = 0.7;

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
    out.label([x0 - 0.9, top + 1.1], cell(most), LETTER, Anchor::End);
    out.label([x0 - 0.9, base + 1.1], "0", LETTER, Anchor::End);
    out.label([x0, base + 4.2], "0°", LETTER, Anchor::Middle);
    out.label([x1, base + 4.2], last, LETTER, Anchor::Middle);
    out.label([x0 + 1.0, 3.2], name, LETTER, Anchor::Start);
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

/// The step at which a curve dips: it falls well below what it was and rises again. `None` where it does not.
pub fn dip(values: &[f64]) -> Option<usize> {
    let most = |of: &[f64]| of.iter().copied().fold(0.0, f64::max);
    let inner = 1..values.len().saturating_sub(1);
    let deep = inner.filter(|&i| values[i] < DIP * most(&values[..i]).min(most(&values[i + 1..])));
    deep.min_by(|a, b| values[*a].total_cmp(&values[*b]).then(a.cmp(b)))
}

/// How far the cursor moves for one of `n` steps, in units of the plot.
pub fn cursor_mm(n: usize) -> f64 {
    (FIELD[1] - FIELD[0]) / n.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dip_lies_between_two_higher_values() {
        assert_eq!(dip(&[0.0, 9.0, 3.0, 2.0, 8.0, 0.0]), Some(3));
        assert_eq!(dip(&[0.0, 9.0, 8.0, 8.5, 0.0]), None);
        assert_eq!(dip(&[9.0, 5.0, 1.0]), None);
        assert_eq!(dip(&[]), None);
    }
}
