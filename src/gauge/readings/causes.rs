//! The causes that can explain readings, each fitted to them.

use crate::words::{fixed, joined};
use schemars::JsonSchema;
use serde::Serialize;

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

/// What was read, what it should be and how far it may be off, along X, Y and Z, mm.
#[derive(Debug, Clone, Copy)]
pub struct Triple {
    pub read: [f64; 3],
    pub nominal: [f64; 3],
    pub tolerance: [f64; 3],
}

/// One cause fitted to the readings.
#[derive(Debug, Clone)]
pub struct CauseFit {
    pub verdict: Verdict,
    /// In words, among others that explain the readings as well.
    pub name: String,
    pub axis: Option<usize>,
    pub factor: Option<f64>,
    pub offset: Option<f64>,
    /// What should be read if this is the cause, mm.
    pub model: [f64; 3],
    pub chi2: f64,
    /// Every reading is no farther from the model than its tolerance.
    pub possible: bool,
}

impl Triple {
    /// The unit that was taken for another, if one was, with its factor.
    pub fn wrong_unit(&self) -> Option<(f64, &'static str)> {
        UNITS.into_iter().find(|(factor, _)| {
            (0..3).all(|i| {
                let want = factor * self.nominal[i];
                // A length below the tolerance says nothing, so the share alone decides.
                (self.read[i] - want).abs() <= UNIT_SHARE * want
            })
        })
    }

    /// The axis whose size each reading is, where readings taken for one another explain all
    /// three. None between axes of the same size to within the tolerance: nothing shows it.
    pub fn exchange(&self) -> Option<[usize; 3]> {
        let off = |i: usize, of: usize| (self.read[i] - self.nominal[of]).abs();
        let told = |i: usize, of: usize| {
            i == of || (self.nominal[i] - self.nominal[of]).abs() > self.tolerance[of]
        };
        let right = |i: usize, of: usize| off(i, of) <= self.tolerance[of] && told(i, of);
        ORDERS
            .into_iter()
            .filter(|order| (0..3).all(|i| right(i, order[i])))
            .min_by(|a, b| {
                let worst =
                    |order: &[usize; 3]| (0..3).map(|i| off(i, order[i])).fold(0.0, f64::max);
                worst(a).total_cmp(&worst(b))
            })
    }

    /// Reading less nominal as the printed numbers have it: of both to a hundredth, mm.
    pub fn shown(&self, axis: usize) -> f64 {
        shown_mm(self.read[axis], self.nominal[axis])
    }

    /// Every cause with its best number.
    pub fn fits(&self) -> Vec<CauseFit> {
        let (read, nominal) = (self.read, self.nominal);
        let sigma = self.tolerance.map(|t| t / 2.0);
        let fit = |verdict, name, axis, factor, offset, model: [f64; 3]| {
            let left = [0, 1, 2].map(|i| (read[i] - model[i]).abs());
            CauseFit {
                verdict,
                name,
                axis,
                factor,
                offset,
                model,
                chi2: (0..3).map(|i| (left[i] / sigma[i]).powi(2)).sum(),
                possible: (0..3).all(|i| left[i] <= self.tolerance[i]),
            }
        };
        let one_axis = |axis: usize| {
            let mut model = nominal;
            model[axis] = read[axis];
            let factor = Some(read[axis] / nominal[axis]);
            let offset = read[axis] - nominal[axis];
            let name = format!("{} alone is {}", axis_name(axis), amount(self.shown(axis)));
            let (verdict, offset) = (Verdict::OneAxis, Some(offset));
            fit(verdict, name, Some(axis), factor, offset, model)
        };
        let shifted = |verdict, axes: &str, offset: f64, by: [f64; 3]| {
            let model = [0, 1, 2].map(|i| nominal[i] + by[i]);
            let name = format!("{axes} are {}", amount(offset));
            fit(verdict, name, None, None, Some(offset), model)
        };
        // Each counts by how sure it is.
        let weights = sigma.map(|s| 1.0 / (s * s));
        let sum = |of: &dyn Fn(usize) -> f64, n: usize| (0..n).map(|i| weights[i] * of(i)).sum();
        let squares: f64 = sum(&|i| nominal[i] * nominal[i], 3);
        let products: f64 = sum(&|i| read[i] * nominal[i], 3);
        let factor = products / squares.max(f64::MIN_POSITIVE);
        let scaled = nominal.map(|n| n * factor);
        let name = format!("all axes are {}", percent(factor));
        let mean = |n: usize| -> f64 {
            let off: f64 = sum(&|i| read[i] - nominal[i], n);
            off / sum(&|_| 1.0, n)
        };
        let (all, plan) = (mean(3), mean(2));
        vec![
            one_axis(0),
            one_axis(1),
            one_axis(2),
            fit(Verdict::AllScaled, name, None, Some(factor), None, scaled),
            shifted(Verdict::SameOffset, "all axes", all, [all; 3]),
            shifted(Verdict::PlanOffset, "X and Y", plan, [plan, plan, 0.0]),
        ]
    }

    /// Lengths of some axes: "Y 40.40 and Z 20.20".
    pub fn listed(axes: &[usize], mm: [f64; 3]) -> String {
        let one = |&i: &usize| format!("{} {}", axis_name(i), fixed(mm[i], 2));
        joined(axes.iter().map(one), " and ")
    }
}

/// The orders of three axes besides the right one: three pairs exchanged, two in a circle.
const ORDERS: [[usize; 3]; 5] = [[1, 0, 2], [2, 1, 0], [0, 2, 1], [1, 2, 0], [2, 0, 1]];

/// Reading less nominal, as the two numbers printed to a hundredth have it, mm.
pub fn shown_mm(read: f64, nominal: f64) -> f64 {
    ((read * 100.0).round() - (nominal * 100.0).round()) / 100.0
}

/// X, Y or Z.
pub fn axis_name(axis: usize) -> char {
    ['X', 'Y', 'Z'][axis.min(2)]
}

/// "0.99 % too long".
pub fn percent(factor: f64) -> String {
    let p = 100.0 * (factor - 1.0);
    format!("{} % {}", crate::words::decimal(p.abs(), 2), too_long(p))
}

/// "0.40 mm too short".
pub fn amount(mm: f64) -> String {
    format!("{} mm {}", fixed(mm.abs(), 2), too_long(mm))
}

fn too_long(by: f64) -> &'static str {
    if by > 0.0 { "too long" } else { "too short" }
}
