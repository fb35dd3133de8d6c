//! The readings of a card in words, and what to mind.

use super::line::{CardGroup, Measurement, Reading};
use super::stand::{BuildAxis, JAW_MM, Lie};
use crate::words::{capital, count, decimal, degrees, joined};

/// Longest length that a common calliper takes, mm (house value).
pub(super) const CALLIPER_MM: f64 = 150.0;

pub(super) fn in_words(line: &Reading) -> String {
    let (along, size) = (line.lies.along(), decimal(line.nominal_mm, 2));
    let [x, y, z] = line.at_mm.map(|v| decimal(v, 1));
    let several = count(line.count, "place", "places");
    let one_of = (line.count > 1).then(|| format!("in {several}, one "));
    let at = format!("{}at x {x}, y {y}, z {z}", one_of.unwrap_or_default());
    match (line.kind, line.from_x_deg) {
        (Measurement::Extent, Some(deg)) => {
            format!("{size} mm over all {along}, at {} to X", degrees(deg))
        }
        (Measurement::Extent, None) => format!("{} {size} mm over all", line.along),
        (Measurement::Outside, _) => {
            format!(
                "outside Ø {size} mm over all {}, measured across",
                line.lies.about()
            )
        }
        (Measurement::Thickness, _) => format!("{size} mm thick {along}, {at}"),
        (Measurement::Slot, _) => format!("{size} mm clear {along}, {at}"),
        (Measurement::Bore, _) if line.along == BuildAxis::Z => {
            format!("bore Ø {size} mm, upright, {at}")
        }
        (Measurement::Bore, _) => {
            format!("bore Ø {size} mm, lying, {at}")
        }
        (Measurement::Pin, _) => format!("outside Ø {size} mm {}, {at}", line.lies.about()),
    }
}

impl Reading {
    /// What is measured in a few words, without the size.
    pub fn label(&self) -> String {
        let (along, about) = (self.lies.along(), self.lies.about());
        match self.kind {
            Measurement::Extent => format!("{} over all", self.overall()),
            Measurement::Thickness => format!("wall {along}"),
            Measurement::Slot => format!("slot {along}"),
            Measurement::Bore => format!("bore Ø {about}"),
            Measurement::Outside | Measurement::Pin => format!("outside Ø {about}"),
        }
    }

    /// "X", or "along the part" where it stands turned on the bed; "outside Ø" of a round outline.
    pub fn overall(&self) -> String {
        match (self.kind, self.lies) {
            (Measurement::Outside, _) => "outside Ø".into(),
            (_, Lie::Of(axis)) => axis.to_string(),
            (_, Lie::Long | Lie::Cross) => self.lies.along(),
        }
    }
}

/// "X", "X and Y", "X, Y and Z".
fn listed(names: &[String]) -> String {
    match names {
        [first @ .., last] if !first.is_empty() => {
            format!("{} and {last}", joined(first, ", "))
        }
        _ => joined(names, ", "),
    }
}

/// The name of an overall size: "X", "the long side", "the outside diameter".
pub(super) fn name(kind: Measurement, lies: Lie) -> String {
    match kind {
        Measurement::Outside => "the outside diameter".into(),
        _ => lies.name(),
    }
}

/// What to mind when reading. `deep` are the overall sizes to whose ends the jaws do not get.
pub(super) fn notes(lines: &[Reading], deep: &[String], aslant_deg: Option<f64>) -> Vec<String> {
    let sides = if aslant_deg.is_some() {
        "the sides"
    } else {
        "X and Y"
    };
    let mut out = vec![
        "Zero the calliper with its jaws shut, and check it on something of known size, before you judge the print.".to_string(),
        format!("Read {sides} a few millimetres above the bed: the first layer bulges."),
    ];
    if let Some(deg) = aslant_deg {
        out.push(format!(
            "The part stands turned in the file that is written, its long side at {} to X: measure along the part and across it, not along the bed.",
            degrees(deg)
        ));
    }
    let long: Vec<String> = (lines.iter())
        .filter(|l| l.group == CardGroup::Overall && l.nominal_mm > CALLIPER_MM)
        .map(|l| name(l.kind, l.lies))
        .collect();
    let range = decimal(CALLIPER_MM, 0);
    match long.len() {
        0 => {}
        1 => out.push(capital(&format!(
            "{} is longer than a common calliper of {range} mm: use a rule or a longer calliper.",
            listed(&long)
        ))),
        _ => out.push(capital(&format!(
            "{} are longer than a common calliper of {range} mm: use a rule or a longer calliper.",
            listed(&long)
        ))),
    }
    if !deep.is_empty() {
        out.push(format!(
            "Jaws of {} mm do not reach both ends of {}: read it with a rule and a square on a flat plate.",
            decimal(JAW_MM, 0),
            listed(deep)
        ));
    }
    let lies = |l: &&Reading| l.kind == Measurement::Bore && l.along != BuildAxis::Z;
    match lines.iter().filter(lies).map(|l| l.count).sum::<usize>() {
        0 => {}
        1 => out.push("Read the horizontal bore level, from side to side: its roof sags.".into()),
        _ => {
            out.push("Read the horizontal bores level, from side to side: their roofs sag.".into());
        }
    }
    let has = |kind| lines.iter().any(|l| l.kind == kind);
    let holes = match (has(Measurement::Slot), has(Measurement::Bore)) {
        (true, true) => Some("slots and bores"),
        (true, false) => Some("slots"),
        (false, true) => Some("bores"),
        (false, false) => None,
    };
    let under = holes.map(|what| format!("{what} come out a little undersize"));
    let over = match (has(Measurement::Pin), &under) {
        (true, Some(_)) => Some("pins a little oversize"),
        (true, None) => Some("pins come out a little oversize"),
        (false, _) => None,
    };
    let said = [under, over.map(String::from)];
    let said = joined(said.into_iter().flatten(), ", ");
    if !said.is_empty() {
        out.push(capital(&format!(
            "{said}: judge the machine by the overall sizes, and ream, drill or file what has to fit."
        )));
    }
    out
}
