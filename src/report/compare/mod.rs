//! Poses side by side: what one has that the other has not, in words and numbers.

mod page;

pub use page::page;

use super::figures::{
    BRIDGE, Better, CONTACT, COSMETIC, Figure, HEIGHT, LOAD, OVERHANG, PRINTING, SLENDERNESS,
    STEPS, SUPPORT, TIPPING, TOTAL, WEAKEST,
};
use super::layout::{Look, left, list, right, wrap};
use super::quantity::Scale;
use super::table::gate_in_words;
use crate::advice::{Advice, RankedPose};
use crate::words;

/// Poses side by side at most: more have no room on the paper.
pub const MOST: usize = 4;

/// Differences that are called out each way.
const SAID: usize = 5;

/// Differences below this share of the larger value are none.
const SHARE: f64 = 0.02;

/// One of the poses to be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// By its place in the list.
    Rank(usize),
    /// The pose in which the file is.
    Loaded,
}

/// Reads a list such as "1,3" or "loaded,1".
///
/// # Errors
/// Fewer than two or more than [`MOST`] entries, one of them twice, or a word that is
/// neither a place nor `loaded`.
pub fn parse(text: &str) -> Result<Vec<Which>, String> {
    let mut out = Vec::new();
    for word in text.split(',').map(str::trim) {
        let which = match word.parse::<usize>() {
            Ok(n) if (1..=1000).contains(&n) => Which::Rank(n),
            _ if word.eq_ignore_ascii_case("loaded") => Which::Loaded,
            _ => {
                return Err(format!(
                    "'{word}' is neither a place of the list nor 'loaded'"
                ));
            }
        };
        if out.contains(&which) {
            return Err(format!("'{word}' stands there twice"));
        }
        out.push(which);
    }
    if (2..=MOST).contains(&out.len()) {
        Ok(out)
    } else {
        Err(format!(
            "compares 2 to {MOST} poses, such as 1,3 or loaded,1"
        ))
    }
}

/// A pose that is compared, with what it is called.
#[derive(Debug, Clone)]
pub struct Picked<'a> {
    /// The pose.
    pub pose: &'a RankedPose,
    /// For the head of a column: "pose 3", "as loaded".
    pub head: String,
    /// In a sentence: "pose 3 (+X side down)".
    pub name: String,
}

/// The poses of a list, or the first place that there is none of.
///
/// # Errors
/// The place.
pub fn pick<'a>(advice: &'a Advice, list: &[Which]) -> Result<Vec<Picked<'a>>, usize> {
    list.iter()
        .map(|which| {
            let (pose, head) = match which {
                Which::Rank(n) => (advice.poses.get(n - 1).ok_or(*n)?, format!("pose {n}")),
                Which::Loaded => (&advice.as_loaded, "as loaded".to_string()),
            };
            let side = words::side_down(&pose.pose.down);
            let name = match which {
                Which::Rank(_) => format!("{head} ({side})"),
                Which::Loaded => format!("the pose as loaded ({side})"),
            };
            Ok(Picked { pose, head, name })
        })
        .collect()
}

/// What poses are compared by, in reading order.
const COMPARED: [&Figure; 13] = [
    &CONTACT,
    &OVERHANG,
    &SUPPORT,
    &BRIDGE,
    &SLENDERNESS,
    &TIPPING,
    &HEIGHT,
    &STEPS,
    &WEAKEST,
    &LOAD,
    &COSMETIC,
    &PRINTING,
    &TOTAL,
];

/// A row of the comparison.
struct Comparison {
    figure: &'static Figure,
    values: Vec<f64>,
    scale: Scale,
}

impl Comparison {
    fn cells(&self) -> Vec<String> {
        self.values.iter().map(|v| self.scale.say(*v)).collect()
    }

    /// Which cells are best, where not all read the same.
    fn best(&self) -> Vec<bool> {
        let cells = self.cells();
        let sign = if self.figure.better == Better::Higher {
            -1.0
        } else {
            1.0
        };
        let signed = self.values.iter().map(|v| sign * v);
        let best = signed.clone().fold(f64::INFINITY, f64::min);
        let top = signed.clone().position(|v| v <= best);
        let same = |c: &String| top.and_then(|t| cells.get(t)) == Some(c);
        let all = cells.iter().all(same);
        cells.iter().map(|c| same(c) && !all).collect()
    }
}

/// The rows of the comparison, each in one unit.
fn rows(poses: &[Picked]) -> Vec<Comparison> {
    COMPARED
        .iter()
        .filter_map(|figure| {
            let of = |p: &Picked| figure.value(&p.pose.into());
            let values = poses.iter().map(of).collect::<Option<Vec<f64>>>()?;
            Some(Comparison {
                figure,
                scale: figure.quantity.scale(&values),
                values,
            })
        })
        .collect()
}

/// What speaks for the pose at `i` against the first one, and what speaks against it, the
/// largest differences first: three sentences at most.
fn sentences(poses: &[Picked], rows: &[Comparison], i: usize) -> Vec<String> {
    let (pose, other) = (&poses[i], &poses[0]);
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for row in rows {
        let (a, b) = (row.values[i], row.values[0]);
        let share = (a - b).abs() / a.abs().max(b.abs()).max(f64::MIN_POSITIVE);
        let Some(apart) = row.scale.apart(a, b).filter(|_| share > SHARE) else {
            continue;
        };
        let text = format!(
            "{} {} instead of {} ({apart} {})",
            row.figure.label,
            row.scale.say(a),
            row.scale.say(b),
            if a > b { "more" } else { "less" }
        );
        if (a > b) == (row.figure.better == Better::Higher) {
            good.push((share, text));
        } else {
            bad.push((share, text));
        }
    }
    let mut out = Vec::new();
    let gates: Vec<&str> = pose.pose.gates.iter().map(gate_in_words).collect();
    if !gates.is_empty() {
        out.push(format!(
            "Cannot be printed as it stands: {}.",
            gates.join(", ")
        ));
    }
    for (lead, mut parts) in [("Better", good), ("Worse", bad)] {
        // The sort is stable: equal differences keep the order of the table.
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let parts: Vec<String> = parts.into_iter().take(SAID).map(|p| p.1).collect();
        if !parts.is_empty() {
            out.push(format!("{lead} than {}: {}.", other.name, parts.join("; ")));
        }
    }
    if out.is_empty() {
        out.push(format!(
            "Practically equal to {} on every figure, to within 2 %.",
            other.name
        ));
    }
    out
}

/// The comparison in words for a terminal.
pub fn text(poses: &[Picked], look: Look) -> String {
    let heads: Vec<String> = poses.iter().map(|p| p.head.clone()).collect();
    let rows = rows(poses);
    let labels = rows.iter().map(|r| r.figure.label.chars().count());
    let first = labels.max().unwrap_or(0);
    let cell = rows
        .iter()
        .flat_map(Comparison::cells)
        .chain(heads.iter().cloned())
        .map(|c| c.chars().count() + 1)
        .max()
        .unwrap_or(0);
    let mut out = String::new();
    let line: String = heads
        .iter()
        .map(|h| format!("  {} ", right(h, cell - 1)))
        .collect::<Vec<_>>()
        .concat();
    out.push_str(&look.bold(&format!("{}{}", " ".repeat(first), line.trim_end())));
    out.push('\n');
    for row in &rows {
        let line: String = (row.cells().iter())
            .zip(row.best())
            .map(|(c, best)| {
                let pad = " ".repeat(cell - 1 - c.chars().count());
                format!(
                    "  {pad}{}{}",
                    if best { look.underlined(c) } else { c.clone() },
                    if best { "*" } else { " " }
                )
            })
            .collect::<Vec<_>>()
            .concat();
        out.push_str(&format!(
            "{}{}\n",
            left(row.figure.label, first),
            line.trim_end()
        ));
    }
    out.push_str(&wrap(
        "* the better, or best, of the row.",
        look.text_width(),
        "",
        "",
    ));
    for (i, pose) in poses.iter().enumerate().skip(1) {
        let mut heading = pose.name.clone();
        if let Some(letter) = heading.get_mut(0..1) {
            letter.make_ascii_uppercase();
        }
        list(&mut out, look, &heading, &sentences(poses, &rows, i));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_of_poses_are_read_or_refused_in_words() {
        assert_eq!(parse("1,3"), Ok(vec![Which::Rank(1), Which::Rank(3)]));
        assert_eq!(
            parse(" Loaded , 2"),
            Ok(vec![Which::Loaded, Which::Rank(2)])
        );
        for bad in ["1", "", "1,1", "0,2", "1,x", "1,2,3,4,5", "loaded,loaded"] {
            assert!(parse(bad).is_err(), "{bad}");
        }
    }
}
