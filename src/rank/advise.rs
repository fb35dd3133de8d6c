//! From the search to the advice: ranks, marks, reasons, verdict.

use super::search::{Found, Progress, Scored, Search, Wanted};
use super::{
    Advice, Charge, Confidence, Counts, Gate, Origin, RankedPose, margin, penalties, precautions,
    reasons, undominated,
};
use crate::figures::quick::Bench;
use crate::pose::axes;
use crate::settings::Settings;
use crate::words;
use nalgebra::{Unit, Vector3};

/// Ranks the poses of a part. At least `wanted.top` entries where that many
/// distinct ones exist; all that were measured are ranked, the first `top` kept.
pub fn advise(bench: &Bench, wanted: &Wanted, progress: &dyn Progress) -> Advice {
    let search = Search::new(bench);
    let found = search.run(wanted, progress);
    let Found {
        entries,
        loaded,
        better_than_loaded,
        ..
    } = &found;
    let marks = {
        let rows: Vec<&[f64]> = entries.iter().map(|e| e.charges.as_slice()).collect();
        undominated::undominated(&rows)
    };
    let settings = bench.settings;
    let ranked = |entry: &Scored, rank: usize, mark: bool| {
        let rival = if rank == 1 {
            entries.get(1).map(|r| (r, 2))
        } else {
            entries.first().map(|r| (r, 1))
        };
        RankedPose {
            rank,
            pose: entry.pose.clone(),
            axes: axes(bench.part, &entry.pose),
            equivalent: search.twins(&entry.candidate.down),
            undominated: mark,
            origin: entry.candidate.origin,
            figures: entry.figures.clone(),
            charges: charges(entry),
            total: entry.total,
            gates: entry.candidate.gates.clone(),
            reasons: reasons::reasons(entry, rank, rival, settings),
            precautions: precautions::precautions(entry, bench.part, settings),
        }
    };
    let poses: Vec<RankedPose> = entries
        .iter()
        .zip(&marks)
        .enumerate()
        .take(wanted.top.max(1))
        .map(|(i, (entry, mark))| ranked(entry, i + 1, *mark))
        .collect();
    let as_loaded = ranked(loaded, better_than_loaded + 1, false);
    let confidence = margin::confidence(entries, bench);
    let switches_if = match entries.as_slice() {
        [first, second, ..] => margin::switches(first, second, settings),
        _ => Vec::new(),
    };
    Advice {
        candidates: Counts {
            resting: found.facets,
            lattice: found.lattice,
            refined: found.refined,
            fully_scored: found.fully_scored,
            unsettled: found.unsettled,
        },
        verdict: verdict(entries, loaded, confidence, settings),
        poses,
        as_loaded,
        runner_up: (entries.len() > 1).then_some(2),
        switches_if,
        confidence,
    }
}

/// Measures one pose by itself, without rank. `down` in the part frame.
pub fn measure(bench: &Bench, down: Unit<Vector3<f64>>) -> RankedPose {
    let search = Search::new(bench);
    let origin = if (down.into_inner() + Vector3::z()).norm() < 1e-12 {
        Origin::Loaded
    } else {
        Origin::Named
    };
    let entry = search.score(search.candidate(down, origin));
    RankedPose {
        rank: 1,
        axes: axes(bench.part, &entry.pose),
        equivalent: search.twins(&down),
        undominated: true,
        origin,
        charges: charges(&entry),
        total: entry.total,
        gates: entry.candidate.gates.clone(),
        reasons: reasons::reasons(&entry, 1, None, bench.settings),
        precautions: precautions::precautions(&entry, bench.part, bench.settings),
        figures: entry.figures,
        pose: entry.pose,
    }
}

fn charges(entry: &Scored) -> Vec<Charge> {
    penalties::ROWS
        .iter()
        .zip(&entry.charges)
        .map(|(row, &value)| Charge {
            name: row.name,
            value,
        })
        .collect()
}

/// One or two sentences: which side down, what holds it up, how sure.
fn verdict(
    entries: &[Scored],
    loaded: &Scored,
    confidence: Confidence,
    settings: &Settings,
) -> String {
    let Some(first) = entries.first() else {
        return "No pose was found.".into();
    };
    let f = &first.figures;
    if first.candidate.gates.contains(&Gate::DoesNotFit) {
        return "Fits the build volume in no pose.".into();
    }
    let mut text = format!(
        "Print it with the {}: {} on the bed, ",
        words::side_down(&first.candidate.down),
        words::area(f.contact_area_mm2)
    );
    if f.support_needed_mm3 > reasons::NO_SUPPORT_MM3 {
        text.push_str(&format!(
            "{} of support",
            words::volume(f.support_needed_mm3)
        ));
    } else if f.ceiling_carried_mm2 > 1.0 {
        text.push_str(&format!(
            "no support (ceilings bridge up to {})",
            words::length(
                f.bridges
                    .iter()
                    .map(|b| b.span_mm)
                    .filter(|s| *s <= settings.bridge_limit_mm)
                    .fold(0.0, f64::max)
            )
        ));
    } else {
        text.push_str("no support");
    }
    text.push_str(&format!(", {} tall.", words::length(f.height_mm)));
    if !first.candidate.gates.is_empty() {
        text.push_str(" No pose stands by itself; this one needs help to stand.");
    }
    let second = entries.get(1);
    match (confidence, second) {
        (Confidence::Tied, Some(second)) => text.push_str(&format!(
            " A toss-up with the {}.",
            words::side_down(&second.candidate.down)
        )),
        (Confidence::Close, Some(second)) => text.push_str(&format!(
            " Close: the {} comes next.",
            words::side_down(&second.candidate.down)
        )),
        _ => {}
    }
    if super::search::angle_deg(&first.candidate.down, &loaded.candidate.down) < 0.1 {
        text.push_str(" The file already lies that way.");
    }
    text
}
