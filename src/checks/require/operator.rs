//! Operators of requirements: how they are written and how tightly they bind.

use std::cmp::Ordering;

/// An operator between two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// One of them at least.
    Or,
    /// Both.
    And,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
    /// `==`
    Equal,
    /// `!=`
    Unequal,
    /// Addition.
    Plus,
    /// Subtraction.
    Minus,
    /// Multiplication.
    Times,
    /// Division.
    Over,
}

/// How tightly `not`, comparisons and a sign bind, between the operators.
pub(super) const NOT: u8 = 2;
pub(super) const COMPARISON: u8 = 3;
pub(super) const SIGN: u8 = 6;
pub(super) const ATOM: u8 = 7;

impl Operator {
    /// Every operator, as it is written and how tightly it binds.
    const TABLE: [(Self, &'static str, u8); 12] = [
        (Self::Or, "or", 0),
        (Self::And, "and", 1),
        (Self::Less, "<", COMPARISON),
        (Self::AtMost, "<=", COMPARISON),
        (Self::More, ">", COMPARISON),
        (Self::AtLeast, ">=", COMPARISON),
        (Self::Equal, "==", COMPARISON),
        (Self::Unequal, "!=", COMPARISON),
        (Self::Plus, "+", 4),
        (Self::Minus, "-", 4),
        (Self::Times, "*", 5),
        (Self::Over, "/", 5),
    ];

    /// The operator that is written so.
    pub fn written(symbol: &str) -> Option<Self> {
        let row = Self::TABLE.iter().find(|(_, s, _)| *s == symbol)?;
        Some(row.0)
    }

    /// As it is written.
    pub fn symbol(self) -> &'static str {
        Self::TABLE[self as usize].1
    }

    /// How tightly it binds: the more, the tighter.
    pub fn rank(self) -> u8 {
        Self::TABLE[self as usize].2
    }

    /// What comes of two numbers; `None` of any other operator.
    pub fn work(self, a: f64, b: f64) -> Option<f64> {
        match self {
            Self::Plus => Some(a + b),
            Self::Minus => Some(a - b),
            Self::Times => Some(a * b),
            Self::Over => Some(a / b),
            _ => None,
        }
    }

    /// Whether a comparison holds of two values in that order; false of any other operator.
    pub fn holds(self, order: Ordering) -> bool {
        match self {
            Self::Less => order.is_lt(),
            Self::AtMost => order.is_le(),
            Self::More => order.is_gt(),
            Self::AtLeast => order.is_ge(),
            Self::Equal => order.is_eq(),
            Self::Unequal => order.is_ne(),
            _ => false,
        }
    }
}
