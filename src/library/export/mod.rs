//! The library as files, made from the database.
//!
//! - `parts.jsonl`: the records, one a line, in the order of the paths
//! - `parts.csv`: the columns (RFC 4180): a header, `true` and `false`, nothing for null
//! - `parts.parquet`: the columns, typed
//! - `summary.html`: see [`super::summary`]
//!
//! Each is written beside its place, then renamed: at any moment it is the whole of an
//! earlier run or the whole of this one.

mod parquet;

use super::columns::{COLUMNS, CellKind};
use super::store::Store;
use super::{Trouble, summary};
use ::parquet::errors::ParquetError;
use parquet::ParquetFile;
use serde_json::Value;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes all of them into a folder.
///
/// # Errors
/// [`Trouble::Unwritable`]; a file that was there before is then still whole.
pub fn write(folder: &Path, store: &Store) -> Result<(), Trouble> {
    let mut lines = Output::new(folder, "parts.jsonl")?;
    let mut table = Output::new(folder, "parts.csv")?;
    let columns = Output::new(folder, "parts.parquet")?;
    let failed = |e: ParquetError| Trouble::file(&folder.join("parts.parquet"), &e);
    let mut columns = ParquetFile::new(columns).map_err(failed)?;
    let mut page = summary::Gathered::default();
    table.write(&(header() + "\r\n"))?;
    store.each(|record| {
        lines.write(&record.line)?;
        lines.write("\n")?;
        table.write(&row(&record.cells))?;
        columns.push(&record.cells).map_err(failed)?;
        page.take(&record);
        Ok::<(), Trouble>(())
    })?;
    let mut html = Output::new(folder, "summary.html")?;
    page.write(store, |text| html.write(text))?;
    let all = [lines, table, columns.finish().map_err(failed)?, html];
    // All are on the disk before any takes its place.
    let synced = all
        .into_iter()
        .map(Output::sync)
        .collect::<Result<Vec<_>, _>>()?;
    synced.into_iter().try_for_each(Synced::place)
}

/// A file that is being written beside its place; it goes away unless it is put there.
pub(super) struct Output {
    beside: Beside,
    writer: BufWriter<File>,
}

struct Beside {
    path: PathBuf,
    place: PathBuf,
}

impl Drop for Beside {
    fn drop(&mut self) {
        // Gone already where it has taken its place.
        let _ = fs::remove_file(&self.path);
    }
}

/// A file that is whole on the disk.
struct Synced(Beside);

impl Output {
    /// The folder is locked by this run, so a leftover of the same name is a dead run's.
    fn new(folder: &Path, name: &str) -> Result<Self, Trouble> {
        let beside = Beside {
            path: folder.join(format!(".{name}.part")),
            place: folder.join(name),
        };
        match File::create(&beside.path) {
            Ok(file) => Ok(Self {
                beside,
                writer: BufWriter::with_capacity(1 << 16, file),
            }),
            Err(e) => Err(Trouble::file(&beside.place, &e)),
        }
    }

    fn write(&mut self, text: &str) -> Result<(), Trouble> {
        let said = self.writer.write_all(text.as_bytes());
        said.map_err(|e| Trouble::file(&self.beside.place, &e))
    }

    fn sync(mut self) -> Result<Synced, Trouble> {
        let said = self
            .writer
            .flush()
            .and_then(|()| self.writer.get_ref().sync_all());
        said.map_err(|e| Trouble::file(&self.beside.place, &e))?;
        Ok(Synced(self.beside))
    }
}

impl Write for Output {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.writer.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.writer.flush()
    }
}

impl Synced {
    fn place(self) -> Result<(), Trouble> {
        fs::rename(&self.0.path, &self.0.place).map_err(|e| Trouble::file(&self.0.place, &e))
    }
}

fn header() -> String {
    COLUMNS.iter().map(|c| c.name).collect::<Vec<_>>().join(",")
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

/// Text is quoted where it has to be, and where it is empty, which is not null.
fn quoted(text: &str) -> String {
    if text.is_empty() || text.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
    fn what_is_not_put_in_its_place_goes_away() {
        let dir = tempfile::tempdir().expect("a folder");
        let count = || fs::read_dir(dir.path()).expect("listed").count();
        let mut out = Output::new(dir.path(), "a.txt").expect("made");
        out.write("half").expect("written");
        assert_eq!(count(), 1);
        drop(out);
        assert_eq!(count(), 0);
        let mut out = Output::new(dir.path(), "a.txt").expect("made");
        out.write("whole").expect("written");
        out.sync().and_then(Synced::place).expect("placed");
        assert_eq!(
            fs::read_to_string(dir.path().join("a.txt")).ok().as_deref(),
            Some("whole")
        );
        assert_eq!(count(), 1);
    }
}
