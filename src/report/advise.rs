//! The advice on one part in words: verdict, table, reasons, precautions.

use super::act;
pub use super::cautions::CAUTIONS;
use super::json::PartFacts;
use super::layout::{Look, list};
use super::table;
use crate::advice::margin::TIED;
use crate::advice::precautions::{Note, Precaution};
use crate::advice::reasons::FAR_BEHIND;
use crate::advice::share::UNDEFINED;
use crate::advice::{Advice, RankedPose};
use crate::gauge::card::{Measurement, Reading};
use crate::rank::Confidence;
use crate::words::{decimal, degrees, fixed, joined, printable};

/// Poses beside the first that are put in words.
const MOST_OTHERS: usize = 2;

/// The whole advice on one part, without the cautions (see [`cautions`]).
pub fn text(part: &PartFacts, advice: &Advice, look: Look) -> String {
    // The answer, then the same as an act, for the one who has the file open.
    let file = printable(&part.path);
    let verdict = format!("{file}: {}{}", advice.verdict, act::to_do(advice));
    let mut out = look.paragraph(&verdict);
    let least = advice.poses.first().map_or(f64::NAN, |p| p.total);
    let worth =
        |p: &&RankedPose| p.gates.is_empty() && p.roles.has_gain && p.total - least <= FAR_BEHIND;
    // What the first pose's reasons weigh against pose 2 both ways need not be told again.
    let weighed = advice.poses.first().is_some_and(|p| p.roles.cost.is_some());
    let others: Vec<String> = (advice.poses.iter().skip(1))
        .filter(worth)
        .filter(|p| p.rank > 2 || !weighed)
        .filter(|p| {
            let told = |o: &RankedPose| o.rank < p.rank && o.brief == p.brief;
            !advice.poses.iter().skip(1).any(told)
        })
        .take(MOST_OTHERS)
        .map(|p| format!("Pose {}: {}", p.rank, p.brief))
        .collect();
    let first = advice.poses.first();
    let of_first = |of: fn(&RankedPose) -> Vec<String>| first.map(of).unwrap_or_default();
    let help = |p: &RankedPose| p.design.iter().map(|r| r.says.clone()).collect();
    let design = of_first(help);
    // What does no harm is told by `inspect`.
    let told = ["harmless", "overlapping places"];
    let harmful = (part.notes.iter()).filter(|n| !told.iter().any(|t| n.contains(t)));
    let file: Vec<String> = harmful.cloned().collect();
    let open = file.iter().any(|n| n.contains("does not close"));
    let machine = |p: &RankedPose| -> Vec<String> {
        let said = |n: &&Note| {
            // The file's own note says it; what every part needs is a caution.
            let twice = open && n.key == Precaution::OpenSurface.name();
            !twice && n.key != Precaution::CleanUp.name()
        };
        let notes = p.precautions_detail.iter().filter(said);
        notes.map(|n| n.says.clone()).collect()
    };
    // The verdict says how it lies and what holds it up.
    let reasons = |p: &RankedPose| -> Vec<String> {
        let all = p.reasons.iter().enumerate();
        let more = all.filter(|(at, _)| !p.roles.headline.contains(at));
        more.map(|(_, says)| says.clone()).collect()
    };
    // What is to be done first, in the order in which it is done; then what it rests on.
    for (heading, items) in [
        ("About the file", file),
        ("What change of the part would help", design),
        ("On the machine", first.map(machine).unwrap_or_default()),
        ("What the calliper should read", of_first(card)),
        ("Why this way up", first.map(reasons).unwrap_or_default()),
    ] {
        list(&mut out, look, heading, &items);
    }
    if advice.crumb_mm.is_some() {
        return out;
    }
    out.push('\n');
    out.push_str(&table::poses(advice, look));
    out.push('\n');
    out.push_str(&table::sums(advice, look));
    for (heading, items) in [
        ("Other poses worth a thought", others),
        ("How sure", how_sure(advice)),
        (
            "What purpose would change the answer",
            advice.purposes.iter().map(|p| p.says.clone()).collect(),
        ),
    ] {
        list(&mut out, look, heading, &items);
    }
    out
}

/// How safe the first place is, in a sentence; none with a single pose. The weights that would
/// hand it to the runner-up are in the JSON (`margin.switches_if`).
pub fn how_sure(advice: &Advice) -> Vec<String> {
    let beside = without_fault(advice);
    // Nobody is sure of a faulty pose where a better one is named.
    if beside.is_some() {
        return beside.into_iter().collect();
    }
    if let Some(makers) = &advice.makers {
        return std::iter::once(makers.clone()).chain(beside).collect();
    }
    let Some(rank) = advice.margin.runner_up else {
        return beside.into_iter().collect();
    };
    let judged = "when every weight or the overhang limit varies by ±20 %";
    let mut out = vec![match advice.confidence {
        Confidence::Clear => format!("Clear: pose 1 stays first {judged}."),
        Confidence::Close => {
            format!("Close: another pose comes first {judged}.")
        }
        Confidence::Tied => format!(
            "Poses 1 and {rank} are a toss-up: their totals differ by at most {}.",
            decimal(TIED, 2)
        ),
    }];
    if advice.off_default {
        out.push(UNDEFINED.into());
    }
    out.extend(beside);
    out
}

/// Which pose to look at where the first one has a fault and another has none.
fn without_fault(advice: &Advice) -> Option<String> {
    // Of one that the verdict calls far too costly nobody needs the rank.
    let rank = advice
        .faultless
        .filter(|rank| *rank > 1 && !advice.is_faultless_too_dear)?;
    // The verdict tells of one that is listed.
    (rank > advice.poses.len()).then(|| {
        format!("Pose {rank} is the best one without a serious fault: --top {rank} lists it.")
    })
}

/// The sides of a part seen from above.
const LONGER: &str = "longer side";
const SHORTER: &str = "shorter side";

/// The measuring card in short: the extents that lie between two flats, the diameter of a round
/// outline; none of a part of
/// which there is nothing to say.
fn card(pose: &RankedPose) -> Vec<String> {
    // Sizes over several parts are no one's.
    let several = |n: &Note| n.key == Precaution::SeparateParts.name();
    if pose.reasons.is_empty() || pose.precautions_detail.iter().any(several) {
        return Vec::new();
    }
    let held = |l: &&Reading| match l.kind {
        Measurement::Extent => l.between_flats,
        kind => kind == Measurement::Outside,
    };
    let named = as_turned(pose);
    let extents = pose.card.lines.iter().filter(held);
    let sizes = extents.map(|l| {
        let size = format!(
            "{} ± {}",
            decimal(l.nominal_mm, 2),
            fixed(l.tolerance_mm, 2)
        );
        match l.from_x_deg {
            Some(deg) => (size, format!("{} (at {} to X)", l.overall(), degrees(deg))),
            None => (named(l.overall()), size),
        }
    });
    let mut sizes: Vec<(String, String)> = sizes.collect();
    // Of a square no side is the longer one.
    if let [(long, size), (short, other), ..] = &sizes[..]
        && (long == LONGER && short == SHORTER && size == other)
    {
        sizes[0].0 = "both sides".into();
        sizes.remove(1);
    }
    if sizes.is_empty() {
        return Vec::new();
    }
    let sizes = sizes.iter().map(|(name, size)| format!("{name} {size}"));
    vec![format!("{} mm.", joined(sizes, ", "))]
}

/// An axis of the file that `wayup turn` writes, by what the turn told leaves as it is: that file has
/// the long side along X wherever the turn puts it.
fn as_turned(pose: &RankedPose) -> impl Fn(String) -> String {
    let turned = act::rotation(&pose.pose.down);
    let same = (pose.pose.rotation() * turned.inverse() * nalgebra::Vector3::x())
        .x
        .abs()
        > 0.999;
    move |axis| match axis.as_str() {
        "X" if !same => LONGER.into(),
        "Y" if !same => SHORTER.into(),
        _ => axis,
    }
}

/// What a reading is worth, said once a run.
const BEFORE_READING: &str = "Zero the calliper before you judge a print; `wayup measure PART --down … --readings X,Y,Z` says what its readings mean.";

/// The cautions, printed once a run.
pub fn cautions(look: Look) -> String {
    let mut out = String::new();
    let all = CAUTIONS.into_iter().chain([BEFORE_READING]);
    list(
        &mut out,
        look,
        "Cautions",
        &all.map(String::from).collect::<Vec<_>>(),
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::figures::fixture::{boxes, part_of};
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use crate::rank::search::{Silent, Wanted};
    use crate::settings::Settings;

    #[test]
    fn what_is_to_be_done_comes_before_rivals_and_weights() {
        let soup = boxes(&[[[0.0; 3], [30.0, 20.0, 8.0]]], &[]);
        let part = part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
        let bench = Bench::new(&part, &settings, hull);
        let advice = advise(&bench, &Wanted::first(3), &Silent).expect("not stopped");
        let facts = PartFacts::new(&part, &[], vec!["A hole was closed.".into()]);
        let text = text(&facts, &advice, Look::plain(100));
        let at = [
            "Print it with",
            "About the file",
            "What the calliper should read",
            "Why this way up",
            "* marks the best of the column",
            "How sure",
        ]
        .map(|heading| {
            text.find(heading)
                .unwrap_or_else(|| panic!("{heading}\n{text}"))
        });
        assert!(at.is_sorted(), "{text}");
    }
}
