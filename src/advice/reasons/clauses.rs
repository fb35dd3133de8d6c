//! What two poses come to on one matter, as parts of sentences.

use crate::advice::support::{SHUT_MM3, needs_support};
use crate::figures::Figures;
use crate::rank::search::Scored;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::words;

/// What rows of the penalty table are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Matter {
    Grip,
    Air,
    Steady,
    Size,
    Finish,
    Load,
    Show,
    Bores,
}

pub(super) fn matter(row: Penalty) -> Matter {
    match row {
        Penalty::Contact | Penalty::Tip => Matter::Grip,
        Penalty::Overhang
        | Penalty::Bridge
        | Penalty::Wide
        | Penalty::Support
        | Penalty::Trapped
        | Penalty::Scar => Matter::Air,
        Penalty::Slender | Penalty::Sway => Matter::Steady,
        Penalty::Height | Penalty::Time => Matter::Size,
        Penalty::Stairs | Penalty::Underside => Matter::Finish,
        Penalty::Load => Matter::Load,
        Penalty::Show => Matter::Show,
        Penalty::Bores => Matter::Bores,
    }
}

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
    // What stands before the value here, the value, its noun, what stands after the other.
    let (before, value, noun, after): (&str, fn(&Figures) -> String, &str, &str) = match lead {
        Penalty::Overhang | Penalty::Support => return air(lead, better, a, b, settings),
        Penalty::Slender => return slender(a, b),
        Penalty::Contact => ("", |f| words::area(f.contact_area_mm2), "", " on the bed"),
        Penalty::Tip => ("tips at ", |f| words::degrees(f.tip_angle_deg), "", ""),
        Penalty::Bridge => {
            let noun = " of bridges, small roofs and thin ledges";
            ("", |f| words::area(f.overhang_light_mm2), noun, "")
        }
        Penalty::Wide => {
            let noun = " of ceilings beyond the bridge limit";
            ("", |f| words::area(f.overhang_wide_mm2), noun, "")
        }
        Penalty::Underside => {
            let noun = " of slanted undersides";
            ("", |f| words::area(f.underside_area_mm2), noun, "")
        }
        Penalty::Bores => {
            let noun = " of bore walls that lie";
            ("", |f| words::area(f.bores_lying_mm2), noun, "")
        }
        Penalty::Trapped => ("support shut in for good: ", shut, "", ""),
        Penalty::Scar => {
            let marks =
                |f: &Figures| words::area(f.support_scar_mm2.above + f.support_scar_mm2.below);
            ("", marks, " marked by support", "")
        }
        Penalty::Sway => ("gives ", push, "", " to a push of 1 N"),
        Penalty::Height => ("", |f| words::length(f.height_mm), "", " tall"),
        Penalty::Time => ("about ", |f| words::duration(f.print_min), "", ""),
        Penalty::Stairs => {
            let cusp = |f: &Figures| words::three(f.stair_mean_um);
            ("steps of ", cusp, "", " µm on its slopes")
        }
        Penalty::Load => {
            let share =
                |f: &Figures| words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0);
            ("", share, "", " % of the pull across the layers")
        }
        Penalty::Show => {
            let marked = |f: &Figures| words::area(f.show_marked_mm2.unwrap_or(0.0));
            ("", marked, "", " marked of the sides to be shown")
        }
    };
    format!("{before}{}{noun} instead of {}{after}", value(a), value(b))
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
    let volume = |f: &Figures| words::volume(f.support_needed_mm3);
    let area = |f: &Figures| words::area(f.overhang_needed_mm2());
    let both = |f: &Figures| format!("{} under {}", volume(f), area(f));
    let less = |x: f64, y: f64| if better { x < y } else { x > y };
    let agree = less(a.support_needed_mm3, b.support_needed_mm3)
        && less(a.overhang_needed_mm2(), b.overhang_needed_mm2());
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => format!(
            "{} of overhang instead of {}, though neither needs support",
            words::area(a.overhang_area_mm2),
            words::area(b.overhang_area_mm2)
        ),
        (false, true) if better => format!("no support instead of {}", both(b)),
        (true, false) if !better => {
            format!("{} of support under {} instead of none", volume(a), area(a))
        }
        _ if agree => {
            format!(
                "{} of support under {} instead of {}",
                volume(a),
                area(a),
                both(b)
            )
        }
        _ if lead == Penalty::Support => {
            format!("{} of support instead of {}", volume(a), volume(b))
        }
        _ => format!("{} of overhang instead of {}", area(a), area(b)),
    }
}

fn shut(f: &Figures) -> String {
    if f.support_trapped_mm3 > SHUT_MM3 {
        words::volume(f.support_trapped_mm3)
    } else {
        "none".into()
    }
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
