//! A requirement as a tree, and its text.

use crate::checks::require::keys::Key;
use crate::checks::require::operator::{ATOM, COMPARISON, NOT, Operator, SIGN};
use crate::checks::require::quantity::{self, UNITS, ValueKind};
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
    /// Not so.
    Not(Box<Expr>),
    /// Two values joined by an operator that is no comparison.
    Binary(Operator, Box<Expr>, Box<Expr>),
    /// `a < b <= c`: each value is compared with the next, and all must hold.
    Compare(Box<Expr>, Vec<(Operator, Expr)>),
}

impl Expr {
    /// How tightly it binds; an operand that binds less needs parentheses.
    fn rank(&self) -> u8 {
        match self {
            Self::Binary(op, ..) => op.rank(),
            Self::Not(_) => NOT,
            Self::Compare(..) => COMPARISON,
            Self::Negative(_) => SIGN,
            Self::Number(..) | Self::Text(_) | Self::Key(_) => ATOM,
        }
    }

    /// What kind of value it has.
    pub fn kind(&self) -> ValueKind {
        match self {
            Self::Number(_, unit) => {
                let unit = unit.and_then(|i| UNITS.get(i));
                unit.map_or(ValueKind::Bare, |(_, size)| ValueKind::Number(*size))
            }
            Self::Text(_) => ValueKind::Text,
            Self::Key(key) => key.kind,
            Self::Negative(a) => a.kind(),
            Self::Not(_) | Self::Compare(..) => ValueKind::Truth,
            // A tree whose units do not fit is no number; the parser makes none.
            Self::Binary(op, a, b) => {
                quantity::result(*op, a.kind(), b.kind()).unwrap_or(ValueKind::Truth)
            }
        }
    }

    /// The keys that it uses, in the order of their first use.
    pub fn keys(&self) -> Vec<&'static Key> {
        let inner: Vec<&Self> = match self {
            Self::Key(key) => return vec![key],
            Self::Number(..) | Self::Text(_) => Vec::new(),
            Self::Negative(a) | Self::Not(a) => vec![a],
            Self::Binary(_, a, b) => vec![a, b],
            Self::Compare(first, rest) => std::iter::once(&**first)
                .chain(rest.iter().map(|(_, e)| e))
                .collect(),
        };
        let mut found: Vec<&Key> = Vec::new();
        for key in inner.into_iter().flat_map(Self::keys) {
            if !found.iter().any(|k| k.name == key.name) {
                found.push(key);
            }
        }
        found
    }
}

impl fmt::Display for Expr {
    /// The text that reads back as the same tree, with no more parentheses than that needs.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rank = self.rank();
        // An operand, in parentheses where it binds less.
        let operand = |e: &Self, least: u8| {
            let loose = e.rank() < least;
            if loose {
                format!("({e})")
            } else {
                e.to_string()
            }
        };
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
            Self::Negative(a) => write!(f, "-{}", operand(a, rank)),
            Self::Not(a) => write!(f, "not {}", operand(a, rank)),
            // Left-associative: the same rank on the right needs parentheses.
            Self::Binary(op, a, b) => {
                let (a, b) = (operand(a, rank), operand(b, rank + 1));
                write!(f, "{a} {} {b}", op.symbol())
            }
            Self::Compare(first, rest) => {
                write!(f, "{}", operand(first, rank + 1))?;
                rest.iter()
                    .try_for_each(|(op, e)| write!(f, " {} {}", op.symbol(), operand(e, rank + 1)))
            }
        }
    }
}
