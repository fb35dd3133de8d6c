//! One line of JSON with numbers that are the same on every machine.

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter};
use serde_json::{Serializer, Value};
use std::io::{self, Write};

/// Significant digits of a number: far below what any figure is good for, far
/// above the last bits in which two processors may differ.
const DIGITS: usize = 7;

/// Significant digits where a point is computed from the number.
const POSE_DIGITS: usize = 12;

/// Smaller numbers are what is left of a difference that should be nothing.
const NOTHING: f64 = 1e-9;

/// The same for a rotation or an offset.
const POSE_NOTHING: f64 = 1e-12;

/// Keys whose numbers map points from one frame to another.
const POSE_KEYS: [&str; 3] = ["down", "rotation", "offset_mm"];

/// The compact JSON of a value, numbers rounded, without a line break.
///
/// Every number is rounded that is not whole by type; one that is not finite is `null`.
///
/// # Errors
/// Only where the value itself refuses to be written, such as a map with keys
/// that are no text.
pub fn line<T: Serialize>(value: &T) -> serde_json::Result<String> {
    let mut out = Vec::new();
    value.serialize(&mut Serializer::with_formatter(
        &mut out,
        Rounding::default(),
    ))?;
    String::from_utf8(out).map_err(serde::ser::Error::custom)
}

/// The same as a tree: its text is that of [`line()`].
///
/// # Errors
/// As [`line()`].
pub fn tree<T: Serialize>(value: &T) -> serde_json::Result<Value> {
    serde_json::from_str(&line(value)?)
}

/// Rounds numbers on their way into the text: a report of a part in a hundred thousand pieces is
/// never held twice.
#[derive(Default)]
struct Rounding {
    key: String,
    in_key: bool,
    /// Objects that are open.
    depth: usize,
    /// Depth of the object below one of whose [`POSE_KEYS`] the text is.
    of_pose: Option<usize>,
}

impl Formatter for Rounding {
    fn begin_object<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.depth += 1;
        CompactFormatter.begin_object(out)
    }

    fn end_object<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.depth -= 1;
        CompactFormatter.end_object(out)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> io::Result<()> {
        self.key.clear();
        self.in_key = true;
        CompactFormatter.begin_object_key(out, first)
    }

    fn write_string_fragment<W: ?Sized + Write>(
        &mut self,
        out: &mut W,
        text: &str,
    ) -> io::Result<()> {
        if self.in_key {
            self.key.push_str(text);
        }
        CompactFormatter.write_string_fragment(out, text)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.in_key = false;
        if POSE_KEYS.contains(&self.key.as_str()) {
            self.of_pose.get_or_insert(self.depth);
        }
        CompactFormatter.begin_object_value(out)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.of_pose = self.of_pose.filter(|depth| *depth != self.depth);
        CompactFormatter.end_object_value(out)
    }

    fn write_f64<W: ?Sized + Write>(&mut self, out: &mut W, v: f64) -> io::Result<()> {
        let (digits, nothing) = if self.of_pose.is_some() {
            (POSE_DIGITS, POSE_NOTHING)
        } else {
            (DIGITS, NOTHING)
        };
        let v = if v.abs() < nothing {
            0.0
        } else {
            significant(v, digits)
        };
        CompactFormatter.write_f64(out, v)
    }

    fn write_f32<W: ?Sized + Write>(&mut self, out: &mut W, v: f32) -> io::Result<()> {
        self.write_f64(out, v.into())
    }
}

/// The decimal number with `digits` significant digits that is nearest to `v`.
///
/// Negative zero becomes zero. A value that is not finite stays as it is.
pub fn significant(v: f64, digits: usize) -> f64 {
    if v == 0.0 || !v.is_finite() {
        return if v == 0.0 { 0.0 } else { v };
    }
    let text = format!("{v:.*e}", digits.saturating_sub(1));
    text.parse().unwrap_or(v)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_by_digits_not_by_places() {
        assert_eq!(significant(123_456_789.123, 7), 123_456_800.0);
        assert_eq!(significant(1.0 / 3.0, 7), 0.333_333_3);
        assert_eq!(significant(-2e-9 / 3.0, 3), -6.67e-10);
        assert!(significant(-0.0, 7).is_sign_positive());
        assert_eq!(significant(f64::MAX, 17), f64::MAX);
    }

    #[test]
    fn the_line_keeps_key_order_and_has_no_infinity() {
        #[derive(Serialize)]
        struct Thing {
            zebra: f64,
            rotation: [[f64; 1]; 1],
            apple: f64,
            count: u64,
        }
        let thing = Thing {
            zebra: 1.0 / 3.0,
            rotation: [[1.0 / 3.0]],
            apple: f64::INFINITY,
            count: 12_345_678_901,
        };
        let text = line(&thing).expect("plain data");
        assert_eq!(
            text,
            r#"{"zebra":0.3333333,"rotation":[[0.333333333333]],"apple":null,"count":12345678901}"#
        );
    }

    #[test]
    fn a_point_is_computed_from_what_lies_below_these_keys_alone() {
        let third = 1.0 / 3.0;
        let thing = serde_json::json!({
            "a": {"rotation": {"x": third, "down": [third], "y": [{"z": third}]}, "b": third},
            "offset": third,
            "offset_mm": third,
            "c": [third],
        });
        let (fine, coarse) = ("0.333333333333", "0.3333333");
        let wanted = format!(
            r#"{{"a":{{"rotation":{{"x":{fine},"down":[{fine}],"y":[{{"z":{fine}}}]}},"b":{coarse}}},"offset":{coarse},"offset_mm":{fine},"c":[{coarse}]}}"#
        );
        assert_eq!(line(&thing).expect("plain data"), wanted);
        assert_eq!(tree(&thing).expect("plain data").to_string(), wanted);
    }

    #[test]
    fn a_last_bit_does_not_show() {
        let (a, b) = (0.1 + 0.2, 0.3);
        assert_ne!(a, b);
        assert_eq!(line(&a).ok(), line(&b).ok());
        assert_eq!(line(&[1e-17, -1e-13]).ok().as_deref(), Some("[0.0,0.0]"));
    }
}
