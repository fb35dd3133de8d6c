//! The measuring card: what a calliper should read on the print.
//!
//! The extents along build X, Y and Z come first, one outside diameter in place of two of them
//! where the outline is round; then the thickness of plates and
//! walls, the width of slots, the diameters of bores and pins, as far as the jaws of a
//! calliper reach two plane faces or a round surface ([`crate::features::Opposite::reached`]).
//! A thickness or a width is the way from a face straight to the next surface, where that is a
//! plane face that looks the other way; of what is thicker than its faces are wide it is no
//! thickness, but a height or a length.
//!
//! Axes are those of the part as it stands in the file that is written. Where it only fits the
//! bed turned, its sides lie along no axis: its sizes are given along the part and across it,
//! with the angle. The tolerance grows with the length ([`super::tolerance`]).

mod line;
mod stand;
mod words;

pub use line::{Card, CardGroup, Measurement, Reading};
pub use stand::{AsWritten, BuildAxis};

use super::tolerance::tolerance_mm;
use crate::features::{Between, Bore, Features, Opposite};
use crate::settings::Settings;
use nalgebra::{Point3, Unit, Vector3};
use stand::Lie;
use words::{CALLIPER_MM, in_words, name, notes};

/// A round surface has to go this far round to be gripped, degrees.
const LEAST_TURN_DEG: f64 = 190.0;
/// Bores and pins smaller than this are no bores and pins, mm.
const LEAST_ROUND_MM: f64 = 2.0;
/// Bores smaller than this take no jaw, mm (house value).
const LEAST_BORE_MM: f64 = 3.0;
/// A wall is no thicker than this, times the width of its narrower face: a square bar has 1, a rim
/// on a wall as high as it is wide too (house value).
const WALL_SHARE: f64 = 1.2;
/// Axes are one within this cosine (0.8°) and share of the radius; the radii agree to that too.
const COAXIAL: f64 = 0.999_9;
const SAME_AXIS: f64 = 0.03;
/// Lines of flats and of bores that a card holds beside the extents.
const MOST_LINES: usize = 6;

fn is_round(b: &Bore) -> bool {
    b.turn_rad >= LEAST_TURN_DEG.to_radians() && 2.0 * b.radius_mm >= LEAST_ROUND_MM
}

/// Whether two bores or bosses lie on one axis and are as wide.
fn is_one(a: &Bore, b: &Bore) -> bool {
    let off = b.centre - a.centre;
    let beside = (off - a.axis.into_inner() * off.dot(&a.axis)).norm();
    a.hole == b.hole
        && a.axis.dot(&b.axis).abs() >= COAXIAL
        && beside <= SAME_AXIS * a.radius_mm
        && (a.radius_mm - b.radius_mm).abs() <= SAME_AXIS * a.radius_mm
}

/// What is found on a part for the jaws of a calliper.
#[derive(Debug, Clone, Copy)]
pub struct JawWork<'a> {
    /// Regions and bores.
    pub features: &'a Features,
    /// Plane faces opposite each other.
    pub opposite: &'a [Opposite],
    /// Where each of the largest bores and bosses can be held, if it can.
    pub held: &'a [Option<Point3<f64>>],
}

/// The card of one pose.
pub fn card(found: &JawWork, stands: &AsWritten, settings: &Settings) -> Card {
    let aslant_deg = stands.aslant_deg();
    let reading = |kind: Measurement, lies, nominal_mm, at: Point3<f64>| Reading {
        kind,
        group: kind.group(),
        along: match lies {
            Lie::Of(axis) => axis,
            Lie::Long | Lie::Cross => BuildAxis::Aslant,
        },
        from_x_deg: aslant_deg.and_then(|deg| match lies {
            Lie::Long => Some(deg),
            Lie::Cross => Some(if deg > 0.0 { deg - 90.0 } else { deg + 90.0 }),
            Lie::Of(_) => None,
        }),
        nominal_mm,
        tolerance_mm: tolerance_mm(nominal_mm, settings.tolerance_mm),
        count: 1,
        at_mm: at.into(),
        says: String::new(),
        between_flats: false,
        lies,
    };
    let middle = Point3::new(0.0, 0.0, stands.extents_mm[2] / 2.0);
    let ways = stands.ways();
    // A round outline has a diameter, not a length and a width.
    let round = stands.round_outline();
    let is_across = |k: usize| round.is_some_and(|(about, _)| about != k);
    let across = round.map(|(about, mm)| reading(Measurement::Outside, ways[about].0, mm, middle));
    let along = (0..3).filter(|&k| !is_across(k)).map(|k| {
        let (lies, mm, way) = ways[k];
        Reading {
            between_flats: stands.is_between_flats(&found.features.regions.list, &way),
            ..reading(Measurement::Extent, lies, mm, middle)
        }
    });
    let mut lines: Vec<Reading> = across.into_iter().chain(along).collect();
    let placed = |kind, along: &Unit<Vector3<f64>>, mm: f64, at: &Point3<f64>| {
        reading(
            kind,
            stands.lie(along),
            mm,
            stands.written.build_from_part * at,
        )
    };
    let reached = (found.opposite.iter()).filter(|p| p.reached && p.apart_mm <= CALLIPER_MM);
    let flats = reached.filter_map(|pair| {
        let kind = match pair.between {
            // From the rim of a wall to its foot is its height.
            Between::Material if pair.apart_mm > WALL_SHARE * pair.narrow_mm => return None,
            Between::Material => Measurement::Thickness,
            Between::Open => Measurement::Slot,
        };
        let line = placed(kind, &pair.normal, pair.apart_mm, &pair.middle);
        let whole = lines.iter().any(|l| l.is_like(&line));
        (!whole || kind == Measurement::Slot).then_some((pair.area_mm2, line))
    });
    let held = || found.features.bores.iter().zip(found.held);
    // Pieces of one axis are held in one place.
    let is_first = |k: usize, bore: &Bore| {
        let mut before = held().take(k).filter(|(_, at)| at.is_some());
        !before.any(|(b, _)| is_one(b, bore))
    };
    let rounds = (held().enumerate())
        .filter(|(k, (bore, _))| is_first(*k, bore))
        .map(|(_, place)| place)
        .filter(|(b, _)| is_round(b) && (!b.hole || 2.0 * b.radius_mm >= LEAST_BORE_MM))
        .filter_map(|(bore, at)| {
            let kind = if bore.hole {
                Measurement::Bore
            } else {
                Measurement::Pin
            };
            let line = placed(kind, &bore.axis, 2.0 * bore.radius_mm, at.as_ref()?);
            let is_whole = |l: &Reading| l.kind == Measurement::Outside && l.is_like(&line);
            let whole = kind == Measurement::Pin && lines.iter().any(is_whole);
            (!whole).then_some((bore.area_mm2, line))
        });
    let more = [largest(flats), largest(rounds)];
    lines.extend(more.into_iter().flatten());
    for line in &mut lines {
        line.says = in_words(line);
    }
    let unreached = (ways.iter().enumerate())
        .filter(|(_, (_, mm, way))| *mm <= CALLIPER_MM && !stands.jaws_reach(way))
        .map(|(k, way)| {
            let round = is_across(k);
            let kind = if round {
                Measurement::Outside
            } else {
                Measurement::Extent
            };
            name(kind, way.0)
        });
    let mut deep: Vec<String> = unreached.collect();
    deep.dedup();
    Card {
        notes: notes(&lines, &deep, aslant_deg),
        lines,
        extents_mm: ways.map(|w| w.1),
        aslant_deg,
    }
}

/// Places of one length as one line, those of the largest area first.
fn largest(places: impl Iterator<Item = (f64, Reading)>) -> Vec<Reading> {
    let mut list: Vec<(f64, Reading)> = Vec::new();
    for (area_mm2, line) in places {
        let same = |(_, l): &&mut (f64, Reading)| l.kind == line.kind && l.is_like(&line);
        if let Some((area, first)) = list.iter_mut().find(same) {
            *area += area_mm2;
            first.count += 1;
        } else {
            list.push((area_mm2, line));
        }
    }
    list.sort_by(|(a, p), (b, q)| b.total_cmp(a).then(p.nominal_mm.total_cmp(&q.nominal_mm)));
    list.into_iter()
        .take(MOST_LINES)
        .map(|(_, line)| line)
        .collect()
}

#[cfg(test)]
mod tests;
