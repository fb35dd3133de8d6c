//! `X,Y,Z` as people write it: three numbers, or a signed axis.

use nalgebra::{Unit, Vector3};

/// Reads three comma-separated finite numbers, `220,220,250`.
///
/// White space around a number is allowed, and so is the typographic minus
/// sign that the tables print.
///
/// # Errors
/// A sentence that names what was given and what is wanted.
pub fn triple(text: &str) -> Result<[f64; 3], String> {
    let plain = text.replace('\u{2212}', "-");
    let parts: Vec<&str> = plain.split(',').map(str::trim).collect();
    let [x, y, z] = parts.as_slice() else {
        return Err(format!(
            "'{text}' is not X,Y,Z: three numbers with commas between, such as 0,0,-1"
        ));
    };
    let mut out = [0.0; 3];
    for (slot, part) in out.iter_mut().zip([x, y, z]) {
        *slot = part
            .parse::<f64>()
            .ok()
            .filter(|v| v.is_finite())
            .ok_or_else(|| format!("'{part}' in '{text}' is not a finite number"))?;
    }
    Ok(out)
}

/// Reads a direction: `X,Y,Z` of any length above zero, or `+x -x +y -y +z -z`; an axis without a
/// sign is the positive one.
///
/// # Errors
/// A sentence that names what was given and what is wanted; a zero vector has
/// no direction and is refused.
pub fn direction(text: &str) -> Result<Unit<Vector3<f64>>, String> {
    let word = text.trim().replace('\u{2212}', "-").to_ascii_lowercase();
    let axis = match word.as_str() {
        "+x" | "x" => Some(Vector3::x()),
        "-x" => Some(-Vector3::x()),
        "+y" | "y" => Some(Vector3::y()),
        "-y" => Some(-Vector3::y()),
        "+z" | "z" => Some(Vector3::z()),
        "-z" => Some(-Vector3::z()),
        _ => None,
    };
    if let Some(axis) = axis {
        return Ok(Unit::new_unchecked(axis));
    }
    if !word.contains(',') {
        return Err(format!(
            "'{text}' is not a direction: write X,Y,Z, such as 0,0,-1, or one of +x -x +y -y +z -z"
        ));
    }
    unit(triple(text)?).ok_or_else(|| format!("'{text}' has no length, so it points nowhere"))
}

/// The direction of a vector of any finite length, or `None` for the zero vector.
///
/// The largest component is divided out first, so that neither 1e300 nor
/// 1e-300 is lost in the square.
pub fn unit(v: [f64; 3]) -> Option<Unit<Vector3<f64>>> {
    let v = Vector3::from(v);
    let largest = v.amax();
    if !largest.is_finite() || largest == 0.0 {
        return None;
    }
    // Zeros are made positive, so that -0 and 0 are the same words everywhere.
    let v = (v / largest).map(|c| if c == 0.0 { 0.0 } else { c });
    Some(Unit::new_normalize(v))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axis_words_are_unit_vectors() {
        let words = ["+x", "-x", "+Y", "-y", " +z ", "\u{2212}z", "x", "Z"];
        let wanted = [
            [1.0, 0.0, 0.0],
            [-1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, -1.0, 0.0],
            [0.0, 0.0, 1.0],
            [0.0, 0.0, -1.0],
            [1.0, 0.0, 0.0],
            [0.0, 0.0, 1.0],
        ];
        for (word, want) in words.iter().zip(wanted) {
            assert_eq!(direction(word).map(|d| [d.x, d.y, d.z]), Ok(want), "{word}");
        }
    }

    #[test]
    fn any_length_gives_the_same_direction() {
        for scale in ["1", "1e300", "1e-300", "7.5"] {
            let d = direction(&format!("0,-{scale},{scale}")).expect("a direction");
            assert!(
                (d.z - std::f64::consts::FRAC_1_SQRT_2).abs() < 1e-15,
                "{scale}: {d:?}"
            );
            assert!((d.y + d.z).abs() < 1e-15);
        }
    }

    #[test]
    fn refusals_say_what_is_wrong() {
        for (text, part) in [
            ("0,0,0", "points nowhere"),
            ("0,0", "three numbers"),
            ("1,2,3,4", "three numbers"),
            ("1,nan,0", "'nan' in '1,nan,0'"),
            ("1,inf,0", "not a finite number"),
            ("1e999,0,0", "not a finite number"),
            ("up", "one of +x -x"),
            ("", "one of +x -x"),
            ("1,,0", "'' in '1,,0'"),
        ] {
            let said = direction(text).expect_err(text);
            assert!(said.contains(part), "{text}: {said}");
        }
    }
}
