//! The first two millimetres of a pose: what detail lies on the bed.

use crate::figures::buckets::Buckets;
use crate::figures::sliced::Sliced;
use crate::figures::{Piece, Section, slicing};
use crate::plane::polygon::{self, Ring, edges};
use crate::plane::rect::{hull2d, min_area_rectangle, span};
use nalgebra::Point2;

/// Height at which raised or sunk detail of the face on the bed is gone, mm: a
/// house value, more than letters are raised and less than a foot is high.
const ABOVE_MM: f64 = 2.0;

/// Islands and holes larger than this are feet and openings, no detail, mm².
const DETAIL_MM2: f64 = 300.0;
/// A hole wider than this is a pocket that the first layer does not fill, mm (a house value).
const STROKE_MM: f64 = 1.5;
/// A hole that fills this share of the rectangle around it and is so many times as long as wide
/// is a slot (house values).
const SLOT_SHARE: f64 = 0.85;
const SLOT_ASPECT: f64 = 2.5;

/// Area over that of the circle of the same outline below which a piece is drawn in strokes: a
/// square has 0.79, a rectangle twice as long as wide 0.70 (house value).
const ROUNDNESS: f64 = 0.65;

/// The same measure above which a hole is round (house value).
const ROUND_HOLE: f64 = 0.85;

/// Narrowest and widest opening into which something is meant to go, round ones and others, and
/// the longest, mm (house values).
const ROUND_MM: std::ops::RangeInclusive<f64> = 1.0..=40.0;
const SHAPED_MM: std::ops::RangeInclusive<f64> = 1.0..=20.0;
const LONGEST_MM: f64 = 40.0;
/// The circle through the corners of a round one is no wider than so many times the opening: that of a teardrop
/// is, since its point reaches out (house value; of a hexagon 1.15).
const POINTED: f64 = 1.15;
/// More that are not round are a pattern, such as a grille (house value).
const MOST_SHAPED: usize = 12;
/// Share of its hull that an opening fills at least: cutouts of other shapes hold nothing. A piece
/// that fills as much is drawn in no strokes (house value).
const FILLS: f64 = 0.9;
/// Length over width up to which an opening that is also this round is a round hole: a polygon of
/// eight sides has 0.948, a hexagon 0.907 and 1.15.
const ROUND_ASPECT: f64 = 1.06;
const ROUND_SHAPE: f64 = 0.93;
/// A wall that moves in by less than this up to the upper section is upright, mm; a chamfer of
/// 0.4 mm moves in further (house value).
const UPRIGHT_MM: f64 = 0.15;

/// Rows in which a section is looked up, and places of a hole that are tried.
const ROWS: usize = 64;
const PLACES: usize = 5;
/// … this far inside its edge, mm.
const INSIDE_MM: f64 = 0.02;

/// What lies on the bed, compared with a section 2 mm above it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BedDetail {
    /// Small pieces of the contact section, drawn in strokes, beyond those 2 mm above: raised
    /// detail. Pegs and feet are none.
    pub islands: usize,
    /// Narrow holes of the contact section over which the part is closed 2 mm above: sunk
    /// detail. What goes on up there and straight slots are none.
    pub grooves: usize,
    /// Openings that go up 2 mm unchanged and into which something may go.
    pub openings: Openings,
}

/// Sizes of the openings of a face on the bed, mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Openings {
    /// Diameters of the round ones.
    pub round_mm: Vec<f64>,
    /// Widths of the others: slots, hexagons, squares and the like; none where there are so many
    /// that they are a pattern.
    pub shaped_mm: Vec<f64>,
}

impl BedDetail {
    /// Cuts the part at touch height and 2 mm above the bed. A part lower than
    /// 4 mm is cut at half its height instead. O(n).
    pub fn new(sliced: &Sliced) -> Self {
        let above = ABOVE_MM.min(sliced.posed().height_mm / 2.0);
        if above <= sliced.settings().touch_mm() {
            return Self::default();
        }
        let cut = slicing::cut(sliced.posed(), &[above]);
        let (Some(low), Some(high)) = (sliced.touch().sections.first(), cut.sections.first())
        else {
            return Self::default();
        };
        Self {
            islands: islands(low, high),
            grooves: grooves(low, high),
            openings: openings(low, high),
        }
    }
}

/// Small pieces that grow together above the bed, as far as they are drawn in strokes: pegs and
/// feet are meant to touch the bed and are no detail to be read.
fn islands(low: &Section, high: &Section) -> usize {
    let small: Vec<&Piece> = (low.pieces.iter())
        .filter(|p| p.area_mm2 < DETAIL_MM2)
        .collect();
    let gone = small.len().saturating_sub(high.pieces.len());
    gone.min(small.iter().filter(|p| is_drawn(p)).count())
}

/// Whether a piece is crooked, as letters are: a straight bar is a rib or a skid.
fn is_drawn(piece: &Piece) -> bool {
    let outline = length_of(piece.loops());
    let hull_mm2 = polygon::area(&hull2d(&piece.outer)).abs();
    roundness(piece.area_mm2, outline) < ROUNDNESS && piece.area_mm2 < FILLS * hull_mm2
}

/// Length of some loops, mm.
fn length_of<'a>(loops: impl Iterator<Item = &'a [Point2<f64>]>) -> f64 {
    let sides = loops.flat_map(edges);
    sides.map(|(a, b)| (b - a).norm()).sum()
}

/// Area over that of the circle of the same outline, 1 for a circle.
fn roundness(area_mm2: f64, outline_mm: f64) -> f64 {
    4.0 * std::f64::consts::PI * area_mm2 / (outline_mm * outline_mm)
}

fn grooves(low: &Section, high: &Section) -> usize {
    let holes = low.pieces.iter().flat_map(|p| &p.holes);
    let strokes: Vec<&Ring> = holes.filter(|h| is_stroke(h)).collect();
    if strokes.is_empty() {
        return 0;
    }
    let cover = Cover::new(high);
    let closed = strokes.iter().filter(|h| cover.closes(h)).count();
    // Where most of them go on, it is a lattice.
    if 2 * closed >= strokes.len() {
        closed
    } else {
        0
    }
}

/// Openings of the contact section that are the same in the upper one.
fn openings(low: &Section, high: &Section) -> Openings {
    let holes = |s: &Section| -> Vec<Opening> {
        let rings = s.pieces.iter().flat_map(|p| &p.holes);
        rings.filter_map(Opening::of).collect()
    };
    let above = holes(high);
    let kept = holes(low)
        .into_iter()
        .filter(|o| o.holds(low) && above.iter().any(|a| o.goes_on_as(a)));
    let (round, mut shaped): (Vec<Opening>, Vec<Opening>) = kept.partition(Opening::is_round);
    if shaped.len() > MOST_SHAPED {
        shaped.clear();
    }
    Openings {
        round_mm: round.iter().map(Opening::across_mm).collect(),
        shaped_mm: shaped.iter().map(|o| o.wide_mm).collect(),
    }
}

/// A hole of a section.
struct Opening {
    /// What fills it.
    filling: Piece,
    hull_mm2: f64,
    wide_mm: f64,
    long_mm: f64,
}

impl Opening {
    fn of(ring: &Ring) -> Option<Self> {
        let hull = hull2d(ring);
        let around = min_area_rectangle(&hull)?;
        Some(Self {
            filling: Piece::from_loops(ring.iter().rev().copied().collect(), Vec::new()),
            hull_mm2: polygon::area(&hull).abs(),
            wide_mm: around.short_mm,
            long_mm: around.long_mm,
        })
    }

    /// Of a round one the diameter: that of the circle through its corners.
    fn across_mm(&self) -> f64 {
        let corners = self.filling.outer.iter();
        let off = corners.map(|p| (p - self.filling.centroid).norm());
        2.0 * off.fold(0.0, f64::max)
    }

    fn is_round(&self) -> bool {
        self.long_mm <= ROUND_ASPECT * self.wide_mm
            && self.across_mm() <= POINTED * self.wide_mm
            && roundness(self.filling.area_mm2, self.filling.perimeter_mm()) >= ROUND_SHAPE
    }

    /// Of a size and shape into which something goes, and empty.
    fn holds(&self, section: &Section) -> bool {
        let wide = if self.is_round() { ROUND_MM } else { SHAPED_MM };
        wide.contains(&self.wide_mm)
            && self.long_mm <= LONGEST_MM
            && self.filling.area_mm2 >= FILLS * self.hull_mm2
            && !(section.pieces.iter())
                .filter_map(|p| p.outer.first())
                .any(|corner| self.filling.contains(*corner))
    }

    /// Whether another one above it is the same.
    fn goes_on_as(&self, above: &Self) -> bool {
        let (low, high) = (&self.filling, &above.filling);
        (high.centroid - low.centroid).norm() <= UPRIGHT_MM
            && (low.area_mm2 - high.area_mm2).abs() <= UPRIGHT_MM * low.perimeter_mm()
    }
}

/// Small, narrow and no slot.
fn is_stroke(hole: &Ring) -> bool {
    let area = -polygon::area(hole);
    let outline = length_of(std::iter::once(hole.as_slice()));
    if area >= DETAIL_MM2 || 2.0 * area >= STROKE_MM * outline {
        return false;
    }
    // A round one is a screw's hole.
    if roundness(area, outline) > ROUND_HOLE {
        return false;
    }
    min_area_rectangle(&hull2d(hole)).is_none_or(|around| {
        area < SLOT_SHARE * around.area_mm2() || around.long_mm < SLOT_ASPECT * around.short_mm
    })
}

/// A section in rows, to ask of many places whether they lie in it.
struct Cover {
    from_mm: f64,
    row_mm: f64,
    rows: Buckets<(Point2<f64>, Point2<f64>)>,
}

impl Cover {
    fn new(section: &Section) -> Self {
        let loops = section.pieces.iter().flat_map(Piece::loops);
        let lines: Vec<(Point2<f64>, Point2<f64>)> = loops.flat_map(edges).collect();
        let (lo, hi) = span(lines.iter().map(|(a, _)| a.y));
        let row_mm = ((hi - lo) / ROWS as f64).max(f64::MIN_POSITIVE);
        let row = move |y: f64| row_of(y, lo, row_mm);
        let spread = lines.iter().flat_map(move |&(a, b)| {
            (row(a.y.min(b.y))..=row(a.y.max(b.y))).map(move |k| (k, (a, b)))
        });
        Self {
            from_mm: lo,
            row_mm,
            rows: Buckets::new(ROWS, spread),
        }
    }

    /// Whether there is material over most of a hole.
    fn closes(&self, hole: &Ring) -> bool {
        let n = hole.len();
        let under = |k: usize| {
            // A little inside: a hole runs clockwise, so to the right of its edge.
            let (a, b) = (hole[k * n / PLACES], hole[(k * n / PLACES + 1) % n]);
            let (middle, way) = (nalgebra::center(&a, &b), (b - a).normalize());
            let p = middle + nalgebra::Vector2::new(way.y, -way.x) * INSIDE_MM;
            let row = self.rows.of(row_of(p.y, self.from_mm, self.row_mm));
            polygon::contains(row.iter().copied(), p)
        };
        2 * (0..PLACES).filter(|&k| under(k)).count() > PLACES
    }
}

fn row_of(y: f64, from_mm: f64, row_mm: f64) -> usize {
    (((y - from_mm) / row_mm).max(0.0) as usize).min(ROWS - 1)
}

#[cfg(test)]
mod tests;
