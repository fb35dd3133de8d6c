//! Where the views go: the arrangement and the scale that show most on the paper given.

use super::view::Angle;
use crate::words::decimal;

/// Steps of a scale within a power of ten. ISO 5455 prefers 1, 2 and 5 (from memory); the
/// others are on the usual rulers and keep small parts from looking lost.
const SCALE_STEPS: [f64; 7] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0];

/// Room around the views on paper, mm: left, top, right, below the ground, and between.
pub const LEFT: f64 = 9.0;
const TOP: f64 = 2.0;
const RIGHT: f64 = 5.0;
/// Below the ground line, for its hatching and the dimensions.
pub const BOTTOM: f64 = 8.5;
const GAP: f64 = 10.0;

/// Worth of the axonometric view's scale beside that of the three views.
const AXONOMETRIC_WORTH: f64 = 0.6;

/// The axonometric view is no larger than this many times the others.
const AXONOMETRIC_MOST: f64 = 1.6;

/// Share by which the bed reaches past the part, of length and width together.
pub const BED_MORE: f64 = 0.05;

/// A finished arrangement, mm of paper, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// Scale of the three views.
    pub scale: f64,
    /// Its name: "1 : 2".
    pub words: String,
    /// Height of the whole.
    pub height: f64,
    /// Height of the ground line.
    pub ground_y: f64,
    /// Left edge of the side view.
    pub side_left: f64,
    /// Lower edge of the view from below.
    pub under_base: f64,
    /// Scale of the axonometric view.
    pub axonometric: f64,
    /// Where the middle of the part's footprint comes out in it.
    pub middle: [f64; 2],
}

/// Extents of an isometric view of a box on its bed, for a unit scale: width, and how far
/// below and above the middle of the footprint.
pub fn isometric_box([x, y, z]: [f64; 3]) -> [f64; 3] {
    let (half, sixth) = (0.5_f64.sqrt(), (1.0_f64 / 6.0).sqrt());
    let bed = (x + y) * (1.0 + 4.0 * BED_MORE);
    let low = bed / 2.0 * sixth;
    [
        bed * half,
        low,
        low.max(sixth * (f64::midpoint(x, y) + 2.0 * z)),
    ]
}

/// The best arrangement of a box of this size on paper of this width and height at most.
pub fn arrange(size: [f64; 3], paper: [f64; 2], angle: Angle) -> Arrangement {
    let [x, y, z] = size;
    let room = [
        paper[0] - LEFT - RIGHT - GAP,
        paper[1] - TOP - BOTTOM - GAP - if angle == Angle::Third { 7.0 } else { 0.0 },
    ];
    let mut best: Option<(f64, Arrangement)> = None;
    let most = (room[0] / (x + y).max(1e-9)).min(room[1] / (y + z).max(1e-9));
    for (scale, words) in scales(most) {
        for place in [Place::Right, Place::Corner, Place::Strip] {
            let Some(a) = place.try_out(size, paper, angle, scale, &words) else {
                continue;
            };
            let worth = a.scale + AXONOMETRIC_WORTH * a.axonometric;
            if best.as_ref().is_none_or(|b| worth > b.0 + 1e-9) {
                best = Some((worth, a));
            }
        }
    }
    best.map_or_else(|| fallback(paper, most), |b| b.1)
}

/// For sizes without measure: everything in one corner at no scale.
fn fallback(paper: [f64; 2], most: f64) -> Arrangement {
    let scale = if most.is_finite() { 0.2 * most } else { 1.0 };
    Arrangement {
        scale,
        words: "to fit".into(),
        height: paper[1],
        ground_y: paper[1] - BOTTOM,
        side_left: paper[0] / 3.0,
        under_base: paper[1] / 3.0,
        axonometric: scale,
        middle: [0.8 * paper[0], 0.6 * paper[1]],
    }
}

/// The scales of the series up to `most`, from the largest down, with their names; the
/// smallest ones looked at are a sixth of that.
fn scales(most: f64) -> Vec<(f64, String)> {
    let mut out: Vec<(f64, String)> = Vec::new();
    for power in 0..8 {
        for step in SCALE_STEPS {
            let s = step * 10.0_f64.powi(power);
            let name = decimal(s, 1);
            out.push((s, format!("{name} : 1")));
            out.push((1.0 / s, format!("1 : {name}")));
        }
    }
    out.retain(|(scale, _)| *scale <= most && *scale >= most / 6.0);
    out.sort_by(|a, b| b.0.total_cmp(&a.0));
    // 1 : 1 is both.
    out.dedup_by(|a, b| a.0 == b.0);
    out
}

/// The largest scale of the series up to `most`, with its name.
pub fn scale_below(most: f64) -> (f64, String) {
    scales(most)
        .into_iter()
        .next()
        .unwrap_or((most, "to fit".into()))
}

/// Where the axonometric view goes.
#[derive(Clone, Copy)]
enum Place {
    /// Beside the three views.
    Right,
    /// Over the side view (first angle) or under it.
    Corner,
    /// Over all three (first angle) or under them.
    Strip,
}

impl Place {
    fn try_out(
        self,
        [x, y, z]: [f64; 3],
        paper: [f64; 2],
        angle: Angle,
        scale: f64,
        words: &str,
    ) -> Option<Arrangement> {
        let (px, py, pz) = (x * scale, y * scale, z * scale);
        let third = angle == Angle::Third;
        let side_left = LEFT + px + GAP;
        let wide = side_left + py + RIGHT;
        // In third angle the view from below has its dimension below it.
        let tall = TOP + py + GAP + pz + BOTTOM + if third { 6.0 } else { 0.0 };
        if wide > paper[0] || tall > paper[1] {
            return None;
        }
        let [w, low, high] = isometric_box([x, y, z]);
        let (left, right, used) = match self {
            Self::Right => (wide, paper[0], 0.0),
            Self::Corner => (side_left, paper[0], pz + BOTTOM + 5.0),
            Self::Strip => (LEFT, paper[0], tall - TOP),
        };
        let fit = ((right - left) / w)
            .min((paper[1] - used) / (low + high))
            .min(AXONOMETRIC_MOST * scale);
        if fit <= 0.25 * scale {
            return None;
        }
        let own = fit * (low + high);
        let height = tall.max(own + used);
        let middle_y = match (self, third) {
            (Self::Right, _) => height - (height - own) / 2.0 - fit * low,
            (_, false) => height - used - fit * low - (height - used - own) / 2.0,
            (_, true) => used + fit * high + (height - used - own) / 2.0,
        };
        let ground_y = if third { TOP + pz } else { height - BOTTOM };
        let under_base = if third {
            ground_y + BOTTOM + GAP - 5.0 + py
        } else {
            ground_y - pz - GAP
        };
        Some(Arrangement {
            scale,
            words: words.into(),
            height,
            ground_y,
            side_left,
            under_base,
            axonometric: fit,
            middle: [f64::midpoint(left, right), middle_y],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_has_the_preferred_scales_and_no_odd_ones() {
        // ISO 5455: 1 : 2, 1 : 5, 1 : 10, 2 : 1, 5 : 1, 10 : 1 (from memory).
        let words: Vec<String> = [60.0, 10.0, 1.6, 0.27, 0.045]
            .iter()
            .flat_map(|m| scales(*m))
            .map(|s| s.1)
            .collect();
        for name in [
            "1 : 1", "1 : 2", "1 : 5", "1 : 10", "1 : 20", "2 : 1", "5 : 1", "10 : 1",
        ] {
            assert!(words.iter().any(|w| w == name), "{name}: {words:?}");
        }
        for (scale, name) in [1.6, 0.27].iter().flat_map(|m| scales(*m)) {
            let (a, b) = name.split_once(" : ").expect("a ratio");
            let ratio = a.parse::<f64>().expect("number") / b.parse::<f64>().expect("number");
            assert!((scale - ratio).abs() < 1e-9, "{name}");
        }
    }

    #[test]
    fn nothing_leaves_the_paper_and_nothing_overlaps() {
        let paper = [174.0, 110.0];
        for size in [
            [110.0, 28.0, 114.0],
            [270.0, 34.0, 26.0],
            [10.0, 10.0, 200.0],
            [0.4, 0.3, 0.2],
            [1500.0, 900.0, 4.0],
        ] {
            for angle in Angle::ALL {
                let a = arrange(size, paper, angle);
                let [px, py, pz] = size.map(|s| s * a.scale);
                assert_ne!(a.words, "to fit", "{size:?}");
                assert!(a.height <= paper[1] + 1e-9);
                assert!(a.side_left + py <= paper[0] && a.side_left >= LEFT + px);
                assert!(a.ground_y - pz >= 0.0 && a.ground_y < a.height);
                assert!(a.under_base <= a.height && a.under_base - py >= 0.0);
                let [w, low, high] = isometric_box(size).map(|v| v * a.axonometric);
                assert!(a.middle[0] - w / 2.0 >= -1e-9 && a.middle[0] + w / 2.0 <= paper[0] + 1e-9);
                assert!(a.middle[1] - high >= -1e-9, "{size:?} {a:?}");
                assert!(a.middle[1] + low <= a.height + 1e-9, "{size:?} {a:?}");
            }
        }
    }
}
