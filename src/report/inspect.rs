//! What a part is, and what is wrong with it, in words.

use super::json::{InspectReport, PartFacts};
use super::layout::{Look, list};
use crate::mesh::Defect;
use crate::words::printable;
use crate::words::{area, count, decimal, three, volume};

/// Columns of the label.
const LABEL: usize = 16;

/// The intake check of one part.
pub fn text(report: &InspectReport, look: Look) -> String {
    let part = &report.part;
    let grave = report.defects.iter().filter(|d| d.matters()).count();
    let verdict = match (part.closed, grave) {
        (true, 0) => "a closed surface; every figure of the advice can be relied on.",
        (true, _) => "a closed surface with defects; see below which figures suffer.",
        (false, _) => {
            "the surface is not closed, so the part has no volume; advice is given, with the figures that suffer marked."
        }
    };
    let mut out = look.paragraph(&format!("{}: {verdict}", printable(&part.path))) + "\n";
    for (label, value) in rows(report, part) {
        out.push_str(&look.field(label, LABEL, &value));
    }
    let defects: Vec<String> = report.defects.iter().map(Defect::sentence).collect();
    list(&mut out, look, "Defects", &defects);
    // Notes repeat the defects that matter; they have been said.
    let notes: Vec<String> = part
        .notes
        .iter()
        .filter(|n| !defects.contains(n))
        .cloned()
        .collect();
    list(&mut out, look, "Remarks", &notes);
    out
}

fn rows(report: &InspectReport, part: &PartFacts) -> Vec<(&'static str, String)> {
    let [x, y, z] = part.size_mm.map(|c| decimal(c, 3));
    let [cx, cy, cz] = part.centroid_mm.map(|c| decimal(c, 3));
    let cavities = report.bodies.iter().filter(|b| b.cavity).count();
    let turned = report.bodies.iter().filter(|b| b.turned).count();
    let mut bodies = part.bodies.to_string();
    if cavities > 0 {
        let are = count(cavities, "is a cavity", "are cavities");
        bodies += &format!(", of which {are}");
    }
    if turned > 0 {
        let were = if turned == 1 { "was" } else { "were" };
        bodies += &format!("; {turned} faced inward and {were} turned");
    }
    let tensor = part.inertia_mm5;
    let [xx, yy, zz] = [tensor[0][0], tensor[1][1], tensor[2][2]].map(three_or_power);
    let [xy, xz, yz] = [tensor[0][1], tensor[0][2], tensor[1][2]].map(three_or_power);
    let file = format!("{}, its numbers taken as {}", part.format, part.units);
    let open = || "none: the surface is not closed".into();
    let of = if part.closed { "" } else { ", of the surface" };
    let inertia = format!(
        "about the centre of mass at unit density, in mm⁵: XX {xx}, YY {yy}, ZZ {zz}, XY {xy}, XZ {xz}, YZ {yz}"
    );
    vec![
        ("size", format!("{x} × {y} × {z} mm along X, Y, Z")),
        ("file", file),
        ("triangles", part.triangles.to_string()),
        ("bodies", bodies),
        ("volume", part.volume_mm3.map_or_else(open, volume)),
        ("surface", area(part.area_mm2)),
        ("centre of mass", format!("({cx}, {cy}, {cz}) mm{of}")),
        ("inertia", inertia),
    ]
}

/// Three digits, with a power of ten where writing it out would take many zeros.
fn three_or_power(value: f64) -> String {
    if value.abs() >= 1e6 {
        let text = format!("{value:.2e}");
        let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}·10^{power}", digits.replace('-', "\u{2212}"));
    }
    if value.abs() < 1e-6 {
        "0".into()
    } else {
        three(value)
    }
}
