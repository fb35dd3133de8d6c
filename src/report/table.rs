//! The table of ranked poses, best value in each column marked.

use super::act::act;
use super::figures::{COLUMNS, FigureKey, figure};
use super::layout::{Look, widest, wrap};
use super::series::Series;
use super::sum::{self, Sum};
use crate::advice::share::are_equal;
use crate::advice::{Advice, RankedPose};
use crate::rank::FailedGate;
use crate::rank::search::angle_deg;
use crate::words::{count, side_down, vector};

/// One column of numbers.
pub(crate) struct FigureColumn {
    /// Word at the top.
    pub(crate) name: &'static str,
    /// Unit below it.
    pub(crate) unit: &'static str,
    /// One text a row, and whether it is best here.
    pub(crate) cells: Vec<(String, bool)>,
    /// Blanks behind each text that bring the decimals under each other: so many digits, and whether
    /// one point more.
    pub(crate) lacks: Vec<Lack>,
}

/// What a number has less than the longest fraction of its column.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Lack {
    /// Digits.
    pub(crate) digits: usize,
    /// The point.
    pub(crate) point: bool,
}

/// What each of these numbers lacks, so that their decimals stand under each other.
pub(crate) fn lacks<'a>(cells: impl Iterator<Item = &'a str> + Clone) -> Vec<Lack> {
    let digits = |t: &str| t.rsplit_once('.').map_or(0, |(_, behind)| behind.len());
    let most = cells.clone().map(digits).max().unwrap_or(0);
    cells
        .map(|t| Lack {
            digits: most - digits(t),
            point: digits(t) == 0 && most > 0,
        })
        .collect()
}

impl FigureColumn {
    /// The cell of a row for a page, with the blanks behind it: as wide as a point and as digits.
    pub(crate) fn for_page(&self, row: usize) -> (String, bool, String) {
        let (text, best) = self.cells[row].clone();
        let lack = self.lacks[row];
        let point = if lack.point { "\u{2008}" } else { "" };
        (
            text,
            best,
            format!("{point}{}", "\u{2007}".repeat(lack.digits)),
        )
    }
}

/// Poses that differ by less than this are one, degrees.
const SAME_WAY_DEG: f64 = 1.0;

/// Columns that give way first on a narrow terminal.
const GIVE_WAY: [FigureKey; 4] = [
    FigureKey::Printing,
    FigureKey::Slenderness,
    FigureKey::Bridge,
    FigureKey::Height,
];

impl FigureColumn {
    /// Columns for the longest text and the mark, which is the gap as well.
    fn width(&self) -> usize {
        let heads = widest([self.name, self.unit].into_iter()) + 1;
        // A blank before each number and room for the mark behind it.
        let cell = |i: usize| 2 + self.cells[i].0.chars().count() + self.blanks(i);
        (0..self.cells.len()).map(cell).fold(heads, usize::max)
    }

    /// Columns that the text of a row stands off, so that decimals stand under each other.
    fn blanks(&self, row: usize) -> usize {
        self.lacks[row].digits + usize::from(self.lacks[row].point)
    }

    /// The text of a row in its column: a blank before it, room for the mark behind.
    fn cell(&self, row: usize, look: Look) -> String {
        let (text, best) = &self.cells[row];
        let blanks = self.blanks(row);
        look.marked(text, *best, self.width() - blanks) + &" ".repeat(blanks)
    }
}

/// The columns of the rows given, in reading order.
pub(crate) fn columns(rows: &[&RankedPose]) -> Vec<FigureColumn> {
    // Only a pose that can be printed is an example to the others, if there is one.
    let free = rows.iter().any(|r| r.gates.is_empty());
    let counts: Vec<bool> = rows.iter().map(|r| r.gates.is_empty() || !free).collect();
    let column = |&key: &FigureKey| {
        let figure = figure(key);
        let of = |r: &&RankedPose| figure.value(&(*r).into()).unwrap_or(f64::NAN);
        let series = Series::new(figure, rows.iter().map(of).collect());
        let cells = series.cells();
        FigureColumn {
            name: &figure.label,
            unit: series.scale.unit(),
            lacks: lacks(cells.iter().map(String::as_str)),
            cells: cells.into_iter().zip(series.best(&counts)).collect(),
        }
    };
    COLUMNS.iter().map(column).collect()
}

/// What stands before the figures of a pose: rank, which way down in words and as a
/// vector, axes.
fn label(pose: &RankedPose, as_stored: bool) -> [String; 4] {
    let mut words = String::from(if as_stored { "as stored: " } else { "" });
    words.push_str(&side_down(&pose.pose.down));
    if pose.equivalent > 1 {
        words.push_str(&format!(", {} alike", pose.equivalent));
    }
    for gate in &pose.gates {
        words += &format!(", {}", gate_in_words(gate));
    }
    let rank = match pose.rank {
        0 => "\u{2013}".into(),
        rank => rank.to_string(),
    };
    [rank, words, vector(&pose.pose.down), pose.axes.clone()]
}

/// What a gate means, to go behind a comma.
pub fn gate_in_words(gate: &FailedGate) -> &'static str {
    match gate {
        FailedGate::DoesNotFit => "too large for the bed",
        FailedGate::NoContact => "touches the bed only at a point or an edge",
        FailedGate::Tips => "falls over by itself",
    }
}

/// The pose of the list that is the one of the file: the same way down to within a degree, or one
/// equal to it by symmetry.
pub(super) fn as_stored(advice: &Advice) -> Option<&RankedPose> {
    let stored = &advice.as_stored;
    let near = |p: &&RankedPose| angle_deg(&p.pose.down, &stored.pose.down) < SAME_WAY_DEG;
    let equal = |p: &&RankedPose| {
        p.rank == stored.rank && (p.total - stored.total).abs() <= 1e-6 * stored.total.abs()
    };
    let poses = &advice.poses;
    poses.iter().find(near).or_else(|| poses.iter().find(equal))
}

/// The table of the poses listed, and the pose as stored where it is not one of them.
///
/// One line a pose where the width allows it, else the direction on one line
/// and the figures below; at last columns are left out, and that is said.
pub fn poses(advice: &Advice, look: Look) -> String {
    let listed = as_stored(advice).is_some();
    let mut rows: Vec<&RankedPose> = advice.poses.iter().collect();
    if !listed {
        rows.push(&advice.as_stored);
    }
    let labels: Vec<[String; 4]> = (rows.iter().enumerate())
        .map(|(i, r)| label(r, i >= advice.poses.len()))
        .collect();
    let widths = [0, 1, 2, 3].map(|k| widest(labels.iter().map(|l| l[k].as_str())));
    let [rank, words, vectors, axes] = widths;
    let mut columns = columns(&rows);
    let numbers = |columns: &[FigureColumn]| columns.iter().map(FigureColumn::width).sum::<usize>();

    let label_width = rank + 2 + words + 2 + vectors + 2 + axes;
    let one_line = label_width + 1 + numbers(&columns) <= look.width;
    let mut left_out = Vec::new();
    let indent = if one_line { label_width + 1 } else { 1 };
    for name in GIVE_WAY.map(|f| figure(f).label.as_str()) {
        if indent + numbers(&columns) <= look.width {
            break;
        }
        columns.retain(|c| c.name != name);
        left_out.push(name);
    }

    let mut out = String::new();
    let head = |text: fn(&FigureColumn) -> &'static str| {
        let cells: String = columns
            .iter()
            .map(|c| look.marked(text(c), false, c.width()))
            .collect();
        format!("{:indent$}{}", "", cells.trim_end())
    };
    out.push_str(&look.bold(&head(|c| c.name)));
    out.push('\n');
    out.push_str(&head(|c| c.unit));
    out.push('\n');
    for (i, [at, side, down, letters]) in labels.iter().enumerate() {
        let cell = |c: &FigureColumn| c.cell(i, look);
        let cells: String = columns.iter().map(cell).collect();
        let rank_cell = format!("{at:>rank$}");
        if one_line {
            let cells = cells.trim_end();
            out.push_str(&format!(
                "{rank_cell}  {side:words$}  {down:vectors$}  {letters:axes$} {cells}\n"
            ));
        } else {
            let text = format!("{side}  {}  {letters}", down.replace(' ', "\u{a0}"));
            let lines = wrap(
                &text,
                look.width,
                &format!("{rank_cell}  "),
                &" ".repeat(rank + 2),
            );
            out.push_str(&lines.replace('\u{a0}', " "));
            out.push_str(&format!("{:indent$}{}\n", "", cells.trim_end()));
        }
    }
    out.push_str(&legend(advice, &left_out, look));
    out
}

/// What each total is made of, with what to do to the part of the file for the pose.
pub fn sums(advice: &Advice, look: Look) -> String {
    let named = |p: &RankedPose| {
        let side = side_down(&p.pose.down);
        (
            format!("{}  {side}; {}", p.rank, act(&p.pose.down)),
            Sum::of(p),
        )
    };
    let named: Vec<(String, Sum)> = advice.poses.iter().map(named).collect();
    if named.is_empty() {
        return String::new();
    }
    // Broken into lines first: what makes it bold takes no room.
    let heading = "What each total is made of, the largest first; a shorter bar is better";
    let heading = look.paragraph(heading);
    let bold = heading.lines().map(|line| look.bold(line) + "\n");
    bold.collect::<String>() + &sum::text(&named, look)
}

/// What the three letters of a pose are, such as ZXY.
pub const LETTERS: &str =
    "the printer's axes along the longest, middle and shortest side of the part";

/// What the marks mean, and which poses are trade-offs.
fn legend(advice: &Advice, left_out: &[&str], look: Look) -> String {
    let mut text = String::from(
        "* marks the best of the column. Support is what is left after bridges, small roofs and short cantilevers, 0 where none is needed; total is the sum of the penalties, lower is better.",
    );
    // Of equal poses the first: equals trade nothing.
    let is_told = |pose: &RankedPose| {
        let mut before = advice.poses.iter().take_while(|p| p.rank < pose.rank);
        before.any(|p| are_equal(&p.charges, &pose.charges))
    };
    let kept: Vec<String> = advice
        .poses
        .iter()
        .filter(|p| p.undominated && !is_told(p))
        .map(|p| p.rank.to_string())
        .collect();
    match kept.as_slice() {
        [] => {}
        [one] => text.push_str(&format!(
            " No other pose is at least as good as pose {one} on every penalty."
        )),
        several => text.push_str(&format!(
            " Poses {} are trade-offs: no other pose is at least as good on every penalty.",
            join(several)
        )),
    }
    if let Some(pose) = as_stored(advice) {
        text += &format!(" Pose {} is the file as stored.", pose.rank);
    }
    text += &format!(
        " Letters such as ZXY: {LETTERS}. `wayup measure PART` says what each figure means."
    );
    if !left_out.is_empty() {
        text += &format!(" Left out for want of width: {}.", left_out.join(", "));
    }
    let c = &advice.candidates;
    text.push_str(&format!(
        " Searched: {}, {}, {}; {} measured in full.",
        count(
            c.resting,
            "face of the convex hull",
            "faces of the convex hull"
        ),
        count(
            c.lattice,
            "evenly spread direction",
            "evenly spread directions"
        ),
        count(c.refined, "refined direction", "refined directions"),
        c.fully_scored
    ));
    if c.unsettled > 0 {
        text.push_str(&format!(
            " {} could not be ruled out by their bounds and were left unmeasured.",
            count(c.unsettled, "more direction", "more directions")
        ));
    }
    if let Some(gap) = advice.certified_gap {
        text += &certified(gap);
    }
    look.paragraph(&text)
}

/// What is certain of all directions.
fn certified(gap: f64) -> String {
    // Rounded up: what is printed is certain too.
    let percent = (gap * 1000.0).ceil() / 10.0;
    format!(
        " No other way up, looked at or not, can have a total more than {percent} % lower than pose 1."
    )
}

/// "1, 2 and 4".
fn join(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
