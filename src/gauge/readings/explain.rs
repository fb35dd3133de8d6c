//! What readings mean and what to do, in sentences: what to check first comes first.

use super::causes::{CauseFit, Triple, Verdict, amount, axis_name, percent};
use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use crate::words::{decimal, degrees, fixed, joined, length};

/// An offset from which the tool is suspected before the print, mm: no machine
/// lays lines so much too wide (common practice: zero the calliper first).
const TOOL_MM: f64 = 1.0;

/// Over a length shorter than this the drive is not blamed yet: what a nozzle's width or a
/// seam adds is as much as a wrong scale, mm (house value).
const SHORT_MM: f64 = 100.0;

/// A wall by which a factor and an amount are told apart, mm.
const WALL_MM: f64 = 5.0;

/// What to say of readings that are right.
pub fn in_tolerance(t: &Triple) -> String {
    let [x, y, z] = t.tolerance.map(|mm| fixed(mm, 2));
    let within = if x == y && y == z {
        format!("Within ± {x} mm on every axis")
    } else {
        format!("Within the tolerance on every axis (X ± {x}, Y ± {y}, Z ± {z} mm)")
    };
    format!("{within}: as good as a machine of this kind prints.")
}

/// What to say of readings in a wrong unit.
pub fn wrong_unit(factor: f64, name: &str) -> String {
    format!(
        "Every reading is {} times what it should be: somewhere {name} were taken. Look at the unit the calliper shows, then at the unit of the file (--units).",
        decimal(factor, 4)
    )
}

/// What to say of readings that are exchanged.
pub fn exchanged(sizes_of: [usize; 3], t: &Triple) -> String {
    let moved: Vec<usize> = (0..3).filter(|&i| sizes_of[i] != i).collect();
    // The reading that belongs to each axis.
    let belongs = |of: usize| (0..3).find(|&i| sizes_of[i] == of).unwrap_or(of);
    let each = moved.iter().map(|&of| {
        let read = fixed(t.read[belongs(of)], 2);
        format!("{} as {read}", axis_name(of))
    });
    let axes = match moved[..] {
        [a, b] => format!("{} and {}", axis_name(a), axis_name(b)),
        _ => "X, Y and Z".into(),
    };
    format!(
        "{axes} were exchanged: read {}, and every reading is within its tolerance. Give them in the order X, Y, Z of the bed, or look at how the part was turned on it.",
        joined(each, ", ")
    )
}

/// What to say where no cause explains the readings.
pub fn mixed() -> String {
    "No single cause explains these: zero the calliper against a length you know, then measure again, each axis in two places.".into()
}

/// What to say of the one cause that explains the readings. `turned_deg` is the angle of the
/// part's long side to X where the part stands aslant on the bed.
pub fn explain(
    fit: &CauseFit,
    t: &Triple,
    turned_deg: Option<f64>,
    settings: &Settings,
) -> Vec<String> {
    let factor = fit.factor.unwrap_or(1.0);
    let offset = fit.offset.unwrap_or(0.0);
    let off = amount(offset);
    match (fit.verdict, fit.axis) {
        (Verdict::OneAxis, Some(axis)) => one_axis(axis, factor, t, turned_deg, settings),
        (Verdict::AllScaled, _) => vec![scaled(factor, settings)],
        (Verdict::SameOffset, _) if offset.abs() >= TOOL_MM => vec![format!(
            "Zero the calliper with its jaws shut, check it on a length you know, and read again: every axis is {off}, long sides and short. That is the measuring tool, not the print."
        )],
        (Verdict::SameOffset, _) => vec![format!(
            "Zero the calliper with its jaws shut, check it on a length you know, and read again: every axis is {off}, long sides and short, and that is what a wrong zero does. If the zero is right, look at the flow for X and Y and at the first layer's height for Z."
        )],
        _ if offset > 0.0 => vec![format!(
            "X and Y are both {off}, Z is right: too much flow, or a first layer that bulges (elephant's foot). Read again a few millimetres above the bed. If that reads right, it is the first layer: set it higher or compensate it. If not, lower the flow: a single wall should measure {} mm.",
            fixed(settings.line_mm, 2)
        )],
        _ => vec![format!(
            "X and Y are both {off}, Z is right: the outlines are undersize. Read again in a second place of each side. If it stays, raise the flow: a single wall should measure {} mm.",
            fixed(settings.line_mm, 2)
        )],
    }
}

/// What to say of one axis that is off.
fn one_axis(
    axis: usize,
    factor: f64,
    t: &Triple,
    turned_deg: Option<f64>,
    settings: &Settings,
) -> Vec<String> {
    let name = axis_name(axis);
    let off = t.shown(axis);
    let mut out = vec![format!(
        "Only {name} is off: {}, {} %. Read it again, in a second place.",
        amount(off),
        decimal((100.0 * (factor - 1.0)).abs(), 1)
    )];
    let first = settings.first_layer_mm;
    let short = t.nominal[axis] < SHORT_MM;
    if axis == 2 && off < 0.0 && -off <= first + t.tolerance[2] {
        out.push(format!(
            "It is no more than a first layer of {}: it was pressed too hard on the bed, or the top was not finished. Measure a taller part before you touch the Z drive.",
            length(first)
        ));
    } else if let Some(deg) = turned_deg.filter(|_| axis < 2) {
        out.push(format!(
            "The part stands at {} to X, so both drives draw this length: print one that lies along X before you blame either.",
            degrees(deg)
        ));
    } else if short {
        out.push(format!(
            "Take a second, longer length along {name} before you blame the drive: over {} an offset and a wrong scale look the same.",
            length(t.nominal[axis])
        ));
    } else if axis == 2 {
        out.push(
            "If it stays, look at the Z drive's steps, and at how level and how high the first layer went down.".into(),
        );
    } else {
        out.push(format!(
            "If it stays, look at the steps, belt tension and pulley of the {name} drive; one axis alone does not shrink."
        ));
    }
    let others: Vec<usize> = (0..3).filter(|&i| i != axis).collect();
    let model = t.nominal.map(|n| n * factor);
    out.push(format!(
        "If all axes were scaled by as much, they would read {}; if {name} alone is off, {}.",
        Triple::listed(&others, model),
        Triple::listed(&others, t.nominal)
    ));
    out
}

/// What to say of one factor on all axes.
fn scaled(factor: f64, settings: &Settings) -> String {
    let share = percent(factor);
    let material = settings.material;
    let free = 100.0 * material.contraction();
    let [from, to] = [material.stiffens_c, AMBIENT_C].map(|c| decimal(c, 0));
    let (name, percent, print) = (&material.name, decimal(free, 2), 100.0 / factor);
    let so = if 100.0 * (1.0 - factor) <= 1.5 * free {
        format!("so it may be that: print it at {} %", decimal(print, 2))
    } else {
        "less than this: look for a scale that was set before printing".into()
    };
    let tail = if factor < 1.0 {
        format!("{name} shrinks {percent} % when it cools freely from {from} to {to} °C, {so}.")
    } else {
        "Plastic does not grow: look for a scale that was set before printing.".into()
    };
    let factor = decimal(factor, 4);
    format!("All axes differ by one factor, {factor}: {share}. {tail}")
}

/// What to say where several causes explain the readings.
pub fn undecided(near: &[CauseFit], t: &Triple) -> Vec<String> {
    let names = joined(near.iter().map(|f| &f.name), "; or ");
    let mut out = vec![format!(
        "Zero the calliper and read again: these readings do not decide between causes. Either {names}."
    )];
    let has = |v| near.iter().any(|f| f.verdict == v);
    // Axes on which the causes ask for readings that a calliper tells apart.
    let apart: Vec<usize> = (0..3)
        .filter(|&i| {
            let asked = || near.iter().map(|f| f.model[i]);
            let (lo, hi) = (
                asked().fold(f64::INFINITY, f64::min),
                asked().fold(f64::NEG_INFINITY, f64::max),
            );
            hi - lo >= TOLD_MM
        })
        .collect();
    // A factor and an amount in the plan look alike where X and Y are.
    let alike = if has(Verdict::SameOffset) { 3 } else { 2 };
    let sides = || t.nominal[..alike].iter().copied();
    let (lo, hi) = (
        sides().fold(f64::INFINITY, f64::min),
        sides().fold(0.0, f64::max),
    );
    let by = |of: fn(&CauseFit) -> Option<f64>, v: &[Verdict]| {
        near.iter().find(|f| v.contains(&f.verdict)).and_then(of)
    };
    let factor = by(|f| f.factor, &[Verdict::AllScaled]);
    let offset = by(|f| f.offset, &[Verdict::SameOffset, Verdict::PlanOffset]);
    if let (Some(factor), Some(offset)) = (factor, offset) {
        let sides = if length(lo) == length(hi) {
            format!("Sides of {}", length(lo))
        } else {
            format!("Sides of {} to {}", length(lo), length(hi))
        };
        out.push(format!(
            "{sides} are too much alike to tell a factor from an amount. Measure a much shorter length along X or Y as well: a wall of {} would read {} by the factor, {} by the amount.",
            length(WALL_MM),
            fixed(WALL_MM * factor, 2),
            fixed(WALL_MM + offset, 2)
        ));
    }
    if !apart.is_empty() {
        let each = near
            .iter()
            .map(|f| format!("{} if {}", Triple::listed(&apart, f.model), f.name));
        out.push(format!("Should read {}.", joined(each, "; ")));
    }
    out
}

/// Readings that differ by this much a calliper tells apart for sure, mm (house value).
const TOLD_MM: f64 = 0.05;
