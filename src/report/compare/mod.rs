//! Poses side by side: what one has that the other has not, in words and numbers.

mod page;

pub use page::page;

use super::layout::{Look, left, list, right, wrap};
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

/// A figure that poses are compared by.
struct Measure {
    label: &'static str,
    get: fn(&RankedPose) -> f64,
    say: fn(f64) -> String,
    /// Ends of "stands 86 mm …" where a pose has more, and less.
    ends: [&'static str; 2],
    /// Opening: "stands".
    verb: &'static str,
    more_is_better: bool,
}

fn ratio(v: f64) -> String {
    words::decimal(v, 1)
}

const MEASURES: [Measure; 11] = [
    Measure {
        label: "contact",
        get: |p| p.figures.contact_area_mm2,
        say: words::area,
        verb: "has",
        ends: ["more on the bed", "less on the bed"],
        more_is_better: true,
    },
    Measure {
        label: "overhang to hold up",
        get: |p| p.figures.overhang_needed_mm2(),
        say: words::area,
        verb: "has",
        ends: ["more hanging over", "less hanging over"],
        more_is_better: false,
    },
    Measure {
        label: "support needed",
        get: |p| p.figures.support_needed_mm3,
        say: words::volume,
        verb: "needs",
        ends: ["more support", "less support"],
        more_is_better: false,
    },
    Measure {
        label: "longest bridge",
        get: |p| p.figures.bridge_longest_mm,
        say: words::length,
        verb: "has its longest bridge",
        ends: ["wider", "narrower"],
        more_is_better: false,
    },
    Measure {
        label: "slender, height over width",
        get: |p| p.figures.slender_ratio,
        say: ratio,
        verb: "has a slenderness",
        ends: ["higher", "lower"],
        more_is_better: false,
    },
    Measure {
        label: "tip angle",
        get: |p| p.figures.tip_angle_deg,
        say: words::degrees,
        verb: "can be tilted",
        ends: ["further before it falls", "less before it falls"],
        more_is_better: true,
    },
    Measure {
        label: "height",
        get: |p| p.figures.height_mm,
        say: words::length,
        verb: "stands",
        ends: ["taller", "lower"],
        more_is_better: false,
    },
    Measure {
        label: "mean step",
        get: |p| p.figures.stair_mean_um,
        say: |v| format!("{} µm", words::three(v)),
        verb: "has its mean step",
        ends: ["coarser", "finer"],
        more_is_better: false,
    },
    Measure {
        label: "weakest section",
        get: |p| p.figures.weakest_section_mm2,
        say: words::area,
        verb: "has its weakest section",
        ends: ["larger", "smaller"],
        more_is_better: true,
    },
    Measure {
        label: "time, without support",
        get: |p| p.figures.print_min,
        say: words::duration,
        verb: "takes",
        ends: ["longer", "less"],
        more_is_better: false,
    },
    Measure {
        label: "sum of penalties",
        get: |p| p.total,
        say: words::three,
        verb: "adds up to",
        ends: ["more in penalties", "less in penalties"],
        more_is_better: false,
    },
];

/// What speaks for `pose` against `other`, and what speaks against it, the largest
/// differences first: three sentences at most.
pub fn sentences(pose: &Picked, other: &Picked) -> Vec<String> {
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    for m in &MEASURES {
        let (a, b) = ((m.get)(pose.pose), (m.get)(other.pose));
        let (x, y) = ((m.say)(a), (m.say)(b));
        let share = (a - b).abs() / a.abs().max(b.abs()).max(f64::MIN_POSITIVE);
        if !(share > SHARE && share.is_finite() && x != y) {
            continue;
        }
        let text = format!(
            "{} {} {} ({x} to {y})",
            m.verb,
            (m.say)((a - b).abs()),
            m.ends[usize::from(a < b)]
        );
        if (a > b) == m.more_is_better {
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
            "As good as {} on every figure, to within two in a hundred.",
            other.name
        ));
    }
    out
}

/// A row of the table: label, cells, which of them are best.
fn rows(poses: &[Picked]) -> Vec<(&'static str, Vec<String>, Vec<bool>)> {
    MEASURES
        .iter()
        .map(|m| {
            let values: Vec<f64> = poses.iter().map(|p| (m.get)(p.pose)).collect();
            let cells: Vec<String> = values.iter().map(|v| (m.say)(*v)).collect();
            let sign = if m.more_is_better { -1.0 } else { 1.0 };
            let best = values
                .iter()
                .map(|v| sign * v)
                .fold(f64::INFINITY, f64::min);
            let top = values.iter().position(|v| sign * v <= best);
            let same = |c: &String| top.and_then(|t| cells.get(t)) == Some(c);
            let all = cells.iter().all(same);
            let marks = cells.iter().map(|c| same(c) && !all).collect();
            (m.label, cells, marks)
        })
        .collect()
}

/// The comparison in words for a terminal.
pub fn text(poses: &[Picked], look: Look) -> String {
    let heads: Vec<String> = poses.iter().map(|p| p.head.clone()).collect();
    let rows = rows(poses);
    let first = rows.iter().map(|r| r.0.chars().count()).max().unwrap_or(0);
    let cell = rows
        .iter()
        .flat_map(|r| &r.1)
        .chain(&heads)
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
    for (label, cells, marks) in &rows {
        let line: String = cells
            .iter()
            .zip(marks)
            .map(|(c, best)| {
                let pad = " ".repeat(cell - 1 - c.chars().count());
                format!(
                    "  {pad}{}{}",
                    if *best { look.underlined(c) } else { c.clone() },
                    if *best { "*" } else { " " }
                )
            })
            .collect::<Vec<_>>()
            .concat();
        out.push_str(&format!("{}{}\n", left(label, first), line.trim_end()));
    }
    out.push_str(&wrap(
        "* the better, or best, of the row.",
        look.text_width(),
        "",
        "",
    ));
    for pose in &poses[1..] {
        let mut heading = pose.name.clone();
        if let Some(letter) = heading.get_mut(0..1) {
            letter.make_ascii_uppercase();
        }
        list(&mut out, look, &heading, &sentences(pose, &poses[0]));
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
