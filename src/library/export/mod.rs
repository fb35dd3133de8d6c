//! The library as files, made from the database.
//!
//! - `parts.jsonl`: the records, one a line, in the order of the paths
//! - `parts.csv`: the columns (RFC 4180): a header, `true` and `false`, nothing for null; text that
//!   a spreadsheet would take for a formula has an apostrophe before it, and what steers a
//!   terminal is escaped
//! - `parts.parquet`: the columns, typed
//! - `summary.html`: see [`super::summary`]
//!
//! Each is written beside its place, then renamed: at any moment it is the whole of an
//! earlier run or the whole of this one.

mod parquet;

use super::columns::{self, COLUMNS, CellKind};
use super::sheets::Sheets;
use super::store::Store;
use super::summary;
use super::trouble::unwritable;
use crate::session::destination::{Staged, keep_names};
use crate::session::exit::Failure;
use crate::words::printable;
use ::parquet::errors::ParquetError;
use parquet::ParquetFile;
use serde_json::Value;
use std::io::Write;
use std::path::Path;

/// Writes all of them into a folder.
///
/// # Errors
/// Exit 5; a file that was there before is then still whole.
pub fn write(folder: &Path, store: &Store) -> Result<(), Failure> {
    let begin = |name: &str| {
        let file = Staged::alone(folder, name);
        file.map_err(|e| unwritable(&folder.join(name), &e))
    };
    let mut lines = begin("parts.jsonl")?;
    let mut table = begin("parts.csv")?;
    let failed = |e: ParquetError| unwritable(&folder.join("parts.parquet"), &e);
    let mut columns = ParquetFile::new(begin("parts.parquet")?).map_err(failed)?;
    let mut page = summary::Gathered::default();
    put(&mut table, &(header() + "\r\n"))?;
    store.each(|record| {
        put(&mut lines, &record.line)?;
        put(&mut lines, "\n")?;
        put(&mut table, &row(&record.cells))?;
        columns.push(&record.cells).map_err(failed)?;
        page.take(&record);
        Ok::<(), Failure>(())
    })?;
    let mut html = begin("summary.html")?;
    let sheets = Sheets::of(folder);
    page.write(store, &sheets, |text| put(&mut html, text))?;
    // All are on the disk before any takes its place.
    let mut all = [lines, table, columns.finish().map_err(failed)?, html];
    for file in &mut all {
        file.sync().map_err(|e| unwritable(file.place(), &e))?;
    }
    all.into_iter().try_for_each(|file| {
        let place = file.place().to_path_buf();
        file.publish().map_err(|e| unwritable(&place, &e))
    })?;
    keep_names(folder);
    Ok(())
}

fn put(file: &mut Staged, text: &str) -> Result<(), Failure> {
    let said = file.write_all(text.as_bytes());
    said.map_err(|e| unwritable(file.place(), &e))
}

fn header() -> String {
    columns::names().join(",")
}

/// A row of the CSV with its line break.
fn row(cells: &[Value]) -> String {
    let fields = COLUMNS
        .iter()
        .zip(cells)
        .map(|(column, cell)| field(column.kind, cell));
    fields.collect::<Vec<_>>().join(",") + "\r\n"
}

fn field(kind: CellKind, cell: &Value) -> String {
    match (kind, cell) {
        (_, Value::Null) => String::new(),
        (_, Value::String(text)) => quoted(text),
        // Never with an exponent.
        (CellKind::Number, _) => cell.as_f64().unwrap_or_default().to_string(),
        _ => cell.to_string(),
    }
}

/// Text is quoted where it has to be, and where it is empty, which is not null. A spreadsheet
/// works out what begins like a formula, so an apostrophe goes before it (common practice: OWASP,
/// CSV injection, from memory).
fn quoted(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(printable).collect();
    let formula = text.starts_with(['=', '+', '-', '@', '\n']);
    let text = ["", "'"][usize::from(formula)].to_string() + &lines.join("\n");
    if text.is_empty() || text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn text_is_quoted_as_the_rfc_wants() {
        use CellKind::{Number, Text, Truth, Whole};
        let cells = [
            (Text, "plain".into()),
            (Text, "a, \"b\"\nc".into()),
            (Text, Value::Null),
            (Text, "".into()),
            (Number, 1e-7.into()),
            (Number, 3.0.into()),
            (Truth, true.into()),
            (Whole, (-3).into()),
        ];
        assert_eq!(
            cells
                .map(|(kind, cell): (_, Value)| field(kind, &cell))
                .join(","),
            "plain,\"a, \"\"b\"\"\nc\",,\"\",0.0000001,3,true,-3"
        );
        assert!(row(&vec![Value::Null; COLUMNS.len()]).ends_with(",\r\n"));
    }

    #[test]
    fn no_text_is_a_formula_or_steers_a_terminal() {
        for (text, wanted) in [
            ("=HYPERLINK(\"x\").stl", "\"'=HYPERLINK(\"\"x\"\").stl\""),
            ("+1.stl", "'+1.stl"),
            ("-1.stl", "'-1.stl"),
            ("@a.stl", "'@a.stl"),
            ("\n=1", "\"'\n=1\""),
            ("\t=1", "\\t=1"),
            ("\r=1", "\\r=1"),
            (
                "a\u{1b}[2J\0\u{202e}lts.stl",
                "a\\u{1b}[2J\\u{0}\\u{202e}lts.stl",
            ),
            ("a=b-c.stl", "a=b-c.stl"),
        ] {
            assert_eq!(quoted(text), wanted);
        }
    }

    #[test]
    fn what_is_not_put_in_its_place_goes_away() {
        let dir = tempfile::tempdir().expect("a folder");
        let count = || fs::read_dir(dir.path()).expect("listed").count();
        let mut out = Staged::alone(dir.path(), "a.txt").expect("made");
        put(&mut out, "half").expect("written");
        assert_eq!(count(), 1);
        drop(out);
        assert_eq!(count(), 0);
        let mut out = Staged::alone(dir.path(), "a.txt").expect("made");
        put(&mut out, "whole").expect("written");
        out.sync().expect("whole");
        out.publish().expect("placed");
        assert_eq!(
            fs::read_to_string(dir.path().join("a.txt")).ok().as_deref(),
            Some("whole")
        );
        assert_eq!(count(), 1);
    }
}
