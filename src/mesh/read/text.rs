//! Words and numbers out of text formats, with line numbers for messages.

use crate::mesh::error::{LocatedFault, ReadFault};

/// Names of a vertex' coordinates in messages.
pub(super) const AXES: [&str; 3] = [
    "the x of a vertex",
    "the y of a vertex",
    "the z of a vertex",
];

/// Walks through bytes word by word and knows its line.
///
/// Lines end in LF, CR LF or a lone CR. Any other ASCII white space parts words.
#[derive(Clone)]
pub(super) struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
    /// A backslash at its end joins a line to the next.
    continued: bool,
}

impl<'a> Words<'a> {
    /// From the start of `bytes`, which is on line `line`.
    pub(super) fn new(bytes: &'a [u8], line: u64) -> Self {
        Self {
            bytes,
            at: 0,
            line,
            continued: false,
        }
    }

    /// The same where a backslash at the end of a line joins it to the next.
    pub(super) fn continued(bytes: &'a [u8]) -> Self {
        Self {
            continued: true,
            ..Self::new(bytes, 1)
        }
    }

    /// Whether the line is broken here, and goes on in the next without a space.
    pub(super) fn is_broken(&self) -> bool {
        let rest = &self.bytes[self.at.min(self.bytes.len())..];
        let end = self.line_join(rest);
        end > 0 && rest.get(end).is_some_and(|&b| !b.is_ascii_whitespace())
    }

    /// Bytes of the backslash and line end that `rest` begins with; 0 without.
    fn line_join(&self, rest: &[u8]) -> usize {
        match rest {
            [b'\\', b'\r', b'\n', ..] if self.continued => 3,
            [b'\\', b'\n' | b'\r', ..] if self.continued => 2,
            [b'\\'] if self.continued => 1,
            _ => 0,
        }
    }

    /// Line of the word read last (or, after the end of a line, of the next).
    pub(super) fn line(&self) -> u64 {
        self.line
    }

    /// Next word on this or a later line.
    pub(super) fn word(&mut self) -> Option<&'a [u8]> {
        loop {
            if let Some(word) = self.word_on_line() {
                return Some(word);
            }
            if !self.end_line() {
                return None;
            }
        }
    }

    /// Next word before the end of this line.
    pub(super) fn word_on_line(&mut self) -> Option<&'a [u8]> {
        while let Some(&b) = self.bytes.get(self.at) {
            if b == b'\n' || b == b'\r' {
                return None;
            }
            let join = self.line_join(&self.bytes[self.at..]);
            if join == 0 && !is_space(b) {
                break;
            }
            self.line += u64::from(join > 0);
            self.at += join.max(1);
        }
        let rest = self.bytes.get(self.at..)?;
        let is_end = |b: u8| is_space(b) || b == b'\n' || b == b'\r';
        let length = (0..rest.len())
            .find(|&i| is_end(rest[i]) || self.line_join(&rest[i..]) > 0)
            .unwrap_or(rest.len());
        self.at += length;
        (length > 0).then(|| &rest[..length])
    }

    /// Skips to the start of the next line; false at the end of the text.
    pub(super) fn end_line(&mut self) -> bool {
        while let Some(&b) = self.bytes.get(self.at) {
            self.at += 1;
            if b == b'\n' || b == b'\r' {
                if b == b'\r' && self.bytes.get(self.at) == Some(&b'\n') {
                    self.at += 1;
                }
                self.line += 1;
                return true;
            }
        }
        false
    }

    /// The rest of this line, without its end; the position stays before the line's end.
    pub(super) fn rest_of_line(&mut self) -> &'a [u8] {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let length = rest
            .iter()
            .position(|&b| b == b'\n' || b == b'\r')
            .unwrap_or(rest.len());
        self.at += length;
        &rest[..length]
    }

    /// Bytes that are left.
    pub(super) fn left(&self) -> usize {
        self.bytes.len().saturating_sub(self.at)
    }

    /// A vertex: three coordinates on this or later lines.
    pub(super) fn point(&mut self) -> Result<[f64; 3], LocatedFault> {
        let mut point = [0.0; 3];
        for (slot, axis) in point.iter_mut().zip(AXES) {
            *slot = self.coordinate(axis)?;
        }
        Ok(point)
    }

    /// A coordinate: finite, on this or a later line. `what` names it when it is missing.
    pub(super) fn coordinate(&mut self, what: &str) -> Result<f64, LocatedFault> {
        let value = self.number(what)?;
        self.finite(value)
    }

    /// A coordinate that must be on this line.
    pub(super) fn coordinate_on_line(&mut self, what: &str) -> Result<f64, LocatedFault> {
        match self.word_on_line() {
            Some(word) => self
                .as_number(word, what)
                .and_then(|value| self.finite(value)),
            None if self.left() == 0 => Err(self.missing(what)),
            None => Err(self.bad(format!("{what} is missing"))),
        }
    }

    /// A number on this or a later line; NaN and infinities are numbers here.
    pub(super) fn number(&mut self, what: &str) -> Result<f64, LocatedFault> {
        let word = self.word().ok_or_else(|| self.missing(what))?;
        self.as_number(word, what)
    }

    fn as_number(&self, word: &[u8], what: &str) -> Result<f64, LocatedFault> {
        number(word).ok_or_else(|| self.bad(format!("{what} is not a number: '{}'", shown(word))))
    }

    fn finite(&self, value: f64) -> Result<f64, LocatedFault> {
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.flaw(ReadFault::NotFinite))
        }
    }

    /// A flaw on the current line.
    pub(super) fn flaw(&self, fault: ReadFault) -> LocatedFault {
        LocatedFault::at_line(fault, self.line)
    }

    /// A broken record on the current line.
    pub(super) fn bad(&self, what: impl Into<String>) -> LocatedFault {
        self.flaw(ReadFault::BadRecord(what.into()))
    }

    /// The text ended where `what` should be.
    pub(super) fn missing(&self, what: &str) -> LocatedFault {
        self.flaw(ReadFault::CutShort(format!("{what} is missing")))
    }
}

fn is_space(b: u8) -> bool {
    matches!(b, b' ' | b'\t' | 0x0b | 0x0c)
}

/// A decimal number; NaN and infinities are numbers here.
pub(super) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// A count that 32-bit numbers hold.
pub(super) fn count(word: &[u8]) -> Option<u64> {
    let count = u64::try_from(integer(word)?).ok();
    count.filter(|n| *n < u64::from(u32::MAX))
}

/// A whole number.
pub(super) fn integer(word: &[u8]) -> Option<i64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// A word of the file, fit to be shown in a message: short, printable.
pub(super) fn shown(word: &[u8]) -> String {
    const LONGEST: usize = 24;
    let mut text: String = String::from_utf8_lossy(word)
        .chars()
        .take(LONGEST)
        .flat_map(char::escape_default)
        .collect();
    if word.len() > LONGEST {
        text += "...";
    }
    text
}

/// The bytes after a UTF-8 byte-order mark, if there is one.
pub(super) fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}
