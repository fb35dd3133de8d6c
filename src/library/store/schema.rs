//! The SQL of the database: tables, views, and how a record goes in and comes out.

use crate::library::columns::{self, COLUMNS, CellKind, Column, GROUPS, Group};
use crate::library::outline::BOX;
use crate::words::joined;

/// Columns of `part` besides those of a library.
pub(super) const OWN: [&str; 9] = [
    "key",
    "gone",
    "settings_key",
    "cut_at_s",
    "program",
    "seconds_read",
    "seconds_total",
    "outline",
    "outline_stored",
];

pub(super) fn select() -> String {
    format!(
        "SELECT {}, {}, json FROM part JOIN advice ON advice.part = part.id",
        OWN.join(", "),
        columns::names().join(", ")
    )
}

pub(super) fn upsert() -> String {
    let all: Vec<&str> = OWN.into_iter().chain(columns::names()).collect();
    let marks = vec!["?"; all.len()].join(", ");
    let set: Vec<String> = all.iter().map(|n| format!("{n} = excluded.{n}")).collect();
    format!(
        "INSERT INTO part ({}) VALUES ({marks}) ON CONFLICT (key) DO UPDATE SET {} RETURNING id",
        all.join(", "),
        set.join(", ")
    )
}

/// The tables and views.
pub(super) fn schema() -> String {
    let column = |c: &Column| {
        let kind = match c.kind {
            CellKind::Text => "TEXT",
            CellKind::Whole | CellKind::Truth => "INTEGER",
            CellKind::Number => "REAL",
        };
        format!("  {} {kind}, -- {}\n", c.name, c.says)
    };
    let view = |Group { column: m, .. }: &Group| {
        format!("CREATE VIEW {m} AS SELECT * FROM present WHERE present.{m};\n")
    };
    format!(
        include_str!("schema.sql"),
        columns = joined(COLUMNS.iter().map(column), ""),
        names = columns::names().join(", "),
        marked = joined(GROUPS.iter().map(view), ""),
        box_side = BOX
    )
}

/// The views alone.
pub(super) fn views() -> String {
    let all = schema();
    all.find("CREATE VIEW")
        .map_or_else(String::new, |at| all[at..].to_string())
}
