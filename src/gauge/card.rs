//! The measuring card: what a calliper should read on the print.
//!
//! The extents along build X, Y and Z come first; then the thickness of plates and
//! walls, the width of slots, the diameters of bores and pins, as far as two plane
//! faces or a round surface that a calliper can take hold of are found. A thickness
//! or a width is the way from a face straight to the next surface, where that is a
//! plane face that looks the other way.

use crate::features::{Between, Bore, Features, Opposite};
use crate::pose::Pose;
use crate::settings::Settings;
use crate::words::{count, decimal, named};
use nalgebra::{Point3, Unit, Vector3};
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// A round surface has to go this far round to be gripped, degrees.
const LEAST_TURN_DEG: f64 = 190.0;
/// Bores and pins smaller than this take no jaw, mm.
const LEAST_BORE_MM: f64 = 2.0;
/// Lengths that agree to this are the same, mm.
const SAME_MM: f64 = 0.02;
/// A direction within this of a build axis is called by it, cosine (2°).
const ON_AXIS: f64 = 0.999_4;
/// Lines of flats and of bores that a card holds beside the extents.
const MOST_LINES: usize = 6;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "Kind")]
pub enum Measurement {
    /// The whole part along an axis.
    Extent,
    /// From one face through the material to the other.
    Thickness,
    /// From one face through the open to the other.
    Slot,
    /// A round hole.
    Bore,
    /// A round outside.
    Pin,
}

named! {
    /// How a direction lies to the build axes.
    #[derive(Serialize)]
    BuildAxis:
    /// Along X.
    X "X",
    /// Along Y.
    Y "Y",
    /// Along Z: upright.
    Z "Z",
    /// Along none of them.
    Aslant "aslant",
}

impl BuildAxis {
    /// The axis that a direction in the build frame runs along, either way.
    fn of(d: &Unit<Vector3<f64>>) -> Self {
        match d.iamax() {
            _ if d.amax() <= ON_AXIS => Self::Aslant,
            0 => Self::X,
            1 => Self::Y,
            _ => Self::Z,
        }
    }
}

impl fmt::Display for BuildAxis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One reading to take.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "Line")]
pub struct Reading {
    /// What is measured.
    pub kind: Measurement,
    /// Build axis along which the calliper lies, X, Y or Z, or aslant; of a bore or
    /// pin the axis about which it runs.
    #[schemars(with = "String")]
    pub along: BuildAxis,
    /// What the calliper should read, mm.
    pub nominal_mm: f64,
    /// How far the reading may be off, mm.
    pub tolerance_mm: f64,
    /// Places with the same length.
    pub count: usize,
    /// Where, build frame, mm: middle of the first such place.
    pub at_mm: [f64; 3],
    /// In words.
    pub says: String,
}

/// What to measure on the print.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Card {
    /// Readings to take: the extents along X, Y and Z, then flats, then bores.
    pub lines: Vec<Reading>,
    /// What to mind when reading.
    pub notes: Vec<String>,
}

/// Round surfaces that a jaw can take hold of; none on a scan.
fn grips(features: &Features) -> impl Iterator<Item = &Bore> {
    let (far, scan) = (LEAST_TURN_DEG.to_radians(), features.is_scan());
    let held = move |b: &&Bore| b.turn_rad >= far && 2.0 * b.radius_mm >= LEAST_BORE_MM;
    features.bores.iter().filter(move |b| !scan && held(b))
}

/// The card of one pose. `features` are those of the part, `opposite` its faces opposite each
/// other; `level` has the default yaw; `extents_mm` are the part's along build X, Y and Z there.
pub fn card(
    features: &Features,
    opposite: &[Opposite],
    level: &Pose,
    extents_mm: [f64; 3],
    settings: &Settings,
) -> Card {
    let reading = |kind, along, nominal_mm, at_mm| Reading {
        kind,
        along,
        nominal_mm,
        tolerance_mm: settings.tolerance_mm,
        count: 1,
        at_mm,
        says: String::new(),
    };
    let mut lines: Vec<Reading> = [BuildAxis::X, BuildAxis::Y, BuildAxis::Z]
        .into_iter()
        .zip(extents_mm)
        .map(|(along, mm)| {
            let middle = [0.0, 0.0, extents_mm[2] / 2.0];
            reading(Measurement::Extent, along, mm, middle)
        })
        .collect();
    let placed = |kind, along: &Unit<Vector3<f64>>, mm: f64, at: Point3<f64>| {
        let along = BuildAxis::of(&(level.rotation() * along));
        reading(kind, along, mm, (level.build_from_part * at).into())
    };
    let flats = opposite.iter().filter_map(|pair| {
        let kind = match pair.between {
            Between::Material => Measurement::Thickness,
            Between::Open => Measurement::Slot,
        };
        let line = placed(kind, &pair.normal, pair.apart_mm, pair.middle);
        let whole = lines.iter().any(|l| l.is_like(&line));
        (!whole || kind == Measurement::Slot).then_some((pair.area_mm2, line))
    });
    let rounds = grips(features).map(|bore| {
        let kind = if bore.hole {
            Measurement::Bore
        } else {
            Measurement::Pin
        };
        let line = placed(kind, &bore.axis, 2.0 * bore.radius_mm, bore.centre);
        (bore.area_mm2, line)
    });
    let more = [largest(flats), largest(rounds)];
    lines.extend(more.into_iter().flatten());
    for line in &mut lines {
        line.says = in_words(line);
    }
    Card {
        notes: notes(&lines),
        lines,
    }
}

impl Reading {
    /// The same length along the same axis.
    fn is_like(&self, other: &Self) -> bool {
        self.along == other.along && (self.nominal_mm - other.nominal_mm).abs() < SAME_MM
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

fn in_words(line: &Reading) -> String {
    let (along, size) = (line.along, decimal(line.nominal_mm, 2));
    let [x, y, z] = line.at_mm.map(|v| decimal(v, 1));
    let several = count(line.count, "place", "places");
    let one_of = (line.count > 1).then(|| format!("in {several}, one "));
    let at = format!("{}at x {x}, y {y}, z {z}", one_of.unwrap_or_default());
    match line.kind {
        Measurement::Extent => format!("{along} {size} mm over all"),
        Measurement::Thickness => format!("{size} mm thick along {along}, {at}"),
        Measurement::Slot => format!("{size} mm clear along {along}, {at}"),
        Measurement::Bore if line.along == BuildAxis::Z => {
            format!("bore Ø {size} mm, upright, {at}")
        }
        Measurement::Bore => format!("bore Ø {size} mm, lying: read it level, its roof sags; {at}"),
        Measurement::Pin => format!("round Ø {size} mm about {along}, {at}"),
    }
}

fn notes(lines: &[Reading]) -> Vec<String> {
    let mut out = vec![
        "Zero the calliper with its jaws shut, and check it on something of known size, before you judge the print.".to_string(),
        "Read X and Y a few millimetres above the bed: the first layer bulges.".to_string(),
    ];
    if lines.iter().any(|l| l.kind == Measurement::Bore) {
        out.push("Bores of straight facets come out a little under their diameter; what has to fit is reamed or drilled.".into());
    }
    out
}

#[cfg(test)]
mod tests;
