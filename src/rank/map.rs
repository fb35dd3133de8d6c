//! Every direction that the search looks at, with its quick figures and its support.

use super::Origin;
use super::search::{Progress, Search};
use crate::figures::quick::{Bench, Quick};
use crate::figures::stop::{Stop, Stopped};
use crate::figures::support::{Survey, SurveyedSupport};
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// A direction with what is measured of it without layers.
#[derive(Debug, Clone, Copy)]
pub struct MappedDirection {
    /// Part direction that goes down.
    pub down: Unit<Vector3<f64>>,
    /// Where it came from.
    pub origin: Origin,
    /// Quick figures.
    pub quick: Quick,
    /// Support volume.
    pub support: SurveyedSupport,
}

/// The directions of [`Search::candidates`], each once, in their order there.
///
/// Each direction is one thread's, so that the result does not depend on their number; a thread
/// holds some 40 bytes a vertex meanwhile.
///
/// # Errors
/// Stopped before the last one was measured.
pub fn map(
    bench: &Bench,
    search: &Search,
    progress: &dyn Progress,
) -> Result<Vec<MappedDirection>, Stopped> {
    let asked = || progress.cancelled();
    let stop = Stop::when(&asked);
    let mut candidates = search.candidates(&[], progress)?;
    let mut seen: BTreeSet<[u64; 3]> = BTreeSet::new();
    candidates.retain(|c| {
        let [x, y, z]: [f64; 3] = c.down.into_inner().into();
        seen.insert([x, y, z].map(|x| (x + 0.0).to_bits()))
    });
    let survey = Survey::new(bench.part);
    let mapped: Vec<MappedDirection> = (candidates.into_par_iter())
        .map(|c| MappedDirection {
            down: c.down,
            origin: c.origin,
            quick: c.quick,
            support: survey.support(&c.down, bench.settings, stop),
        })
        .collect();
    if stop.asked() {
        return Err(Stopped);
    }
    Ok(mapped)
}
