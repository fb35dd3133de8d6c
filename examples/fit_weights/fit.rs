//! A conditional logit over the poses of each part, pulled towards the table.
//!
//! The chance that a pose is chosen is exp(−total) over the sum of the same for all poses
//! of its part (D. `McFadden`, *Conditional logit analysis of qualitative choice behavior*,
//! 1974, from memory). What is fitted is a factor on each weight of the table, so that
//! one step means the same for all rows; factors below zero are cut off.

use super::labels::{Case, Choice, total};
use wayup::rank::penalties::ROWS;

/// Rounds over all weights at most.
const ROUNDS: usize = 1000;
/// The fit ends when no factor moves by more than this in a round.
const STILL: f64 = 1e-7;

/// What is fitted to what.
pub struct Fit<'a> {
    cases: Vec<Vec<&'a Choice>>,
    pull: f64,
}

impl<'a> Fit<'a> {
    /// Cases without a chosen pose or without another one say nothing.
    pub fn new(cases: &'a [Case], pull: f64) -> Self {
        let cases = cases
            .iter()
            .map(|c| c.choices.iter().filter(|p| !p.gated).collect::<Vec<_>>())
            .filter(|c: &Vec<&Choice>| c.iter().any(|p| p.chosen) && c.iter().any(|p| !p.chosen))
            .collect();
        Self { cases, pull }
    }

    /// Factors on the weights of the table: one after the other goes down its slope, by
    /// the slope over the most that the curvature can be, so that no step overshoots
    /// (the variance of a bounded number is at most a quarter of its range squared).
    pub fn run(&self) -> Vec<f64> {
        let mut factors = vec![1.0; ROWS.len()];
        let mut totals: Vec<Vec<f64>> = (self.cases.iter())
            .map(|poses| poses.iter().map(|p| total(p, &factors)).collect())
            .collect();
        let curvature: Vec<f64> = (0..ROWS.len())
            .map(|row| {
                let ranges = self.cases.iter().map(|poses| {
                    let of = |p: &&Choice| ROWS[row].weight * p.scales[row];
                    let (lo, hi) = (poses.iter().map(of))
                        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| {
                            (lo.min(v), hi.max(v))
                        });
                    (hi - lo).powi(2) / 4.0
                });
                2.0 * self.pull + ranges.sum::<f64>()
            })
            .collect();
        for _ in 0..ROUNDS {
            let mut moved = 0.0_f64;
            for (row, curvature) in curvature.iter().enumerate() {
                if *curvature <= 0.0 {
                    continue;
                }
                let slope = 2.0 * self.pull * (factors[row] - 1.0) + self.slope(row, &totals);
                let to = (factors[row] - slope / curvature).max(0.0);
                let step = to - factors[row];
                factors[row] = to;
                moved = moved.max(step.abs());
                for (poses, totals) in self.cases.iter().zip(&mut totals) {
                    for (pose, total) in poses.iter().zip(totals) {
                        *total += step * ROWS[row].weight * pose.scales[row];
                    }
                }
            }
            if moved < STILL {
                break;
            }
        }
        factors
    }

    /// Slope of minus the log likelihood in the factor of one row.
    fn slope(&self, row: usize, totals: &[Vec<f64>]) -> f64 {
        let mut slope = 0.0;
        for (poses, totals) in self.cases.iter().zip(totals) {
            let least = totals.iter().copied().fold(f64::INFINITY, f64::min);
            let odds: Vec<f64> = totals.iter().map(|t| libm::exp(least - t)).collect();
            let all: f64 = odds.iter().sum();
            let chosen: f64 = (poses.iter().zip(&odds))
                .filter(|(p, _)| p.chosen)
                .map(|(_, o)| o)
                .sum();
            for (pose, o) in poses.iter().zip(&odds) {
                let of_chosen = if pose.chosen {
                    o / chosen.max(1e-300)
                } else {
                    0.0
                };
                slope += (of_chosen - o / all) * ROWS[row].weight * pose.scales[row];
            }
        }
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::even::Even;

    /// Parts of two poses that differ in two rows, chosen with the odds of a logit whose
    /// weights are `wanted` times the table's.
    fn drawn(wanted: [f64; 2], count: usize) -> Vec<Case> {
        let mut even = Even::new(1);
        (0..count)
            .map(|_| {
                let scale = |row: usize, even: &mut Even| 2.0 * even.draw() / ROWS[row].weight;
                let scales: Vec<Vec<f64>> = (0..2)
                    .map(|_| {
                        let mut s = vec![0.0; ROWS.len()];
                        s[0] = scale(0, &mut even);
                        s[1] = scale(1, &mut even);
                        s
                    })
                    .collect();
                let total = |s: &[f64]| {
                    (0..2)
                        .map(|r| wanted[r] * ROWS[r].weight * s[r])
                        .sum::<f64>()
                };
                let first = 1.0 / (1.0 + libm::exp(total(&scales[0]) - total(&scales[1])));
                let takes_first = even.draw() < first;
                Case {
                    file: String::new(),
                    choices: (scales.into_iter().enumerate())
                        .map(|(k, scales)| Choice {
                            down: [0.0, 0.0, -1.0],
                            chosen: (k == 0) == takes_first,
                            gated: false,
                            scales,
                        })
                        .collect(),
                    program: None,
                    two_term: None,
                    confidence: 0,
                    surface_mm2: 1.0,
                    contest: None,
                    asks: crate::labels::Asks::default(),
                }
            })
            .collect()
    }

    #[test]
    fn weights_by_which_choices_were_drawn_are_found_again() {
        let cases = drawn([2.0, 0.5], 3000);
        let factors = Fit::new(&cases, 0.0).run();
        assert!((factors[0] - 2.0).abs() < 0.25, "{factors:?}");
        assert!((factors[1] - 0.5).abs() < 0.25, "{factors:?}");
        assert!(factors[2..].iter().all(|f| *f == 1.0), "{factors:?}");
    }

    #[test]
    fn a_strong_pull_leaves_the_table_as_it_is_and_no_weight_falls_below_zero() {
        let cases = drawn([3.0, 0.0], 500);
        let pulled = Fit::new(&cases, 40.0).run();
        let free = Fit::new(&cases, 0.0).run();
        assert!((pulled[0] - 1.0).abs() < (free[0] - 1.0).abs());
        assert!(free.iter().all(|f| *f >= 0.0), "{free:?}");
    }
}
