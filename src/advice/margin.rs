//! How safe the first place is, and what would hand it to the second.

use crate::figures::quick::Bench;
use crate::rank::Confidence;
use crate::rank::penalties::{ROWS, row};
use crate::rank::search::Scored;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words;

/// Share by which weights and limit are moved when confidence is judged.
pub const WOBBLE: f64 = 0.2;

/// Totals closer than this are a toss-up. The weights are those of a logit: of two poses
/// this far apart people would choose the better one 54 times in a hundred.
pub const TIED: f64 = 0.15;

/// What would make `second` win: for every row on which the two differ enough, the
/// weight at which their totals are equal. Nearest change first, at most three.
pub fn switches(first: &Scored, second: &Scored, settings: &Settings) -> Vec<String> {
    let margin = second.total - first.total;
    let mut rows: Vec<(f64, String)> = ROWS
        .iter()
        .enumerate()
        .filter_map(|(i, row)| {
            let weight = row.weight_in(settings);
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
            let (way, size) = if factor >= 1.0 {
                ("rises", factor)
            } else {
                ("falls", 1.0 / factor.max(1e-9))
            };
            let (from, to) = (words::three(weight), words::three(needed));
            let says = format!("the weight of {} {way} from {from} to {to}", row.name());
            (size <= 20.0).then_some((size, says))
        })
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    rows.into_iter().take(3).map(|r| r.1).collect()
}

/// Judges the first place among `entries`, best first, equivalent ones left out: tied where another
/// comes within [`TIED`]; close where moving the weights by up to a fifth, each its own way
/// and all at once, or the overhang limit by a fifth, hands it to another; else clear.
///
/// With the limit, only the overhang that is neither ceiling nor small is measured anew:
/// support and bridges are left as they are.
pub fn confidence(entries: &[Scored], bench: &Bench) -> Confidence {
    let [first, rest @ ..] = entries else {
        return Confidence::Clear;
    };
    let rivals = rest
        .iter()
        .filter(|r| r.candidate.gates.is_empty() == first.candidate.gates.is_empty());
    let mut found = Confidence::Clear;
    for rival in rivals {
        let margin = rival.total - first.total;
        if margin <= TIED {
            return Confidence::Tied;
        }
        if found == Confidence::Clear
            && (weights_flip(first, rival, margin) || limit_flips(first, rival, margin, bench))
        {
            found = Confidence::Close;
        }
    }
    found
}

/// Whether weights moved by up to the wobble, each its own way, turn the order.
fn weights_flip(first: &Scored, rival: &Scored, margin: f64) -> bool {
    let apart: f64 = (first.charges.iter().zip(&rival.charges))
        .map(|(a, b)| (a - b).abs())
        .sum();
    margin < WOBBLE * apart
}

/// Whether an overhang limit moved by the wobble turns the order.
fn limit_flips(first: &Scored, rival: &Scored, margin: f64, bench: &Bench) -> bool {
    // More than the whole surface hanging over on one side alone is out of reach.
    let weight = row(Penalty::Overhang).weight_in(bench.settings);
    if margin >= weight {
        return false;
    }
    let surface = bench.part.mass.area_mm2.max(f64::MIN_POSITIVE);
    let sloped = |entry: &Scored, limit_deg: f64| {
        bench.sloped_overhang_mm2(&entry.candidate.down, limit_deg)
    };
    let limit = bench.settings.limit_deg;
    [1.0 - WOBBLE, 1.0 + WOBBLE].iter().any(|factor| {
        let moved = |entry: &Scored| sloped(entry, limit * factor) - sloped(entry, limit);
        margin + weight * (moved(rival) - moved(first)) / surface < 0.0
    })
}
