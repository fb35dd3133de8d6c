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

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Number(f64),
    Text(String),
    Word(String),
    /// Operators and parentheses.
    Sign(&'static str),
    End,
}

impl Token {
    fn symbol(&self) -> Option<&str> {
        match self {
            Self::Word(w) => Some(w),
            Self::Sign(s) => Some(s),
            _ => None,
        }
    }

    fn shown(&self) -> String {
        match self {
            Self::Number(n) => format!("the number {n}"),
            Self::Text(t) => format!("the text \"{t}\""),
            Self::Word(w) => format!("'{w}'"),
            Self::Sign(s) => format!("'{s}'"),
            Self::End => "the end".into(),
        }
    }
}

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
            "give --require several times; all of them must hold",
        ));
    }
    let mut parser = Parser {
        tokens: tokens(text)?.into_iter().peekable(),
        deep: 0,
    };
    let start = parser.at();
    let (expr, kind) = parser.binary(0)?;
    let (at, token) = parser.next();
    match (token, kind) {
        (Token::End, ValueKind::Truth) => Ok(expr),
        (Token::End, _) => Err(error(
            start,
            format!("{} is no condition", kind.in_words()),
            format!("compare it with something; {EXAMPLE}"),
        )),
        (token, _) => Err(error(
            at,
            format!("{} is not expected", token.shown()),
            EXAMPLE,
        )),
    }
}

/// Signs, longer ones before those they begin with.
const SIGNS: [&str; 12] = [
    "<=", ">=", "==", "!=", "<", ">", "+", "-", "*", "/", "(", ")",
];

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

fn tokens(text: &str) -> Result<Vec<(usize, Token)>, ParseError> {
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
            (length, Token::Word(rest[..length].to_string()))
        } else if first == '"' || first == '\'' {
            let inner = rest[1..]
                .find(first)
                .ok_or_else(|| error(at, "a text without its closing quote", EXAMPLE))?;
            (inner + 2, Token::Text(rest[1..=inner].to_string()))
        } else if let Some(sign) = SIGNS.iter().find(|s| rest.starts_with(**s)) {
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

type Typed = (Expr, ValueKind);

struct Parser {
    tokens: Peekable<std::vec::IntoIter<(usize, Token)>>,
    deep: usize,
}

impl Parser {
    fn at(&mut self) -> usize {
        self.tokens.peek().map_or(1, |(at, _)| *at)
    }

    fn next(&mut self) -> (usize, Token) {
        self.tokens.next().unwrap_or((1, Token::End))
    }

    /// Takes the next token where it is this word or sign; its place.
    fn take(&mut self, wanted: &str) -> Option<usize> {
        let is = |(_, token): &(usize, Token)| token.symbol() == Some(wanted);
        self.tokens.next_if(is).map(|(at, _)| at)
    }

    fn deeper<T>(
        &mut self,
        inner: impl FnOnce(&mut Self) -> Result<T, ParseError>,
    ) -> Result<T, ParseError> {
        if self.deep == DEEPEST {
            return Err(error(
                self.at(),
                format!("nested more than {DEEPEST} deep"),
                "give --require several times; all of them must hold",
            ));
        }
        self.deep += 1;
        let out = inner(self);
        self.deep -= 1;
        out
    }

    /// Takes the next token where it is an operator that binds at least so tightly.
    fn operator(&mut self, least: u8) -> Option<(usize, Operator)> {
        let (_, token) = self.tokens.peek()?;
        let op = Operator::written(token.symbol()?).filter(|op| op.rank() >= least)?;
        self.tokens.next().map(|(at, _)| (at, op))
    }

    /// Operands joined by operators that bind at least so tightly, from the left.
    fn binary(&mut self, least: u8) -> Result<Typed, ParseError> {
        let start = self.at();
        let (mut expr, mut kind) = self.operand(least)?;
        // Of the value that the next comparison of a chain compares.
        let mut last = None;
        while let Some((at, op)) = self.operator(least) {
            let joins = op.rank() < NOT;
            if joins {
                truth(start, op.symbol(), kind)?;
            }
            let (right, right_kind) = self.binary(op.rank() + 1)?;
            if joins {
                truth(at, op.symbol(), right_kind)?;
            }
            let left_kind = last.unwrap_or(kind);
            kind = quantity::result(op, left_kind, right_kind).map_err(|says| unfit(at, says))?;
            let compares = op.rank() == COMPARISON;
            expr = match expr {
                Expr::Compare(first, mut rest) if compares && last.is_some() => {
                    rest.push((op, right));
                    Expr::Compare(first, rest)
                }
                left if compares => Expr::Compare(left.into(), vec![(op, right)]),
                left => Expr::Binary(op, left.into(), right.into()),
            };
            last = compares.then_some(right_kind);
        }
        Ok((expr, kind))
    }

    /// What stands before or between operators that bind at least so tightly.
    fn operand(&mut self, least: u8) -> Result<Typed, ParseError> {
        if least <= NOT {
            if let Some(at) = self.take("not") {
                let (inner, kind) = self.deeper(|p| p.binary(NOT))?;
                truth(at, "not", kind)?;
                return Ok((Expr::Not(inner.into()), ValueKind::Truth));
            }
        }
        let Some(at) = self.take("-") else {
            return self.atom();
        };
        let (inner, kind) = self.deeper(|p| p.operand(SIGN))?;
        if matches!(kind, ValueKind::Truth | ValueKind::Text) {
            return Err(unfit(at, format!("{} has no sign", kind.in_words())));
        }
        Ok((Expr::Negative(inner.into()), kind))
    }

    fn atom(&mut self) -> Result<Typed, ParseError> {
        let (at, token) = self.next();
        match token {
            Token::Number(value) => self.number(value),
            Token::Text(text) => Ok((Expr::Text(text), ValueKind::Text)),
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
            Token::Word(word) if !["and", "or", "not"].contains(&word.as_str()) => {
                let key = keys::find(&word).ok_or_else(|| {
                    error(
                        at,
                        format!("'{word}' is no key"),
                        format!(
                            "the nearest is '{}'; wayup schema has them all",
                            keys::nearest(&word)
                        ),
                    )
                })?;
                Ok((Expr::Key(key), key.kind))
            }
            token => Err(error(
                at,
                format!("{} where a value is due", token.shown()),
                EXAMPLE,
            )),
        }
    }

    /// The number, with the unit that may follow.
    fn number(&mut self, value: f64) -> Result<Typed, ParseError> {
        let (at, word) = match self.tokens.peek() {
            Some((at, Token::Word(word))) if word != "and" && word != "or" => (*at, word.clone()),
            _ => return Ok((Expr::Number(value, None), ValueKind::Bare)),
        };
        let index = UNITS.iter().position(|(name, _)| *name == word);
        let index = index.ok_or_else(|| {
            let known: Vec<&str> = UNITS.iter().map(|(name, _)| *name).collect();
            error(
                at,
                format!("'{word}' is no unit"),
                format!("the units are {}", known.join(", ")),
            )
        })?;
        self.tokens.next();
        Ok((
            Expr::Number(value, Some(index)),
            ValueKind::Number(UNITS[index].1),
        ))
    }
}

fn truth(at: usize, word: &str, kind: ValueKind) -> Result<(), ParseError> {
    if kind == ValueKind::Truth {
        return Ok(());
    }
    Err(unfit(
        at,
        format!("'{word}' joins conditions, and {} is none", kind.in_words()),
    ))
}

fn unfit(at: usize, says: String) -> ParseError {
    error(
        at,
        says,
        "compare like with like; the ending of a key says its unit",
    )
}
