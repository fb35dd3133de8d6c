//! What two poses come to on one matter, as parts of sentences.

use crate::advice::slivers::{self, is_sliver};
use crate::advice::support::{NO_OVERHANG_MM2, SHUT_MM3, needs_support};
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

/// The figure that a row of the penalty table charges, by its label.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Clause {
    penalty: Penalty,
    label: String,
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
) -> Option<Said> {
    let gain = |row: Penalty| {
        let i = row as usize;
        let d = there.charges[i] - here.charges[i];
        if better { d } else { -d }
    };
    let order = |i: Penalty, j: Penalty| gain(i).total_cmp(&gain(j)).then(j.cmp(&i));
    let rows = MATTERS[about].row.iter();
    let lead = rows.max_by(|i, j| order(i.penalty, j.penalty))?;
    let says = compared(lead, better, here, there, settings)?;
    let is_known = !FINER.contains(&lead.penalty);
    Some(Said { says, is_known })
}

/// Figures that the table of poses does not show: they are told where they decide.
const FINER: [Penalty; 6] = [
    Penalty::Bridge,
    Penalty::Wide,
    Penalty::Scar,
    Penalty::Sway,
    Penalty::Underside,
    Penalty::Stairs,
];

/// One clause.
pub(super) struct Said {
    pub says: String,
    /// About a figure that every maker knows and the table shows.
    pub is_known: bool,
}

/// The figure of one row here and there.
fn compared(
    lead: &Clause,
    better: bool,
    here: &Scored,
    there: &Scored,
    settings: &Settings,
) -> Option<String> {
    let (mut a, mut b) = (&here.figures, &there.figures);
    let [drawn_a, drawn_b] = [here, there].map(|s| slivers::drawn(&s.figures, &s.cuts, settings));
    let value: fn(&Figures) -> String = match lead.penalty {
        Penalty::Overhang | Penalty::Support => {
            return air(lead.penalty, better, a, b, settings);
        }
        Penalty::Slender => {
            let sliver = [a, b].map(|f| f.slender.is_some_and(|s| is_sliver(&s, settings)));
            return Some(match sliver {
                [true, _] if !better => "a sliver of the mesh stands free".into(),
                [_, true] if better => "no sliver of the mesh standing free".into(),
                _ => slender(&drawn_a, &drawn_b),
            });
        }
        Penalty::Sway => {
            // A sliver that sways is none: the nozzle does not draw it.
            let less = drawn_a.sway_mm_per_n - drawn_b.sway_mm_per_n;
            let slivers = *drawn_a != *a || *drawn_b != *b;
            if slivers && (less == 0.0 || (less < 0.0) != better) {
                return None;
            }
            (a, b) = (&drawn_a, &drawn_b);
            push
        }
        Penalty::Contact => |f| words::area(f.contact_area_mm2),
        Penalty::Tip => |f| words::degrees(f.tip_angle_deg.max(0.0)),
        Penalty::Bridge => |f| area(f.overhang_light_mm2),
        Penalty::Wide => |f| area(f.overhang_wide_mm2),
        Penalty::Underside => |f| area(f.underside_area_mm2),
        Penalty::Bores => |f| area(f.bores_lying_mm2),
        Penalty::Trapped => shut,
        Penalty::Scar => |f| area(f.support_marks_mm2.above + f.support_marks_mm2.below),
        Penalty::Height => |f| words::length(f.height_mm),
        Penalty::Time => |f| words::estimate(f.print_min),
        Penalty::Stairs => |f| format!("{} µm", words::decimal(f.layer_steps_mean_um, 0)),
        Penalty::Load => |f| percent(f.load_across_layers.unwrap_or(0.0)),
        Penalty::Show => |f| area(f.show_marked_mm2.unwrap_or(0.0)),
        Penalty::Round => |f| f.round_missed.unwrap_or(0).to_string(),
        Penalty::Flat => |f| f.flat_missed.unwrap_or(0).to_string(),
    };
    let (here, there) = (value(a), value(b));
    // What a person reads as the same is no difference.
    (here != there).then(|| format!("{} {here} instead of {there}", lead.label))
}

/// An area, or 0 where it is no larger than what overhang has to exceed.
fn area(mm2: f64) -> String {
    if mm2 > NO_OVERHANG_MM2 {
        words::area(mm2)
    } else {
        "0".into()
    }
}

fn percent(share: f64) -> String {
    format!("{} %", words::decimal(100.0 * share, 0))
}

/// Contact that is enough for each millimetre of height, mm²/mm, where the part also tips at no
/// less than so many degrees (house values): below it a brim is asked for.
const AMPLE: (f64, f64) = (4.0, 30.0);

/// Whether a pose has all the contact that it needs: more of it is worth no word.
pub(super) fn is_ample(f: &Figures) -> bool {
    let (per_height, tip_deg) = AMPLE;
    f.contact_area_mm2 >= per_height * f.height_mm && f.tip_angle_deg >= tip_deg
}

/// Sway under 1 N; nobody sees a micrometre.
fn push(f: &Figures) -> String {
    if f.sway_mm_per_n < 1e-3 {
        "0".into()
    } else {
        format!("{} mm/N", words::three(f.sway_mm_per_n))
    }
}

/// Overhang and support: both where they tell the same, else the one that decides.
fn air(
    lead: Penalty,
    better: bool,
    a: &Figures,
    b: &Figures,
    settings: &Settings,
) -> Option<String> {
    let volume = |f: &Figures| words::volume(f.support_needed_mm3);
    let needed = |f: &Figures| area(f.overhang_needed_mm2());
    let both = |f: &Figures| format!("{} under {}", volume(f), needed(f));
    let less = |x: f64, y: f64| if better { x < y } else { x > y };
    let agree = less(a.support_needed_mm3, b.support_needed_mm3)
        && less(a.overhang_needed_mm2(), b.overhang_needed_mm2());
    let told = |label: &str, of: fn(&Figures) -> f64, said: fn(f64) -> String| {
        // The sum that is charged may leave out what is printed: never a gain for a loss.
        less(of(a), of(b)).then(|| format!("{label} {} instead of {}", said(of(a)), said(of(b))))
    };
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => told("overhang", |f| f.overhang_area_mm2, area)
            .filter(|_| !alike(a.overhang_area_mm2, b.overhang_area_mm2))
            .map(|clause| format!("{clause}, though neither needs support")),
        (false, true) if better => Some(format!("no support instead of {}", both(b))),
        (true, false) if !better => Some(format!("support {} instead of none", both(a))),
        _ if agree => Some(format!("support {} instead of {}", both(a), both(b))),
        _ if lead == Penalty::Support => told("support", |f| f.support_needed_mm3, words::volume),
        _ => told("overhang", |f| f.overhang_area_mm2, area),
    }
}

/// Whether two areas are within a fifth of each other: no one chooses by that.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 0.2 * a.max(b)
}

fn shut(f: &Figures) -> String {
    if f.support_trapped_mm3 > SHUT_MM3 {
        words::volume(f.support_trapped_mm3)
    } else {
        "none".into()
    }
}

/// Free-standing features: the slender one in full, the other by its ratio.
fn slender(a: &Figures, b: &Figures) -> String {
    let ratio = |f: &Figures| words::decimal(f.slender_ratio, 1);
    let detail = |f: &Figures| {
        f.slender.map_or_else(String::new, |s| {
            let [wide, free] = [s.width_mm, s.to_mm - s.from_mm].map(words::length);
            format!(" ({free} tall, {wide} wide)")
        })
    };
    let (here, there) = if a.slender_ratio > b.slender_ratio {
        (detail(a), String::new())
    } else {
        (String::new(), detail(b))
    };
    let (a, b) = (ratio(a), ratio(b));
    format!("slenderness {a} : 1{here} instead of {b} : 1{there}")
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
