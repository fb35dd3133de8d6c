//! A distribution as a table whose bars are drawn: seen at a glance, and read aloud.

use super::words::{NOTHING_MM3, grouped, of_parts};
use crate::library::columns;
use crate::report::figures::FigureKey;
use crate::words::joined;
use serde_json::Value;

/// Parts counted by one figure.
pub struct Bins {
    caption: &'static str,
    column: &'static str,
    /// A bin reaches from the edge before it up to this one, which is not in it.
    edges: &'static [(f64, &'static str)],
    counts: Vec<u64>,
}

/// Bins of a volume of support, mm³.
const VOLUME: &[(f64, &str)] = &[
    (NOTHING_MM3, "none"),
    (100.0, "to 0.1 cm³"),
    (1e3, "to 1 cm³"),
    (1e4, "to 10 cm³"),
    (1e5, "to 100 cm³"),
];

/// Bins of a time, min.
const TIME: &[(f64, &str)] = &[
    (10.0, "to 10 min"),
    (30.0, "to 30 min"),
    (60.0, "to 1 h"),
    (180.0, "to 3 h"),
    (600.0, "to 10 h"),
];

/// Bins of a ratio.
const RATIO: &[(f64, &str)] = &[
    (2.0, "to 2"),
    (4.0, "to 4"),
    (8.0, "to 8"),
    (15.0, "to 15"),
    (30.0, "to 30"),
];

/// Every distribution of the page.
pub fn all() -> Vec<Bins> {
    let bins = |caption, column, edges: &'static [(f64, &'static str)]| Bins {
        caption,
        column,
        edges,
        counts: vec![0; edges.len() + 1],
    };
    vec![
        bins("Support in the best pose", "support_needed_mm3", VOLUME),
        bins("Support that turning saves", "support_saved_mm3", VOLUME),
        bins("Printing time", "print_min", TIME),
        bins("Slenderness", "slender_ratio", RATIO),
    ]
}

impl Bins {
    /// Counts a part, unless the figure is not known.
    pub fn take(&mut self, cells: &[Value]) {
        let x = if self.column == FigureKey::Support.name() {
            columns::support_mm3(cells)
        } else {
            columns::named(cells, self.column).as_f64()
        };
        let Some(x) = x else { return };
        let bin = self.edges.partition_point(|(edge, _)| x >= *edge);
        self.counts[bin] += 1;
    }

    /// The distribution as a table.
    pub fn table(&self) -> String {
        let all: u64 = self.counts.iter().sum();
        let most = self.counts.iter().copied().max().unwrap_or(0).max(1);
        let names = self.edges.iter().map(|(_, name)| *name);
        let row = |(name, n): (&str, &u64)| {
            format!(
                "<tr><th scope=\"row\">{name}</th><td class=\"long\"><i style=\"width:{:.1}%\"></i></td><td>{}</td></tr>",
                100.0 * *n as f64 / most as f64,
                grouped(*n)
            )
        };
        let rows = joined(names.chain(["more"]).zip(&self.counts).map(row), "");
        format!(
            "<table class=\"bars\"><caption>{} <span class=\"unit\">{}</span></caption><tbody>{rows}</tbody></table>",
            self.caption,
            of_parts(all)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_falls_into_one_bin_and_an_unknown_one_into_none() {
        let mut bins = all().remove(0);
        let place = columns::place(bins.column).expect("a column");
        let with = |cell| {
            let mut cells = vec![Value::Null; columns::COLUMNS.len()];
            cells[place] = cell;
            cells
        };
        for x in [0.0, 99.0, 100.0, 5e5] {
            bins.take(&with(Value::from(x)));
        }
        bins.take(&with(Value::Null));
        assert_eq!(bins.counts, [1, 1, 1, 0, 0, 1]);
        assert!(bins.table().contains("4 parts"));
    }
}
