//! The columns as Parquet: UTF-8 text, 64-bit whole numbers, doubles, booleans, each of
//! which may be null; snappy pages. What a column means stands in the metadata of the
//! file under its name.

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
use std::io::Write;
use std::sync::Arc;

/// Rows of a group, which are gathered before they are written.
const GROUP: usize = 8192;

/// A Parquet file in the making.
pub(super) struct ParquetFile<W: Write + Send> {
    writer: SerializedFileWriter<W>,
    /// Cells by column.
    gathered: Vec<Vec<Value>>,
}

impl<W: Write + Send> ParquetFile<W> {
    /// Begins the file.
    pub(super) fn new(out: W) -> Result<Self, ParquetError> {
        let meanings = COLUMNS
            .iter()
            .map(|c| KeyValue::new(c.name.clone(), c.says.clone()))
            .collect();
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_key_value_metadata(Some(meanings))
            .build();
        Ok(Self {
            writer: SerializedFileWriter::new(out, Arc::new(schema()?), Arc::new(properties))?,
            gathered: vec![Vec::new(); COLUMNS.len()],
        })
    }

    /// Adds a row.
    pub(super) fn push(&mut self, cells: &[Value]) -> Result<(), ParquetError> {
        for (column, cell) in self.gathered.iter_mut().zip(cells) {
            column.push(cell.clone());
        }
        if self.gathered.first().is_some_and(|c| c.len() >= GROUP) {
            self.group()?;
        }
        Ok(())
    }

    /// Ends the file.
    pub(super) fn finish(mut self) -> Result<W, ParquetError> {
        self.group()?;
        self.writer.into_inner()
    }

    fn group(&mut self) -> Result<(), ParquetError> {
        if self.gathered.first().is_none_or(Vec::is_empty) {
            return Ok(());
        }
        let mut group = self.writer.next_row_group()?;
        for cells in &mut self.gathered {
            if let Some(mut column) = group.next_column()? {
                fill(&mut column, cells)?;
                column.close()?;
            }
            cells.clear();
        }
        group.close().map(drop)
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
            Type::primitive_type_builder(&c.name, physical)
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
