//! Single-stroke figures for dimensions where no font is at hand (after the upright
//! type of ISO 3098, drawn anew on a grid of 4 by 6), and the letters of the captions.

/// Advance of one sign as a share of the lettering size.
const ADVANCE: f64 = 0.6;

/// Height of a figure as a share of the lettering size.
const HEIGHT: f64 = 0.7;

/// Width of a text as a share of the lettering size.
pub fn width(text: &str) -> f64 {
    ADVANCE * text.chars().count() as f64
}

/// The strokes of a text, size 1, from the left end of the base line, y upwards. Signs
/// that are not drawn leave a gap.
pub fn strokes(text: &str) -> Vec<Vec<[f64; 2]>> {
    let place = |i: usize, at: &str| {
        let [x, y] = [0, 1].map(|k| f64::from(at.as_bytes()[k] - b'0'));
        [ADVANCE * i as f64 + x / 4.0 * 0.44, y / 6.0 * HEIGHT]
    };
    (text.chars().enumerate())
        .flat_map(|(i, sign)| sign_strokes(sign).iter().map(move |stroke| (i, stroke)))
        .map(|(i, stroke)| stroke.split(' ').map(|at| place(i, at)).collect())
        .collect()
}

/// The strokes of a sign as points of the grid, column before row.
fn sign_strokes(sign: char) -> &'static [&'static str] {
    match sign {
        '0' => &["10 01 05 16 36 45 41 30 10"],
        '1' => &["14 36 30"],
        '2' => &["05 16 36 45 44 00 40"],
        '3' => &["06 46 24 34 43 41 30 10 01"],
        '4' => &["30 36 02 42"],
        '5' => &["46 16 03 34 43 41 30 10 01"],
        '6' => &["36 15 03 01 10 30 41 42 33 02"],
        '7' => &["06 46 10"],
        '8' => &["13 04 05 16 36 45 44 33 13", "13 02 01 10 30 41 42 33"],
        '9' => &["44 13 04 05 16 36 45 43 31 10"],
        '.' => &["20 20"],
        ':' => &["21 21", "24 24"],
        '\u{2212}' => &["03 43"],
        'X' => &["00 46", "06 40"],
        'Y' => &["06 23 46", "23 20"],
        'Z' => &["06 46 00 40"],
        '+' => &["13 33", "22 24"],
        '(' => &["26 14 12 20"],
        ')' => &["16 24 22 10"],
        '°' => &["15 16 26 25 15"],
        'a' => &["33 24 14 03 01 10 20 31", "34 30"],
        'b' => &["06 00", "03 14 24 33 31 20 10 01"],
        'd' => &["36 30", "33 24 14 03 01 10 20 31"],
        'e' => &["02 32 33 24 14 03 01 10 20 31"],
        'f' => &["35 26 15 10", "04 24"],
        'g' => &["33 24 14 03 02 11 21 32", "34 31 20 10"],
        'h' => &["06 00", "03 14 24 33 30"],
        'i' => &["14 10", "16 16"],
        'l' => &["16 10"],
        'm' => &["04 00", "03 14 23 20", "23 34 43 40"],
        'n' => &["04 00", "03 14 24 33 30"],
        'o' => &["03 14 24 33 31 20 10 01 03"],
        'r' => &["04 00", "03 14 24"],
        's' => &["33 24 14 03 12 22 31 20 10 01"],
        't' => &["16 11 20 30", "04 24"],
        'w' => &["04 10 23 30 44"],
        _ => &[],
    }
}
