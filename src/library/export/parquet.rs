//! The columns as Parquet: UTF-8 text, 64-bit whole numbers, doubles, booleans, each of
//! which may be null; snappy pages. What a column means stands in the metadata of the
//! file under its name.

use super::Output;
use crate::library::Trouble;
use crate::library::columns::{COLUMNS, CellKind};
use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;
use serde_json::Value;
use std::path::PathBuf;
use std::sync::Arc;

/// Rows of a group, which are gathered before they are written.
const GROUP: usize = 8192;

/// A Parquet file in the making.
pub(super) struct ParquetFile {
    writer: SerializedFileWriter<Output>,
    place: PathBuf,
    /// Cells by column.
    gathered: Vec<Vec<Value>>,
}

impl ParquetFile {
    /// Begins the file.
    pub(super) fn new(out: Output) -> Result<Self, Trouble> {
        let place = out.0.place().to_path_buf();
        let begin = || {
            let meanings = COLUMNS
                .iter()
                .map(|c| KeyValue::new(c.name.to_string(), c.says.to_string()))
                .collect();
            let properties = WriterProperties::builder()
                .set_compression(Compression::SNAPPY)
                .set_key_value_metadata(Some(meanings))
                .build();
            SerializedFileWriter::new(out, Arc::new(schema()?), Arc::new(properties))
        };
        let writer = begin().map_err(|e| Output::failed(&place, &e))?;
        Ok(Self {
            writer,
            place,
            gathered: vec![Vec::new(); COLUMNS.len()],
        })
    }

    /// Adds a row.
    pub(super) fn push(&mut self, cells: &[Value]) -> Result<(), Trouble> {
        for (column, cell) in self.gathered.iter_mut().zip(cells) {
            column.push(cell.clone());
        }
        if self.gathered.first().is_some_and(|c| c.len() >= GROUP) {
            self.group()?;
        }
        Ok(())
    }

    /// Ends the file.
    pub(super) fn finish(mut self) -> Result<Output, Trouble> {
        self.group()?;
        let place = self.place;
        self.writer
            .into_inner()
            .map_err(|e| Output::failed(&place, &e))
    }

    fn group(&mut self) -> Result<(), Trouble> {
        if self.gathered.first().is_none_or(Vec::is_empty) {
            return Ok(());
        }
        let rows = std::mem::replace(&mut self.gathered, vec![Vec::new(); COLUMNS.len()]);
        let mut write = || {
            let mut group = self.writer.next_row_group()?;
            for cells in &rows {
                if let Some(mut column) = group.next_column()? {
                    fill(&mut column, cells)?;
                    column.close()?;
                }
            }
            group.close().map(|_| ())
        };
        write().map_err(|e: ParquetError| Output::failed(&self.place, &e))
    }
}

fn schema() -> Result<Type, ParquetError> {
    let fields = COLUMNS
        .iter()
        .map(|c| {
            let (physical, logical) = match c.kind {
                CellKind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
                CellKind::Whole => (Physical::INT64, None),
                CellKind::Number => (Physical::DOUBLE, None),
                CellKind::Truth => (Physical::BOOLEAN, None),
            };
            Type::primitive_type_builder(c.name, physical)
                .with_repetition(Repetition::OPTIONAL)
                .with_logical_type(logical)
                .build()
                .map(Arc::new)
        })
        .collect::<Result<Vec<_>, _>>()?;
    Type::group_type_builder("part").with_fields(fields).build()
}

/// Writes a column: a level of 1 where there is a value, of 0 where it is null.
fn fill(column: &mut SerializedColumnWriter, cells: &[Value]) -> Result<(), ParquetError> {
    let levels: Vec<i16> = cells.iter().map(|c| i16::from(!c.is_null())).collect();
    let levels = Some(levels.as_slice());
    match column.untyped() {
        ColumnWriter::ByteArrayColumnWriter(w) => {
            let values = known(cells, |c| c.as_str().map(ByteArray::from));
            w.write_batch(&values, levels, None)?;
        }
        ColumnWriter::Int64ColumnWriter(w) => {
            w.write_batch(&known(cells, Value::as_i64), levels, None)?;
        }
        ColumnWriter::DoubleColumnWriter(w) => {
            w.write_batch(&known(cells, Value::as_f64), levels, None)?;
        }
        ColumnWriter::BoolColumnWriter(w) => {
            w.write_batch(&known(cells, Value::as_bool), levels, None)?;
        }
        _ => {
            return Err(ParquetError::General(
                "a column of a type that is not written".into(),
            ));
        }
    }
    Ok(())
}

fn known<T>(cells: &[Value], of: impl Fn(&Value) -> Option<T>) -> Vec<T> {
    cells.iter().filter_map(of).collect()
}
