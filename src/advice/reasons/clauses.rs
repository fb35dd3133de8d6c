//! What two poses come to on one matter, as parts of sentences.

use crate::advice::precautions::{SHUT_MM3, needs_support};
use crate::advice::reasons::{Matter, matter};
use crate::figures::Figures;
use crate::rank::search::Scored;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words;

/// What one matter comes to here and there, as part of a sentence. `better` says
/// which way: the figure quoted is that of the row that differs most that way.
pub(super) fn clause(
    about: Matter,
    better: bool,
    here: &Scored,
    there: &Scored,
    settings: &Settings,
) -> String {
    let (a, b) = (&here.figures, &there.figures);
    let gain = |row: Penalty| {
        let i = row as usize;
        let d = there.charges[i] - here.charges[i];
        if better { d } else { -d }
    };
    let lead = (Penalty::ALL.into_iter())
        .filter(|&row| matter(row) == about)
        .max_by(|&i, &j| gain(i).total_cmp(&gain(j)).then(j.cmp(&i)))
        .unwrap_or(Penalty::Contact);
    let instead = |x: String, y: String| format!("{x} instead of {y}");
    match lead {
        Penalty::Contact => {
            instead(
                words::area(a.contact_area_mm2),
                words::area(b.contact_area_mm2),
            ) + " on the bed"
        }
        Penalty::Tip => format!(
            "tips at {}",
            instead(
                words::degrees(a.tip_angle_deg),
                words::degrees(b.tip_angle_deg)
            )
        ),
        Penalty::Overhang | Penalty::Support => air(lead, better, a, b, settings),
        Penalty::Bridge => instead(
            format!(
                "{} of bridges, small roofs and thin ledges",
                words::area(a.overhang_light_mm2)
            ),
            words::area(b.overhang_light_mm2),
        ),
        Penalty::Wide => instead(
            format!(
                "{} of ceilings beyond the bridge limit",
                words::area(a.overhang_wide_mm2)
            ),
            words::area(b.overhang_wide_mm2),
        ),
        Penalty::Underside => instead(
            format!(
                "{} of slanted undersides",
                words::area(a.underside_area_mm2)
            ),
            words::area(b.underside_area_mm2),
        ),
        Penalty::Bores => instead(
            format!("{} of bore walls that lie", words::area(a.bores_lying_mm2)),
            words::area(b.bores_lying_mm2),
        ),
        Penalty::Trapped => trapped(a, b),
        Penalty::Scar => {
            let marks =
                |f: &Figures| words::area(f.support_scar_mm2.above + f.support_scar_mm2.below);
            instead(format!("{} marked by support", marks(a)), marks(b))
        }
        Penalty::Slender => slender(a, b),
        Penalty::Sway => format!("gives {} to a push of 1 N", instead(push(a), push(b))),
        Penalty::Height => {
            instead(words::length(a.height_mm), words::length(b.height_mm)) + " tall"
        }
        Penalty::Time => format!(
            "about {}",
            instead(words::duration(a.print_min), words::duration(b.print_min))
        ),
        Penalty::Stairs => format!(
            "steps of {} µm on its slopes",
            instead(words::three(a.stair_mean_um), words::three(b.stair_mean_um))
        ),
        Penalty::Load => {
            let share =
                |f: &Figures| words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0);
            instead(share(a), share(b)) + " % of the pull across the layers"
        }
        Penalty::Show => {
            let marked = |f: &Figures| words::area(f.show_marked_mm2.unwrap_or(0.0));
            instead(marked(a), marked(b)) + " marked of the sides to be shown"
        }
    }
}

/// What a push of 1 N moves; nobody sees a micrometre.
fn push(f: &Figures) -> String {
    if f.sway_mm_per_n < 1e-3 {
        "less than 0.001 mm".into()
    } else {
        words::length(f.sway_mm_per_n)
    }
}

/// Overhang and support: both where they tell the same, else the one that decides.
fn air(lead: Penalty, better: bool, a: &Figures, b: &Figures, settings: &Settings) -> String {
    let (needs_a, needs_b) = (needs_support(a, settings), needs_support(b, settings));
    let volume = |f: &Figures| words::volume(f.support_needed_mm3);
    let area = |f: &Figures| words::area(f.overhang_needed_mm2());
    let less = |x: f64, y: f64| if better { x < y } else { x > y };
    match (needs_a, needs_b) {
        (false, false) => format!(
            "{} of overhang instead of {}, though neither needs support",
            words::area(a.overhang_area_mm2),
            words::area(b.overhang_area_mm2)
        ),
        (false, true) if better => {
            format!("no support instead of {} under {}", volume(b), area(b))
        }
        (true, false) if !better => {
            format!("{} of support under {} instead of none", volume(a), area(a))
        }
        _ => {
            let agree = less(a.support_needed_mm3, b.support_needed_mm3)
                && less(a.overhang_needed_mm2(), b.overhang_needed_mm2());
            if agree {
                format!(
                    "{} of support under {} instead of {} under {}",
                    volume(a),
                    area(a),
                    volume(b),
                    area(b)
                )
            } else if lead == Penalty::Support {
                format!("{} of support instead of {}", volume(a), volume(b))
            } else {
                format!("{} of overhang instead of {}", area(a), area(b))
            }
        }
    }
}

fn trapped(a: &Figures, b: &Figures) -> String {
    let shut = |f: &Figures| {
        if f.support_trapped_mm3 > SHUT_MM3 {
            words::volume(f.support_trapped_mm3)
        } else {
            "none".into()
        }
    };
    format!(
        "support shut in for good: {} instead of {}",
        shut(a),
        shut(b)
    )
}

/// Free-standing pieces: the slender one in full, the other by its ratio.
fn slender(a: &Figures, b: &Figures) -> String {
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
