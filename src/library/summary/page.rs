//! The page itself.

use super::bins::{self, Bins};
use super::rows::{self, PartRow};
use super::words::{grouped, parts};
use crate::library::columns::{GROUPS, Group};
use crate::library::record::Record;
use crate::library::store::{PartCounts, Store};
use crate::report::advise::CAUTIONS;
use crate::report::html::{TAIL, escape, head};
use crate::session::exit::Failure;
use crate::words::joined;

/// Rows of the table at most: about four megabytes of page.
pub const MOST_ROWS: u64 = 3000;
/// Parts of the list of those that turning helps most.
const MOST_HELPED: u64 = 20;
const STYLE: &str = include_str!("page.css");
/// Sorts by a column, shows only parts of some kinds.
const SCRIPT: &str = concat!("<script>\n", include_str!("table.js"), "</script>\n");

/// What the page shows of all parts, gathered record by record.
pub struct Gathered {
    bins: Vec<Bins>,
    /// The folder that all paths begin with, with its last stroke.
    below: Option<String>,
}

impl Default for Gathered {
    /// Nothing yet.
    fn default() -> Self {
        Self {
            bins: bins::all(),
            below: None,
        }
    }
}

impl Gathered {
    /// Looks at a record.
    pub fn take(&mut self, record: &Record) {
        for bins in &mut self.bins {
            bins.take(&record.cells);
        }
        let row = PartRow(record, 0);
        let path = row.path();
        let below = self.below.get_or_insert_with(|| path.to_string());
        let same = below
            .char_indices()
            .zip(path.chars())
            .find(|((_, a), b)| a != b)
            .map_or(below.len().min(path.len()), |((i, _), _)| i);
        let folder = below.get(..same).and_then(|b| b.rfind('/'));
        below.truncate(folder.map_or(0, |i| i + 1));
    }

    /// Writes the page.
    ///
    /// # Errors
    /// What `out` says, or a database that cannot be read.
    pub fn write(
        &self,
        store: &Store,
        mut out: impl FnMut(&str) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let counts = store.counts()?;
        let title = format!("Parts library: {}", parts(counts.parts));
        out(&head(&title, STYLE.trim_end()))?;
        out("<a class=\"skip\" href=\"#parts\">Skip to the parts</a>\n<main class=\"library\">\n")?;
        out(&opening(&counts))?;
        out(
            "<section aria-labelledby=\"all\"><h2 id=\"all\">All of them</h2>\n<div class=\"plots\">",
        )?;
        for bins in &self.bins {
            out(&bins.table())?;
        }
        out("</div></section>\n")?;
        let below = self.below.as_deref().unwrap_or_default();
        let helped = store.helped(MOST_HELPED)?;
        if !helped.is_empty() {
            out(&format!(
                "<section aria-labelledby=\"helped\"><h2 id=\"helped\">Where turning saves most support</h2>\n<p>The {} that lie worst in their files. The outline shows each as it lies there, the solid figure the best pose, both from the front.</p>\n<ol class=\"helped\">",
                parts(helped.len() as u64)
            ))?;
            for id in helped {
                if let Some(record) = store.record(id)? {
                    out(&PartRow(&record, below.len()).helped())?;
                }
            }
            out("</ol></section>\n")?;
        }
        let shown = store.shown(MOST_ROWS)?;
        out(&table_opening(&counts, shown.len() as u64, below))?;
        for id in shown {
            if let Some(record) = store.record(id)? {
                out(&PartRow(&record, below.len()).row())?;
            }
        }
        out("</tbody></table></div></section>\n<footer class=\"cautions\">")?;
        for caution in CAUTIONS {
            out(&format!("<p>{}</p>", escape(caution)))?;
        }
        out("</footer>\n</main>\n")?;
        out(SCRIPT)?;
        out(TAIL)
    }
}

fn opening(c: &PartCounts) -> String {
    let mut rows = String::new();
    let mut row = |n: u64, says: &str| {
        rows.push_str(&format!(
            "<div><dt>{says}</dt><dd>{}</dd></div>",
            grouped(n)
        ));
    };
    row(c.parts - c.unread, "with an advice");
    row(c.unread, "could not be read");
    row(c.does_not_fit, "fit the bed in no pose");
    row(c.needs_support, "need support in their best pose");
    row(c.sways, "have a piece that sways there");
    row(c.loaded_poor, "lie poorly in their file");
    row(c.broken - c.unread, "have an open surface");
    if c.cut_short > 0 {
        row(c.cut_short, "were cut short by the time limit");
    }
    let gone = if c.gone > 0 {
        format!(
            "<p>{} that the library held before {} not there on the last run and left out.</p>",
            parts(c.gone),
            if c.gone == 1 { "was" } else { "were" }
        )
    } else {
        String::new()
    };
    format!(
        "<header><h1>Which way up: {}</h1>\n<dl class=\"counts\">{rows}</dl>{gone}</header>\n",
        parts(c.parts)
    )
}

/// The table down to its first row.
fn table_opening(c: &PartCounts, shown: u64, below: &str) -> String {
    let below = if below.is_empty() {
        String::new()
    } else {
        format!(" Paths are below {}.", escape(below))
    };
    let which = if shown < c.parts {
        format!(
            "The table holds {} of {}, so that the page opens: of each kind of trouble those with the most of it, then the first by path. All of them are in parts.csv, parts.parquet and library.sqlite beside this page.",
            grouped(shown),
            parts(c.parts)
        )
    } else {
        "All of them; more columns are in parts.csv, parts.parquet and library.sqlite beside this page.".into()
    };
    let filter = |Group { letter, says, .. }: &Group| {
        format!("<label><input type=\"checkbox\" value=\"{letter}\"> {says}</label>")
    };
    let filters = joined(GROUPS.iter().map(filter), "");
    let head = |(name, unit): (&str, &str)| match unit {
        "" => format!("<th scope=\"col\">{name}</th>"),
        _ => format!("<th scope=\"col\">{name} <span class=\"unit\">{unit}</span></th>"),
    };
    let heads = joined(rows::heads().map(head), "");
    format!(
        "<section aria-labelledby=\"parts\"><h2 id=\"parts\">The parts</h2>\n<p>{which}{below}</p>\n<form class=\"filters\" hidden><fieldset><legend>Only those that</legend>{filters}</fieldset><p role=\"status\" id=\"left\"></p></form>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"Table of the parts\"><table id=\"table\"><thead><tr><th scope=\"col\">Figure</th>{heads}</tr></thead><tbody>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::record::Basis;
    use crate::library::walk::PartFile;
    use crate::session::exit::Exit;

    #[test]
    fn paths_are_shown_below_the_folder_that_they_share() {
        let mut page = Gathered::default();
        for (path, below) in [
            ("lib/ö/a.stl", "lib/ö/"),
            ("lib/ö/b/c.stl", "lib/ö/"),
            ("lib/õ/a.stl", "lib/"),
            ("lid.stl", ""),
        ] {
            let file = PartFile {
                path: path.into(),
                bytes: 0,
            };
            let why = Failure::new(Exit::Unreadable, "", "d", "h");
            let record = Record::refused(&file, &why, Basis::default()).expect("plain");
            page.take(&record);
            assert_eq!(page.below.as_deref(), Some(below), "{path}");
        }
    }
}
