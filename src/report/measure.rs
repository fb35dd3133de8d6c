//! All figures of one pose, a line each: value, what was measured, what it means.

use super::figures::{self, TOTAL};
use super::json::PartFacts;
use super::layout::{Look, left, list, printable, wrap};
use super::table::gate_in_words;
use crate::advice::RankedPose;
use crate::gauge::readings::Found;
use crate::settings::Settings;
use crate::words::{decimal, length, side_down, three, vector};

/// Columns of the label.
const LABEL: usize = 27;

/// The figures of one pose with a line of meaning each.
pub fn text(
    part: &PartFacts,
    pose: &RankedPose,
    found: Option<&Found>,
    settings: &Settings,
    look: Look,
) -> String {
    let width = look.text_width();
    let mut head = format!(
        "{}: {} {}, axes {}",
        printable(&part.path),
        side_down(&pose.pose.down),
        vector(&pose.pose.down),
        pose.axes
    );
    for gate in &pose.gates {
        head.push_str("; ");
        head.push_str(gate_in_words(gate));
    }
    head.push('.');
    let mut out = wrap(&head, width, "", "");
    out.push('\n');
    if let Some(found) = found {
        list(&mut out, look, "What the calliper found", &readings(found));
        out.push('\n');
    }
    for figure in figures::TABLE {
        // The penalties and their sum have a list of their own.
        let Some(value) = figure.all(&pose.into()).filter(|_| figure.key != TOTAL.key) else {
            continue;
        };
        let mut keys = figure.with.iter().chain([&figure.key]);
        let doubt = if keys.any(|k| pose.figures.doubtful.iter().any(|d| d == k)) {
            " (doubtful, the surface has defects)"
        } else {
            ""
        };
        let text = format!("{value}{doubt}");
        let line = wrap(&text, width, &left(figure.label, LABEL), &" ".repeat(LABEL));
        out.push_str(&line.replacen(figure.label, &look.bold(figure.label), 1));
        let meaning = format!("{} {}", figure.measured(settings), figure.means);
        out.push_str(&wrap(&meaning, width, "    ", "    "));
    }
    let charges: Vec<String> = pose
        .charges
        .iter()
        .filter(|c| c.value != 0.0)
        .map(|c| format!("{}: {}", c.penalty.name(), three(c.value)))
        .collect();
    list(
        &mut out,
        look,
        &format!("Penalties, together {}", three(pose.total)),
        &charges,
    );
    list(
        &mut out,
        look,
        "What speaks for it and against it",
        &pose.reasons,
    );
    list(&mut out, look, "On the machine", &pose.precautions);
    list(
        &mut out,
        look,
        "What keeps this pose from being good",
        &pose.faults,
    );
    let design: Vec<String> = pose.design.iter().map(|r| r.says.clone()).collect();
    list(
        &mut out,
        look,
        "What change of the part would help",
        &design,
    );
    list(&mut out, look, "What the calliper should read", &card(pose));
    list(&mut out, look, "About the file", &part.notes);
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
fn readings(found: &Found) -> Vec<String> {
    let mut out: Vec<String> = (0..3)
        .map(|i| {
            format!(
                "{}: read {}, should be {}: {} mm, {} %",
                ["X", "Y", "Z"][i],
                decimal(found.read_mm[i], 2),
                length(found.nominal_mm[i]),
                signed(found.difference_mm[i]),
                signed(found.difference_percent[i])
            )
        })
        .collect();
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
