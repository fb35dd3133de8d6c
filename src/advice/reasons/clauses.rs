//! What two poses come to on one matter, as parts of sentences.

use crate::advice::support::{SHUT_MM3, needs_support};
use crate::figures::Figures;
use crate::rank::search::Scored;
use crate::settings::Settings;
use crate::settings::weights::Penalty;
use crate::tables::rows;
use crate::words;
use serde::Deserialize;
use std::sync::LazyLock;

/// What some rows of the penalty table are about: a row of `clauses.toml`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Matter {
    wish: String,
    row: Vec<Clause>,
}

/// What stands around the values of a row of the penalty table.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Clause {
    penalty: Penalty,
    #[serde(default)]
    before: String,
    #[serde(default)]
    noun: String,
    #[serde(default)]
    after: String,
}

static MATTERS: LazyLock<Vec<Matter>> = LazyLock::new(|| rows(include_str!("clauses.toml")));

/// Which matter a row is about, by its place in the list of them.
pub(super) fn matter(row: Penalty) -> usize {
    let about = |m: &Matter| m.row.iter().any(|r| r.penalty == row);
    MATTERS.iter().position(about).unwrap_or_default()
}

/// A matter as something to ask for.
pub(super) fn wish(matter: usize) -> &'static str {
    &MATTERS[matter].wish
}

/// What one matter comes to here and there, as part of a sentence. `better` says
/// which way: the figure quoted is that of the row that differs most that way.
pub(super) fn clause(
    about: usize,
    better: bool,
    here: &Scored,
    there: &Scored,
    settings: &Settings,
) -> Option<String> {
    let (a, b) = (&here.figures, &there.figures);
    let gain = |row: Penalty| {
        let i = row as usize;
        let d = there.charges[i] - here.charges[i];
        if better { d } else { -d }
    };
    let order = |i: Penalty, j: Penalty| gain(i).total_cmp(&gain(j)).then(j.cmp(&i));
    let rows = MATTERS[about].row.iter();
    let lead = rows.max_by(|i, j| order(i.penalty, j.penalty))?;
    let value: fn(&Figures) -> String = match lead.penalty {
        Penalty::Overhang | Penalty::Support => {
            return Some(air(lead.penalty, better, a, b, settings));
        }
        Penalty::Slender => return Some(slender(a, b)),
        Penalty::Contact => |f| words::area(f.contact_area_mm2),
        Penalty::Tip => |f| words::degrees(f.tip_angle_deg),
        Penalty::Bridge => |f| words::area(f.overhang_light_mm2),
        Penalty::Wide => |f| words::area(f.overhang_wide_mm2),
        Penalty::Underside => |f| words::area(f.underside_area_mm2),
        Penalty::Bores => |f| words::area(f.bores_lying_mm2),
        Penalty::Trapped => shut,
        Penalty::Scar => |f| words::area(f.support_scar_mm2.above + f.support_scar_mm2.below),
        Penalty::Sway => push,
        Penalty::Height => |f| words::length(f.height_mm),
        Penalty::Time => |f| words::estimate(f.print_min),
        Penalty::Stairs => |f| words::three(f.stair_mean_um),
        Penalty::Load => |f| words::decimal(100.0 * f.load_across_layers.unwrap_or(0.0), 0),
        Penalty::Show => |f| words::area(f.show_marked_mm2.unwrap_or(0.0)),
    };
    let (before, noun, after) = (&lead.before, &lead.noun, &lead.after);
    let (here, there) = (value(a), value(b));
    Some(format!("{before}{here}{noun} instead of {there}{after}"))
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
    let all = |f: &Figures| words::area(f.overhang_area_mm2);
    let needed = format!("{} of support under {}", volume(a), area(a));
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => {
            let (here, there) = (all(a), all(b));
            format!("{here} of overhang instead of {there}, though neither needs support")
        }
        (false, true) if better => format!("no support instead of {}", both(b)),
        (true, false) if !better => format!("{needed} instead of none"),
        _ if agree => format!("{needed} instead of {}", both(b)),
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
            let [wide, free] = [s.width_mm, s.to_mm - s.from_mm].map(words::length);
            let sway = words::three(f.sway_mm_per_n);
            format!(" ({wide} wide, free for {free}, giving {sway} mm to 1 N)")
        })
    };
    let (here, there) = if a.slender_ratio > b.slender_ratio {
        (detail(a), String::new())
    } else {
        (String::new(), detail(b))
    };
    let (a, b) = (ratio(a), ratio(b));
    format!("the slimmest free piece {a} : 1{here} instead of {b} : 1{there}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_penalty_table_belongs_to_one_matter() {
        for row in Penalty::ALL {
            let clauses = MATTERS.iter().flat_map(|m| &m.row);
            let own = clauses.filter(|c| c.penalty == row).count();
            assert_eq!(own, 1, "{}", row.name());
        }
    }
}
