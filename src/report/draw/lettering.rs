//! Single-stroke figures for dimensions where no font is at hand (after the upright
//! type of ISO 3098, drawn anew on a grid of 4 by 6).

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
    let mut out = Vec::new();
    for (i, sign) in text.chars().enumerate() {
        for stroke in sign_strokes(sign) {
            out.push(
                stroke
                    .iter()
                    .map(|&[x, y]| {
                        [
                            ADVANCE * i as f64 + f64::from(x) / 4.0 * 0.44,
                            f64::from(y) / 6.0 * HEIGHT,
                        ]
                    })
                    .collect(),
            );
        }
    }
    out
}

fn sign_strokes(sign: char) -> &'static [&'static [[i8; 2]]] {
    match sign {
        '0' => &[&[
            [1, 0],
            [0, 1],
            [0, 5],
            [1, 6],
            [3, 6],
            [4, 5],
            [4, 1],
            [3, 0],
            [1, 0],
        ]],
        '1' => &[&[[1, 4], [3, 6], [3, 0]]],
        '2' => &[&[[0, 5], [1, 6], [3, 6], [4, 5], [4, 4], [0, 0], [4, 0]]],
        '3' => &[&[
            [0, 6],
            [4, 6],
            [2, 4],
            [3, 4],
            [4, 3],
            [4, 1],
            [3, 0],
            [1, 0],
            [0, 1],
        ]],
        '4' => &[&[[3, 0], [3, 6], [0, 2], [4, 2]]],
        '5' => &[&[
            [4, 6],
            [1, 6],
            [0, 3],
            [3, 4],
            [4, 3],
            [4, 1],
            [3, 0],
            [1, 0],
            [0, 1],
        ]],
        '6' => &[&[
            [3, 6],
            [1, 5],
            [0, 3],
            [0, 1],
            [1, 0],
            [3, 0],
            [4, 1],
            [4, 2],
            [3, 3],
            [0, 2],
        ]],
        '7' => &[&[[0, 6], [4, 6], [1, 0]]],
        '8' => &[
            &[
                [1, 3],
                [0, 4],
                [0, 5],
                [1, 6],
                [3, 6],
                [4, 5],
                [4, 4],
                [3, 3],
                [1, 3],
            ],
            &[
                [1, 3],
                [0, 2],
                [0, 1],
                [1, 0],
                [3, 0],
                [4, 1],
                [4, 2],
                [3, 3],
            ],
        ],
        '9' => &[&[
            [4, 4],
            [1, 3],
            [0, 4],
            [0, 5],
            [1, 6],
            [3, 6],
            [4, 5],
            [4, 3],
            [3, 1],
            [1, 0],
        ]],
        '.' => &[&[[2, 0], [2, 0]]],
        ':' => &[&[[2, 1], [2, 1]], &[[2, 4], [2, 4]]],
        '\u{2212}' => &[&[[0, 3], [4, 3]]],
        'X' => &[&[[0, 0], [4, 6]], &[[0, 6], [4, 0]]],
        'Y' => &[&[[0, 6], [2, 3], [4, 6]], &[[2, 3], [2, 0]]],
        'Z' => &[&[[0, 6], [4, 6], [0, 0], [4, 0]]],
        _ => &[],
    }
}
