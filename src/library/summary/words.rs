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
    fn thousands_stand_apart_from_five_digits_on() {
        assert_eq!(grouped(9999), "9999");
        assert_eq!(grouped(12_345), "12\u{202f}345");
        assert_eq!(grouped(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(parts(1), "1 part");
    }
}
