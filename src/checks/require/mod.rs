//! Requirements: conditions that a part must meet, for checks in a build.
//!
//! A requirement is one line such as
//! `support_after_bridges_mm3 < 0.5 cm3 and (part.closed or bridges == 0)`. It is judged
//! on the advice object of a part as `--json` prints it, so that a reader can redo the
//! judgement by hand, and a part that was measured yesterday is judged without being
//! measured again.
//!
//! - Numbers, with a unit where wanted; a number without one is in the unit of what it
//!   is compared with. Lengths um mm cm m in, areas mm2 cm2, volumes mm3 cm3, deg, s min h, g kg.
//! - Keys of the schema ([`keys`]); texts in quotes, compared by `==` and `!=`.
//! - `+ - * /`, comparisons that may be chained, `not`, `and`, `or`, parentheses ([`parse`]).
//! - A value that is not there (a figure without a finite value, the load without
//!   `--load`, a division by nothing) makes a comparison neither true nor false, and
//!   `and`, `or`, `not` go on from there as Kleene's logic of three values has it.
//!   What stays undecided is not met. Source: Kleene, *Introduction to Metamathematics*,
//!   1952, § 64 (from memory).

pub mod expr;
pub mod keys;
pub mod operator;
pub mod parse;
pub mod quantity;
#[cfg(test)]
mod tests;

pub use expr::Expr;
pub use operator::Operator;
pub use parse::ParseError;

use quantity::{UNITS, UnitSize, ValueKind};
use serde_json::Value;
use std::str::FromStr;

/// Which pose of a part is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Subject {
    /// The first of the list.
    #[default]
    Winner,
    /// The one in which the file is.
    AsLoaded,
}

/// A condition that a part must meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// As it was given.
    pub text: String,
    /// Its tree.
    pub expr: Expr,
}

/// What came of one requirement on one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Whether it is met; `None` where a value that decides it is not there.
    pub met: Option<bool>,
    /// The values it was judged on, in words: `height_mm is 28`.
    pub says: String,
}

impl FromStr for Requirement {
    type Err = ParseError;

    fn from_str(text: &str) -> Result<Self, ParseError> {
        Ok(Self {
            text: text.trim().to_string(),
            expr: parse::parse(text)?,
        })
    }
}

impl Requirement {
    /// Judges a part by its advice object, as `advise --json` prints it.
    pub fn judge(&self, advice: &Value, subject: Subject) -> Finding {
        let pose = match subject {
            Subject::Winner => &advice["poses"][0],
            Subject::AsLoaded => &advice["as_loaded"],
        };
        let evaluator = Evaluator { advice, pose };
        let said: Vec<String> = self
            .expr
            .keys()
            .iter()
            .map(|key| match key.find(advice, pose) {
                Some(value) => format!("{} is {value}", key.name),
                None => format!("{} has no value", key.name),
            })
            .collect();
        Finding {
            met: evaluator.truth(&self.expr),
            says: said.join(", "),
        }
    }
}

/// Where keys are looked up.
struct Evaluator<'a> {
    advice: &'a Value,
    pose: &'a Value,
}

/// A number in base units with its kind, or `None` in its place.
type Number = (Option<f64>, ValueKind);

impl Evaluator<'_> {
    fn truth(&self, expr: &Expr) -> Option<bool> {
        match expr {
            Expr::Not(a) => self.truth(a).map(|t| !t),
            Expr::Binary(op @ (Operator::And | Operator::Or), a, b) => {
                // What decides by itself, whatever the other side is.
                let decides = *op == Operator::Or;
                match (self.truth(a), self.truth(b)) {
                    (Some(a), Some(b)) if a != decides && b != decides => Some(!decides),
                    (a, b) if a == Some(decides) || b == Some(decides) => Some(decides),
                    _ => None,
                }
            }
            Expr::Compare(first, rest) => {
                let mut left: &Expr = first;
                let mut all = Some(true);
                for (how, right) in rest {
                    match self.compared(left, *how, right) {
                        Some(true) => {}
                        Some(false) => return Some(false),
                        None => all = None,
                    }
                    left = right;
                }
                all
            }
            Expr::Key(key) => key.find(self.advice, self.pose)?.as_bool(),
            Expr::Number(..) | Expr::Text(_) | Expr::Negative(_) | Expr::Binary(..) => None,
        }
    }

    fn compared(&self, left: &Expr, how: Operator, right: &Expr) -> Option<bool> {
        if let (Some(a), Some(b)) = (self.text(left), self.text(right)) {
            return Some(how.holds(a.cmp(&b)));
        }
        let (a, b) = aligned(self.number(left)?, self.number(right)?)?;
        Some(how.holds(a?.partial_cmp(&b?)?))
    }

    fn text(&self, expr: &Expr) -> Option<String> {
        match expr {
            Expr::Text(text) => Some(text.clone()),
            Expr::Key(key) => match key.find(self.advice, self.pose)? {
                Value::String(text) => Some(text),
                _ => None,
            },
            _ => None,
        }
    }

    fn number(&self, expr: &Expr) -> Option<Number> {
        Some(match expr {
            Expr::Number(value, None) => (Some(*value), ValueKind::Bare),
            Expr::Number(value, Some(unit)) => {
                let measure = UNITS.get(*unit)?.1;
                (Some(value * measure.scale), ValueKind::Number(measure))
            }
            Expr::Key(key) => {
                let ValueKind::Number(UnitSize { scale, .. }) = key.kind else {
                    return None;
                };
                let found = key.find(self.advice, self.pose);
                (found.and_then(|v| v.as_f64()).map(|v| v * scale), key.kind)
            }
            Expr::Negative(a) => {
                let (value, kind) = self.number(a)?;
                (value.map(|v| -v), kind)
            }
            Expr::Binary(op, a, b) => {
                let (a, b) = (self.number(a)?, self.number(b)?);
                let kind = quantity::result(*op, a.1, b.1).ok()?;
                let work: fn(f64, f64) -> f64 = match op {
                    Operator::Plus => |a, b| a + b,
                    Operator::Minus => |a, b| a - b,
                    Operator::Times => |a, b| a * b,
                    Operator::Over => |a, b| a / b,
                    _ => return None,
                };
                let (a, b) = match op {
                    Operator::Plus | Operator::Minus => aligned(a, b)?,
                    _ => (a.0, b.0),
                };
                let value = a.zip(b).map(|(a, b)| work(a, b));
                (value.filter(|v| v.is_finite()), kind)
            }
            _ => return None,
        })
    }
}

/// Both numbers in base units: a bare one is taken in the unit of the other.
fn aligned(a: Number, b: Number) -> Option<(Option<f64>, Option<f64>)> {
    let kind = quantity::aligned(a.1, b.1).ok()?;
    let scale = match kind {
        ValueKind::Number(measure) => measure.scale,
        _ => 1.0,
    };
    let based = |(value, of): Number| match of {
        ValueKind::Bare => value.map(|v| v * scale),
        _ => value,
    };
    Some((based(a), based(b)))
}
