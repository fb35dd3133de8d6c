//! Numbers and directions in words: the same phrases in verdicts, reasons and tables.
//!
//! Faces and axes are always named by the axis of the part's own frame, with
//! its sign: "the −Y side". A word like "flat" alone says nothing.

use nalgebra::{Unit, Vector3};

/// Writes a list of names out once: the type, all of its values, their names.
macro_rules! named {
    ($(#[$what:meta])* $kind:ident: $($(#[$says:meta])* $row:ident $name:literal,)*) => {
        $(#[$what])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize)]
        pub enum $kind {
            $($(#[$says])* #[serde(rename = $name)] $row,)*
        }

        impl $kind {
            /// All of them, in order.
            pub const ALL: [Self; [$($name),*].len()] = [$(Self::$row),*];

            /// Its name in the JSON, in flags and in files.
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$row => $name,)*
                }
            }

            /// The one of that name, whatever its case.
            pub fn called(name: &str) -> Option<Self> {
                let named = |one: &Self| one.name().eq_ignore_ascii_case(name.trim());
                Self::ALL.into_iter().find(named)
            }
        }
    };
}
pub(crate) use named;

/// A direction within this angle of an axis is called by the axis alone, degrees: nobody sets a
/// part down by less. Poses of a list are farther apart.
pub(crate) const ON_AXIS_DEG: f64 = 1.0;

/// A second axis is named where at least this share of the tilt goes its way.
const NAMED_SHARE: f64 = 0.38;

/// Bytes as hexadecimal text, two small letters each.
pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut out, b| {
        // Writing to a string cannot fail.
        let _ = write!(out, "{b:02x}");
        out
    })
}

/// The names of the three axes with their signs.
fn axis_name(axis: usize, value: f64) -> &'static str {
    const NAMES: [[&str; 2]; 3] = [["+X", "−X"], ["+Y", "−Y"], ["+Z", "−Z"]];
    NAMES[axis.min(2)][usize::from(value < 0.0)]
}

/// Which side goes down: "−Y side down", or "−Y side down, tilted 30° to +X".
///
/// `down` is the part direction that is turned to the bed. The side is that of
/// the axis nearest to it; of equally near ones the first of X, Y, Z. A tilt
/// names the axis it leans to, and a second one where it goes between two.
pub fn side_down(down: &Unit<Vector3<f64>>) -> String {
    match split(down) {
        (main, None) => format!("{main} side down"),
        (main, Some((tilt, to))) => format!("{main} side down, tilted {tilt} to {to}"),
    }
}

/// The side of [`side_down`] alone: "−Y side".
pub fn side(direction: &Unit<Vector3<f64>>) -> String {
    match split(direction) {
        (main, None) => format!("{main} side"),
        (main, Some((tilt, to))) => format!("side {tilt} from {main} to {to}"),
    }
}

/// Nearest axis and, unless the direction lies along it, the angle from it and the axes that
/// the rest leans to.
fn split(d: &Unit<Vector3<f64>>) -> (&'static str, Option<(String, String)>) {
    // A hair's breadth of preference for the earlier axis keeps an edge at
    // exactly 45° from being named by the rounding of its last bit.
    let main = (1..3).fold(0, |best, i| {
        if d[i].abs() > d[best].abs() + 1e-6 {
            i
        } else {
            best
        }
    });
    let others = || (0..3).filter(|i| *i != main);
    let rest = others().map(|i| d[i] * d[i]).sum::<f64>().sqrt();
    let tilt_deg = libm::atan2(rest, d[main].abs()).to_degrees();
    if tilt_deg < ON_AXIS_DEG {
        return (axis_name(main, d[main]), None);
    }
    let towards = others().filter(|i| d[*i].abs() >= NAMED_SHARE * rest);
    let towards = joined(towards.map(|i| axis_name(i, d[i])), " and ");
    let tilt = (degrees(tilt_deg), towards);
    (axis_name(main, d[main]), Some(tilt))
}

/// A direction as three numbers: "(0, −0.707, 0.707)".
pub fn vector(d: &Unit<Vector3<f64>>) -> String {
    format!("({})", [d.x, d.y, d.z].map(|c| decimal(c, 3)).join(", "))
}

/// A number with at most `places` decimals, trailing zeros left out, with a
/// true minus sign; from 10¹⁵ on, where digits would be noise, in powers of ten. A value that is
/// not finite prints as "–".
pub fn decimal(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "\u{2013}".into();
    }
    let text = if value.abs() < 1e15 {
        format!("{value:.places$}")
    } else {
        format!("{value:.2e}")
    };
    let text = if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        return "0".into();
    }
    with_minus(text)
}

/// A number with all of its `places` decimals, as a gauge shows it: "−0.40".
pub fn fixed(value: f64, places: usize) -> String {
    if !value.is_finite() || value.abs() >= 1e15 {
        return decimal(value, places);
    }
    let text = format!("{value:.places$}");
    if text
        .trim_start_matches('-')
        .chars()
        .all(|c| matches!(c, '0' | '.'))
    {
        return text.trim_start_matches('-').into();
    }
    with_minus(&text)
}

/// A number with a true minus sign before it.
fn with_minus(text: &str) -> String {
    text.strip_prefix('-')
        .map_or_else(|| text.into(), |digits| format!("\u{2212}{digits}"))
}

/// A number with two significant digits: of what is sampled no more are sure.
pub fn two_digits(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    let last = libm::pow(10.0, libm::log10(value).floor() - 1.0);
    (value / last).round() * last
}

/// A number with three significant digits, written out: "18.4", "0.0512", "1840".
pub fn three(value: f64) -> String {
    decimal(value, places_of_three(value))
}

/// Three significant digits, without an exponent where the number is at home in mm.
pub fn short(value: f64) -> String {
    let size = value.abs();
    if size >= 1e7 || (size > 0.0 && size < 1e-5) {
        return with_minus(&format!("{value:.2e}"));
    }
    decimal(value, significant(value).min(7))
}

/// A number as a person types it, very large and small ones in powers of ten.
pub fn typed(value: f64) -> String {
    if value == 0.0 || (1e-6..1e15).contains(&value.abs()) {
        value.to_string()
    } else {
        format!("{value:e}")
    }
}

/// Finest decimals of three significant digits.
pub(crate) const FINEST: usize = 4;
/// … of a length in mm, an area in mm² and a volume in mm³: what nobody can measure is noise.
pub(crate) const FINEST_SIZE: usize = 2;

/// Decimals that show three significant digits of a number, [`FINEST`] at most.
pub(crate) fn places_of_three(value: f64) -> usize {
    significant(value).min(FINEST)
}

fn significant(value: f64) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    // The exponent after rounding, so that 9.996 is "10", not "10.00".
    let text = format!("{value:.2e}");
    let exponent = text.rsplit('e').next().and_then(|e| e.parse::<i32>().ok());
    (2 - exponent.unwrap_or(0)).max(0) as usize
}

/// A small unit and a large one that takes its place.
struct Units {
    small: &'static str,
    large: &'static str,
    /// From so many small ones on it is the large one.
    from: f64,
    /// Small ones to a large one.
    size: f64,
}

const LENGTH: Units = Units {
    small: "mm",
    large: "m",
    from: 10_000.0,
    size: 1000.0,
};
const AREA: Units = Units {
    small: "mm²",
    large: "cm²",
    from: 1000.0,
    size: 100.0,
};
const VOLUME: Units = Units {
    small: "mm³",
    large: "cm³",
    from: 1000.0,
    size: 1000.0,
};

impl Units {
    /// Size and name of the unit of the larger of some values.
    fn of_larger<const N: usize>(&self, values: [f64; N]) -> (f64, &str) {
        if values.iter().any(|v| v.abs() >= self.from) {
            (self.size, self.large)
        } else {
            (1.0, self.small)
        }
    }

    fn said(&self, value: f64) -> String {
        let (size, unit) = self.of_larger([value]);
        let value = value / size;
        let places = places_of_three(value).min(FINEST_SIZE);
        format!("{} {unit}", decimal(value, places))
    }

    /// Both in one unit.
    fn compared(&self, values: [f64; 2]) -> [String; 2] {
        let (size, unit) = self.of_larger(values);
        values.map(|v| format!("{} {unit}", three(v / size)))
    }
}

/// "4.2 mm", or "12.5 m" from ten metres on.
pub fn length(mm: f64) -> String {
    LENGTH.said(mm)
}

/// "35 mm²", or "18.4 cm²" from ten square centimetres on.
pub fn area(mm2: f64) -> String {
    AREA.said(mm2)
}

/// "4.12 to 12.8 cm²": two areas in one unit.
pub fn areas(from_mm2: f64, to_mm2: f64) -> String {
    let (size, unit) = AREA.of_larger([from_mm2, to_mm2]);
    let [from, to] = [from_mm2, to_mm2].map(|mm2| {
        let value = mm2 / size;
        decimal(value, places_of_three(value).min(FINEST_SIZE))
    });
    format!("{from} to {to} {unit}")
}

/// "36.4 cm²" and "8.29 cm²": two areas that are compared, both in the unit of the larger.
pub fn areas_compared(a_mm2: f64, b_mm2: f64) -> [String; 2] {
    AREA.compared([a_mm2, b_mm2])
}

/// The same of volumes.
pub fn volumes_compared(a_mm3: f64, b_mm3: f64) -> [String; 2] {
    VOLUME.compared([a_mm3, b_mm3])
}

/// "350 mm³", or "3.5 cm³" from one cubic centimetre on.
pub fn volume(mm3: f64) -> String {
    VOLUME.said(mm3)
}

/// "45°", "5.3°".
pub fn degrees(deg: f64) -> String {
    format!("{}°", decimal(deg, usize::from(deg.abs() < 10.0)))
}

/// "40 s", "25 min", "3 h 05 min".
pub fn duration(min: f64) -> String {
    if !min.is_finite() {
        return decimal(min, 0);
    }
    if min < 1.0 {
        return format!("{} s", decimal(min * 60.0, 0));
    }
    let whole = min.round();
    if whole < 60.0 {
        return format!("{} min", decimal(whole, 0));
    }
    format!(
        "{} h {:02} min",
        decimal((whole / 60.0).floor(), 0),
        whole % 60.0
    )
}

/// A time that was estimated: "under 5 min", then as [`duration`].
pub fn estimate(min: f64) -> String {
    if min > 0.0 && min < LEAST_ESTIMATE_MIN {
        format!("under {} min", decimal(LEAST_ESTIMATE_MIN, 0))
    } else if min <= 0.0 {
        "0 min".into()
    } else {
        duration(min)
    }
}

/// Estimates below this are no better than a guess, min (a house value).
pub(crate) const LEAST_ESTIMATE_MIN: f64 = 5.0;

/// "8.4 g", "120 g", or "1.2 kg" from one kilogram on.
pub fn mass(g: f64) -> String {
    if g.abs() >= 1000.0 {
        return format!("{} kg", decimal(g / 1000.0, 1));
    }
    format!("{} g", decimal(g, usize::from(g.abs() < 100.0)))
}

/// The text with its first letter, where that is a plain one, in upper case.
pub(crate) fn capital(text: &str) -> String {
    let mut text = text.to_string();
    if let Some(letter) = text.get_mut(0..1) {
        letter.make_ascii_uppercase();
    }
    text
}

/// Whether a letter steers what shows it and is not seen itself: control characters, line
/// separators, marks that turn the direction of writing (UAX #9).
pub fn is_unseen(c: char) -> bool {
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || turns || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}')
}

/// Text with such letters as escapes: names from a file must not steer a terminal or page.
pub fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if is_unseen(c) {
            out.extend(c.escape_default());
        } else {
            out.push(c);
        }
    }
    out
}

/// Texts in one, with something between them.
pub fn joined(texts: impl IntoIterator<Item = impl Into<String>>, between: &str) -> String {
    let texts: Vec<String> = texts.into_iter().map(Into::into).collect();
    texts.join(between)
}

/// The known word that a slip of the finger may have meant, to go behind a refusal: "; do you mean
/// PETG?". Empty where none is that near: at most two letters wrong, missing, added or exchanged, and no more than half.
pub(crate) fn near_miss<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    // A value of a file may be as long as the file.
    let word: String = word.trim().chars().take(64).collect();
    let word = word.to_ascii_lowercase();
    let slips = |of: &str| strsim::osa_distance(&word, &of.to_ascii_lowercase());
    let near = known.into_iter().map(|of| (slips(of), of));
    let near = near.filter(|(slips, of)| *slips <= 2 && 2 * *slips <= of.chars().count());
    near.min_by_key(|(slips, _)| *slips)
        .map_or_else(String::new, |(_, of)| format!("; do you mean {of}?"))
}

/// "1 body", "3 bodies": the count with the noun that agrees.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// "a face", "2 faces".
pub fn some(n: usize, one: &str, many: &str) -> String {
    if n == 1 {
        one.into()
    } else {
        format!("{n} {many}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn down(x: f64, y: f64, z: f64) -> Unit<Vector3<f64>> {
        Unit::new_normalize(Vector3::new(x, y, z))
    }

    #[test]
    fn a_slip_names_the_word_it_is_near_and_nonsense_none() {
        let known = ["PLA", "PETG", "ABS", "mm"];
        assert_eq!(near_miss("petgg", known), "; do you mean PETG?");
        assert_eq!(near_miss("mn", known), "; do you mean mm?");
        assert_eq!(near_miss("cheese", known), "");
        assert_eq!(near_miss("POM", known), "");
    }

    #[test]
    fn directions_are_named_by_side_and_tilt() {
        for (d, words) in [
            (down(0.0, -1.0, 0.0), "−Y side down"),
            (down(0.0, -1.0, 1e-5), "−Y side down"),
            (down(0.5, 0.0, -0.866), "−Z side down, tilted 30° to +X"),
            (down(1.0, 1.0, 1.0), "+X side down, tilted 55° to +Y and +Z"),
            (down(-1.0, 1.0, 0.0), "−X side down, tilted 45° to +Y"),
            // The last bit must not decide which of two equal axes is named.
            (
                down(-1.0, 1.0 + 1e-12, 0.0),
                "−X side down, tilted 45° to +Y",
            ),
            (down(0.0, 0.087, 1.0), "+Z side down, tilted 5° to +Y"),
            (down(0.01, 0.3, 1.0), "+Z side down, tilted 17° to +Y"),
            // A tilt of half a degree is none that anyone sets.
            (down(-1.0, 0.0, -0.0098), "−X side down"),
            (down(-1.0, 0.0, 0.03), "−X side down, tilted 1.7° to +Z"),
        ] {
            assert_eq!(side_down(&d), words);
        }
        assert_eq!(side(&down(0.0, 0.0, 1.0)), "+Z side");
        assert_eq!(vector(&down(0.0, -1.0, 1.0)), "(0, −0.707, 0.707)");
    }

    #[test]
    fn no_number_prints_as_minus_zero_or_not_a_number() {
        assert_eq!(decimal(-0.0001, 2), "0");
        assert_eq!(decimal(f64::NAN, 2), "–");
        assert_eq!(three(f64::INFINITY), "–");
        assert_eq!(decimal(-2.50, 2), "−2.5");
        assert_eq!(decimal(100.0, 0), "100");
    }

    #[test]
    fn a_gauge_shows_all_its_decimals() {
        for (value, text) in [
            (-0.4, "\u{2212}0.40"),
            (55.63, "55.63"),
            (30.0, "30.00"),
            (-0.001, "0.00"),
        ] {
            assert_eq!(fixed(value, 2), text);
        }
    }

    #[test]
    fn no_number_is_as_long_as_its_digits() {
        for (value, said) in [
            (1e300, "1.00e300"),
            (-1.5e20, "\u{2212}1.50e20"),
            (9e14, "900000000000000"),
        ] {
            assert_eq!(decimal(value, 2), said);
        }
        assert_eq!(
            (typed(1e300), typed(-1e-300)),
            ("1e300".into(), "-1e-300".into())
        );
        assert_eq!(
            (typed(0.0), typed(0.05), typed(1e6)),
            ("0".into(), "0.05".into(), "1000000".into())
        );
        assert_eq!(
            (short(-1e15), short(-20.0), short(1e-6)),
            (
                "\u{2212}1.00e15".into(),
                "\u{2212}20".into(),
                "1.00e-6".into()
            )
        );
    }

    #[test]
    fn three_digits_whatever_the_size() {
        for (v, text) in [
            (18.449, "18.4"),
            (0.05123, "0.0512"),
            (1840.4, "1840"),
            (9.996, "10"),
            (99.96, "100"),
            (0.0, "0"),
            (-2.71234, "−2.71"),
        ] {
            assert_eq!(three(v), text);
        }
    }

    #[test]
    fn units_change_where_the_eye_wants_them_to() {
        assert_eq!(area(999.0), "999 mm²");
        assert_eq!(area(1840.0), "18.4 cm²");
        assert_eq!(volume(3500.0), "3.5 cm³");
        assert_eq!(duration(0.5), "30 s");
        assert_eq!(duration(59.6), "1 h 00 min");
        assert_eq!(duration(185.0), "3 h 05 min");
        assert_eq!(count(1, "body", "bodies"), "1 body");
        assert_eq!(
            (mass(8.44), mass(1234.0)),
            ("8.4 g".into(), "1.2 kg".into())
        );
    }

    #[test]
    fn no_number_is_finer_than_a_person_can_use() {
        assert_eq!(area(2.58e-7), "0 mm²");
        assert_eq!(length(0.0123), "0.01 mm");
        assert_eq!(
            (areas(412.0, 1280.0), areas(41.24, 8.0)),
            ("4.12 to 12.8 cm²".into(), "41.2 to 8 mm²".into())
        );
        assert_eq!(volume(0.2314), "0.23 mm³");
        assert_eq!(three(2.58e-7), "0");
        assert_eq!(
            [0.0, 0.2, 4.9].map(estimate),
            ["0 min", "under 5 min", "under 5 min"]
        );
        assert_eq!(estimate(65.0), "1 h 05 min");
    }
}
