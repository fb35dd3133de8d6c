//! What a total is made of: a thin bar, split by its largest penalties, and the same in words.

use super::figures::penalty_label;
use super::html::escape;
use super::layout::{Look, wrap};
use crate::advice::RankedPose;
use crate::words::{decimal, fixed, joined};

/// Penalties that are named.
const NAMED: usize = 3;

/// A penalty below this share of the total is not named.
const LEAST: f64 = 0.05;

/// Half of the last decimal that is printed: what is less prints as 0.
const HALF_SHOWN: f64 = 0.005;

/// What the sum of the other penalties is called.
const OTHERS: &str = "others";

/// The pieces of a bar in block characters, the largest first, and that of the others.
const BLOCKS: [char; NAMED] = ['█', '▓', '▒'];
const REST: char = '░';

/// Columns of a bar in the terminal.
const COLUMNS: (usize, usize) = (14, 24);

/// One piece of a total.
#[derive(Debug, Clone, PartialEq)]
pub struct SumPiece {
    /// What the penalty is called.
    pub label: &'static str,
    /// What it adds, to two decimals.
    pub value: f64,
}

/// A total and its pieces, the largest first; the pieces add up to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sum {
    /// The largest penalties, then all others in one.
    pub pieces: Vec<SumPiece>,
    /// The total, to two decimals.
    pub total: f64,
}

fn two_decimals(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

impl SumPiece {
    /// "small contact 1.92"
    pub fn words(&self) -> String {
        format!("{} {}", self.label, fixed(self.value, 2))
    }
}

impl Sum {
    /// The total of a pose, split by its largest penalties.
    pub fn of(pose: &RankedPose) -> Self {
        Self::split(pose, NAMED, LEAST)
    }

    /// The total of a pose, split by every penalty that shows in its last decimal.
    pub fn all(pose: &RankedPose) -> Self {
        Self::split(pose, pose.charges.len(), 0.0)
    }

    /// Names at most `named` penalties, none below the share `least` of the total.
    fn split(pose: &RankedPose, named: usize, least: f64) -> Self {
        let total = two_decimals(pose.total);
        let mut charges: Vec<_> = pose.charges.iter().filter(|c| c.value > 0.0).collect();
        // The sort is stable: equal ones keep the order of the table.
        charges.sort_by(|a, b| b.value.total_cmp(&a.value));
        let mut pieces: Vec<SumPiece> = (charges.iter().take(named))
            .filter(|c| c.value >= (least * total).max(HALF_SHOWN))
            .map(|c| SumPiece {
                label: penalty_label(c.penalty),
                value: two_decimals(c.value),
            })
            .collect();
        let value = two_decimals(total - pieces.iter().map(|p| p.value).sum::<f64>());
        if !pieces.is_empty() && value >= 0.01 {
            pieces.push(SumPiece {
                label: OTHERS,
                value,
            });
        }
        Self { pieces, total }
    }

    /// With one penalty less named, where there is little room.
    #[must_use]
    pub fn briefer(mut self) -> Self {
        if self.pieces.len() > NAMED {
            let others = self.pieces.pop().map_or(0.0, |p| p.value);
            if let Some(last) = self.pieces.last_mut() {
                last.label = OTHERS;
                last.value = two_decimals(last.value + others);
            }
        }
        self
    }

    /// "small contact 1.92, height 1.20, others 0.59"
    pub fn words(&self) -> String {
        joined(self.pieces.iter().map(SumPiece::words), ", ")
    }

    /// The bar in block characters: `columns` of them stand for a total of `most`.
    fn blocks(&self, most: f64, columns: usize) -> String {
        let place = |value: f64| (value / most.max(1e-9) * columns as f64).round() as usize;
        let (mut out, mut so_far, mut drawn) = (String::new(), 0.0, 0);
        for (i, piece) in self.pieces.iter().enumerate() {
            let block = match BLOCKS.get(i) {
                Some(block) if piece.label != OTHERS => *block,
                _ => REST,
            };
            so_far += piece.value;
            let end = place(so_far).min(columns);
            out.extend(std::iter::repeat_n(block, end.saturating_sub(drawn)));
            drawn = drawn.max(end);
        }
        out
    }

    /// The bar for a page, as long beside one of `most` as its total is beside that; words go beside it.
    pub fn bar(&self, most: f64) -> String {
        let piece = |(i, p): (usize, &SumPiece)| {
            let class = if p.label == OTHERS {
                "rest"
            } else {
                ["", "part-2", "part-3"][i.min(NAMED - 1)]
            };
            let share = decimal(100.0 * p.value / most.max(self.total).max(1e-9), 2);
            format!("<i class=\"{class}\" style=\"width:{share}%\"></i>")
        };
        let pieces = joined(self.pieces.iter().enumerate().map(piece), "");
        format!("<span class=\"bar\" aria-hidden=\"true\">{pieces}</span>")
    }
}

/// The largest of some totals.
pub fn most(sums: &[Sum]) -> f64 {
    sums.iter().map(|s| s.total).fold(0.0, f64::max)
}

/// The sums of poses as a list for a page, each named.
pub fn list(named: &[(String, Sum)]) -> String {
    let sums: Vec<Sum> = named.iter().map(|n| n.1.clone()).collect();
    let most = most(&sums);
    let row = |(name, sum): &(String, Sum)| {
        format!(
            "<li><b>{}</b> {}{}<span class=\"sum\">{}</span></li>",
            escape(name),
            fixed(sum.total, 2),
            sum.bar(most),
            escape(&sum.words())
        )
    };
    format!(
        "<ul class=\"sums\">{}</ul>",
        joined(named.iter().map(row), "")
    )
}

/// The sums of poses in a terminal, each under what it is called.
pub fn text(named: &[(String, Sum)], look: Look) -> String {
    let sums: Vec<Sum> = named.iter().map(|n| n.1.clone()).collect();
    let most = most(&sums);
    let columns = (look.text_width() / 3).clamp(COLUMNS.0, COLUMNS.1);
    let totals: Vec<String> = sums.iter().map(|s| format!("{:.2}", s.total)).collect();
    let width = super::layout::widest(totals.iter().map(String::as_str));
    let mut out = String::new();
    for ((name, sum), total) in named.iter().zip(&totals) {
        out += &wrap(name, look.text_width(), "", "   ");
        let bar = sum.blocks(most, columns);
        let first = format!("   {bar:columns$} {total:>width$}  ");
        let rest = " ".repeat(if look.text_width() < 60 {
            3
        } else {
            first.chars().count()
        });
        if look.text_width() < 60 {
            out += &format!("{}\n", first.trim_end());
            out += &wrap(&sum.words(), look.text_width(), &rest, &rest);
        } else {
            out += &wrap(&sum.words(), look.text_width(), &first, &rest);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::advise;
    use crate::figures::fixture::{boxes, part_of};
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use crate::rank::search::{Silent, Wanted};
    use crate::report::draw::fixture::{bench, cuboid};
    use crate::settings::Settings;

    fn made(values: &[(&'static str, f64)]) -> Sum {
        Sum {
            pieces: values
                .iter()
                .map(|&(label, value)| SumPiece { label, value })
                .collect(),
            total: values.iter().map(|v| v.1).sum(),
        }
    }

    #[test]
    fn the_pieces_add_up_to_the_total_of_every_pose() {
        let soup = boxes(
            &[
                [[0.0; 3], [10.0, 10.0, 60.0]],
                [[-20.0, 0.0, 50.0], [40.0, 10.0, 60.0]],
            ],
            &[],
        );
        let part = part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
        let bench = Bench::new(&part, &settings, hull);
        let advice = advise(&bench, &Wanted::first(4), &Silent).expect("not stopped");
        assert!(advice.poses.len() > 2);
        for pose in &advice.poses {
            let sum = Sum::of(pose);
            let all: f64 = sum.pieces.iter().map(|p| p.value).sum();
            assert!((all - pose.total).abs() < 0.006, "{sum:?} {}", pose.total);
            assert!(
                sum.pieces.len() <= NAMED + 1 && sum.pieces.len() > 1,
                "{sum:?}"
            );
            let named = sum.pieces.iter().filter(|p| p.label != OTHERS);
            assert!(named.map(|p| -p.value).is_sorted(), "{sum:?}");
        }
    }

    /// "together 7.36" is split to the last penalty that shows in two decimals.
    #[test]
    fn the_whole_sum_names_every_penalty_that_shows() {
        let part = cuboid(10.0, 20.0, 60.0);
        let settings = Settings::default();
        let bench = bench(&part, &settings);
        let advice = advise(&bench, &Wanted::first(3), &Silent).expect("not stopped");
        let mut more = 0;
        for pose in &advice.poses {
            let sum = Sum::all(pose);
            let shown = pose.charges.iter().filter(|c| c.value >= HALF_SHOWN);
            let named = sum.pieces.iter().filter(|p| p.label != OTHERS);
            let labels: Vec<&str> = named.map(|p| p.label).collect();
            assert_eq!(labels.len(), shown.count(), "{sum:?}");
            more += usize::from(labels.len() > NAMED);
        }
        assert!(more > 0, "no pose with more than {NAMED}");
    }

    #[test]
    fn a_bar_is_as_long_as_its_total_and_each_piece_as_its_share() {
        let sum = made(&[("a", 4.0), ("b", 3.0), ("c", 2.0), (OTHERS, 1.0)]);
        assert_eq!(sum.blocks(10.0, 20), "████████▓▓▓▓▓▓▒▒▒▒░░");
        assert_eq!(sum.blocks(20.0, 20), "████▓▓▓▒▒░");
        assert!(sum.bar(20.0).contains("width:20%"), "{}", sum.bar(20.0));
    }

    #[test]
    fn a_briefer_sum_still_adds_up() {
        let sum = made(&[("a", 4.0), ("b", 3.0), ("c", 2.0), (OTHERS, 1.0)]).briefer();
        assert_eq!(sum.words(), "a 4.00, b 3.00, others 3.00");
        let two = made(&[("a", 4.0), (OTHERS, 1.0)]);
        assert_eq!(two.clone().briefer(), two);
    }

    #[test]
    fn bars_fit_narrow_and_wide_terminals() {
        let named = [
            (
                "1  \u{2212}Y side down; from the file: turn it 90° about X".to_string(),
                made(&[
                    ("small contact", 1.92),
                    ("height", 1.2),
                    ("layer steps", 0.6),
                    (OTHERS, 0.59),
                ]),
            ),
            (
                "2  \u{2212}Z side down; as stored in the file".to_string(),
                made(&[
                    ("walls of horizontal bores", 11.11),
                    ("self-supporting overhang", 7.5),
                    ("bridges past the limit", 6.2),
                    (OTHERS, 2.45),
                ]),
            ),
        ];
        for width in [40, 80, 200] {
            let out = text(&named, Look::plain(width));
            for line in out.lines() {
                assert!(line.chars().count() <= width, "{width}: {line}");
            }
            assert!(out.contains('█') && out.contains("27.26"), "{out}");
            assert!(out.lines().all(|l| l == l.trim_end()), "{out}");
        }
    }
}
