//! Counts and volumes as the page says them.

use crate::words::{count, volume};

/// Less support is none.
pub(super) const NOTHING_MM3: f64 = 1e-6;

/// "1 part", "12,000 parts".
pub(super) fn parts(n: u64) -> String {
    format!("{} {}", grouped(n), if n == 1 { "part" } else { "parts" })
}

/// A whole number with a thin gap at each thousand (ISO 80000-1, from memory).
pub(super) fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 && digits.len() > 4 {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    out
}

/// Powers of ten by the number of decimals.
pub(super) const PLACES: [f64; 4] = [1.0, 10.0, 100.0, 1000.0];

/// A number of a column with so many decimals, or minutes as h:min. Zero is 0, with room for the
/// decimals of those above and below it, so that digits stand under digits.
pub(super) fn aligned(value: f64, places: Option<usize>) -> String {
    let minus = if value < 0.0 { "\u{2212}" } else { "" };
    let size = value.abs();
    match places {
        None => format!("{minus}{}:{:02}", (size / 60.0).floor(), size % 60.0),
        Some(0) => format!("{minus}{size:.0}"),
        Some(places) if size == 0.0 => format!("0\u{2008}{}", "\u{2007}".repeat(places)),
        Some(places) => format!("{minus}{size:.places$}"),
    }
}

/// What one part of the list says.
pub(super) fn saved(from: f64, to: f64) -> String {
    if to < NOTHING_MM3 {
        return format!("no support instead of {}", volume(from));
    }
    format!("{} of support instead of {}", volume(to), volume(from))
}

/// The noun for a distribution: how many parts it is of.
pub(super) fn of_parts(n: u64) -> String {
    count(n as usize, "part", "parts")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_a_column_have_their_decimals_and_times_hours() {
        assert_eq!(aligned(12.3, Some(2)), "12.30");
        assert_eq!(aligned(-3.0, Some(1)), "\u{2212}3.0");
        assert_eq!(aligned(0.0, Some(2)), "0\u{2008}\u{2007}\u{2007}");
        assert_eq!(aligned(8.0, None), "0:08");
        assert_eq!(aligned(605.0, None), "10:05");
    }

    #[test]
    fn thousands_stand_apart_from_five_digits_on() {
        assert_eq!(grouped(9999), "9999");
        assert_eq!(grouped(12_345), "12\u{202f}345");
        assert_eq!(grouped(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(parts(1), "1 part");
    }
}
