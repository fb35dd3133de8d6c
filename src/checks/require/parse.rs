//! From the text of a requirement to its tree, with the place of what is wrong.
//!
//! ```text
//! or:       and { "or" and }
//! and:      not { "and" not }
//! not:      "not" not | compare
//! compare:  sum { ("<" | "<=" | ">" | ">=" | "==" | "!=") sum }
//! sum:      product { ("+" | "-") product }
//! product:  sign { ("*" | "/") sign }
//! sign:     "-" sign | atom
//! atom:     number [unit] | text | key | "(" or ")"
//! ```
//!
//! Precedence and the meaning of chains (`10 <= height_mm < 50`) are those of Python's
//! expressions, so that readers need not learn a second set. Units are checked here,
//! operator by operator: what is parsed can be worked out.

use crate::checks::require::expr::Expr;
use crate::checks::require::keys;
use crate::checks::require::operator::{COMPARISON, NOT, Operator, SIGN};
use crate::checks::require::quantity::{self, UNITS, ValueKind};
use std::iter::Peekable;

/// Longest requirement, characters; with [`DEEPEST`] it bounds the depth of the tree.
const LONGEST: usize = 1000;
/// Deepest nesting of parentheses and signs.
const DEEPEST: usize = 50;

/// What is wrong with the text of a requirement, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{says} at character {at}")]
pub struct ParseError {
    /// Character, from 1.
    pub at: usize,
    /// What is wrong.
    pub says: String,
    /// What to do next.
    pub hint: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Token<'a> {
    Number(f64),
    Text(&'a str),
    /// Keys, units and what joins conditions.
    Word(&'a str),
    /// Operators and parentheses.
    Sign(&'a str),
    End,
}

impl Token<'_> {
    fn shown(&self) -> String {
        match self {
            Self::Number(n) => format!("the number {n}"),
            Self::Text(t) => format!("the text \"{t}\""),
            Self::Word(s) | Self::Sign(s) => format!("'{s}'"),
            Self::End => "the end".into(),
        }
    }
}

const SEVERAL: &str = "give --require several times; all of them must hold";
const EXAMPLE: &str = "write it like: support_after_bridges_mm3 < 0.5 cm3 and height_mm <= 120";

fn error(at: usize, says: impl Into<String>, hint: impl Into<String>) -> ParseError {
    ParseError {
        at,
        says: says.into(),
        hint: hint.into(),
    }
}

/// The tree of a requirement; its kind is a truth.
///
/// # Errors
/// The first thing that is wrong, with its place.
pub fn parse(text: &str) -> Result<Expr, ParseError> {
    if text.chars().count() > LONGEST {
        return Err(error(
            LONGEST + 1,
            format!("longer than {LONGEST} characters"),
            SEVERAL,
        ));
    }
    let mut parser = Parser {
        tokens: tokens(text)?.into_iter().peekable(),
        deep: 0,
    };
    let start = parser.at();
    let expr = parser.binary(0)?;
    match parser.next() {
        (_, Token::End) if expr.kind() == ValueKind::Truth => Ok(expr),
        (_, Token::End) => Err(error(
            start,
            format!("{} is no condition", expr.kind().in_words()),
            format!("compare it with something; {EXAMPLE}"),
        )),
        (at, token) => Err(error(
            at,
            format!("{} is not expected", token.shown()),
            EXAMPLE,
        )),
    }
}

/// What people write by habit from elsewhere, with what it is here.
const HABITS: [(&str, &str); 7] = [
    ("&&", "and"),
    ("||", "or"),
    ("!", "not"),
    ("=", "=="),
    ("≤", "<="),
    ("≥", ">="),
    ("≠", "!="),
];

fn tokens(text: &str) -> Result<Vec<(usize, Token<'_>)>, ParseError> {
    let mut out = Vec::new();
    let mut rest = text;
    let mut at = 1;
    loop {
        let trimmed = rest.trim_start();
        at += rest.chars().count() - trimmed.chars().count();
        rest = trimmed;
        let Some(first) = rest.chars().next() else {
            out.push((at, Token::End));
            return Ok(out);
        };
        let (length, token) = if first.is_ascii_digit() || first == '.' {
            let length = number_length(rest);
            let value = rest[..length].parse::<f64>().ok().filter(|v| v.is_finite());
            let value = value
                .ok_or_else(|| error(at, format!("'{}' is no number", &rest[..length]), EXAMPLE))?;
            (length, Token::Number(value))
        } else if first.is_ascii_alphabetic() || first == '_' {
            let length = rest
                .find(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '.'))
                .unwrap_or(rest.len());
            (length, Token::Word(&rest[..length]))
        } else if first == '"' || first == '\'' {
            let inner = rest[1..]
                .find(first)
                .ok_or_else(|| error(at, "a text without its closing quote", EXAMPLE))?;
            (inner + 2, Token::Text(&rest[1..=inner]))
        } else if let Some(sign) = sign(rest) {
            (sign.len(), Token::Sign(sign))
        } else if let Some((habit, ours)) = HABITS.iter().find(|(h, _)| rest.starts_with(h)) {
            return Err(error(
                at,
                format!("'{habit}' means nothing here"),
                format!("write {ours}"),
            ));
        } else {
            return Err(error(at, format!("'{first}' means nothing here"), EXAMPLE));
        };
        out.push((at, token));
        at += rest[..length].chars().count();
        rest = &rest[length..];
    }
}

/// The operator or parenthesis that a text begins with, the longer one of two.
fn sign(text: &str) -> Option<&str> {
    let known = |s: &&str| Operator::written(s).is_some() || ["(", ")"].contains(s);
    [2, 1].iter().filter_map(|n| text.get(..*n)).find(known)
}

/// Bytes of a number: digits, one point, an exponent only where digits follow it.
fn number_length(text: &str) -> usize {
    let digits = |from: usize| text[from..].bytes().take_while(u8::is_ascii_digit).count();
    let mut length = digits(0);
    if text[length..].starts_with('.') {
        length += 1;
        length += digits(length);
    }
    if text[length..].starts_with(['e', 'E']) {
        let sign = usize::from(text[length + 1..].starts_with(['+', '-']));
        let more = digits(length + 1 + sign);
        if more > 0 {
            length += 1 + sign + more;
        }
    }
    length
}

struct Parser<'a> {
    tokens: Peekable<std::vec::IntoIter<(usize, Token<'a>)>>,
    deep: usize,
}

impl<'a> Parser<'a> {
    fn at(&mut self) -> usize {
        self.tokens.peek().map_or(1, |(at, _)| *at)
    }

    fn next(&mut self) -> (usize, Token<'a>) {
        self.tokens.next().unwrap_or((1, Token::End))
    }

    /// Takes the next token where it is this one; its place.
    fn take(&mut self, wanted: Token) -> Option<usize> {
        let next = self.tokens.next_if(|(_, token)| *token == wanted);
        next.map(|(at, _)| at)
    }

    fn deeper(
        &mut self,
        inner: impl FnOnce(&mut Self) -> Result<Expr, ParseError>,
    ) -> Result<Expr, ParseError> {
        if self.deep == DEEPEST {
            return Err(error(
                self.at(),
                format!("nested more than {DEEPEST} deep"),
                SEVERAL,
            ));
        }
        self.deep += 1;
        let out = inner(self);
        self.deep -= 1;
        out
    }

    /// Takes the next token where it is an operator that binds at least so tightly.
    fn operator(&mut self, least: u8) -> Option<(usize, Operator)> {
        let (at, Token::Word(symbol) | Token::Sign(symbol)) = *self.tokens.peek()? else {
            return None;
        };
        let op = Operator::written(symbol).filter(|op| op.rank() >= least)?;
        self.tokens.next();
        Some((at, op))
    }

    /// Operands joined by operators that bind at least so tightly, from the left.
    fn binary(&mut self, least: u8) -> Result<Expr, ParseError> {
        let start = self.at();
        let mut expr = self.operand(least)?;
        let mut chained = false;
        while let Some((at, op)) = self.operator(least) {
            let joins = op.rank() < NOT;
            if joins {
                truth(start, op.symbol(), &expr)?;
            }
            let right = self.binary(op.rank() + 1)?;
            if joins {
                truth(at, op.symbol(), &right)?;
            }
            // In a chain the value before is compared, not what came of comparing it.
            let left = match &expr {
                Expr::Compare(_, rest) if chained => rest.last().map_or(&expr, |(_, e)| e),
                _ => &expr,
            };
            let fits = quantity::result(op, left.kind(), right.kind());
            fits.map_err(|says| unfit(at, says))?;
            let compares = op.rank() == COMPARISON;
            expr = match expr {
                Expr::Compare(first, mut rest) if compares && chained => {
                    rest.push((op, right));
                    Expr::Compare(first, rest)
                }
                left if compares => Expr::Compare(left.into(), vec![(op, right)]),
                left => Expr::Binary(op, left.into(), right.into()),
            };
            chained = compares;
        }
        Ok(expr)
    }

    /// What stands before or between operators that bind at least so tightly.
    fn operand(&mut self, least: u8) -> Result<Expr, ParseError> {
        if least <= NOT {
            if let Some(at) = self.take(Token::Word("not")) {
                let inner = self.deeper(|p| p.binary(NOT))?;
                truth(at, "not", &inner)?;
                return Ok(Expr::Not(inner.into()));
            }
        }
        let Some(at) = self.take(Token::Sign("-")) else {
            return self.atom();
        };
        let inner = self.deeper(|p| p.operand(SIGN))?;
        match inner.kind() {
            kind @ (ValueKind::Truth | ValueKind::Text) => {
                Err(unfit(at, format!("{} has no sign", kind.in_words())))
            }
            _ => Ok(Expr::Negative(inner.into())),
        }
    }

    fn atom(&mut self) -> Result<Expr, ParseError> {
        let (at, token) = self.next();
        match token {
            Token::Number(value) => Ok(Expr::Number(value, self.unit()?)),
            Token::Text(text) => Ok(Expr::Text(text.into())),
            Token::Sign("(") => {
                let inner = self.deeper(|p| p.binary(0))?;
                match self.next() {
                    (_, Token::Sign(")")) => Ok(inner),
                    (at, token) => Err(error(
                        at,
                        format!("{} where a closing parenthesis is due", token.shown()),
                        "close it with )",
                    )),
                }
            }
            Token::Word(word) if !["and", "or", "not"].contains(&word) => {
                let unknown = || {
                    let hint = keys::renamed(word).map_or_else(
                        || {
                            let nearest = keys::nearest(word);
                            format!("the nearest is '{nearest}'; wayup schema has them all")
                        },
                        |new| format!("it is called '{new}' since schema 2"),
                    );
                    error(at, format!("'{word}' is no key"), hint)
                };
                keys::find(word).map(Expr::Key).ok_or_else(unknown)
            }
            token => Err(error(
                at,
                format!("{} where a value is due", token.shown()),
                EXAMPLE,
            )),
        }
    }

    /// Takes the unit that may follow a number: its place in [`UNITS`].
    fn unit(&mut self) -> Result<Option<usize>, ParseError> {
        let (at, word) = match self.tokens.peek() {
            Some((at, Token::Word(word))) if !["and", "or"].contains(word) => (*at, *word),
            _ => return Ok(None),
        };
        let index = UNITS.iter().position(|(name, _)| *name == word);
        if index.is_none() {
            let known = UNITS.map(|(name, _)| name).join(", ");
            let hint = format!("the units are {known}");
            return Err(error(at, format!("'{word}' is no unit"), hint));
        }
        self.tokens.next();
        Ok(index)
    }
}

fn truth(at: usize, word: &str, expr: &Expr) -> Result<(), ParseError> {
    match expr.kind() {
        ValueKind::Truth => Ok(()),
        kind => Err(unfit(
            at,
            format!("'{word}' joins conditions, and {} is none", kind.in_words()),
        )),
    }
}

fn unfit(at: usize, says: String) -> ParseError {
    error(
        at,
        says,
        "compare like with like; the ending of a key says its unit",
    )
}
