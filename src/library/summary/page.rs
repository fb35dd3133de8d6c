//! The page itself.

use super::bins::{self, Bins};
use super::rows::{self, NUMBERS, PartRow};
use super::words::{grouped, parts};
use crate::library::columns::{GROUPS, Group};
use crate::library::outline::BOX;
use crate::library::record::Record;
use crate::library::sheets::Sheets;
use crate::library::store::{PartCounts, Store};
use crate::report::cautions::CAUTIONS;
use crate::report::html::{TAIL, escape, head};
use crate::session::exit::Failure;
use crate::words::joined;
use serde_json::Value;

/// Rows of the table at most: a page of some twenty megabytes.
pub const MOST_ROWS: u64 = 100_000;
/// Rows that are drawn at a time; without scripts there are no more.
const ROWS_AT_A_TIME: usize = 100;
/// Rows that have an outline at most: it is longer than the rest of a row.
const MOST_DRAWN: usize = 5000;
/// Rows in a block of data: a browser reads them one by one.
const ROWS_A_BLOCK: usize = 1000;
/// Parts of the list of those that turning helps most.
const MOST_HELPED: u64 = 20;
const STYLE: &str = include_str!("page.css");
/// Sorts by a column, shows only parts of some kinds, turns over.
const SCRIPT: &str = concat!("<script>\n", include_str!("table.js"), "</script>\n");

/// What the page shows of all parts, gathered record by record.
pub struct Gathered {
    bins: Vec<Bins>,
    /// The folder that all paths begin with, with its last stroke.
    below: Option<String>,
    /// Columns of numbers that are not zero for every part.
    kept: [bool; NUMBERS],
}

impl Default for Gathered {
    /// Nothing yet.
    fn default() -> Self {
        Self {
            bins: bins::all(),
            below: None,
            kept: [false; NUMBERS],
        }
    }
}

impl Gathered {
    /// Looks at a record.
    pub fn take(&mut self, record: &Record) {
        for bins in &mut self.bins {
            bins.take(&record.cells);
        }
        let row = PartRow::new(record);
        for (kept, value) in self.kept.iter_mut().zip(row.numbers()) {
            *kept |= value.is_some_and(|v| v != 0.0);
        }
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

    /// Writes the page, each part with a link to its sheet where that is there.
    ///
    /// # Errors
    /// What `out` says, or a database that cannot be read.
    pub fn write(
        &self,
        store: &Store,
        sheets: &Sheets,
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
                "<section aria-labelledby=\"helped\"><h2 id=\"helped\">Where turning saves most support</h2>\n<p>{}. The outline shows each as stored, the solid shape the best pose, both from the front.</p>\n<ol class=\"helped\">",
                parts(helped.len() as u64)
            ))?;
            for id in helped {
                if let Some(record) = store.record(id)? {
                    out(&sheeted(&record, below.len(), sheets).helped())?;
                }
            }
            out("</ol></section>\n")?;
        }
        out(&table_opening(&counts, below, self.kept))?;
        // The first rows stand there as they are; all of them follow as data, below what is seen.
        store.listed(ROWS_AT_A_TIME as u64, |record| {
            out(&sheeted(&record, below.len(), sheets).row(self.kept))
        })?;
        out(
            "</tbody></table></div>\n<p class=\"pager\" hidden></p></section>\n<footer class=\"cautions\">",
        )?;
        for caution in CAUTIONS {
            out(&format!("<p>{}</p>", escape(caution)))?;
        }
        out("</footer>\n</main>\n")?;
        let mut block = Vec::new();
        let mut done = 0;
        store.listed(MOST_ROWS, |record| {
            block.push(sheeted(&record, below.len(), sheets).data(done < MOST_DRAWN));
            done += 1;
            if block.len() == ROWS_A_BLOCK {
                out(&data(&std::mem::take(&mut block)))?;
            }
            Ok(())
        })?;
        out(&data(&block))?;
        out(SCRIPT)?;
        out(TAIL)
    }
}

/// A row that leads to its sheet, where that is there.
fn sheeted<'a>(record: &'a Record, below: usize, sheets: &Sheets) -> PartRow<'a> {
    PartRow {
        record,
        below,
        sheet: sheets.link(record),
    }
}

/// Rows as a block of data. Nothing in it ends the block: `<` is escaped.
fn data(rows: &[Value]) -> String {
    let text = Value::from(rows).to_string().replace('<', "\\u003c");
    format!("<script type=\"application/json\" class=\"rows\">{text}</script>\n")
}

fn opening(c: &PartCounts) -> String {
    let mut rows = String::new();
    let mut row = |n: u64, says: &str| {
        if n > 0 {
            rows += &format!("<div><dt>{says}</dt><dd>{}</dd></div>", grouped(n));
        }
    };
    row(c.parts - c.unread, "with advice");
    row(c.unread, "could not be read");
    row(c.does_not_fit, "fit the bed in no pose");
    row(c.needs_support, "need support in their best pose");
    row(c.sways, "have a feature that sways there");
    row(c.stored_poor, "are stored in a poor pose");
    row(c.broken - c.unread, "have an open surface");
    row(c.cut_short, "were stopped by the time limit");
    let (all, gone) = (parts(c.parts), parts(c.gone));
    let was = if c.gone == 1 { "was" } else { "were" };
    let gone =
        format!("<p>{gone} of earlier runs {was} not found by the last run and left out.</p>");
    let gone = if c.gone > 0 { &gone } else { "" };
    format!(
        "<header><h1>Which way up: {all}</h1>\n<dl class=\"counts\">{rows}</dl>{gone}</header>\n"
    )
}

/// The table down to its first row.
fn table_opening(c: &PartCounts, below: &str, kept: [bool; NUMBERS]) -> String {
    let below = (!below.is_empty()).then(|| format!(" Paths are below {}.", escape(below)));
    let below = below.unwrap_or_default();
    let most = grouped(MOST_ROWS);
    let which = if c.parts > MOST_ROWS {
        format!("The table has the first {most} of {}.", parts(c.parts))
    } else {
        String::new()
    };
    let plain = if c.parts > ROWS_AT_A_TIME as u64 {
        format!("<noscript> Without scripts it shows the first {ROWS_AT_A_TIME}.</noscript>")
    } else {
        String::new()
    };
    let filter = |Group { letter, says, .. }: &Group| {
        format!("<label><input type=\"checkbox\" value=\"{letter}\"> {says}</label>")
    };
    let filters = joined(GROUPS.iter().map(filter), "");
    let mut heads = String::new();
    for (i, column) in rows::numbers().iter().enumerate() {
        if kept[i] {
            let places = column.places.map_or(-1, |p| p as i64);
            let sorted = if i == 0 {
                " aria-sort=\"descending\""
            } else {
                ""
            };
            heads += &format!(
                "<th scope=\"col\" data-number=\"{i}\" data-places=\"{places}\"{sorted}>{} <span class=\"unit\">{}</span></th>",
                column.label, column.unit
            );
        }
    }
    let hidden = kept.iter().any(|k| !k);
    let hidden = if hidden {
        " Columns that are zero for every part are left out."
    } else {
        ""
    };
    format!(
        "<section aria-labelledby=\"parts\"><h2 id=\"parts\">The parts</h2>\n<p>{which} Sorted by the support that turning saves; all columns are in parts.csv, parts.parquet and library.sqlite beside this page.{hidden}{below}{plain}</p>\n<form class=\"filters\" hidden><fieldset><legend>Only parts that</legend>{filters}<label>have in their name <input type=\"search\" id=\"named\"></label></fieldset><p role=\"status\" id=\"left\"></p></form>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"Table of the parts\"><table id=\"table\" data-rows=\"{ROWS_AT_A_TIME}\" data-box=\"{BOX}\"><thead><tr><th scope=\"col\">Outline</th><th scope=\"col\" data-text=\"1\">Part</th><th scope=\"col\" data-text=\"2\">Which way up</th>{heads}<th scope=\"col\" data-text=\"4\">notes</th></tr></thead><tbody>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::columns;
    use crate::library::record::Basis;
    use crate::library::walk::PartFile;
    use crate::session::exit::Exit;

    fn record(path: &str) -> Record {
        let file = PartFile {
            path: path.into(),
            bytes: 0,
        };
        let why = Failure::new(Exit::Unreadable, "", "d</script>", "h");
        let basis = Basis {
            sha256: Some("1".into()),
            ..Basis::default()
        };
        Record::refused(&file, &why, basis).expect("plain")
    }

    #[test]
    fn paths_are_shown_below_the_folder_that_they_share() {
        let mut page = Gathered::default();
        for (path, below) in [
            ("lib/ö/a.stl", "lib/ö/"),
            ("lib/ö/b/c.stl", "lib/ö/"),
            ("lib/õ/a.stl", "lib/"),
            ("lid.stl", ""),
        ] {
            page.take(&record(path));
            assert_eq!(page.below.as_deref(), Some(below), "{path}");
        }
    }

    /// The page of some parts, and its blocks of data.
    fn page(records: &[Record], sheet_of: Option<&Record>) -> (String, Vec<Vec<Value>>) {
        let dir = tempfile::tempdir().expect("a folder");
        let store = Store::open(dir.path()).expect("made");
        let mut gathered = Gathered::default();
        store.begin().expect("begun");
        for record in records {
            store.put(record).expect("put");
            gathered.take(record);
        }
        store.commit().expect("kept");
        let mut sheets = Sheets::of(dir.path());
        if let Some(record) = sheet_of {
            sheets.begin().expect("made");
            sheets.put(record, "<p>").expect("written");
        }
        let mut html = String::new();
        let put = |text: &str| {
            html.push_str(text);
            Ok(())
        };
        gathered.write(&store, &sheets, put).expect("written");
        let blocks = html.split("class=\"rows\">").skip(1);
        let blocks = blocks.map(|b| b.split("</script>").next().unwrap_or_default());
        let blocks = blocks.map(|b| serde_json::from_str(b).expect("data"));
        let blocks = blocks.collect();
        (html, blocks)
    }

    #[test]
    fn what_is_zero_for_every_part_has_no_column_and_no_count() {
        let number = |r: &mut Record, name: &str, value: f64| {
            r.cells[columns::place(name).expect(name)] = value.into();
        };
        let [mut a, mut b] = [record("a.stl"), record("b.stl")];
        for r in [&mut a, &mut b] {
            number(r, "height_mm", 20.0);
            // Too little to be printed as anything but 0.
            number(r, "sway_mm_per_n", 0.004);
        }
        number(&mut b, "support_saved_mm3", 5000.0);
        let (html, blocks) = page(&[a.clone(), b.clone()], Some(&b));
        assert!(html.contains(">height <span") && html.contains(">support saved <span"));
        assert!(!html.contains(">sway <span") && !html.contains(">slenderness <span"));
        assert!(
            html.contains("could not be read") && !html.contains("fit the bed in no pose</dt>")
        );
        // The part where turning saves most comes first, and leads to its sheet.
        let first = html.split("<tbody>\n").nth(1).expect("rows");
        let first = first.lines().next().expect("a row");
        assert!(
            first.contains("b.stl</a>") && first.contains("<td>5.00</td>"),
            "{first}"
        );
        assert_eq!(
            html.matches("<a href=\"sheets/").count(),
            2,
            "list and table"
        );
        assert_eq!(blocks.iter().map(Vec::len).collect::<Vec<_>>(), [2]);
        assert_eq!(blocks[0][1][1], "a.stl");
        assert_eq!(blocks[0][1][4], "unread: d</script>");
        number(&mut a, "sway_mm_per_n", 0.006);
        assert!(page(&[a, b], None).0.contains(">sway <span"));
    }

    #[test]
    fn a_large_library_has_a_page_of_rows_and_the_rest_as_data() {
        let many: Vec<Record> = (0..1234).map(|i| record(&format!("{i:05}.stl"))).collect();
        let (html, blocks) = page(&many, None);
        let table = html.split("<tbody>\n").last().expect("a table");
        let table = table.split("</tbody>").next().expect("its end");
        assert_eq!(table.matches("<tr>").count(), ROWS_AT_A_TIME);
        assert_eq!(blocks.iter().map(Vec::len).collect::<Vec<_>>(), [1000, 234]);
        assert!(html.contains("Without scripts it shows the first 100."));
        // What is seen comes before the data.
        assert!(html.find("</main>") < html.find("class=\"rows\""));
    }
}
