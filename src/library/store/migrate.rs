//! A database of an earlier version, taken over: its records stay until their parts are scored again.
//!
//! Version 2 is that of schema 1. Its columns get their names of today; the views are made anew. The
//! record as JSON stays as it is until its part is scored again, which the next run does, since the
//! schema is among what a record rests on.

use super::schema::views;
use rusqlite::Connection;

/// The version that can be taken over.
pub(super) const FROM: i32 = 2;

/// Columns of `part` that were renamed: before and now.
const RENAMED: [(&str, &str); 10] = [
    ("loaded_poor", "stored_poor"),
    ("floating_starts", "islands"),
    ("ledge_longest_mm", "cantilever_longest_mm"),
    ("stair_mean_um", "layer_steps_mean_um"),
    ("shrink_pull_mm", "base_shrinkage_mm"),
    ("loaded_rank", "stored_rank"),
    ("loaded_total", "stored_total"),
    ("loaded_support_needed_mm3", "stored_support_needed_mm3"),
    ("loaded_print_min", "stored_print_min"),
    ("outline_loaded", "outline_stored"),
];

/// Renames what was renamed and makes the views anew, all of it or nothing.
///
/// # Errors
/// The database cannot be written, or is not what its version says.
pub(super) fn migrate(db: &Connection, version: i32) -> rusqlite::Result<()> {
    let mut steps = format!("BEGIN IMMEDIATE;\n{}", without_views(db)?);
    for (was, is) in RENAMED {
        steps += &format!("ALTER TABLE part RENAME COLUMN {was} TO {is};\n");
    }
    steps += &format!("{}\nPRAGMA user_version = {version};\nCOMMIT;", views());
    let done = db.execute_batch(&steps);
    if done.is_err() && !db.is_autocommit() {
        db.execute_batch("ROLLBACK")?;
    }
    done
}

/// The steps that take all views away.
fn without_views(db: &Connection) -> rusqlite::Result<String> {
    let mut views = db.prepare("SELECT name FROM sqlite_schema WHERE type = 'view'")?;
    let step = |name: String| format!("DROP VIEW \"{}\";\n", name.replace('"', "\"\""));
    let steps = views.query_map([], |row| row.get(0).map(step))?;
    steps.collect()
}

#[cfg(test)]
mod tests {
    use super::super::{FILE, Store};
    use super::*;

    /// A database as version 2 left it: its names, and a view by one of them.
    fn earlier(folder: &std::path::Path) {
        drop(Store::open(folder).expect("made"));
        let db = Connection::open(folder.join(FILE)).expect("opened");
        let mut steps = without_views(&db).expect("read");
        for (was, is) in RENAMED {
            steps += &format!("ALTER TABLE part RENAME COLUMN {is} TO {was};\n");
        }
        steps += "CREATE VIEW loaded_poor AS SELECT * FROM part WHERE loaded_poor;\nPRAGMA user_version = 2;";
        db.execute_batch(&steps).expect("a database of version 2");
    }

    #[test]
    fn a_database_of_schema_1_is_taken_over_with_its_records() {
        let dir = tempfile::tempdir().expect("a folder");
        earlier(dir.path());
        let file = dir.path().join(FILE);
        let old = Connection::open(&file).expect("opened");
        let put = "INSERT INTO part (key, path, status, gone, settings_key, program, seconds_read, \
            seconds_total, outline, outline_loaded, loaded_poor, loaded_rank) \
            VALUES ('a.stl', 'a.stl', 'advised', 0, 's', '0', 0, 0, '', '', 1, 7)";
        old.execute(put, []).expect("put");
        drop(old);
        let store = Store::open(dir.path()).expect("taken over");
        assert_eq!(store.known().expect("read").len(), 1);
        assert_eq!(store.counts().expect("read").stored_poor, 1);
        drop(store);
        let new = Connection::open(&file).expect("opened");
        let ask = |of: &str| new.query_row(of, [], |r| r.get::<_, i64>(0));
        assert_eq!(ask("SELECT stored_rank FROM stored_poor"), Ok(7));
        assert_eq!(ask("PRAGMA user_version"), Ok(3));
        assert!(ask("SELECT 1 FROM loaded_poor").is_err());
    }

    #[test]
    fn what_cannot_be_taken_over_stays_as_it_was() {
        let dir = tempfile::tempdir().expect("a folder");
        earlier(dir.path());
        let db = Connection::open(dir.path().join(FILE)).expect("opened");
        db.execute_batch("ALTER TABLE part DROP COLUMN outline_loaded")
            .expect("another fault");
        assert!(Store::open(dir.path()).is_err());
        let ask = |of: &str| db.query_row(of, [], |r| r.get::<_, i64>(0));
        assert_eq!(ask("PRAGMA user_version"), Ok(2));
        assert_eq!(ask("SELECT count(*) FROM loaded_poor"), Ok(0));
    }
}
