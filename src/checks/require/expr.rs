//! A requirement as a tree, and its text.

use crate::checks::require::keys::Key;
use crate::checks::require::quantity::{Comparison, Sum, UNITS};
use std::fmt;

/// An expression. Every tree that the parser makes has been checked for its units.
#[derive(Debug, Clone, PartialEq)]
pub enum Expr {
    /// A number of zero or more, with an index into [`UNITS`] where a unit was written.
    Number(f64, Option<usize>),
    /// A text, without its quotes.
    Text(String),
    /// The value of a key.
    Key(&'static Key),
    /// The number with its sign turned.
    Negative(Box<Expr>),
    /// Arithmetic on two numbers.
    Sum(Sum, Box<Expr>, Box<Expr>),
    /// `a < b <= c`: each value is compared with the next, and all must hold.
    Compare(Box<Expr>, Vec<(Comparison, Expr)>),
    /// Not so.
    Not(Box<Expr>),
    /// Both.
    And(Box<Expr>, Box<Expr>),
    /// One of them at least.
    Or(Box<Expr>, Box<Expr>),
}

impl Expr {
    /// How tightly it binds; an operand that binds less needs parentheses.
    fn rank(&self) -> u8 {
        match self {
            Self::Or(..) => 0,
            Self::And(..) => 1,
            Self::Not(_) => 2,
            Self::Compare(..) => 3,
            Self::Sum(Sum::Plus | Sum::Minus, ..) => 4,
            Self::Sum(..) => 5,
            Self::Negative(_) => 6,
            Self::Number(..) | Self::Text(_) | Self::Key(_) => 7,
        }
    }

    /// The keys that it uses, in the order of their first use.
    pub fn keys(&self) -> Vec<&'static Key> {
        let mut found = Vec::new();
        self.collect(&mut found);
        found
    }

    fn collect(&self, found: &mut Vec<&'static Key>) {
        match self {
            Self::Number(..) | Self::Text(_) => {}
            Self::Key(key) => {
                if !found.iter().any(|k| k.name == key.name) {
                    found.push(key);
                }
            }
            Self::Negative(a) | Self::Not(a) => a.collect(found),
            Self::Sum(_, a, b) | Self::And(a, b) | Self::Or(a, b) => {
                a.collect(found);
                b.collect(found);
            }
            Self::Compare(first, rest) => {
                first.collect(found);
                for (_, e) in rest {
                    e.collect(found);
                }
            }
        }
    }
}

/// An operand, in parentheses where it binds less than `least`.
struct Operand<'a>(&'a Expr, u8);

impl fmt::Display for Operand<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.rank() < self.1 {
            write!(f, "({})", self.0)
        } else {
            write!(f, "{}", self.0)
        }
    }
}

impl fmt::Display for Expr {
    /// The text that reads back as the same tree, with no more parentheses than that needs.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rank = self.rank();
        match self {
            Self::Number(value, unit) => {
                if *value == 0.0 || (1e-5..1e15).contains(value) {
                    write!(f, "{value}")?;
                } else {
                    write!(f, "{value:e}")?;
                }
                match unit.and_then(|i| UNITS.get(i)) {
                    Some((name, _)) => write!(f, " {name}"),
                    None => Ok(()),
                }
            }
            Self::Text(text) => {
                let quote = if text.contains('"') { '\'' } else { '"' };
                write!(f, "{quote}{text}{quote}")
            }
            Self::Key(key) => f.write_str(&key.name),
            Self::Negative(a) => write!(f, "-{}", Operand(a, rank)),
            Self::Sum(op, a, b) => {
                // Left-associative: the same rank on the right needs parentheses.
                write!(f, "{} {op} {}", Operand(a, rank), Operand(b, rank + 1))
            }
            Self::Compare(first, rest) => {
                write!(f, "{}", Operand(first, rank + 1))?;
                for (how, e) in rest {
                    write!(f, " {how} {}", Operand(e, rank + 1))?;
                }
                Ok(())
            }
            Self::Not(a) => write!(f, "not {}", Operand(a, rank)),
            Self::And(a, b) => write!(f, "{} and {}", Operand(a, rank), Operand(b, rank + 1)),
            Self::Or(a, b) => write!(f, "{} or {}", Operand(a, rank), Operand(b, rank + 1)),
        }
    }
}

impl fmt::Display for Sum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Times => "*",
            Self::Over => "/",
        })
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
            Self::Equal => "==",
            Self::Unequal => "!=",
        })
    }
}
