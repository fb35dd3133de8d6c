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
use crate::checks::require::quantity;
use crate::checks::require::quantity::{Comparison, Kind, Sum, UNITS};
use std::iter::Peekable;

/// Longest requirement, characters; with [`DEEPEST`] it bounds the depth of the tree.
const LONGEST: usize = 1000;
/// Deepest nesting of parentheses and signs.
const DEEPEST: usize = 50;

/// What is wrong with the text of a requirement, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{says} at character {at}")]
pub struct Flaw {
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

fn flaw(at: usize, says: impl Into<String>, hint: impl Into<String>) -> Flaw {
    Flaw {
        at,
        says: says.into(),
        hint: hint.into(),
    }
}

/// The tree of a requirement; its kind is a truth.
///
/// # Errors
/// The first thing that is wrong, with its place.
pub fn parse(text: &str) -> Result<Expr, Flaw> {
    if text.chars().count() > LONGEST {
        return Err(flaw(
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
    let (expr, kind) = parser.any()?;
    let (at, token) = parser.next();
    match (token, kind) {
        (Token::End, Kind::Truth) => Ok(expr),
        (Token::End, _) => Err(flaw(
            start,
            format!("{} is no condition", kind.in_words()),
            format!("compare it with something; {EXAMPLE}"),
        )),
        (token, _) => Err(flaw(
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

fn tokens(text: &str) -> Result<Vec<(usize, Token)>, Flaw> {
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
                .ok_or_else(|| flaw(at, format!("'{}' is no number", &rest[..length]), EXAMPLE))?;
            (length, Token::Number(value))
        } else if first.is_ascii_alphabetic() || first == '_' {
            let length = rest
                .find(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '.'))
                .unwrap_or(rest.len());
            (length, Token::Word(rest[..length].to_string()))
        } else if first == '"' || first == '\'' {
            let inner = rest[1..]
                .find(first)
                .ok_or_else(|| flaw(at, "a text without its closing quote", EXAMPLE))?;
            (inner + 2, Token::Text(rest[1..=inner].to_string()))
        } else if let Some(sign) = SIGNS.iter().find(|s| rest.starts_with(**s)) {
            (sign.len(), Token::Sign(sign))
        } else if let Some((habit, ours)) = HABITS.iter().find(|(h, _)| rest.starts_with(h)) {
            return Err(flaw(
                at,
                format!("'{habit}' means nothing here"),
                format!("write {ours}"),
            ));
        } else {
            return Err(flaw(at, format!("'{first}' means nothing here"), EXAMPLE));
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

type Typed = (Expr, Kind);

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

    /// Takes the next token where it is one of these words or signs.
    fn take<T: Copy>(&mut self, wanted: &[(&str, T)]) -> Option<(usize, T)> {
        let (at, token) = self.tokens.peek()?;
        let (at, shown) = match token {
            Token::Word(w) => (*at, w.as_str()),
            Token::Sign(s) => (*at, *s),
            _ => return None,
        };
        let found = wanted.iter().find(|(w, _)| *w == shown)?.1;
        self.tokens.next();
        Some((at, found))
    }

    fn deeper<T>(&mut self, inner: impl FnOnce(&mut Self) -> Result<T, Flaw>) -> Result<T, Flaw> {
        if self.deep == DEEPEST {
            return Err(flaw(
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

    fn any(&mut self) -> Result<Typed, Flaw> {
        let start = self.at();
        let mut left = self.all()?;
        while let Some((at, ())) = self.take(&[("or", ())]) {
            truth(start, "or", left.1)?;
            let right = self.all()?;
            truth(at, "or", right.1)?;
            left = (Expr::Or(left.0.into(), right.0.into()), Kind::Truth);
        }
        Ok(left)
    }

    fn all(&mut self) -> Result<Typed, Flaw> {
        let start = self.at();
        let mut left = self.not()?;
        while let Some((at, ())) = self.take(&[("and", ())]) {
            truth(start, "and", left.1)?;
            let right = self.not()?;
            truth(at, "and", right.1)?;
            left = (Expr::And(left.0.into(), right.0.into()), Kind::Truth);
        }
        Ok(left)
    }

    fn not(&mut self) -> Result<Typed, Flaw> {
        if let Some((at, ())) = self.take(&[("not", ())]) {
            let (inner, kind) = self.deeper(Self::not)?;
            truth(at, "not", kind)?;
            return Ok((Expr::Not(inner.into()), Kind::Truth));
        }
        self.compare()
    }

    fn compare(&mut self) -> Result<Typed, Flaw> {
        const HOW: [(&str, Comparison); 6] = [
            ("<", Comparison::Less),
            ("<=", Comparison::AtMost),
            (">", Comparison::More),
            (">=", Comparison::AtLeast),
            ("==", Comparison::Equal),
            ("!=", Comparison::Unequal),
        ];
        let (first, mut last) = self.sum()?;
        let mut rest = Vec::new();
        while let Some((at, how)) = self.take(&HOW) {
            let (expr, kind) = self.sum()?;
            quantity::comparable(how, last, kind).map_err(|says| unfit(at, says))?;
            rest.push((how, expr));
            last = kind;
        }
        if rest.is_empty() {
            return Ok((first, last));
        }
        Ok((Expr::Compare(first.into(), rest), Kind::Truth))
    }

    fn sum(&mut self) -> Result<Typed, Flaw> {
        self.chain(&[("+", Sum::Plus), ("-", Sum::Minus)], Self::product)
    }

    fn product(&mut self) -> Result<Typed, Flaw> {
        self.chain(&[("*", Sum::Times), ("/", Sum::Over)], Self::sign)
    }

    /// Operands joined by operators of one precedence, from the left.
    fn chain(
        &mut self,
        operators: &[(&str, Sum)],
        operand: fn(&mut Self) -> Result<Typed, Flaw>,
    ) -> Result<Typed, Flaw> {
        let (mut expr, mut kind) = operand(self)?;
        while let Some((at, op)) = self.take(operators) {
            let (right, right_kind) = operand(self)?;
            kind = quantity::result(op, kind, right_kind).map_err(|says| unfit(at, says))?;
            expr = Expr::Sum(op, expr.into(), right.into());
        }
        Ok((expr, kind))
    }

    fn sign(&mut self) -> Result<Typed, Flaw> {
        let Some((at, ())) = self.take(&[("-", ())]) else {
            return self.atom();
        };
        let (inner, kind) = self.deeper(Self::sign)?;
        if matches!(kind, Kind::Truth | Kind::Text) {
            return Err(unfit(at, format!("{} has no sign", kind.in_words())));
        }
        Ok((Expr::Negative(inner.into()), kind))
    }

    fn atom(&mut self) -> Result<Typed, Flaw> {
        let (at, token) = self.next();
        match token {
            Token::Number(value) => self.number(value),
            Token::Text(text) => Ok((Expr::Text(text), Kind::Text)),
            Token::Sign("(") => {
                let inner = self.deeper(Self::any)?;
                match self.next() {
                    (_, Token::Sign(")")) => Ok(inner),
                    (at, token) => Err(flaw(
                        at,
                        format!("{} where a closing parenthesis is due", token.shown()),
                        "close it with )",
                    )),
                }
            }
            Token::Word(word) if !["and", "or", "not"].contains(&word.as_str()) => {
                let key = keys::find(&word).ok_or_else(|| {
                    flaw(
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
            token => Err(flaw(
                at,
                format!("{} where a value is due", token.shown()),
                EXAMPLE,
            )),
        }
    }

    /// The number, with the unit that may follow.
    fn number(&mut self, value: f64) -> Result<Typed, Flaw> {
        let (at, word) = match self.tokens.peek() {
            Some((at, Token::Word(word))) if word != "and" && word != "or" => (*at, word.clone()),
            _ => return Ok((Expr::Number(value, None), Kind::Bare)),
        };
        let index = UNITS.iter().position(|(name, _)| *name == word);
        let index = index.ok_or_else(|| {
            let known: Vec<&str> = UNITS.iter().map(|(name, _)| *name).collect();
            flaw(
                at,
                format!("'{word}' is no unit"),
                format!("the units are {}", known.join(", ")),
            )
        })?;
        self.tokens.next();
        Ok((
            Expr::Number(value, Some(index)),
            Kind::Number(UNITS[index].1),
        ))
    }
}

fn truth(at: usize, word: &str, kind: Kind) -> Result<(), Flaw> {
    if kind == Kind::Truth {
        return Ok(());
    }
    Err(unfit(
        at,
        format!("'{word}' joins conditions, and {} is none", kind.in_words()),
    ))
}

fn unfit(at: usize, says: String) -> Flaw {
    flaw(
        at,
        says,
        "compare like with like; the ending of a key says its unit",
    )
}
