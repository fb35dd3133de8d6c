//! The comparison in a terminal.

use super::differences::{cells, rows, sentences};
use super::pick::Picked;
use crate::report::act::act;
use crate::report::layout::{Look, list, widest};
use crate::report::sum::{self, Sum};
use crate::words::{capital, side_down};

/// The comparison in words for a terminal.
pub fn text(poses: &[Picked], look: Look) -> String {
    let rows = rows(poses);
    let first = widest(rows.iter().map(|r| r.figure.label.as_str()));
    let cells: Vec<Vec<(String, bool)>> = rows.iter().map(|r| cells(r, false).collect()).collect();
    let texts = cells.iter().flatten().map(|c| c.0.as_str());
    let cell = 1 + widest(texts.chain(poses.iter().map(|p| p.head.as_str())));
    let line = |cells: &mut dyn Iterator<Item = (&str, bool)>| {
        let cells: Vec<String> = cells.map(|(c, best)| look.marked(c, best, cell)).collect();
        format!("  {}", cells.join("  ").trim_end())
    };
    let heads = line(&mut poses.iter().map(|p| (p.head.as_str(), false)));
    let across = (cell + 2) * poses.len();
    // Where a row is too wide its label has a line of its own, then each pose has.
    let (beside, below) = (first + across <= look.width, across <= look.width);
    let mut out = match (beside, below) {
        (true, _) => look.bold(&format!("{:first$}{heads}", "")) + "\n",
        (false, true) => look.bold(&heads) + "\n",
        (false, false) => String::new(),
    };
    for (row, cells) in rows.iter().zip(&cells) {
        let label = &row.figure.label;
        if beside || below {
            let cells = line(&mut cells.iter().map(|(c, best)| (c.as_str(), *best)));
            let gap = if beside { "" } else { "\n" };
            let columns = if beside { first } else { 0 };
            out.push_str(&format!("{label:columns$}{gap}{cells}\n"));
            continue;
        }
        out.push_str(&format!("{label}\n"));
        let head = widest(poses.iter().map(|p| p.head.as_str()));
        for (pose, (text, best)) in poses.iter().zip(cells) {
            let cell = look.marked(text, *best, cell);
            out.push_str(&format!("  {:head$}  {}\n", pose.head, cell.trim_end()));
        }
    }
    out.push_str(&look.paragraph("* the better, or best, of the row."));
    out.push('\n');
    let heading = "What each total is made of, the largest first; a shorter bar is better";
    out.push_str(&look.paragraph(&look.bold(heading)));
    let named = |p: &Picked| {
        let down = &p.pose.pose.down;
        let name = format!("{}: {}; {}", capital(&p.head), side_down(down), act(down));
        (name, Sum::of(p.pose))
    };
    out.push_str(&sum::text(
        &poses.iter().map(named).collect::<Vec<_>>(),
        look,
    ));
    for (i, pose) in poses.iter().enumerate().skip(1) {
        let heading = capital(&pose.name);
        list(&mut out, look, &heading, &sentences(poses, &rows, i));
    }
    out
}
