//! What two poses come to on one matter, as parts of sentences.

use super::Matter;
use crate::figures::Figures;
use crate::rank::penalties::ROWS;
use crate::rank::precautions::{SHUT_MM3, needs_support};
use crate::rank::search::Scored;
use crate::settings::Settings;
use crate::words;

/// What one matter comes to here and there, as part of a sentence.
pub(super) fn clause(matter: Matter, here: &Scored, there: &Scored, settings: &Settings) -> String {
    let (a, b) = (&here.figures, &there.figures);
    let charged = |name: &str| {
        ROWS.iter()
            .position(|r| r.name == name)
            .map_or(0.0, |i| (there.charges[i] - here.charges[i]).abs())
    };
    let instead = |what: &str, x: String, y: String| format!("{what}{x} instead of {y}");
    match matter {
        Matter::Grip => {
            if charged("tip") > charged("contact") {
                instead(
                    "tips at ",
                    words::degrees(a.tip_angle_deg),
                    words::degrees(b.tip_angle_deg),
                )
            } else {
                instead(
                    "",
                    words::area(a.contact_area_mm2),
                    words::area(b.contact_area_mm2),
                ) + " on the bed"
            }
        }
        Matter::Air => air(a, b, settings),
        Matter::Steady => steady(a, b),
        Matter::Size => {
            if charged("time") > charged("height") {
                instead(
                    "about ",
                    words::duration(a.print_min),
                    words::duration(b.print_min),
                )
            } else {
                instead("", words::length(a.height_mm), words::length(b.height_mm)) + " tall"
            }
        }
        Matter::Finish => instead(
            "steps of ",
            words::three(a.stair_mean_um),
            format!("{} µm on its slopes", words::three(b.stair_mean_um)),
        ),
        Matter::Load => {
            let share =
                |f: &Figures| words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0);
            instead("", share(a), share(b)) + " % of the pull across the layers"
        }
        Matter::Show => {
            let marked = |f: &Figures| words::area(f.show_marked_mm2.unwrap_or(0.0));
            instead("", marked(a), marked(b)) + " marked of the sides to be shown"
        }
        Matter::Row(row) => {
            let name = ROWS[row].name.replace('_', " ");
            instead(
                &format!("{name} charged at "),
                words::three(here.charges[row]),
                words::three(there.charges[row]),
            )
        }
    }
}

/// Overhang, bridges and support, whichever tells the two apart.
fn air(a: &Figures, b: &Figures, settings: &Settings) -> String {
    let amount = |f: &Figures| {
        if needs_support(f, settings) {
            words::volume(f.support_after_bridges_mm3)
        } else {
            "none".into()
        }
    };
    if (a.support_trapped_mm3 > SHUT_MM3) != (b.support_trapped_mm3 > SHUT_MM3) {
        return if a.support_trapped_mm3 > SHUT_MM3 {
            format!(
                "{} of support shut in for good",
                words::volume(a.support_trapped_mm3)
            )
        } else {
            format!(
                "no support shut in for good instead of {}",
                words::volume(b.support_trapped_mm3)
            )
        };
    }
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => format!(
            "{} of overhang instead of {}, though neither needs support",
            words::area(a.overhang_area_mm2),
            words::area(b.overhang_area_mm2)
        ),
        (false, true) => format!(
            "no support instead of {} under {}",
            amount(b),
            words::area(b.overhang_after_bridges_mm2)
        ),
        (true, _) => format!(
            "{} of support under {} instead of {}",
            amount(a),
            words::area(a.overhang_after_bridges_mm2),
            if needs_support(b, settings) {
                format!(
                    "{} under {}",
                    amount(b),
                    words::area(b.overhang_after_bridges_mm2)
                )
            } else {
                amount(b)
            }
        ),
    }
}

/// Free-standing pieces: the slender one in full, the other by its ratio.
fn steady(a: &Figures, b: &Figures) -> String {
    let ratio = |f: &Figures| words::decimal(f.slender_ratio, 1);
    let detail = |f: &Figures| {
        f.slender.map_or_else(String::new, |s| {
            format!(
                " ({} wide, free for {}, giving {} mm to 1 N)",
                words::length(s.width_mm),
                words::length(s.to_mm - s.from_mm),
                words::three(f.sway_mm_per_n)
            )
        })
    };
    let (here, there) = if a.slender_ratio > b.slender_ratio {
        (detail(a), String::new())
    } else {
        (String::new(), detail(b))
    };
    format!(
        "the slimmest free piece {} : 1{here} instead of {} : 1{there}",
        ratio(a),
        ratio(b)
    )
}
