//! What a calliper read, held against what it should have read.
//!
//! Each reading is explained by one of a few causes, each with at most one free
//! number, fitted by least squares, each reading weighed by its tolerance: nothing, one axis, all axes scaled by one
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

mod causes;
mod explain;

pub use causes::{Verdict, shown_mm};

use super::tolerance::tolerance_mm;
use crate::settings::Settings;
use causes::{Triple, axis_name};
use schemars::JsonSchema;
use serde::Serialize;

/// Difference in chi-square from which one cause is preferred to another: two
/// standard deviations, about 95 %.
pub const SURE: f64 = 4.0;

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
    /// How far a short length may be off before it counts: the setting.
    pub tolerance_mm: f64,
    /// How far each reading may be off: more than the setting where the part is long.
    pub tolerances_mm: [f64; 3],
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

/// Compares readings with the part. All lengths are above zero; a nominal of zero
/// gives a difference in percent that is not finite.
pub fn compare(read_mm: [f64; 3], nominal_mm: [f64; 3], settings: &Settings) -> ReadingAnalysis {
    compare_turned(read_mm, nominal_mm, None, settings)
}

/// The same of a part that stands aslant on the bed: its long side, of which the first reading
/// is, lies at `turned_deg` to X.
pub fn compare_turned(
    read_mm: [f64; 3],
    nominal_mm: [f64; 3],
    turned_deg: Option<f64>,
    settings: &Settings,
) -> ReadingAnalysis {
    let tolerances_mm = nominal_mm.map(|mm| tolerance_mm(mm, settings.tolerance_mm));
    let difference_mm = [0, 1, 2].map(|i| read_mm[i] - nominal_mm[i]);
    let mut found = ReadingAnalysis {
        read_mm,
        nominal_mm,
        difference_mm,
        difference_percent: [0, 1, 2].map(|i| 100.0 * difference_mm[i] / nominal_mm[i]),
        tolerance_mm: settings.tolerance_mm,
        tolerances_mm,
        verdict: Verdict::Mixed,
        axis: None,
        sizes_of: None,
        factor: None,
        offset_mm: None,
        alternatives: Vec::new(),
        says: Vec::new(),
    };
    let triple = Triple {
        read: read_mm,
        nominal: nominal_mm,
        tolerance: tolerances_mm,
    };
    if (0..3).all(|i| difference_mm[i].abs() <= tolerances_mm[i]) {
        found.verdict = Verdict::InTolerance;
        found.says.push(explain::in_tolerance(&triple));
        return found;
    }
    if let Some((factor, name)) = triple.wrong_unit() {
        found.verdict = Verdict::WrongUnits;
        found.factor = Some(factor);
        found.says.push(explain::wrong_unit(factor, name));
        return found;
    }
    let mut near = triple.fits();
    near.retain(|f| f.possible);
    let least = near.iter().map(|f| f.chi2).fold(f64::INFINITY, f64::min);
    near.retain(|f| f.chi2 - least < SURE);
    near.sort_by(|a, b| a.chi2.total_cmp(&b.chi2));
    match &near[..] {
        [] => {
            if let Some(sizes_of) = triple.exchange() {
                found.verdict = Verdict::Exchanged;
                found.sizes_of = Some(sizes_of.map(axis_name));
                found.says.push(explain::exchanged(sizes_of, &triple));
            } else {
                found.says.push(explain::mixed());
            }
        }
        [best] => {
            found.verdict = best.verdict;
            found.axis = best.axis.map(axis_name);
            found.factor = best.factor;
            found.offset_mm = best.offset;
            found.says = explain::explain(best, &triple, turned_deg, settings);
        }
        _ => {
            found.verdict = Verdict::CannotTell;
            found.alternatives = near.iter().map(|f| f.verdict).collect();
            found.says = explain::undecided(&near, &triple);
        }
    }
    found
}

#[cfg(test)]
mod tests;
