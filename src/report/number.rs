//! One line of JSON with numbers that are the same on every machine.

use serde::Serialize;
use serde_json::{Map, Number, Value};

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
/// # Errors
/// Only where the value itself refuses to be written, such as a map with keys
/// that are no text.
pub fn line<T: Serialize>(value: &T) -> serde_json::Result<String> {
    serde_json::to_string(&tree(value)?)
}

/// The same as a tree: its text is that of [`line()`].
///
/// # Errors
/// As [`line()`].
pub fn tree<T: Serialize>(value: &T) -> serde_json::Result<Value> {
    Ok(rounded(serde_json::to_value(value)?, false))
}

/// The value with every number rounded that is not whole by type; keys keep
/// their order. `of_pose` is true below one of [`POSE_KEYS`].
fn rounded(value: Value, of_pose: bool) -> Value {
    let (digits, nothing) = if of_pose {
        (POSE_DIGITS, POSE_NOTHING)
    } else {
        (DIGITS, NOTHING)
    };
    let number = |v: f64| {
        Number::from_f64(if v.abs() < nothing {
            0.0
        } else {
            significant(v, digits)
        })
    };
    match value {
        Value::Number(n) if n.is_f64() => n
            .as_f64()
            .and_then(number)
            .map_or(Value::Null, Value::Number),
        Value::Array(list) => Value::Array(list.into_iter().map(|v| rounded(v, of_pose)).collect()),
        Value::Object(map) => Value::Object(
            map.into_iter()
                .map(|(key, v)| {
                    let of_pose = of_pose || POSE_KEYS.contains(&key.as_str());
                    (key, rounded(v, of_pose))
                })
                .collect::<Map<_, _>>(),
        ),
        other => other,
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
    fn a_last_bit_does_not_show() {
        let (a, b) = (0.1 + 0.2, 0.3);
        assert_ne!(a, b);
        assert_eq!(line(&a).ok(), line(&b).ok());
        assert_eq!(line(&[1e-17, -1e-13]).ok().as_deref(), Some("[0.0,0.0]"));
    }
}
