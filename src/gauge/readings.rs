//! What a calliper read, held against what it should have read.
//!
//! Each reading is explained by one of a few causes, each with at most one free
//! number, fitted by least squares: nothing, one axis, all axes scaled by one
//! factor, all axes off by one amount, X and Y off by one amount. A cause is
//! possible if no reading is left more than the tolerance away from it. Of the
//! possible ones the one that leaves least wins; another whose chi-square lies
//! within [`SURE`] of it cannot be told from it, and then that is said. The
//! tolerance is taken as two standard deviations of print and reading together.
//!
//! Wrong units are looked for first: their factors are so far from 1 that nothing
//! else explains them. Readings of two or three axes taken for one another are looked for
//! where none of these causes is possible. Source: least squares and likelihood ratio, any statistics
//! text; the causes are common practice.

use crate::materials::AMBIENT_C;
use crate::settings::Settings;
use crate::words::{decimal, joined, length};
use schemars::JsonSchema;
use serde::Serialize;

/// Difference in chi-square from which one cause is preferred to another: two
/// standard deviations, about 95 %.
pub const SURE: f64 = 4.0;

/// Factors of a unit taken for another, and which.
const UNITS: [(f64, &str); 6] = [
    (25.4, "inches for millimetres"),
    (1.0 / 25.4, "millimetres for inches"),
    (10.0, "centimetres for millimetres"),
    (0.1, "millimetres for centimetres"),
    (1000.0, "metres for millimetres"),
    (0.001, "millimetres for metres"),
];

/// A reading may be this share off and still show a wrong unit.
const UNIT_SHARE: f64 = 0.03;

/// An offset from which the tool is suspected before the print, mm: no machine
/// lays lines so much too wide (common practice: zero the calliper first).
const TOOL_MM: f64 = 1.0;

/// What the readings mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Every reading is within the tolerance.
    InTolerance,
    /// One axis is off, the others are right.
    OneAxis,
    /// All axes are off by the same factor.
    AllScaled,
    /// All axes are off by a factor between two units of length.
    WrongUnits,
    /// All axes are off by the same amount.
    SameOffset,
    /// X and Y are off by the same amount, Z is right.
    PlanOffset,
    /// Every reading is right, but of another axis than the one it was given for.
    Exchanged,
    /// Several causes explain the readings equally well.
    CannotTell,
    /// No single cause explains the readings.
    Mixed,
}

/// Readings compared with the part in one pose. Build axes X, Y, Z, mm.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "Found")]
pub struct ReadingAnalysis {
    /// What the calliper read.
    pub read_mm: [f64; 3],
    /// What the part measures in this pose.
    pub nominal_mm: [f64; 3],
    /// Reading less nominal.
    pub difference_mm: [f64; 3],
    /// The same in percent of the nominal.
    pub difference_percent: [f64; 3],
    /// How far a reading may be off before it counts.
    pub tolerance_mm: f64,
    /// What they mean.
    pub verdict: Verdict,
    /// The axis that is off, where one is: X, Y or Z.
    pub axis: Option<char>,
    /// Axis whose size each reading is, where readings are exchanged.
    pub sizes_of: Option<[char; 3]>,
    /// The factor, where a factor explains the readings.
    pub factor: Option<f64>,
    /// The amount, where an amount explains the readings.
    pub offset_mm: Option<f64>,
    /// The causes between which the readings do not decide; empty otherwise.
    pub alternatives: Vec<Verdict>,
    /// What it means and what to do, in sentences.
    pub says: Vec<String>,
}

/// One cause fitted to the readings.
#[derive(Debug, Clone)]
struct Fit {
    verdict: Verdict,
    /// In words, among others that explain the readings as well.
    name: String,
    axis: Option<usize>,
    factor: Option<f64>,
    offset: Option<f64>,
    chi2: f64,
    /// Largest reading left over, mm.
    worst: f64,
}

/// Compares readings with the part. All lengths are above zero; a nominal of zero
/// gives a difference in percent that is not finite.
pub fn compare(read_mm: [f64; 3], nominal_mm: [f64; 3], settings: &Settings) -> ReadingAnalysis {
    let tolerance_mm = settings.tolerance_mm;
    let difference_mm = [0, 1, 2].map(|i| read_mm[i] - nominal_mm[i]);
    let mut found = ReadingAnalysis {
        read_mm,
        nominal_mm,
        difference_mm,
        difference_percent: [0, 1, 2].map(|i| 100.0 * difference_mm[i] / nominal_mm[i]),
        tolerance_mm,
        verdict: Verdict::Mixed,
        axis: None,
        sizes_of: None,
        factor: None,
        offset_mm: None,
        alternatives: Vec::new(),
        says: Vec::new(),
    };
    if difference_mm.iter().all(|d| d.abs() <= tolerance_mm) {
        found.verdict = Verdict::InTolerance;
        found.says.push(format!(
            "Within ± {} on every axis: as good as a machine of this kind prints.",
            length(tolerance_mm)
        ));
        return found;
    }
    if let Some((factor, name)) = wrong_unit(&found) {
        found.verdict = Verdict::WrongUnits;
        found.factor = Some(factor);
        found.says.push(format!(
            "Every reading is {} times what it should be: somewhere {name} were taken. Look at the unit the calliper shows, then at the unit of the file (--units).",
            decimal(factor, 4)
        ));
        return found;
    }
    let mut near = fits(&found);
    near.retain(|f| f.worst <= tolerance_mm);
    let least = near.iter().map(|f| f.chi2).fold(f64::INFINITY, f64::min);
    near.retain(|f| f.chi2 - least < SURE);
    near.sort_by(|a, b| a.chi2.total_cmp(&b.chi2));
    match &near[..] {
        [] => {
            if let Some(sizes_of) = exchange(&found) {
                found.verdict = Verdict::Exchanged;
                found.sizes_of = Some(sizes_of.map(axis_name));
                found.says.push(exchanged(sizes_of, &found));
            } else {
                found.says.push(
                    "No single cause explains these: zero the calliper against a length you know, then measure again, each axis in two places.".into(),
                );
            }
        }
        [best] => {
            found.verdict = best.verdict;
            found.axis = best.axis.map(axis_name);
            found.factor = best.factor;
            found.offset_mm = best.offset;
            found.says.push(explain(best, &found, settings));
        }
        _ => {
            found.verdict = Verdict::CannotTell;
            found.alternatives = near.iter().map(|f| f.verdict).collect();
            found.says = undecided(&near, &found);
        }
    }
    found
}

fn wrong_unit(found: &ReadingAnalysis) -> Option<(f64, &'static str)> {
    UNITS.into_iter().find(|(factor, _)| {
        (0..3).all(|i| {
            let want = factor * found.nominal_mm[i];
            // A length below the tolerance says nothing, so the share alone decides.
            (found.read_mm[i] - want).abs() <= UNIT_SHARE * want
        })
    })
}

/// The orders of three axes besides the right one: three pairs exchanged, two in a circle.
const ORDERS: [[usize; 3]; 5] = [[1, 0, 2], [2, 1, 0], [0, 2, 1], [1, 2, 0], [2, 0, 1]];

/// The axis whose size each reading is, where readings taken for one another explain all
/// three. None between axes of the same size to within the tolerance: nothing shows it.
fn exchange(found: &ReadingAnalysis) -> Option<[usize; 3]> {
    let ReadingAnalysis {
        read_mm,
        nominal_mm,
        tolerance_mm,
        ..
    } = found;
    let off = |i: usize, of: usize| (read_mm[i] - nominal_mm[of]).abs();
    let told =
        |i: usize, of: usize| i == of || (nominal_mm[i] - nominal_mm[of]).abs() > *tolerance_mm;
    ORDERS
        .into_iter()
        .filter(|order| (0..3).all(|i| off(i, order[i]) <= *tolerance_mm && told(i, order[i])))
        .min_by(|a, b| {
            let worst = |order: &[usize; 3]| (0..3).map(|i| off(i, order[i])).fold(0.0, f64::max);
            worst(a).total_cmp(&worst(b))
        })
}

/// What to say of readings that are exchanged.
fn exchanged(sizes_of: [usize; 3], found: &ReadingAnalysis) -> String {
    let moved: Vec<usize> = (0..3).filter(|&i| sizes_of[i] != i).collect();
    let each = moved.iter().map(|&i| {
        let (from, of) = (axis_name(i), axis_name(sizes_of[i]));
        let read = length(found.read_mm[i]);
        format!("what was read along {from}, {read}, is the size along {of}")
    });
    let axes = match moved[..] {
        [a, b] => format!("{} and {}", axis_name(a), axis_name(b)),
        _ => "X, Y and Z".into(),
    };
    format!(
        "{axes} readings are exchanged: {}. Give them in the order X, Y, Z of the bed, or look at how the part was turned on it.",
        joined(each, ", ")
    )
}

/// Every cause with its best number.
fn fits(found: &ReadingAnalysis) -> Vec<Fit> {
    let (read, nominal) = (found.read_mm, found.nominal_mm);
    let sigma = found.tolerance_mm / 2.0;
    let fit = |verdict, name, axis, factor, offset, model: [f64; 3]| {
        let left = [0, 1, 2].map(|i| read[i] - model[i]);
        Fit {
            verdict,
            name,
            axis,
            factor,
            offset,
            chi2: left.iter().map(|r| (r / sigma).powi(2)).sum(),
            worst: left.iter().fold(0.0, |w: f64, r| w.max(r.abs())),
        }
    };
    let one_axis = |axis: usize| {
        let mut model = nominal;
        model[axis] = read[axis];
        let factor = Some(read[axis] / nominal[axis]);
        let offset = read[axis] - nominal[axis];
        let name = format!("{} alone {}", axis_name(axis), amount(offset));
        let (verdict, offset) = (Verdict::OneAxis, Some(offset));
        fit(verdict, name, Some(axis), factor, offset, model)
    };
    let shifted = |verdict, axes: &str, offset: f64, by: [f64; 3]| {
        let model = [0, 1, 2].map(|i| nominal[i] + by[i]);
        let name = format!("{axes} {}", amount(offset));
        fit(verdict, name, None, None, Some(offset), model)
    };
    let dot = |a: [f64; 3], b: [f64; 3]| (0..3).map(|i| a[i] * b[i]).sum::<f64>();
    let factor = dot(read, nominal) / dot(nominal, nominal).max(f64::MIN_POSITIVE);
    let scaled = nominal.map(|n| n * factor);
    let name = format!("all axes {}", percent(factor));
    let d = found.difference_mm;
    let (all, plan) = (d.iter().sum::<f64>() / 3.0, f64::midpoint(d[0], d[1]));
    vec![
        one_axis(0),
        one_axis(1),
        one_axis(2),
        fit(Verdict::AllScaled, name, None, Some(factor), None, scaled),
        shifted(Verdict::SameOffset, "all axes", all, [all; 3]),
        shifted(Verdict::PlanOffset, "X and Y", plan, [plan, plan, 0.0]),
    ]
}

fn axis_name(axis: usize) -> char {
    ['X', 'Y', 'Z'][axis.min(2)]
}

fn percent(factor: f64) -> String {
    let p = 100.0 * (factor - 1.0);
    format!("{} % {}", decimal(p.abs(), 2), too_long(p))
}

fn amount(mm: f64) -> String {
    format!("{} {}", length(mm.abs()), too_long(mm))
}

fn too_long(by: f64) -> &'static str {
    if by > 0.0 { "too long" } else { "too short" }
}

fn explain(fit: &Fit, found: &ReadingAnalysis, settings: &Settings) -> String {
    let factor = fit.factor.unwrap_or(1.0);
    let offset = fit.offset.unwrap_or(0.0);
    let (off, share) = (amount(offset), percent(factor));
    match (fit.verdict, fit.axis) {
        (Verdict::OneAxis, Some(2)) => {
            let first = settings.first_layer_mm;
            let tail = if offset < 0.0 && -offset <= first + found.tolerance_mm {
                format!(
                    "No more than a first layer of {}: it was pressed too hard on the bed, or the top was not finished. Measure a taller part before you touch the Z drive.",
                    length(first)
                )
            } else {
                "Look at the Z drive's steps, and at how level and how high the first layer went down.".into()
            };
            format!("Only Z is off: {off} ({share}). {tail}")
        }
        (Verdict::OneAxis, Some(axis)) => format!(
            "Only {0} is off: {off} ({share}). Look at the steps, belt tension and pulley of the {0} drive; one axis alone does not shrink.",
            axis_name(axis)
        ),
        (Verdict::AllScaled, _) => {
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
                format!(
                    "{name} shrinks {percent} % when it cools freely from {from} to {to} °C, {so}."
                )
            } else {
                "Plastic does not grow: look for a scale that was set before printing.".into()
            };
            let factor = decimal(factor, 4);
            format!("All axes are off by one factor, {factor}: {share}. {tail}")
        }
        (Verdict::SameOffset, _) => {
            let first = if offset.abs() >= TOOL_MM {
                "That is the measuring tool, not the print: zero the calliper with its jaws shut, check it on a length you know, and measure again."
            } else {
                "Suspect the calliper before the print: zero it with its jaws shut and check it on a length you know. If it is right, the lines are laid too wide or too narrow."
            };
            format!("Every axis is {off}, long sides and short. {first}")
        }
        _ => format!(
            "X and Y are both {off}, Z is right: outlines too {}. Measure a few millimetres above the bed, where the first layer does not bulge; if it stays, look at the flow and the line width.",
            if offset > 0.0 { "fat" } else { "thin" }
        ),
    }
}

/// What to say where several causes explain the readings.
fn undecided(near: &[Fit], found: &ReadingAnalysis) -> Vec<String> {
    let names = joined(near.iter().map(|f| &f.name), "; or ");
    let mut out = vec![format!("These readings do not decide between: {names}.")];
    let has = |v| near.iter().any(|f| f.verdict == v);
    // A factor and an amount in the plan look alike where X and Y are.
    let alike = if has(Verdict::SameOffset) { 3 } else { 2 };
    let sides = || found.nominal_mm[..alike].iter().copied();
    let (lo, hi) = (
        sides().fold(f64::INFINITY, f64::min),
        sides().fold(0.0, f64::max),
    );
    if has(Verdict::AllScaled) && (has(Verdict::SameOffset) || has(Verdict::PlanOffset)) {
        out.push(format!(
            "Sides of {} to {} are too much alike to tell a factor from an amount. Measure a much shorter length, a wall or a slot, as well: a factor leaves it nearly right, an amount shifts it just as far. Zero the calliper first.",
            length(lo),
            length(hi)
        ));
    } else {
        out.push(
            "Zero the calliper, measure each axis in three places and compare the means.".into(),
        );
    }
    out
}

#[cfg(test)]
mod tests;
