//! A figure behind each penalty, as a label with a value: captions and comparisons.

use crate::advice::RankedPose;
use crate::figures::Figures;
use crate::words;

/// What a row of the penalty table looks at, for a caption: "support 31.7 cm³".
/// `None` for a row without a figure of its own in this pose.
pub fn figure(row: &str, f: &Figures) -> Option<(&'static str, String)> {
    let scar = f.support_scar_mm2.above + f.support_scar_mm2.below;
    Some(match row {
        "contact" => ("contact", words::area(f.contact_area_mm2)),
        "overhang" => ("overhang", words::area(f.overhang_charged_mm2)),
        "bridge" => ("bridged ceiling", words::area(f.ceiling_carried_mm2)),
        "support" => ("support", words::volume(f.support_needed_mm3)),
        "trapped" => ("trapped support", words::volume(f.support_trapped_mm3)),
        "slender" => (
            "slender",
            format!("{} : 1", words::decimal(f.slender_ratio, 1)),
        ),
        "sway" => ("sway", format!("{} mm/N", words::three(f.sway_mm_per_n))),
        "tip" => ("tips at", words::degrees(f.tip_angle_deg)),
        "height" => ("height", words::length(f.height_mm)),
        "stairs" => ("mean step", format!("{} µm", words::three(f.stair_mean_um))),
        "scar" => ("support marks", words::area(scar)),
        "time" => ("time", words::duration(f.print_min)),
        "load" => (
            "pull across layers",
            format!("{} %", words::decimal(100.0 * f.load_across_layers?, 0)),
        ),
        "show" => ("marks on shown sides", words::area(f.show_marked_mm2?)),
        _ => return None,
    })
}

/// The row that speaks most against `pose` in comparison with `other`, as a caption.
pub fn main_cost(pose: &RankedPose, other: &RankedPose) -> Option<String> {
    pose.charges
        .iter()
        .zip(&other.charges)
        .filter(|(a, b)| a.value > b.value)
        .max_by(|x, y| (x.0.value - x.1.value).total_cmp(&(y.0.value - y.1.value)))
        .and_then(|(a, _)| figure(a.name, &pose.figures))
        .map(|(label, value)| format!("{label} {value}"))
}
