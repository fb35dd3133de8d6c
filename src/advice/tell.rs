//! From the search to the advice: ranks, marks, reasons, verdict.

use crate::advice::bodies::BodyKinds;
use crate::advice::glance::wordless;
use crate::advice::kept_out::kept_out;
use crate::advice::marks::{Touched, touched};
use crate::advice::precautions::{PoseTraits, Precaution, RuleInput};
use crate::advice::reasons::Reasons;
use crate::advice::support::{SupportCall, needs_support};
use crate::advice::verdict::{Bulk, Judgement, PoseFault};
use crate::advice::{
    Advice, Margin, RankedPose, design, fit, layers, margin, precautions, purposes, reasons, share,
    verdict,
};
use crate::figures::quick::Bench;
use crate::figures::sliced::Sliced;
use crate::figures::slivers;
use crate::figures::stop::{Stop, Stopped};
use crate::pose::{Pose, axes};
use crate::rank::search::{Found, JUDGED, Progress, Scored, Search, Wanted};
use crate::rank::{FailedGate, Origin, pareto};
use crate::words;
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;
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
    let found = search.run_to_judge(wanted, JUDGED, progress)?;
    Ok(told(bench, search, &found, wanted.top))
}

/// Puts what a search found into words: at most `top` poses with marks, reasons and verdict.
///
/// The verdict and what hangs on it rest on [`Found::judged`], never on how many are listed.
pub fn told(bench: &Bench, search: &Search, found: &Found, top: usize) -> Advice {
    let settings = bench.settings;
    let bodies = BodyKinds::new(bench);
    let plain = |e: &Scored| without_stray_starts(&bodies, e);
    let entries: Vec<Scored> = found.entries.iter().map(plain).collect();
    let judged: Vec<Scored> = found.judged.iter().map(plain).collect();
    let (stored, entries) = (plain(&found.stored), &entries);
    let rows: Vec<&[f64]> = entries.iter().map(|e| e.charges.as_slice()).collect();
    let marks = pareto::undominated(&rows);
    let bulk = Bulk::of(bench.part);
    let faults = |e: &Scored| verdict::faults(e, bulk, settings);
    let shown = top.max(1);
    // Changes to the part are tried out, which takes its time: not while more is to come, nor after
    // the time was over.
    let is_done = found.left.is_some() && !found.cut;
    let listed = &entries[..shown.min(entries.len())];
    let faultless = judged.iter().find(|e| faults(e).is_empty());
    let no_good_pose = faultless.is_none();
    // Where another pose is good there is no need to change the part.
    let help_first = no_good_pose || entries.first().is_some_and(|e| faults(e).is_empty());
    // Figures are shown as measured, islands of crumbs and all.
    let sure = share::Sure::new(bench, &judged, found.left.as_deref());
    let share_of = |entry: &Scored| sure.shares.as_ref().map(|s| s.of(entry));
    let ranked = |entry: &Scored, measured: &Scored, rank: usize, undominated: bool| {
        let first = rank == 1;
        // The winner is compared with the runner-up, all others with the winner.
        // It is not compared with its own twin where there is another.
        let other = if first { second_kind(&judged) } else { 0 };
        let rival = judged.get(other).map(|r| (r, other + 1));
        RankedPose {
            undominated,
            figures: measured.figures.clone(),
            ..tell(
                bench,
                search,
                entry,
                (rank, listed),
                rival,
                first,
                (first && help_first && is_done, &bodies),
            )
        }
    };
    let tell_listed = |at: usize| RankedPose {
        share: share_of(&entries[at]),
        ..ranked(&entries[at], &found.entries[at], at + 1, marks[at])
    };
    let place = found.better_than_stored + 1;
    let (poses, as_stored): (Vec<RankedPose>, _) = rayon::join(
        || (0..listed.len()).into_par_iter().map(tell_listed).collect(),
        || ranked(&stored, &found.stored, place, false),
    );
    let confidence = sure.confidence;
    let runner_up = (entries.get(1)).filter(|e| e.candidate.gates.is_empty() && !bench.is_crumb());
    let switches_if = match (entries.first(), runner_up) {
        (Some(first), Some(second)) => margin::switches(first, second, settings),
        _ => Vec::new(),
    };
    let judgement = Judgement {
        judged: &judged,
        stored: &stored,
        faultless,
        confidence,
        second_share: judged.get(1).and_then(share_of),
        larger_bed: judged.iter().find(|e| is_larger_bed_worth(&judged, e)),
        gentle_mm3: poses.first().map_or(0.0, |p| p.gentle_mm3),
        bulk,
        crumb_mm: bench.is_crumb().then(|| bench.part.extent()),
        settings,
    };
    let several = (poses.iter().take(1))
        .flat_map(|p: &RankedPose| &p.precautions_detail)
        .find(|n| n.key == Precaution::SeparateParts.name())
        .map(|n| {
            let count = words::decimal(n.value, 0);
            format!(
                " It was judged as one part, but {count} lie in the file: judge each by itself."
            )
        });
    let same = |a: &Scored, b: &Scored| a.candidate.down == b.candidate.down;
    let place = |best: &Scored| entries.iter().position(|e| same(e, best));
    Advice {
        candidates: found.counts,
        verdict: judgement.verdict() + several.as_deref().unwrap_or_default(),
        no_good_pose,
        faultless: faultless.and_then(place).map(|at| at + 1),
        certified_gap: None,
        is_faultless_too_dear: judgement.is_too_dear(),
        poses,
        as_stored,
        margin: Margin {
            runner_up: runner_up.map(|_| 2),
            switches_if,
        },
        confidence,
        purposes: purposes::purposes(bench, search, found, shown, &|e| place(e).map(|at| at + 1)),
        asked: (entries.first()).map_or_else(Vec::new, |e| purposes::asked(bench, e)),
        crumb_mm: judgement.crumb_mm,
        off_default: !share::is_defined(settings),
        last_named: judgement.last_named(),
        makers: (sure.shares.as_ref())
            .map(|s| s.sentence(&judged, &|e| place(e).map_or(usize::MAX, |at| at + 1))),
    }
}

/// Whether nothing but the bed keeps a pose from being much better than the first.
fn is_larger_bed_worth(judged: &[Scored], entry: &Scored) -> bool {
    let first = judged.first().filter(|e| e.candidate.gates.is_empty());
    entry.candidate.gates == [FailedGate::DoesNotFit]
        && first.is_some_and(|first| first.total - entry.total > reasons::FAR_BEHIND)
}

/// The place in the list of the first pose that is no twin of the best one, and can be printed; of
/// the second where there is none.
fn second_kind(entries: &[Scored]) -> usize {
    let is_other =
        |first: &Scored, e: &Scored| e.candidate.gates.is_empty() && !share::are_twins(first, e);
    let first = entries.first();
    let at = first.and_then(|first| entries.iter().skip(1).position(|e| is_other(first, e)));
    at.unwrap_or(0) + 1
}

/// Measures one pose by itself, without rank. `down` in the part frame.
pub fn measure(bench: &Bench, down: Unit<Vector3<f64>>) -> RankedPose {
    let search = Search::new(bench);
    let entry = search.score(search.candidate(down, named(&down)));
    alone(bench, &search, entry)
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
    Some((alone(bench, search, entry), sliced))
}

/// A measured pose by itself, without rank.
fn alone(bench: &Bench, search: &Search, entry: Scored) -> RankedPose {
    let bodies = BodyKinds::new(bench);
    let plain = without_stray_starts(&bodies, &entry);
    RankedPose {
        rank: 0,
        figures: entry.figures,
        ..tell(bench, search, &plain, (1, &[]), None, true, (true, &bodies))
    }
}

/// Where a direction comes from that was asked for by itself.
fn named(down: &Unit<Vector3<f64>>) -> Origin {
    if (down.into_inner() + Vector3::z()).norm() < 1e-12 {
        Origin::Stored
    } else {
        Origin::Named
    }
}

/// An entry whose islands are those of the part: none of a crumb, none that a gap below it
/// carries.
fn without_stray_starts(bodies: &BodyKinds, entry: &Scored) -> Scored {
    let mut entry = entry.clone();
    if let Some(figures) = bodies.without_stray_starts(&entry.figures, &entry.pose) {
        entry.figures = figures;
    }
    entry
}

/// The entry of a measured pose at a rank of the list, with its words. `layer_profile` tells the layer profile,
/// `design` says what would help if the pose is no good one.
fn tell(
    bench: &Bench,
    search: &Search,
    entry: &Scored,
    (rank, listed): (usize, &[Scored]),
    rival: Option<(&Scored, usize)>,
    layer_profile: bool,
    (design, bodies): (bool, &BodyKinds),
) -> RankedPose {
    let settings = bench.settings;
    let bulk = Bulk::of(bench.part);
    let f = &entry.figures;
    let pose = &entry.pose;
    let faults = verdict::faults(entry, bulk, settings);
    let told = layer_profile.then_some(&entry.cuts.profile);
    let on = needs_support(f, settings);
    let touched = if on {
        touched(bench, pose, &entry.hanging.spanning, f)
    } else {
        Touched::default()
    };
    let kept_out = on.then(|| kept_out(bench, pose, &touched)).flatten();
    let support = match (on, &kept_out) {
        (false, _) => SupportCall::Off,
        (true, None) => SupportCall::On,
        (true, Some(_)) => SupportCall::Partly,
    };
    // Once is enough: where the whole height is told.
    let remarks = told.map(|_| bodies.remarks(pose)).unwrap_or_default();
    let precautions = if bench.is_crumb() {
        Vec::new()
    } else {
        precautions::notes(&RuleInput {
            figures: f,
            gates: &entry.candidate.gates,
            part: bench.part,
            settings,
            near: &entry.cuts.bed,
            slivers: &slivers::slivers(&entry.cuts.stretches, settings),
            traits: &PoseTraits::of(bench, pose, entry.cuts.foot, told),
            layer_profile: told,
            bodies: &remarks,
            kept_out: &kept_out,
            touched: &touched,
        })
    };
    // A change that spares much support is worth a word even where that comes off easily.
    let to_mend = verdict::to_mend(entry, bulk, settings);
    let remedies = if layer_profile && design && !to_mend.is_empty() && !bench.is_crumb() {
        design::remedies(bench, entry, &to_mend)
    } else {
        Vec::new()
    };
    let level = Pose::new(&entry.candidate.down, &bench.hull().vertices);
    // Of a part as small as a line there is nothing to compare.
    let mut reasons = if bench.is_crumb() {
        Reasons::default()
    } else {
        reasons::reasons(entry, rank, rival, bulk, settings)
    };
    // Of a pose that nobody prints two sentences are enough.
    if !bench.is_crumb() && (rank == 1 || reasons.full.len() > 2) {
        reasons.full.extend(layers::sentence(entry, listed));
    }
    if !bench.is_crumb() {
        let brim_mm = precautions::brim_mm(&precautions);
        reasons.full.extend(fit::on_the_bed(bench, entry, brim_mm));
        let aim = layers::aim(settings).filter(|_| rank == 1);
        reasons.full.extend(aim);
    }
    let in_words = |x: &PoseFault| verdict::in_words(*x, f, bulk);
    RankedPose {
        rank,
        pose: pose.clone(),
        axes: axes(bench.part, pose),
        needs_support: on,
        support,
        total: entry.total,
        reasons: reasons.full,
        roles: reasons.roles,
        brief: reasons.brief,
        precautions: precautions.iter().map(|n| n.says.clone()).collect(),
        precautions_detail: precautions,
        faults: faults.iter().map(in_words).collect(),
        design: remedies,
        layer_profile: told.map(|profile| profile.clone().compact()),
        cuts: Arc::clone(&entry.cuts),
        gentle_mm3: touched.gentle.iter().map(|p| p.room_mm3).sum(),
        spanning: Some(Arc::clone(&entry.hanging.spanning)),
        ..wordless(
            bench,
            search,
            bodies,
            &entry.candidate,
            (level, entry.figures.clone(), &entry.charges),
            Some(pose),
        )
    }
}
