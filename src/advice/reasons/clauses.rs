//! What two poses come to on one matter, as parts of sentences.

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
    let (a, b) = (&here.figures, &there.figures);
    let areas = |of: fn(&Figures) -> f64| {
        let [x, y] = [of(a), of(b)];
        (!near(x, y)).then(|| areas(x, y))
    };
    let words = |of: &dyn Fn(&Figures) -> String| Some([of(a), of(b)]);
    let lengths = |of: fn(&Figures) -> f64, said: fn(f64) -> String| {
        let [x, y] = [of(a), of(b)];
        (!near(x, y)).then(|| [said(x), said(y)])
    };
    let pair = match lead.penalty {
        Penalty::Overhang | Penalty::Support => {
            return air(lead.penalty, better, a, b, settings);
        }
        Penalty::Slender => return Some(slender(a, b)),
        Penalty::Sway => words(&push),
        Penalty::Contact => areas(|f| f.contact_area_mm2),
        Penalty::Tip => return tips(&lead.label, a, b, better),
        Penalty::Bridge => areas(|f| f.overhang_light_mm2),
        Penalty::Wide => areas(|f| f.overhang_wide_mm2),
        // What leans less than the limit prints: nobody chooses by it.
        Penalty::Underside => None,
        // Weighted by how far they lean: told only where those of one of the two stand upright.
        Penalty::Bores => areas(|f| f.bores_lying_mm2).filter(|_| {
            let [x, y] = [a.bores_lying_mm2, b.bores_lying_mm2];
            x.min(y) <= UPRIGHT_SHARE * x.max(y)
        }),
        Penalty::Trapped => shut(a, b),
        Penalty::Scar => areas(|f| f.support_marks_mm2.above + f.support_marks_mm2.below),
        Penalty::Height => lengths(|f| f.height_mm, words::length),
        Penalty::Time => lengths(|f| f.print_min, words::estimate),
        Penalty::Stairs => words(&|f| format!("{} µm", words::decimal(f.layer_steps_mean_um, 0))),
        Penalty::Load => words(&|f| percent(f.load_across_layers.unwrap_or(0.0))),
        Penalty::Show => areas(|f| f.show_marked_mm2.unwrap_or(0.0)),
        Penalty::Round => words(&|f| f.round_missed.unwrap_or(0).to_string()),
        Penalty::Flat => words(&|f| f.flat_missed.unwrap_or(0).to_string()),
    };
    let [here, there] = pair?;
    // What a person reads as the same is no difference.
    (here != there).then(|| format!("{} {here} instead of {there}", lead.label))
}

/// Walls of bores of which no more than this share lie stand upright.
const UPRIGHT_SHARE: f64 = 0.1;

/// Two figures within a twentieth of each other: nobody chooses by that.
fn near(x: f64, y: f64) -> bool {
    (x - y).abs() <= 0.05 * x.abs().max(y.abs())
}

/// Two areas in one unit, each 0 where it is no larger than what overhang has to exceed.
fn areas(a_mm2: f64, b_mm2: f64) -> [String; 2] {
    let [a, b] = words::areas_compared(a_mm2, b_mm2);
    let or_none = |said, mm2| {
        if mm2 > NO_OVERHANG_MM2 {
            said
        } else {
            "0".into()
        }
    };
    [or_none(a, a_mm2), or_none(b, b_mm2)]
}

fn percent(share: f64) -> String {
    format!("{} %", words::decimal(100.0 * share, 0))
}

/// Contact that is enough for each millimetre of height, mm²/mm, where the part also tips at no
/// less than so many degrees (house values): below it a brim is asked for.
const AMPLE: (f64, f64) = (4.0, 30.0);
/// … and each foot has no less than this, mm² (house value).
const AMPLE_FOOT_MM2: f64 = 25.0;

/// Whether a pose has all the contact that it needs: more of it is worth no word.
pub(super) fn is_ample(f: &Figures) -> bool {
    let (per_height, tip_deg) = AMPLE;
    let feet = f64::from(f.contact_patches.max(1));
    let least_mm2 = (per_height * f.height_mm).max(AMPLE_FOOT_MM2 * feet);
    f.contact_area_mm2 >= least_mm2 && f.held_tip_deg() >= tip_deg
}

/// How steadily two poses stand: by the angle that tips them, or that one of them stands only with its support.
fn tips(label: &str, a: &Figures, b: &Figures, better: bool) -> Option<String> {
    let propped = [a, b].map(|f| f.tip_with_support_deg.is_some());
    match (propped, better) {
        ([false, true], true) => {
            Some("stands by itself, the other only with the help of its support".into())
        }
        ([true, false], false) => {
            Some("stands only with the help of its support, the other by itself".into())
        }
        ([false, false], _) => {
            let [x, y] = [a, b].map(|f| f.tip_angle_deg.max(0.0));
            let is_so = if better { x > y } else { x < y };
            let [here, there] = [x, y].map(words::degrees);
            (is_so && here != there).then(|| format!("{label} {here} instead of {there}"))
        }
        _ => None,
    }
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
    let volume = |f: &Figures| f.support_needed_mm3;
    let (needed, all) = (Figures::overhang_needed_mm2, |f: &Figures| {
        f.overhang_area_mm2
    });
    let alone = |f: &Figures| {
        let [under, _] = areas(needed(f), needed(f));
        format!("{} under {under}", words::volume(volume(f)))
    };
    // The sum that is charged may leave out what is printed: never a gain for a loss.
    let less = |x: f64, y: f64| if better { x < y } else { x > y };
    let apart = |of: fn(&Figures) -> f64| less(of(a), of(b)) && !near(of(a), of(b));
    let pair =
        |label: &str, [here, there]: [String; 2]| format!("{label} {here} instead of {there}");
    let overhang = || pair("overhang", areas(all(a), all(b)));
    match (needs_support(a, settings), needs_support(b, settings)) {
        (false, false) => (less(all(a), all(b)) && !alike(all(a), all(b)))
            .then(|| format!("{}, though neither needs support", overhang())),
        (false, true) if better => Some(format!("no support instead of {}", alone(b))),
        (true, false) if !better => Some(format!("support {} instead of none", alone(a))),
        // One of the two needs none: what it would take is no matter.
        (true, false) | (false, true) => apart(all).then(overhang),
        _ if apart(volume) && less(needed(a), needed(b)) => {
            let ([v, w], [x, y]) = (
                words::volumes_compared(volume(a), volume(b)),
                areas(needed(a), needed(b)),
            );
            Some(format!("support {v} under {x} instead of {w} under {y}"))
        }
        _ if lead == Penalty::Support => {
            apart(volume).then(|| pair("support", words::volumes_compared(volume(a), volume(b))))
        }
        _ => apart(all).then(overhang),
    }
}

/// Whether two areas are within a fifth of each other: no one chooses by that.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 0.2 * a.max(b)
}

fn shut(a: &Figures, b: &Figures) -> Option<[String; 2]> {
    let [x, y] = [a, b].map(|f| f.support_trapped_mm3);
    let or_none = |said, mm3| {
        if mm3 > SHUT_MM3 { said } else { "none".into() }
    };
    (!near(x, y)).then(|| {
        let [a, b] = words::volumes_compared(x, y);
        [or_none(a, x), or_none(b, y)]
    })
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
