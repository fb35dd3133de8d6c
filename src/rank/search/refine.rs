//! Refinement on the sphere: from a direction to the best one near it, by its bound.

use super::{Candidate, GAIN, Search, angle_deg, by_key};
use crate::figures::stop::Stop;
use crate::rank::Origin;
use nalgebra::{Unit, Vector3};

/// Seeds that are refined.
const SEEDS: usize = 12;
/// First and last step of the refinement, degrees.
const STEP_DEG: (f64, f64) = (2.5, 0.1);
/// A refined direction closer than this to a facet on which the part stands is
/// that facet with a wedge under it, degrees.
const NEAR_FACET_DEG: f64 = 3.0;

impl Search<'_> {
    /// Lattice directions that no neighbour undercuts and the best facets, best
    /// first.
    pub(super) fn seeds(&self, candidates: &[Candidate]) -> Vec<Candidate> {
        let near = libm::cos(9.0_f64.to_radians());
        // Where no pose passes the gates, those that fail least are refined.
        let tier = candidates.iter().map(Candidate::tier).min().unwrap_or(0);
        let mut seeds: Vec<&Candidate> = candidates
            .iter()
            .filter(|c| c.tier() == tier)
            .filter(|c| {
                c.origin != Origin::Lattice
                    || candidates
                        .iter()
                        .filter(|o| o.origin == Origin::Lattice && o.down.dot(&c.down) > near)
                        .all(|o| o.bound >= c.bound)
            })
            .collect();
        seeds.sort_by(|a, b| a.bound.total_cmp(&b.bound));
        self.apart(seeds.into_iter(), SEEDS)
    }

    /// Pattern search on the bound. `None` if it comes to rest where it began or
    /// beside a facet on which the part stands.
    pub(super) fn refine(&self, seed: Candidate, stop: &Stop) -> Option<Candidate> {
        let (start, tier) = (seed.bound, seed.tier());
        let resting = seed.origin != Origin::Lattice;
        let origin_down = seed.down;
        let mut at = seed;
        let mut step = STEP_DEG.0;
        let mut moved = false;
        while step >= STEP_DEG.1 && !stop.asked() {
            let (u, v) = tangents(&at.down);
            let (sin, cos) = libm::sincos(step.to_radians());
            let best = (0..8)
                .map(|k| {
                    let (s, c) = libm::sincos(f64::from(k) * std::f64::consts::FRAC_PI_4);
                    let turned = at.down.into_inner() * cos + (u * s - v * c) * sin;
                    self.candidate(Unit::new_normalize(turned), Origin::Refined)
                })
                .filter(|c| c.tier() <= at.tier())
                .min_by(|a, b| by_key(&a.key(), &b.key()));
            match best {
                Some(c) if c.tier() < at.tier() || c.bound < at.bound - 1e-9 => {
                    at = c;
                    moved = true;
                }
                _ => step /= 2.0,
            }
        }
        let worth = if resting { start * (1.0 - GAIN) } else { start };
        let far = !resting || angle_deg(&origin_down, &at.down) > NEAR_FACET_DEG;
        (moved && far && (at.tier() < tier || at.bound < worth)).then_some(at)
    }
}

fn tangents(d: &Unit<Vector3<f64>>) -> (Vector3<f64>, Vector3<f64>) {
    let helper = if d.x.abs() < 0.6 {
        Vector3::x()
    } else {
        Vector3::y()
    };
    let u = d.cross(&helper).normalize();
    (u, d.cross(&u))
}
