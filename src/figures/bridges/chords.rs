//! One overhang area cut into chords, and the direction that bridges it best.

use super::cut::{Chord, Cut};
use super::outline::Outline;
use crate::plane::overlay::Area;
use nalgebra::Vector2;
use std::f64::consts::PI;

/// Step of the first search for the bridge direction, radians (5°).
const COARSE_RAD: f64 = PI / 36.0;

/// The search ends when its step is below this, radians (0.1°).
const FINE_RAD: f64 = PI / 1800.0;

/// Strips across an area at most. Of an area wider than so many lines, nearly two metres,
/// the strips are wider than a line: a part whose unit was taken for a larger one ends too.
const MOST_STRIPS: f64 = 4096.0;

/// Figures this close, relatively, are ties: the direction tried first stays.
const TIE_REL: f64 = 1e-9;

/// What a direction achieves; see [`Score::beats`].
#[derive(Debug, Clone, Copy, Default)]
struct Score {
    bridged_mm2: f64,
    floating_mm2: f64,
    bridge_mm: f64,
    ledge_mm: f64,
}

impl Score {
    fn of(cut: &Cut) -> Self {
        let mut out = Self::default();
        for c in &cut.chords {
            let area = c.length() * c.width;
            if c.bridged() {
                out.bridged_mm2 += area;
                out.bridge_mm = out.bridge_mm.max(c.length());
            } else if c.ledge() {
                out.ledge_mm = out.ledge_mm.max(c.length());
            } else {
                out.floating_mm2 += area;
            }
        }
        out
    }

    fn complete(&self) -> bool {
        self.bridge_mm > 0.0 && self.ledge_mm == 0.0 && self.floating_mm2 == 0.0
    }

    /// Length below which all chords must stay for a cut to beat a complete one, mm.
    fn beaten_below_mm(&self) -> Option<f64> {
        self.complete()
            .then(|| self.bridge_mm - TIE_REL * self.bridge_mm.abs())
    }

    /// Nothing left unbridged beats something; then the shorter longest chord.
    /// Else the larger bridged area, then the smaller area held nowhere, then the
    /// shorter ledge.
    fn beats(&self, other: &Self) -> bool {
        let less = |a: f64, b: f64| a < b - TIE_REL * b.abs();
        let tied = |a: f64, b: f64| !less(a, b) && !less(b, a);
        match (self.complete(), other.complete()) {
            (true, true) => less(self.bridge_mm, other.bridge_mm),
            (true, false) => true,
            (false, true) => false,
            (false, false) if !tied(self.bridged_mm2, other.bridged_mm2) => {
                less(other.bridged_mm2, self.bridged_mm2)
            }
            (false, false) if !tied(self.floating_mm2, other.floating_mm2) => {
                less(self.floating_mm2, other.floating_mm2)
            }
            (false, false) => less(self.ledge_mm, other.ledge_mm),
        }
    }
}

/// What a cut must show to be of use; one that cannot is given up on the way.
#[derive(Debug, Clone, Copy, Default)]
struct Need {
    /// Some chord is held at both ends.
    bridge: bool,
    /// All chords are, and each is shorter than this, mm.
    all_below_mm: Option<f64>,
}

impl Need {
    /// Whether a cut with this chord falls short.
    fn fails(&self, chord: &Chord) -> bool {
        let Some(below_mm) = self.all_below_mm else {
            return false;
        };
        if chord.bridged() {
            chord.length() >= below_mm
        } else {
            // What has no area spoils nothing.
            chord.length() > 0.0 && chord.length() * chord.width > 0.0
        }
    }
}

/// An overhang area in its gap, ready to be cut in any direction.
pub(super) struct Cutter<'a> {
    pub gap: &'a Area,
    pub overhang: &'a Area,
    pub line_mm: f64,
    pub offset_mm: f64,
    outlines: [Outline; 2],
    crossings: [Vec<(f64, bool)>; 2],
}

impl<'a> Cutter<'a> {
    pub fn new(gap: &'a Area, overhang: &'a Area, line_mm: f64, offset_mm: f64) -> Self {
        Self {
            gap,
            overhang,
            line_mm,
            offset_mm,
            outlines: [gap, overhang].map(Outline::new),
            crossings: [Vec::new(), Vec::new()],
        }
    }

    /// Chords along `direction_rad` that pass through overhanging material.
    ///
    /// The extent across the direction is that of the overhang area, widened to each
    /// side by the offset but not past the gap: the extent of the gap without
    /// the rims that carry themselves. It is divided into strips of equal
    /// width, the fewest that are no wider than a line, with a chord at each strip's middle.
    /// Outermost strips whose middle misses the overhang area are added to their neighbour.
    ///
    /// `false`, with chords missing, where the cut is seen not to be what is needed.
    fn cut(&mut self, direction_rad: f64, cut: &mut Cut, need: Need) -> bool {
        let (sin, cos) = libm::sincos(direction_rad);
        let (along, across) = (Vector2::new(cos, sin), Vector2::new(-sin, cos));
        let [gap, overhang] = &mut self.outlines;
        let (overhang_lo, overhang_hi) = overhang.turn(along, across);
        let (gap_lo, gap_hi) = gap.turn(along, across);
        let lo = (overhang_lo - self.offset_mm).max(gap_lo);
        let hi = (overhang_hi + self.offset_mm).min(gap_hi);
        let width = (hi - lo).max(f64::MIN_POSITIVE.sqrt());
        let strips = (width / self.line_mm - TIE_REL)
            .ceil()
            .clamp(1.0, MOST_STRIPS);
        let pitch = width / strips;
        *cut = Cut {
            direction_rad,
            along,
            across,
            first_mid: lo + 0.5 * pitch,
            pitch,
            chords: std::mem::take(&mut cut.chords),
        };
        cut.chords.clear();
        // Strips whose middle lies in the overhang extent.
        let mut from = ((overhang_lo - cut.first_mid) / pitch).ceil().max(0.0) as u32;
        let mut to = ((overhang_hi - cut.first_mid) / pitch)
            .floor()
            .clamp(0.0, strips - 1.0) as u32;
        if from > to || cut.first_mid + f64::from(from) * pitch > overhang_hi {
            // All middles miss it: one strip down the middle of the overhang area.
            cut.first_mid = 0.5 * (overhang_lo + overhang_hi);
            cut.pitch = width;
            (from, to) = (0, 0);
        }
        overhang.deal(cut, from, to);
        gap.deal(cut, from, to);
        if need.bridge && !gap.holds_twice(from, to) {
            return false;
        }
        let half = 0.5 * cut.pitch;
        let outer =
            |strip: u32, edge: f64| (cut.first_mid + f64::from(strip) * cut.pitch - edge).abs();
        let width = |strip: u32| {
            let below = if strip == from { outer(from, lo) } else { half };
            let above = if strip == to { outer(to, hi) } else { half };
            below + above
        };
        // One in the middle is the likeliest to be too long.
        if need.all_below_mm.is_some() {
            let middle = from + (to - from) / 2;
            let [of_gap, of_overhang] = &mut self.crossings;
            overhang.crossings(middle, of_overhang);
            gap.crossings(middle, of_gap);
            let mut fits = true;
            chords(middle, width(middle), of_gap, of_overhang, |c| {
                fits &= !need.fails(&c);
            });
            if !fits {
                return false;
            }
        }
        overhang.all_crossings(from, to);
        gap.all_crossings(from, to);
        for strip in from..=to {
            let mut fits = true;
            let (of_gap, of_overhang) = (gap.of(strip - from), overhang.of(strip - from));
            chords(strip, width(strip), of_gap, of_overhang, |c| {
                fits &= !need.fails(&c);
                cut.chords.push(c);
            });
            if !fits {
                return false;
            }
        }
        true
    }

    /// All chords along a direction.
    pub fn along(&mut self, direction_rad: f64) -> Cut {
        let mut cut = Cut::default();
        self.cut(direction_rad, &mut cut, Need::default());
        cut
    }

    /// The cut in the best direction: tries every 5°, counted from the longest
    /// outline direction, and the directions along free and square to held
    /// outline; then halves the step about the best down to 0.1°. Where nothing
    /// bridges, a ledge is measured in an outline direction.
    pub fn best(&mut self) -> Cut {
        let mut directions = self.outline_directions();
        let first = directions.first().copied().unwrap_or(0.0);
        let suggested = directions.len();
        directions.extend((1..36).map(|i| first + f64::from(i) * COARSE_RAD));
        let mut scratch = Cut::default();
        self.cut(first, &mut scratch, Need::default());
        let (mut best, mut score) = (first, Score::of(&scratch));
        let mut consider = |this: &mut Self, direction: f64, must_bridge: bool| {
            let need = Need {
                bridge: must_bridge,
                all_below_mm: score.beaten_below_mm(),
            };
            if this.cut(direction, &mut scratch, need) {
                let new = Score::of(&scratch);
                if new.beats(&score) && (new.bridged_mm2 > 0.0 || !must_bridge) {
                    (best, score) = (direction, new);
                }
            }
            (best, score.bridged_mm2)
        };
        let mut at = (first, 0.0);
        for (i, d) in directions.into_iter().enumerate() {
            // The first of those that are suggested has the score already.
            if i > 0 || suggested == 0 {
                at = consider(self, d, suggested > 0 && i >= suggested);
            }
        }
        let mut step = 0.5 * COARSE_RAD;
        while at.1 > 0.0 && step > FINE_RAD {
            let centre = at.0;
            consider(self, centre - step, true);
            at = consider(self, centre + step, true);
            step *= 0.5;
        }
        self.along(at.0.rem_euclid(PI))
    }

    /// Directions that straight outline suggests, the longest first: square to
    /// held edges, along free ones. Edges are gathered by whole degrees, so
    /// that an edge in many pieces counts as one.
    fn outline_directions(&self) -> Vec<f64> {
        let mut sums = vec![(0.0, Vector2::zeros()); 180];
        let near = self.overhang.around.grown(self.offset_mm + self.line_mm);
        for (a, b, held) in &self.gap.edges {
            let apart = a.x.min(b.x) >= near.hi.x
                || a.x.max(b.x) <= near.lo.x
                || a.y.min(b.y) >= near.hi.y
                || a.y.max(b.y) <= near.lo.y;
            let d = b - a;
            let length = d.norm();
            if apart || length == 0.0 {
                continue;
            }
            let d = if *held { Vector2::new(-d.y, d.x) } else { d };
            let angle = libm::atan2(d.y, d.x).rem_euclid(PI);
            let bin = (angle.to_degrees() as usize).min(179);
            let unit = Vector2::new(libm::cos(angle), libm::sin(angle));
            sums[bin].0 += length;
            sums[bin].1 += unit * length;
        }
        sums.sort_by(|a, b| b.0.total_cmp(&a.0));
        (sums.iter().take(6))
            .filter(|(length, _)| *length > self.line_mm)
            .map(|(_, d)| libm::atan2(d.y, d.x))
            .collect()
    }
}

/// The chords of a strip: stretches of the gap in which overhang lies.
fn chords(
    strip: u32,
    width: f64,
    gap: &[(f64, bool)],
    overhang: &[(f64, bool)],
    mut each: impl FnMut(Chord),
) {
    // Overhang stretches lie inside the chords, so their middles tell which.
    let mut middles = (overhang.chunks_exact(2).map(|f| 0.5 * (f[0].0 + f[1].0))).peekable();
    for pair in gap.chunks_exact(2) {
        let (a, b) = (pair[0], pair[1]);
        let mut hit = false;
        while let Some(middle) = middles.next_if(|m| *m <= b.0) {
            hit |= middle > a.0;
        }
        if hit {
            each(Chord {
                strip,
                from: a.0,
                to: b.0,
                held: [a.1, b.1],
                width,
            });
        }
    }
}

#[cfg(test)]
#[path = "chords_tests.rs"]
mod tests;
