//! From the search to the advice: ranks, marks, reasons, verdict.

use crate::advice::glance::wordless;
use crate::advice::precautions::{PoseTraits, RuleInput};
use crate::advice::support::needs_support;
use crate::advice::verdict::PoseFault;
use crate::advice::{Advice, Margin, RankedPose, design, margin, precautions, reasons, verdict};
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::figures::stop::{Stop, Stopped};
use crate::pose::{Pose, axes};
use crate::rank::penalties::volume_mm3;
use crate::rank::search::{Found, Progress, Scored, Search, Wanted};
use crate::rank::{Origin, pareto};
use nalgebra::{Unit, Vector3};
use std::sync::Arc;

/// Ranks the poses of a part. At least `wanted.top` entries where that many
/// distinct ones exist; all that were measured are ranked, the first `top` kept.
///
/// # Errors
/// `progress` had the work stopped before one pose was measured.
pub fn advise(bench: &Bench, wanted: &Wanted, progress: &dyn Progress) -> Result<Advice, Stopped> {
    advise_on(bench, &Search::new(bench), wanted, progress)
}

/// The same with a search that is prepared already.
///
/// # Errors
/// As [`advise`].
pub fn advise_on(
    bench: &Bench,
    search: &Search,
    wanted: &Wanted,
    progress: &dyn Progress,
) -> Result<Advice, Stopped> {
    let found = search.run(wanted, progress)?;
    Ok(told(bench, search, &found, wanted.top))
}

/// Puts what a search found into words: at most `top` poses with marks, reasons and verdict.
pub fn told(bench: &Bench, search: &Search, found: &Found, top: usize) -> Advice {
    let (entries, settings) = (&found.entries, bench.settings);
    let rows: Vec<&[f64]> = entries.iter().map(|e| e.charges.as_slice()).collect();
    let marks = pareto::undominated(&rows);
    let volume_mm3 = volume_mm3(bench.part);
    let faults = |e: &Scored| verdict::faults(e, volume_mm3, settings);
    let shown = top.max(1);
    let no_good_pose = (entries.iter().take(shown)).all(|e| !faults(e).is_empty());
    let ranked = |entry: &Scored, rank: usize, undominated: bool| {
        let first = rank == 1;
        // The winner is compared with the runner-up, all others with the winner.
        let (other, place) = if first { (1, 2) } else { (0, 1) };
        let rival = entries.get(other).map(|r| (r, place));
        RankedPose {
            undominated,
            ..tell(
                bench,
                search,
                entry,
                rank,
                rival,
                first,
                first && no_good_pose,
            )
        }
    };
    let poses = (entries.iter().zip(marks).zip(1..).take(shown))
        .map(|((entry, mark), rank)| ranked(entry, rank, mark))
        .collect();
    let as_loaded = ranked(&found.loaded, found.better_than_loaded + 1, false);
    let confidence = margin::confidence(entries, bench);
    let runner_up = entries.get(1).filter(|e| e.candidate.gates.is_empty());
    let switches_if = match (entries.first(), runner_up) {
        (Some(first), Some(second)) => margin::switches(first, second, settings),
        _ => Vec::new(),
    };
    let serious = (entries.first().filter(|_| no_good_pose)).map_or_else(Vec::new, faults);
    Advice {
        candidates: found.counts,
        verdict: verdict::verdict(
            entries,
            &found.loaded,
            confidence,
            &serious,
            volume_mm3,
            bench.is_crumb(),
            settings,
        ),
        no_good_pose,
        poses,
        as_loaded,
        margin: Margin {
            runner_up: runner_up.map(|_| 2),
            switches_if,
        },
        confidence,
    }
}

/// Measures one pose by itself, without rank. `down` in the part frame.
pub fn measure(bench: &Bench, down: Unit<Vector3<f64>>) -> RankedPose {
    let search = Search::new(bench);
    let entry = search.score(search.candidate(down, named(&down)));
    let told = tell(bench, &search, &entry, 1, None, true, true);
    RankedPose { rank: 0, ..told }
}

/// The same with a search that is prepared already, from what it knows of the pose, and the
/// layers of the pose; none where it is stopped.
pub fn measure_until<'a>(
    bench: &'a Bench<'a>,
    search: &Search<'a>,
    down: Unit<Vector3<f64>>,
    stop: &Stop,
) -> Option<(RankedPose, Sliced<'a>)> {
    let candidate = search.candidate(down, named(&down));
    let (entry, sliced) = search.score_until(candidate, stop)?;
    let told = tell(bench, search, &entry, 1, None, true, true);
    Some((RankedPose { rank: 0, ..told }, sliced))
}

/// Where a direction comes from that was asked for by itself.
fn named(down: &Unit<Vector3<f64>>) -> Origin {
    if (down.into_inner() + Vector3::z()).norm() < 1e-12 {
        Origin::Loaded
    } else {
        Origin::Named
    }
}

/// The entry of a measured pose at a rank, with its words. `story` tells the height story,
/// `design` says what would help if the pose is no good one.
fn tell(
    bench: &Bench,
    search: &Search,
    entry: &Scored,
    rank: usize,
    rival: Option<(&Scored, usize)>,
    story: bool,
    design: bool,
) -> RankedPose {
    let settings = bench.settings;
    let volume_mm3 = volume_mm3(bench.part);
    let f = &entry.figures;
    let pose = &entry.pose;
    let faults = verdict::faults(entry, volume_mm3, settings);
    let told = story.then_some(&entry.cuts.profile);
    let precautions = if bench.is_crumb() {
        Vec::new()
    } else {
        precautions::notes(&RuleInput {
            figures: f,
            gates: &entry.candidate.gates,
            part: bench.part,
            settings,
            near: &entry.cuts.bed,
            traits: &PoseTraits::of(bench, pose, entry.cuts.foot, told),
            story: told,
        })
    };
    let remedies = if story && design && !faults.is_empty() && !bench.is_crumb() {
        design::remedies(bench, entry, &faults)
    } else {
        Vec::new()
    };
    let level = Pose::new(&entry.candidate.down, &bench.hull().vertices);
    let reasons = reasons::reasons(entry, rank, rival, volume_mm3, settings);
    let in_words = |x: &PoseFault| verdict::in_words(*x, f, volume_mm3);
    RankedPose {
        rank,
        pose: pose.clone(),
        axes: axes(bench.part, pose),
        needs_support: needs_support(f, settings),
        total: entry.total,
        reasons: reasons.full,
        cost: reasons.cost,
        brief: reasons.brief,
        precautions: precautions.iter().map(|n| n.says.clone()).collect(),
        precautions_detail: precautions,
        faults: faults.iter().map(in_words).collect(),
        design: remedies,
        story: told.map(|profile| profile.clone().compact()),
        cuts: Arc::clone(&entry.cuts),
        spanning: Some(Arc::clone(&entry.hanging.spanning)),
        ..wordless(
            bench,
            search,
            &entry.candidate,
            (level, f.clone(), &entry.charges),
        )
    }
}
