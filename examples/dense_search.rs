//! A slow search that trusts nothing of the quick one but its lower bound, as JSON.
//!
//! Looks at an even spread of directions (a Fibonacci spiral in the frame of the
//! file) and at every facet of the convex hull. Every direction whose lower bound
//! leaves room for a total more than 1 % below the one to beat is measured in full:
//! no budget, no symmetry, no batches, no neighbours left out. Then the best
//! directions are refined on their *totals*. The reference checks compare the
//! winner of `advise` with what comes out, and the bounds with the totals.
//!
//! A direction a little off a facet on which the part stands is that facet with a
//! wedge under it. The program leaves those out by rule, so the best of them is
//! printed apart, as `wedged`.
//!
//! ```text
//! cargo run --release --example dense_search -- PART UNITS COUNT TOTAL_TO_BEAT
//! ```

use nalgebra::{Unit, UnitQuaternion, Vector3};
use rayon::prelude::*;
use serde_json::json;
use std::path::Path;
use wayup::figures::quick::Bench;
use wayup::mesh::{ReadOptions, read_path};
use wayup::pose::hull::Hull;
use wayup::pose::lattice::spiral;
use wayup::pose::standing;
use wayup::rank::search::{Candidate, Scored, Search};
use wayup::rank::{FailedGate, Origin};
use wayup::settings::Settings;

type Direction = Unit<Vector3<f64>>;

/// Share of the total to beat that a direction must be able to save to be measured.
const WORTH: f64 = 0.01;
/// Directions measured in full at least, lowest bounds first.
const LEAST: usize = 20;
/// How far from a facet on which the part stands a direction is one with a wedge
/// under it, degrees.
const WEDGE_DEG: (f64, f64) = (1e-3, 3.0);
/// Directions refined, and how far apart they are, degrees.
const REFINED: usize = 20;
const APART_DEG: f64 = 4.0;
/// First and last step of the refinement, degrees; directions are about 2° apart.
const STEP_DEG: (f64, f64) = (1.0, 0.1);
/// Directions measured between two looks at the best total.
const AT_ONCE: usize = 16;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [path, units, count, to_beat] = words.as_slice() else {
        return Err("expected PART UNITS COUNT TOTAL_TO_BEAT".into());
    };
    let options = ReadOptions {
        units: Some(units.parse()?),
        ..ReadOptions::default()
    };
    let (part, _) = read_path(Path::new(path), &options)?.take_part()?;
    let settings = Settings::default();
    let bench = Bench::new(&part, &settings, Hull::new(&part.mesh.vertices)?);
    let search = Search::new(&bench);

    let mut directions = spiral(count.parse()?);
    let facets: Vec<Direction> = bench.hull().facets().iter().map(|f| f.normal).collect();
    directions.extend(&facets);
    let mut candidates: Vec<Candidate> = directions
        .into_par_iter()
        .map(|down| search.candidate(down, Origin::Named))
        .collect();
    candidates.sort_by(|a, b| tier(a).cmp(&tier(b)).then(a.bound.total_cmp(&b.bound)));
    let first = candidates.first().map_or(0, tier);
    let looked_at = candidates.len();
    candidates.retain(|c| tier(c) == first);

    let to_beat: f64 = to_beat.parse()?;
    let worth = to_beat * (1.0 - WORTH);
    let could_win = candidates.iter().filter(|c| c.bound < worth).count();
    let mut scored: Vec<Scored> = Vec::new();
    let mut best = f64::INFINITY;
    for group in candidates.chunks(AT_ONCE) {
        // In the order of the bounds: once one is above the best total, so are the rest.
        if scored.len() >= LEAST && group[0].bound >= worth.min(best) {
            break;
        }
        scored.par_extend(group.par_iter().map(|c| search.score(c.clone())));
        best = scored.iter().map(|s| s.total).fold(best, f64::min);
    }
    scored.sort_by(|a, b| a.total.total_cmp(&b.total));
    let mut starts: Vec<&Scored> = Vec::new();
    for s in &scored {
        let near = |o: &&Scored| o.candidate.down.angle(&s.candidate.down) < APART_DEG.to_radians();
        if starts.len() < REFINED && !starts.iter().any(near) {
            starts.push(s);
        }
    }
    let tried: Vec<Scored> = starts
        .into_par_iter()
        .flat_map_iter(|s| refine(&search, s.clone(), worth.min(best)))
        .collect();
    let steps = tried.len();
    let stands: Vec<Direction> = standing(bench.hull(), &part.mass.centroid, usize::MAX)
        .iter()
        .filter(|r| r.stands)
        .map(|r| r.down)
        .collect();
    let wedged = |s: &&Scored| {
        let off = stands
            .iter()
            .map(|d| d.angle(&s.candidate.down).to_degrees());
        let least = off.fold(f64::INFINITY, f64::min);
        least > WEDGE_DEG.0 && least < WEDGE_DEG.1
    };
    let measured = || scored.iter().chain(&tried);
    let least = |a: &&Scored, b: &&Scored| a.total.total_cmp(&b.total);
    // The bound is what lets directions go unmeasured: it has to hold.
    let above = measured()
        .map(|s| s.candidate.bound - s.total)
        .fold(f64::NEG_INFINITY, f64::max);
    println!(
        "{}",
        json!({
            "directions": looked_at, "facets": facets.len(), "tier": first,
            "could_win": could_win, "scored": scored.len(), "refinement_steps": steps,
            "best": measured().filter(|s| !wedged(s)).min_by(least).map(entry),
            "wedged": measured().filter(wedged).min_by(least).map(entry),
            "bound_above_total": above,
        })
    );
    Ok(())
}

fn entry(s: &Scored) -> serde_json::Value {
    json!({"down": s.candidate.down.as_slice(), "total": s.total, "bound": s.candidate.bound})
}

/// Poses that fit and stand by themselves come before those that need help, and
/// these before those that fit no bed.
fn tier(c: &Candidate) -> u8 {
    if c.gates.contains(&FailedGate::DoesNotFit) {
        2
    } else {
        u8::from(!c.gates.is_empty())
    }
}

/// Pattern search on the total: all that was measured on the way. Only neighbours
/// whose bound is below `worth` are, since no other can be the one that is sought.
fn refine(search: &Search, start: Scored, worth: f64) -> Vec<Scored> {
    let level = tier(&start.candidate);
    let (mut at, mut step, mut tried) = (start, STEP_DEG.0, Vec::new());
    while step >= STEP_DEG.1 {
        let down = at.candidate.down;
        let u = Unit::new_normalize(down.cross(&Vector3::ith(down.iamin(), 1.0)));
        let around: Vec<Scored> = (0..6)
            .map(|k| {
                let angle = f64::from(k) * std::f64::consts::FRAC_PI_3;
                let axis = UnitQuaternion::from_axis_angle(&down, angle) * u;
                let turn = UnitQuaternion::from_axis_angle(&axis, step.to_radians());
                search.candidate(turn * down, Origin::Named)
            })
            .filter(|c| tier(c) == level && c.bound < worth.min(at.total))
            .map(|c| search.score(c))
            .collect();
        tried.extend(around.iter().cloned());
        match around
            .into_iter()
            .min_by(|a, b| a.total.total_cmp(&b.total))
        {
            Some(next) if next.total < at.total - 1e-9 => at = next,
            _ => step /= 2.0,
        }
    }
    tried
}
