//! The figures that poses are compared by, and what differs, in sentences.

use super::pick::Picked;
use crate::report::figures::{Better, FigureKey, figure};
use crate::report::series::Series;
use crate::report::table::gate_in_words;
use crate::words::joined;

/// Differences that are called out each way.
const SAID: usize = 5;

/// Differences below this share of the larger value are none.
const SHARE: f64 = 0.02;

/// What poses are compared by, in reading order.
const COMPARED: [FigureKey; 13] = [
    FigureKey::Total,
    FigureKey::Contact,
    FigureKey::Overhang,
    FigureKey::Support,
    FigureKey::Bridge,
    FigureKey::Slenderness,
    FigureKey::Tipping,
    FigureKey::Height,
    FigureKey::Steps,
    FigureKey::Weakest,
    FigureKey::Load,
    FigureKey::Cosmetic,
    FigureKey::Printing,
];

/// The rows of the comparison, each in one unit.
pub(super) fn rows(poses: &[Picked]) -> Vec<Series> {
    let row = |&key: &FigureKey| {
        let figure = figure(key);
        let values = poses.iter().map(|p| figure.value(&p.pose.into()));
        Some(Series::new(figure, values.collect::<Option<_>>()?))
    };
    COMPARED.iter().filter_map(row).collect()
}

/// The texts of a row, and which are best; with their unit, or below a head that has it.
pub(super) fn cells(row: &Series, bare: bool) -> impl Iterator<Item = (String, bool)> {
    let best = row.best(&vec![true; row.values.len()]);
    let texts = if bare { row.cells() } else { row.said() };
    texts.into_iter().zip(best)
}

/// What speaks for the pose at `i` against the first one, and what speaks against it, the
/// largest differences first: three sentences at most.
pub(super) fn sentences(poses: &[Picked], rows: &[Series], i: usize) -> Vec<String> {
    let (pose, other) = (&poses[i], &poses[0]);
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for row in rows {
        let (a, b) = (row.values[i], row.values[0]);
        let share = (a - b).abs() / a.abs().max(b.abs()).max(f64::MIN_POSITIVE);
        let Some(apart) = row.scale.apart(a, b).filter(|_| share > SHARE) else {
            continue;
        };
        let text = format!(
            "{} {} instead of {} ({apart} {})",
            row.figure.label,
            row.scale.say(a),
            row.scale.say(b),
            if a > b { "more" } else { "less" }
        );
        if (a > b) == (row.figure.better == Better::Higher) {
            good.push((share, text));
        } else {
            bad.push((share, text));
        }
    }
    let mut out = Vec::new();
    let gates = joined(pose.pose.gates.iter().map(gate_in_words), ", ");
    if !gates.is_empty() {
        out.push(format!("Cannot be printed as it stands: {gates}."));
    }
    for (lead, mut parts) in [("Better", good), ("Worse", bad)] {
        // The sort is stable: equal differences keep the order of the table.
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let parts: Vec<String> = parts.into_iter().take(SAID).map(|p| p.1).collect();
        if !parts.is_empty() {
            out.push(format!("{lead} than {}: {}.", other.name, parts.join("; ")));
        }
    }
    if out.is_empty() {
        out.push(format!(
            "Practically equal to {} on every figure, to within 2 %.",
            other.name
        ));
    }
    out
}
