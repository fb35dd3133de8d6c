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

use keys::Key;
use quantity::ValueKind;
use serde_json::Value;
use std::str::FromStr;

/// Which pose of a part is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Subject {
    /// The first of the list.
    #[default]
    Winner,
    /// The one in which the file is.
    AsStored,
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
            Subject::AsStored => &advice["as_stored"],
        };
        let said = |key: &&Key| match key.find(advice, pose) {
            Some(value) => format!("{} is {value}", key.name),
            None => format!("{} has no value", key.name),
        };
        Finding {
            met: Evaluator { advice, pose }.truth(&self.expr),
            says: (self.expr.keys().iter().map(said).collect::<Vec<_>>()).join(", "),
        }
    }
}

/// Where keys are looked up.
struct Evaluator<'a> {
    advice: &'a Value,
    pose: &'a Value,
}

impl Evaluator<'_> {
    /// The value of an expression, numbers in base units; `None` where it has none. A number
    /// that is not finite has none either: JSON knows no such number.
    fn value(&self, expr: &Expr) -> Option<Value> {
        match expr {
            Expr::Text(text) => Some(text.as_str().into()),
            Expr::Number(value, _) => Some((value * expr.kind().scale()).into()),
            Expr::Key(key) => match key.find(self.advice, self.pose)? {
                Value::Number(n) => Some((n.as_f64()? * key.kind.scale()).into()),
                other => Some(other),
            },
            Expr::Negative(a) => Some((-self.value(a)?.as_f64()?).into()),
            Expr::Not(a) => Some((!self.truth(a)?).into()),
            Expr::Compare(first, rest) => {
                let left = std::iter::once(&**first).chain(rest.iter().map(|(_, e)| e));
                let all = left.zip(rest).map(|(a, (how, b))| self.holds(*how, a, b));
                least(all).map(Value::from)
            }
            Expr::Binary(Operator::And, a, b) => {
                least([a, b].map(|e| self.truth(e)).into_iter()).map(Value::from)
            }
            Expr::Binary(Operator::Or, a, b) => {
                let none = [a, b].map(|e| self.truth(e).map(|t| !t));
                least(none.into_iter()).map(|t| (!t).into())
            }
            Expr::Binary(op, a, b) => {
                let [x, y] = match op {
                    Operator::Plus | Operator::Minus => self.aligned(a, b)?,
                    _ => [self.value(a)?.as_f64()?, self.value(b)?.as_f64()?],
                };
                Some(op.work(x, y)?.into())
            }
        }
    }

    fn truth(&self, expr: &Expr) -> Option<bool> {
        self.value(expr)?.as_bool()
    }

    fn holds(&self, how: Operator, a: &Expr, b: &Expr) -> Option<bool> {
        if a.kind() == ValueKind::Text {
            return Some(how.holds(self.value(a)?.as_str()?.cmp(self.value(b)?.as_str()?)));
        }
        let [a, b] = self.aligned(a, b)?;
        Some(how.holds(a.partial_cmp(&b)?))
    }

    /// Both numbers in base units: a bare one is taken in the unit of the other.
    fn aligned(&self, a: &Expr, b: &Expr) -> Option<[f64; 2]> {
        let scale = quantity::aligned(a.kind(), b.kind()).ok()?.scale();
        let based = |expr: &Expr| {
            let value = self.value(expr)?.as_f64()?;
            let bare = expr.kind() == ValueKind::Bare;
            Some(if bare { value * scale } else { value })
        };
        Some([based(a)?, based(b)?])
    }
}

/// The least of some truths, what is undecided between false and true: Kleene's `and`.
fn least(truths: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    truths.min_by_key(|t| t.map_or(1, |t| 2 * u8::from(t)))?
}
