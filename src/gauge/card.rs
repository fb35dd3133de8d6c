//! The measuring card: what a calliper should read on the print.
//!
//! The extents along build X, Y and Z come first; then the thickness of plates and
//! walls, the width of slots, the diameters of bores and pins, as far as two plane
//! faces or a round surface that a calliper can take hold of are found. A thickness
//! or a width is the way from a face straight to the next surface, where that is a
//! plane face that looks the other way.

use crate::features::{Between, Bore, Features};
use crate::mesh::Part;
use crate::pose::Pose;
use crate::settings::Settings;
use crate::words::{count, decimal};
use nalgebra::{Point3, Unit, Vector3};
use schemars::JsonSchema;
use serde::Serialize;

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
pub enum Kind {
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

/// One reading to take.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Line {
    /// What is measured.
    pub kind: Kind,
    /// Build axis along which the calliper lies, X, Y or Z, or aslant; of a bore or
    /// pin the axis about which it runs.
    pub along: &'static str,
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
    pub lines: Vec<Line>,
    /// What to mind when reading.
    pub notes: Vec<String>,
}

/// Round surfaces that a jaw can take hold of; none on a scan.
fn grips(features: &Features) -> impl Iterator<Item = &Bore> {
    let far = LEAST_TURN_DEG.to_radians();
    let held = move |b: &&Bore| b.turn_rad >= far && 2.0 * b.radius_mm >= LEAST_BORE_MM;
    let bores: &[Bore] = if features.is_scan() {
        &[]
    } else {
        &features.bores
    };
    bores.iter().filter(held)
}

/// Bores whose lower end lies on the bed, upright in `pose`: their diameters, mm.
pub fn bores_on_bed(features: &Features, pose: &Pose, touch_mm: f64) -> Vec<f64> {
    grips(features)
        .filter(|b| b.hole)
        .filter(|b| (pose.rotation() * b.axis).z.abs() > ON_AXIS)
        .filter(|b| {
            let middle = pose.build_from_part * b.centre;
            middle.z - b.length_mm / 2.0 <= touch_mm
        })
        .map(|b| 2.0 * b.radius_mm)
        .collect()
}

/// The card of one pose. `features` are those of `part`; `level` has the default yaw; `extents_mm` are the
/// part's along build X, Y and Z there.
pub fn card(
    part: &Part,
    features: &Features,
    level: &Pose,
    extents_mm: [f64; 3],
    settings: &Settings,
) -> Card {
    let tolerance_mm = settings.tolerance_mm;
    let mut lines: Vec<Line> = ["X", "Y", "Z"]
        .into_iter()
        .zip(extents_mm)
        .map(|(along, nominal_mm)| Line {
            kind: Kind::Extent,
            along,
            nominal_mm,
            tolerance_mm,
            count: 1,
            at_mm: [0.0, 0.0, extents_mm[2] / 2.0],
            says: format!("{along} {} mm over all", decimal(nominal_mm, 2)),
        })
        .collect();
    let mut flats: Vec<(f64, Line)> = Vec::new();
    for pair in features.opposite(part) {
        let along = axis_word(&(level.rotation() * pair.normal));
        let whole = lines
            .iter()
            .any(|l| l.along == along && (l.nominal_mm - pair.apart_mm).abs() < SAME_MM);
        let kind = match pair.between {
            Between::Material => Kind::Thickness,
            Between::Open => Kind::Slot,
        };
        if whole && kind == Kind::Thickness {
            continue;
        }
        let at = level.build_from_part * pair.middle;
        add(
            &mut flats,
            kind,
            along,
            pair.apart_mm,
            tolerance_mm,
            at,
            pair.area_mm2,
        );
    }
    let mut rounds: Vec<(f64, Line)> = Vec::new();
    for bore in grips(features) {
        let along = axis_word(&(level.rotation() * bore.axis));
        let at = level.build_from_part * bore.centre;
        let kind = if bore.hole { Kind::Bore } else { Kind::Pin };
        add(
            &mut rounds,
            kind,
            along,
            2.0 * bore.radius_mm,
            tolerance_mm,
            at,
            bore.area_mm2,
        );
    }
    for mut list in [flats, rounds] {
        list.sort_by(|a, b| {
            b.0.total_cmp(&a.0)
                .then(a.1.nominal_mm.total_cmp(&b.1.nominal_mm))
        });
        lines.extend(list.into_iter().take(MOST_LINES).map(|(_, mut line)| {
            line.says = in_words(&line);
            line
        }));
    }
    Card {
        notes: notes(&lines),
        lines,
    }
}

/// Adds a place to the line of its length, or a new line.
fn add(
    list: &mut Vec<(f64, Line)>,
    kind: Kind,
    along: &'static str,
    nominal_mm: f64,
    tolerance_mm: f64,
    at: Point3<f64>,
    area_mm2: f64,
) {
    let same = list.iter_mut().find(|(_, l)| {
        l.kind == kind && l.along == along && (l.nominal_mm - nominal_mm).abs() < SAME_MM
    });
    if let Some((area, line)) = same {
        *area += area_mm2;
        line.count += 1;
        return;
    }
    list.push((
        area_mm2,
        Line {
            kind,
            along,
            nominal_mm,
            tolerance_mm,
            count: 1,
            at_mm: at.into(),
            says: String::new(),
        },
    ));
}

fn in_words(line: &Line) -> String {
    let size = decimal(line.nominal_mm, 2);
    let [x, y, z] = line.at_mm.map(|v| decimal(v, 1));
    let places = if line.count > 1 {
        format!("in {}, one ", count(line.count, "place", "places"))
    } else {
        String::new()
    };
    let at = format!("{places}at x {x}, y {y}, z {z}");
    match line.kind {
        Kind::Extent => line.says.clone(),
        Kind::Thickness => format!("{size} mm thick along {}, {at}", line.along),
        Kind::Slot => format!("{size} mm clear along {}, {at}", line.along),
        Kind::Bore if line.along == "Z" => format!("bore Ø {size} mm, upright, {at}"),
        Kind::Bore => format!("bore Ø {size} mm, lying: read it level, its roof sags; {at}"),
        Kind::Pin => format!("round Ø {size} mm about {}, {at}", line.along),
    }
}

fn notes(lines: &[Line]) -> Vec<String> {
    let mut out = vec![
        "Zero the calliper with its jaws shut, and check it on something of known size, before you judge the print.".to_string(),
        "Read X and Y a few millimetres above the bed: the first layer bulges.".to_string(),
    ];
    if lines.iter().any(|l| l.kind == Kind::Bore) {
        out.push("Bores of straight facets come out a little under their diameter; what has to fit is reamed or drilled.".into());
    }
    out
}

fn axis_word(d: &Unit<Vector3<f64>>) -> &'static str {
    match d.iamax() {
        0 if d.x.abs() > ON_AXIS => "X",
        1 if d.y.abs() > ON_AXIS => "Y",
        2 if d.z.abs() > ON_AXIS => "Z",
        _ => "aslant",
    }
}

#[cfg(test)]
mod tests;
