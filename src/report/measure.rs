//! All figures of one pose, a line each: value, what was measured, what it means.

use super::figures::{FigureKey, TABLE};
use super::json::PartFacts;
use super::layout::{Look, list, wrap};
use super::sum::{Sum, SumPiece};
use super::table::{LETTERS, gate_in_words};
use crate::advice::RankedPose;
use crate::gauge::card::{CardGroup, Reading};
use crate::gauge::readings::{ReadingAnalysis, shown_mm};
use crate::settings::Settings;
use crate::words::printable;
use crate::words::{fixed, side_down, vector};

/// Columns of the label.
const LABEL: usize = 27;

/// The figures of one pose with a line of meaning each.
pub fn text(
    part: &PartFacts,
    pose: &RankedPose,
    found: Option<&ReadingAnalysis>,
    settings: &Settings,
    look: Look,
) -> String {
    let width = look.text_width();
    let (file, axes) = (printable(&part.path), &pose.axes);
    let (side, down) = (side_down(&pose.pose.down), vector(&pose.pose.down));
    let mut head = format!("{file}: {side} {down}");
    for gate in &pose.gates {
        head += &format!("; {}", gate_in_words(gate));
    }
    head += &format!(". {axes}: {LETTERS}.");
    let mut out = look.paragraph(&head);
    if let Some(found) = found {
        list(&mut out, look, "What the calliper found", &readings(found));
    }
    out.push('\n');
    for figure in TABLE.iter() {
        // The penalties and their sum have a list of their own.
        let Some(value) = figure
            .all(&pose.into())
            .filter(|_| figure.key != FigureKey::Total)
        else {
            continue;
        };
        let mut keys = (figure.with.iter().map(String::as_str)).chain([figure.key.name()]);
        let doubt = if keys.any(|k| pose.figures.doubtful.iter().any(|d| d == k)) {
            " (doubtful, the surface has defects)"
        } else {
            ""
        };
        out.push_str(&look.field(&figure.label, LABEL, &format!("{value}{doubt}")));
        let meaning = format!("{} {}", figure.measured(settings), figure.means);
        out.push_str(&wrap(&meaning, width, "    ", "    "));
    }
    let sum = Sum::all(pose);
    let charges = sum.pieces.iter().map(SumPiece::words).collect();
    let penalties = format!("What the total of {} is made of", fixed(sum.total, 2));
    let design: Vec<String> = pose.design.iter().map(|r| r.says.clone()).collect();
    for (heading, items) in [
        ("About the file", &part.notes),
        ("What keeps this pose from being good", &pose.faults),
        ("What change of the part would help", &design),
        ("On the machine", &pose.precautions),
    ] {
        list(&mut out, look, heading, items);
    }
    for (heading, items) in card(pose) {
        list(&mut out, look, &heading, &items);
    }
    for (heading, items) in [
        ("What speaks for it and against it", &pose.reasons),
        (penalties.as_str(), &charges),
    ] {
        list(&mut out, look, heading, items);
    }
    out
}

/// The measuring card: a list for each group of readings, and what to mind.
fn card(pose: &RankedPose) -> Vec<(String, Vec<String>)> {
    let line = |l: &&Reading| format!("{} (± {})", l.says, fixed(l.tolerance_mm, 2));
    let list = |(group, lines): (CardGroup, Vec<&Reading>)| {
        let what = group.heading().to_lowercase();
        let heading = format!("What the calliper should read: {what}");
        (heading, lines.iter().map(line).collect())
    };
    let notes = ("When you read it".to_string(), pose.card.notes.clone());
    pose.card.groups().map(list).chain([notes]).collect()
}

/// Readings against the part, then what they mean. Reading, nominal and difference have the
/// same decimals, and the difference is that of the numbers printed.
fn readings(found: &ReadingAnalysis) -> Vec<String> {
    let reading = |i: usize| {
        let (read, nominal) = (found.read_mm[i], found.nominal_mm[i]);
        let mm = signed(shown_mm(read, nominal), 2);
        let percent = signed(found.difference_percent[i], 1);
        let [read, nominal, off] = [read, nominal, found.tolerances_mm[i]].map(|v| fixed(v, 2));
        let axis = ["X", "Y", "Z"][i];
        format!(
            "{axis}: read {read}, nominal {nominal}: {mm} mm ({percent} %; ± {off} mm is within tolerance)"
        )
    };
    let mut out: Vec<String> = (0..3).map(reading).collect();
    out.extend(found.says.iter().cloned());
    out
}

/// A number with its sign and all of its decimals.
fn signed(value: f64, places: usize) -> String {
    let text = fixed(value, places);
    if value > 0.0 && text.contains(|c: char| ('1'..='9').contains(&c)) {
        format!("+{text}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::rank::search::{Silent, Wanted};
    use crate::report::draw::fixture::{bench, cuboid};
    use crate::report::figures::penalty_label;
    use crate::settings::weights::Penalty;

    /// Standing, the bar charges slenderness, whose key is another word than its label, and it hangs over
    /// nowhere: what is 0 is said once, without a row of zeros behind it.
    #[test]
    fn penalties_go_by_their_labels_and_nothing_is_told_of_zeros() {
        let part = cuboid(4.0, 4.0, 60.0);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let advice = advise(&bench, &Wanted::first(3), &Silent).expect("not stopped");
        let facts = PartFacts::new(&part, &[], Vec::new());
        let said = text(&facts, &advice.as_stored, None, &settings, Look::plain(80));
        let (_, sum) = said.split_once("What the total of ").expect("the sum");
        let [charged, other] = [Penalty::Slender, Penalty::Overhang].map(penalty_label);
        assert!(sum.contains(&format!("• {charged} ")), "{sum}");
        assert!(!sum.contains(other), "{sum}");
        for row in Penalty::ALL.map(|p| (p.name(), penalty_label(p))) {
            let bare = row.0 != row.1 && sum.contains(&format!("• {} ", row.0));
            assert!(!bare, "{row:?}: {sum}");
        }
        assert!(
            said.contains("ZXY: the printer's axes") || said.contains("ZYX: the printer's axes")
        );
        let support = said
            .lines()
            .find(|l| l.starts_with("support "))
            .expect("a line");
        assert!(support.ends_with(" 0 mm³"), "{support}");
    }
}
