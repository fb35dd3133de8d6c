//! All figures of one pose, a line each: value, what was measured, what it means.

use super::figures::{FigureKey, TABLE};
use super::json::PartFacts;
use super::layout::{Look, list, wrap};
use super::table::gate_in_words;
use crate::advice::RankedPose;
use crate::gauge::readings::ReadingAnalysis;
use crate::settings::Settings;
use crate::words::printable;
use crate::words::{decimal, length, side_down, three, vector};

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
    let mut head = format!("{file}: {side} {down}, axes {axes}");
    for gate in &pose.gates {
        head += &format!("; {}", gate_in_words(gate));
    }
    let mut out = look.paragraph(&(head + ".")) + "\n";
    if let Some(found) = found {
        list(&mut out, look, "What the calliper found", &readings(found));
        out.push('\n');
    }
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
    let charges: Vec<String> = pose
        .charges
        .iter()
        .filter(|c| c.value != 0.0)
        .map(|c| format!("{}: {}", c.penalty.name(), three(c.value)))
        .collect();
    let penalties = format!("Penalties, together {}", three(pose.total));
    let design: Vec<String> = pose.design.iter().map(|r| r.says.clone()).collect();
    for (heading, items) in [
        ("About the file", &part.notes),
        ("What keeps this pose from being good", &pose.faults),
        ("What change of the part would help", &design),
        ("On the machine", &pose.precautions),
        ("What the calliper should read", &card(pose)),
        ("What speaks for it and against it", &pose.reasons),
        (penalties.as_str(), &charges),
    ] {
        list(&mut out, look, heading, items);
    }
    out
}

/// The measuring card, a line a reading.
fn card(pose: &RankedPose) -> Vec<String> {
    let tolerance = |mm: f64| format!(" (± {})", decimal(mm, 2));
    pose.card
        .lines
        .iter()
        .map(|l| format!("{}{}", l.says, tolerance(l.tolerance_mm)))
        .chain(pose.card.notes.iter().cloned())
        .collect()
}

/// Readings against the part, then what they mean.
fn readings(found: &ReadingAnalysis) -> Vec<String> {
    let reading = |i: usize| {
        let (read, nominal) = (decimal(found.read_mm[i], 2), length(found.nominal_mm[i]));
        let [mm, percent] = [found.difference_mm[i], found.difference_percent[i]].map(signed);
        let axis = ["X", "Y", "Z"][i];
        format!("{axis}: read {read}, should be {nominal}: {mm} mm, {percent} %")
    };
    let mut out: Vec<String> = (0..3).map(reading).collect();
    out.extend(found.says.iter().cloned());
    out
}

/// Two decimals with a sign.
fn signed(value: f64) -> String {
    let text = decimal(value, 2);
    if value > 0.0 && text != "0" {
        format!("+{text}")
    } else {
        text
    }
}
