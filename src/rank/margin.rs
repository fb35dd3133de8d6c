//! How safe the first place is, and what would hand it to the second.

use super::Confidence;
use super::penalties::ROWS;
use super::search::Scored;
use crate::settings::Settings;
use crate::words;

/// Share by which a weight is moved when confidence is judged.
const WOBBLE: f64 = 0.2;

/// Totals closer than this are equal to within what the figures can tell.
const TIED: f64 = 0.02;

/// What would make `second` win: for every row on which the two differ enough, the
/// weight at which their totals are equal. Nearest change first, at most three.
pub fn switches(first: &Scored, second: &Scored, settings: &Settings) -> Vec<String> {
    let margin = second.total - first.total;
    let mut rows: Vec<(f64, String)> = ROWS
        .iter()
        .enumerate()
        .filter_map(|(i, row)| {
            let weight = row.weight_for(settings.aim);
            let (a, b) = (first.charges[i] / weight, second.charges[i] / weight);
            let gain = a - b;
            if gain.abs() < 1e-9 || !gain.is_finite() {
                return None;
            }
            // first + (w' − w)·a = second + (w' − w)·b
            let needed = weight + margin / gain;
            if needed < 0.0 {
                return None;
            }
            let factor = needed / weight;
            let size = if factor >= 1.0 {
                factor
            } else {
                1.0 / factor.max(1e-9)
            };
            if size > 20.0 {
                return None;
            }
            let way = if factor >= 1.0 { "rises" } else { "falls" };
            Some((
                size,
                format!(
                    "the weight of {} {way} from {} to {}",
                    row.name,
                    words::three(weight),
                    words::three(needed)
                ),
            ))
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    rows.into_iter().take(3).map(|r| r.1).collect()
}

/// Judges the first place: tied within [`TIED`], close where moving any one
/// weight by a fifth either way hands it to another entry, clear otherwise.
pub fn confidence(entries: &[Scored]) -> Confidence {
    let [first, rest @ ..] = entries else {
        return Confidence::Clear;
    };
    let mut found = Confidence::Clear;
    for other in rest {
        if other.candidate.gates.is_empty() != first.candidate.gates.is_empty() {
            continue;
        }
        let margin = other.total - first.total;
        if margin <= TIED * first.total.abs().max(1.0) {
            return Confidence::Tied;
        }
        let flips = first
            .charges
            .iter()
            .zip(&other.charges)
            .any(|(a, b)| margin + (b - a) * WOBBLE < 0.0 || margin - (b - a) * WOBBLE < 0.0);
        if flips {
            found = Confidence::Close;
        }
    }
    found
}
