//! What totals are divided by before they become shares, which share of the makers goes by a
//! purpose instead, and how well what is said holds.
//!
//! The share said of each part's first pose is set against how often it was chosen, in bins
//! with the Wilson interval at 95 % (E. B. Wilson, 1927, from memory).

use super::kits;
use super::labels::{Case, Contest};
use wayup::advice::share::split;
use wayup::rank::penalties::{BY_PURPOSE, TEMPERATURE};

/// Temperatures tried: from the first to the last in even steps.
const TRIED: (f64, f64, usize) = (0.2, 3.0, 57);
/// Shares of makers who go by a purpose that are tried, the same way.
const PURPOSES_TRIED: (f64, f64, usize) = (0.0, 0.05, 11);
/// Lower ends of the bins; each goes up to the next. No share is above 0.984.
const BINS: [f64; 6] = [0.0, 0.5, 0.7, 0.8, 0.9, 0.95];
/// No outcome is held for less likely than this, so that one surprise does not decide.
const LEAST: f64 = 1e-6;
/// Standard deviations of an interval that holds 95 times in 100.
const WIDE: f64 = 1.96;

/// How totals become shares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Model {
    /// By what totals are divided.
    pub temperature: f64,
    /// Share of the makers who go by something else.
    pub by_purpose: f64,
}

/// The one in force.
pub const IN_FORCE: Model = Model {
    temperature: TEMPERATURE,
    by_purpose: BY_PURPOSE,
};

impl Model {
    /// At a temperature, all makers go by totals.
    #[cfg(test)]
    pub const fn at(temperature: f64) -> Self {
        Self {
            temperature,
            by_purpose: 0.0,
        }
    }

    /// Shares of poses with these totals beside what was left unmeasured.
    pub fn split(self, totals: &[f64], left: &[f64]) -> Vec<f64> {
        split(totals, left, self.temperature, self.by_purpose)
    }
}

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
    fn loss(&self, model: Model) -> f64 {
        // Whoever goes by a purpose may take any of the poses.
        let any = model.by_purpose / self.totals.len().max(1) as f64;
        let mut shares = model.split(&self.totals, &self.left);
        for share in &mut shares {
            *share += any;
        }
        let mut chosen: Vec<f64> = (shares.iter().zip(&self.chosen))
            .filter_map(|(share, hit)| hit.then_some(*share))
            .collect();
        if let Some(total) = self.outsider {
            let behind = self.totals[0] - total;
            chosen.push((shares[0] - any) * libm::exp(behind / model.temperature));
        }
        let losses = chosen
            .iter()
            .map(|share| -libm::log(share.clamp(LEAST, 1.0)));
        losses.sum::<f64>() / chosen.len().max(1) as f64
    }

    /// What is said of the first pose.
    pub fn said(&self, model: Model) -> Said {
        let taken = self.chosen.iter().filter(|hit| **hit).count();
        Said {
            share: model.split(&self.totals, &self.left)[0],
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

fn steps((from, to, steps): (f64, f64, usize)) -> impl Iterator<Item = f64> {
    (0..steps).map(move |i| from + (to - from) * i as f64 / (steps - 1) as f64)
}

/// The first of the models tried with the least of something.
fn least(of: impl Fn(Model) -> f64) -> Model {
    let mut best = (f64::INFINITY, IN_FORCE);
    for by_purpose in steps(PURPOSES_TRIED) {
        for temperature in steps(TRIED) {
            let model = Model {
                temperature,
                by_purpose,
            };
            let value = of(model);
            if value < best.0 {
                best = (value, model);
            }
        }
    }
    best.1
}

/// The model under which the choices are most likely.
pub fn likeliest(contests: &[&Contest]) -> Model {
    least(|model| mean_loss(contests, model))
}

/// The model with the smallest calibration error.
pub fn calibrated(contests: &[&Contest]) -> Model {
    least(|model| calibration_error(&bins(&all_said(contests, model))))
}

/// The model with the smallest calibration error over these and the kits, each part and each
/// family of like parts alike.
pub fn calibrated_with_kits(contests: &[&Contest]) -> Model {
    let parts = contests.len() as f64;
    least(|model| {
        let here = calibration_error(&bins(&all_said(contests, model)));
        let kits = kits::said(model);
        (parts * here + kits.families * kits.error) / (parts + kits.families)
    })
}

/// What is said of the first pose of each.
pub fn all_said(contests: &[&Contest], model: Model) -> Vec<Said> {
    contests.iter().map(|c| c.said(model)).collect()
}

/// Mean minus log likelihood.
pub fn mean_loss(contests: &[&Contest], model: Model) -> f64 {
    let sum: f64 = contests.iter().map(|c| c.loss(model)).sum();
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

    /// Contests of three poses, chosen with the odds of a temperature, and by some at random.
    fn drawn(model: Model, count: usize) -> Vec<Contest> {
        let mut even = Even::new(7);
        (0..count)
            .map(|_| {
                let mut totals: Vec<f64> = (0..3).map(|_| 5.0 * even.draw()).collect();
                totals.sort_by(f64::total_cmp);
                let shares = model.split(&totals, &[]);
                let (at, any) = (even.draw(), even.draw());
                let pick = if at < shares[0] {
                    0
                } else if at < shares[0] + shares[1] {
                    1
                } else if at < 1.0 - model.by_purpose {
                    2
                } else {
                    (3.0 * any) as usize
                };
                Contest {
                    totals,
                    chosen: (0..3).map(|i| i == pick).collect(),
                    ..Contest::default()
                }
            })
            .collect()
    }

    #[test]
    fn the_temperature_by_which_choices_were_drawn_is_found_again_and_is_the_calibrated_one() {
        for wanted in [0.6, 1.4] {
            let drawn = drawn(Model::at(wanted), 4000);
            let contests: Vec<&Contest> = drawn.iter().collect();
            let found = likeliest(&contests);
            assert!(
                (found.temperature - wanted).abs() < 0.15,
                "{wanted}: {found:?}"
            );
            let error = |t: f64| calibration_error(&bins(&all_said(&contests, Model::at(t))));
            let calibrated = calibrated(&contests);
            let off = (calibrated.temperature - wanted).abs();
            assert!(off < 0.2, "{wanted}: {calibrated:?}");
            assert!(error(wanted) < 0.02, "{}", error(wanted));
            assert!(error(2.5 * wanted) > 0.05 && error(0.4 * wanted) > 0.05);
        }
    }

    #[test]
    fn those_who_choose_at_random_are_found_again() {
        let wanted = Model {
            temperature: 0.5,
            by_purpose: 0.03,
        };
        let drawn = drawn(wanted, 4000);
        let contests: Vec<&Contest> = drawn.iter().collect();
        let found = likeliest(&contests);
        assert!((found.by_purpose - 0.03).abs() < 0.011, "{found:?}");
        assert!((found.temperature - 0.5).abs() < 0.1, "{found:?}");
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
