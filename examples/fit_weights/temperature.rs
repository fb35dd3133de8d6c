//! The temperature of the shares, and how well what is said holds.
//!
//! The share said of each part's first pose is set against how often it was chosen, in bins
//! with the Wilson interval at 95 % (E. B. Wilson, 1927, from memory).

use super::labels::{Case, Contest};
use wayup::advice::share::split;

/// Temperatures tried: from the first to the last in even steps.
const TRIED: (f64, f64, usize) = (0.2, 3.0, 281);
/// Lower ends of the bins; each goes up to the next.
const BINS: [f64; 7] = [0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.975];
/// No outcome is held for less likely than this, so that one surprise does not decide.
const LEAST: f64 = 1e-6;
/// Standard deviations of an interval that holds 95 times in 100.
const WIDE: f64 = 1.96;

/// What was said of one first pose, and whether it was chosen.
#[derive(Clone, Copy)]
pub struct Said {
    /// The share.
    pub share: f64,
    /// 1 if it was chosen; where a label takes several poses, as many makers are thought to
    /// take one each.
    pub chosen: f64,
}

impl Contest {
    /// Minus the log likelihood of what was chosen, in the mean of the poses that a label takes.
    fn loss(&self, temperature: f64) -> f64 {
        let shares = split(&self.totals, &self.left, temperature);
        let mut chosen: Vec<f64> = (shares.iter().zip(&self.chosen))
            .filter_map(|(share, hit)| hit.then_some(*share))
            .collect();
        if let Some(total) = self.outsider {
            chosen.push(shares[0] * libm::exp((self.totals[0] - total) / temperature));
        }
        let losses = chosen
            .iter()
            .map(|share| -libm::log(share.clamp(LEAST, 1.0)));
        losses.sum::<f64>() / chosen.len().max(1) as f64
    }

    /// What is said of the first pose.
    pub fn said(&self, temperature: f64) -> Said {
        let taken = self.chosen.iter().filter(|hit| **hit).count();
        Said {
            share: split(&self.totals, &self.left, temperature)[0],
            chosen: if self.chosen[0] {
                1.0 / taken as f64
            } else {
                0.0
            },
        }
    }
}

/// Contests of the cases that have one.
pub fn contests(cases: &[Case]) -> Vec<&Contest> {
    cases.iter().filter_map(|c| c.contest.as_ref()).collect()
}

fn least(of: impl Fn(f64) -> f64) -> f64 {
    let (from, to, steps) = TRIED;
    let tried = (0..steps).map(|i| from + (to - from) * i as f64 / (steps - 1) as f64);
    tried
        .min_by(|a, b| of(*a).total_cmp(&of(*b)))
        .unwrap_or(1.0)
}

/// The temperature under which the choices are most likely.
pub fn likeliest(contests: &[&Contest]) -> f64 {
    least(|t| mean_loss(contests, t))
}

/// The temperature with the smallest calibration error.
pub fn calibrated(contests: &[&Contest]) -> f64 {
    least(|t| {
        let said: Vec<Said> = contests.iter().map(|c| c.said(t)).collect();
        calibration_error(&bins(&said))
    })
}

/// Mean minus log likelihood.
pub fn mean_loss(contests: &[&Contest], temperature: f64) -> f64 {
    let sum: f64 = contests.iter().map(|c| c.loss(temperature)).sum();
    sum / contests.len().max(1) as f64
}

/// The interval in which a frequency lies 95 times in 100, of `hits` in `of`.
pub fn wilson(hits: f64, of: usize) -> [f64; 2] {
    if of == 0 {
        return [0.0, 1.0];
    }
    let (n, p) = (of as f64, hits / of as f64);
    let z2 = WIDE * WIDE / n;
    let middle = p + z2 / 2.0;
    let half = WIDE * (p * (1.0 - p) / n + z2 / (4.0 * n)).sqrt();
    [(middle - half) / (1.0 + z2), (middle + half) / (1.0 + z2)]
}

/// One row of the table: shares said within a bin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Lower end.
    pub from: f64,
    /// How many.
    pub of: usize,
    /// Mean share said.
    pub said: f64,
    /// How many were chosen.
    pub right: f64,
}

impl Bin {
    /// Fraction chosen.
    pub fn found(&self) -> f64 {
        self.right / self.of.max(1) as f64
    }
}

/// Bins that hold something, lowest first.
pub fn bins(said: &[Said]) -> Vec<Bin> {
    let bin = |share: f64| BINS.iter().rposition(|from| share >= *from).unwrap_or(0);
    (0..BINS.len())
        .map(|i| {
            let within: Vec<&Said> = said.iter().filter(|s| bin(s.share) == i).collect();
            let sum: f64 = within.iter().map(|s| s.share).sum();
            Bin {
                from: BINS[i],
                of: within.len(),
                said: sum / within.len().max(1) as f64,
                right: within.iter().map(|s| s.chosen).sum(),
            }
        })
        .filter(|b| b.of > 0)
        .collect()
}

/// Mean distance of what was said from what was found, over the bins by what they hold.
pub fn calibration_error(bins: &[Bin]) -> f64 {
    let all: usize = bins.iter().map(|b| b.of).sum();
    let off = |b: &Bin| b.of as f64 * (b.said - b.found()).abs();
    bins.iter().map(off).sum::<f64>() / all.max(1) as f64
}

/// How many have a share from the first to below the second, and how many of them were right.
pub fn between(said: &[Said], from: f64, below: f64) -> (usize, f64) {
    let within = || said.iter().filter(|s| (from..below).contains(&s.share));
    (within().count(), within().map(|s| s.chosen).sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::even::Even;

    /// Contests of three poses, chosen with the odds of a temperature.
    fn drawn(temperature: f64, count: usize) -> Vec<Contest> {
        let mut even = Even::new(7);
        (0..count)
            .map(|_| {
                let mut totals: Vec<f64> = (0..3).map(|_| 5.0 * even.draw()).collect();
                totals.sort_by(f64::total_cmp);
                let shares = split(&totals, &[], temperature);
                // Beyond the last share are those who choose by what the shape does not show.
                let at = even.draw();
                let ends = [shares[0], shares[0] + shares[1], shares.iter().sum()];
                let pick = ends.iter().position(|end| at < *end);
                Contest {
                    totals,
                    chosen: (0..3).map(|i| Some(i) == pick).collect(),
                    ..Contest::default()
                }
            })
            .collect()
    }

    #[test]
    fn the_temperature_by_which_choices_were_drawn_is_found_again_and_is_the_calibrated_one() {
        for wanted in [0.6, 1.4] {
            let drawn = drawn(wanted, 4000);
            let contests: Vec<&Contest> = drawn.iter().collect();
            let found = likeliest(&contests);
            assert!((found - wanted).abs() < 0.1, "{wanted}: {found}");
            let error = |t: f64| {
                let said: Vec<Said> = contests.iter().map(|c| c.said(t)).collect();
                calibration_error(&bins(&said))
            };
            let calibrated = calibrated(&contests);
            assert!((calibrated - wanted).abs() < 0.15, "{wanted}: {calibrated}");
            assert!(error(found) < 0.02, "{}", error(found));
            assert!(error(2.5 * found) > 0.05 && error(0.4 * found) > 0.05);
        }
    }

    /// 9 of 10 by hand: (0.9 + 0.192) ± 1.96 · √(0.009 + 0.0096), all over 1.384.
    #[test]
    fn the_interval_is_that_of_the_formula() {
        let [lo, hi] = wilson(9.0, 10);
        assert!(
            (lo - 0.5958).abs() < 1e-3 && (hi - 0.9821).abs() < 1e-3,
            "{lo} {hi}"
        );
        assert_eq!(wilson(0.0, 0), [0.0, 1.0]);
    }
}
