//! A conditional logit over the poses of each part, pulled towards the table.
//!
//! The chance that a pose is chosen is exp(−total) over the sum of the same for all poses
//! of its part (D. `McFadden`, *Conditional logit analysis of qualitative choice behavior*,
//! 1974, from memory). What is fitted is a factor on each weight of the table, so that
//! one step means the same for all rows; factors below zero are cut off.

use super::labels::{Case, Choice, total};
use wayup::rank::penalties::ROWS;

/// Steps of the descent.
const STEPS: usize = 4000;
/// Length of a step.
const RATE: f64 = 0.01;

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

    /// Factors on the weights of the table.
    pub fn run(&self) -> Vec<f64> {
        let mut factors = vec![1.0; ROWS.len()];
        for _ in 0..STEPS {
            let slope = self.slope(&factors);
            for (f, s) in factors.iter_mut().zip(slope) {
                *f = (*f - RATE * s).max(0.0);
            }
        }
        factors
    }

    /// Slope of minus the log likelihood and the pull, in the factors.
    fn slope(&self, factors: &[f64]) -> Vec<f64> {
        let mut slope: Vec<f64> = factors
            .iter()
            .map(|f| 2.0 * self.pull * (f - 1.0))
            .collect();
        for poses in &self.cases {
            let totals: Vec<f64> = poses.iter().map(|p| total(p, factors)).collect();
            let least = totals.iter().copied().fold(f64::INFINITY, f64::min);
            let odds: Vec<f64> = totals.iter().map(|t| (least - t).exp()).collect();
            let all: f64 = odds.iter().sum();
            let chosen: f64 = (poses.iter().zip(&odds))
                .filter(|(p, _)| p.chosen)
                .map(|(_, o)| o)
                .sum();
            for (pose, o) in poses.iter().zip(&odds) {
                let share = if pose.chosen {
                    o / chosen.max(1e-300)
                } else {
                    0.0
                } - o / all;
                for (i, row) in ROWS.iter().enumerate() {
                    slope[i] += share * row.weight * pose.scales[i];
                }
            }
        }
        slope
    }
}
