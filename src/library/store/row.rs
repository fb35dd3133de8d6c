//! A record as a row of the database, and back.

use super::super::columns::{self, COLUMNS, CellKind};
use super::super::outline::Outlines;
use super::super::record::{Basis, Record};
use super::schema::OWN;
use rusqlite::Row;
use rusqlite::types::{ToSql, ToSqlOutput, ValueRef};
use serde_json::Value;

/// The record in a row: the columns of `OWN`, those of the table, and the line.
pub(super) fn record_of(row: &Row) -> rusqlite::Result<Record> {
    let cells = COLUMNS
        .iter()
        .enumerate()
        .map(|(i, column)| {
            let i = OWN.len() + i;
            Ok(match column.kind {
                CellKind::Text => row.get::<_, Option<String>>(i)?.into(),
                CellKind::Whole => row.get::<_, Option<i64>>(i)?.into(),
                CellKind::Number => row.get::<_, Option<f64>>(i)?.into(),
                CellKind::Truth => row.get::<_, Option<bool>>(i)?.into(),
            })
        })
        .collect::<rusqlite::Result<Vec<Value>>>()?;
    let sha256 = columns::named(&cells, "sha256").as_str().map(String::from);
    Ok(Record {
        key: row.get(0)?,
        basis: Basis {
            sha256,
            settings: row.get(2)?,
            cut_at_s: row.get(3)?,
        },
        seconds: [row.get(5)?, row.get(6)?],
        outlines: Outlines {
            best: row.get(7)?,
            stored: row.get(8)?,
        },
        sheet: None,
        line: row.get(OWN.len() + COLUMNS.len())?,
        cells,
    })
}

/// A cell as the database takes it.
pub(super) struct SqlCell<'a>(pub(super) &'a Value);

impl ToSql for SqlCell<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self.0 {
            Value::String(text) => ValueRef::Text(text.as_bytes()),
            Value::Bool(yes) => ValueRef::Integer(i64::from(*yes)),
            other => match (other.as_i64(), other.as_f64()) {
                (Some(n), _) => ValueRef::Integer(n),
                (None, Some(x)) => ValueRef::Real(x),
                (None, None) => ValueRef::Null,
            },
        }))
    }
}
