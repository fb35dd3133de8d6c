use super::super::walk::PartFile;
use super::*;
use serde_json::json;

fn record(path: &str, defect: &str) -> Record {
    let file = PartFile {
        path: path.into(),
        bytes: 12,
    };
    let refused = Failure::new(Exit::Unreadable, "", defect, "export it again");
    let basis = Basis {
        sha256: Some(format!("{path}-sum")),
        settings: "s".into(),
        cut_at_s: Some(2.5),
    };
    let mut record = Record::refused(&file, &refused, basis).expect("plain");
    record.seconds = [0.25, 1.5];
    record.outlines.best = "M0 48l3 0z".into();
    record
}

fn all(store: &Store) -> Vec<Record> {
    let mut out = Vec::new();
    store
        .each(|r| {
            out.push(r);
            Ok::<(), Failure>(())
        })
        .expect("read");
    out
}

/// Paths of the parts that are listed; without their JSON.
fn listed(store: &Store, most: u64) -> Vec<String> {
    let mut keys = Vec::new();
    let took = store.listed(most, |r| {
        assert_eq!(r.line, "");
        keys.push(r.key);
        Ok(())
    });
    took.expect("read");
    keys
}

#[test]
fn a_record_comes_back_as_it_went_in_and_a_second_takes_its_place() {
    let dir = tempfile::tempdir().expect("a folder");
    let store = Store::open(dir.path()).expect("made");
    let first = store.put(&record("b.stl", "is empty")).expect("put");
    store
        .put(&record("a \"ü\"\n.stl", "is empty"))
        .expect("put");
    let again = record("b.stl", "is cut short");
    assert_eq!(store.put(&again).expect("put"), first);
    assert_eq!(
        all(&store),
        [record("a \"ü\"\n.stl", "is empty"), again.clone()]
    );
    assert_eq!(store.record(first).expect("read"), Some(again.clone()));
    let known = store.known().expect("read");
    assert_eq!(known["b.stl"].basis, again.basis);
    assert!(known["b.stl"].unread && !known["b.stl"].gone);
}

#[test]
fn what_is_gone_stays_and_is_left_out() {
    let dir = tempfile::tempdir().expect("a folder");
    let store = Store::open(dir.path()).expect("made");
    let id = store.put(&record("a.stl", "is empty")).expect("put");
    store.put(&record("b.stl", "is empty")).expect("put");
    store.mark_gone(&[(id, true)]).expect("marked");
    assert_eq!(all(&store), [record("b.stl", "is empty")]);
    let counts = store.counts().expect("read");
    assert_eq!(
        [counts.parts, counts.unread, counts.gone, counts.broken],
        [1, 1, 1, 1]
    );
    assert_eq!(listed(&store, 10), ["b.stl"]);
    let rows = |of: &str| -> i64 {
        let ask = format!("SELECT count(*) FROM {of}");
        store.db.query_row(&ask, [], |r| r.get(0)).expect(of)
    };
    assert_eq!([rows("present"), rows("broken"), rows("part")], [1, 1, 2]);
    assert_eq!(
        [
            rows("pose"),
            rows("turning_saves"),
            rows("precaution"),
            rows("remark")
        ],
        [0; 4]
    );
}

#[test]
fn what_is_not_committed_is_as_if_it_had_not_been() {
    let dir = tempfile::tempdir().expect("a folder");
    let store = Store::open(dir.path()).expect("made");
    store.put(&record("a.stl", "is empty")).expect("put");
    store.begin().expect("begun");
    store.put(&record("b.stl", "is empty")).expect("put");
    // Without a word, as a process ends that is killed.
    drop(store);
    let store = Store::open(dir.path()).expect("there");
    assert_eq!(all(&store).len(), 1);
}

#[test]
fn a_database_of_somebody_else_is_left_alone() {
    let dir = tempfile::tempdir().expect("a folder");
    let said = |store: Result<Store, Failure>| store.err().map_or_else(String::new, |f| f.defect);
    let foreign = |what: &str| {
        let said = said(Store::open(dir.path()));
        assert!(said.contains("is not the database"), "{what}: {said}");
    };
    std::fs::write(
        dir.path().join(FILE),
        "a text of more than a few bytes, no database",
    )
    .expect("written");
    foreign("text");
    std::fs::remove_file(dir.path().join(FILE)).expect("removed");
    let other = Connection::open(dir.path().join(FILE)).expect("made");
    other
        .execute_batch("CREATE TABLE shopping (item)")
        .expect("made");
    drop(other);
    foreign("another table");
    assert!(said(Store::read(&dir.path().join("nowhere"))).contains("cannot be written"));
}

#[test]
fn parts_are_listed_by_the_support_that_turning_saves() {
    let dir = tempfile::tempdir().expect("a folder");
    let store = Store::open(dir.path()).expect("made");
    let place = super::super::columns::place("support_saved_mm3").expect("a column");
    for (path, saved) in [
        ("a.stl", None),
        ("b.stl", Some(-3.0)),
        ("c.stl", Some(70.5)),
        ("d.stl", Some(0.0)),
        ("e.stl", Some(70.5)),
    ] {
        let mut r = record(path, "x");
        r.cells[place] = saved.into();
        store.put(&r).expect("put");
    }
    let all = ["c.stl", "e.stl", "d.stl", "b.stl", "a.stl"];
    assert_eq!(listed(&store, 10), all);
    assert_eq!(listed(&store, 2), all[..2]);
}

#[test]
fn views_read_the_advice() {
    let dir = tempfile::tempdir().expect("a folder");
    let store = Store::open(dir.path()).expect("made");
    let mut r = record("a.stl", "x");
    r.line = json!({"part": {"path": "a.stl", "notes": ["open", "small"]},
        "poses": [{"rank": 1, "down": [0, 0, -1], "figures": {"height_mm": 5.5},
            "precautions_detail": [{"key": "brim", "figure": "base_shrinkage_mm", "value": 1.5, "says": "s"}]},
            {"rank": 2, "figures": {}}]})
    .to_string();
    store.put(&r).expect("put");
    let one = |ask: &str| -> (i64, f64) {
        store
            .db
            .query_row(ask, [], |r| Ok((r.get(0)?, r.get(1)?)))
            .expect(ask)
    };
    assert_eq!(one("SELECT count(*), max(height_mm) FROM pose"), (2, 5.5));
    assert_eq!(
        one("SELECT down_z, height_mm FROM pose WHERE rank = 1"),
        (-1, 5.5)
    );
    assert_eq!(
        one("SELECT count(*), max(value) FROM precaution WHERE key = 'brim'"),
        (1, 1.5)
    );
    assert_eq!(one("SELECT count(*), 0.0 FROM remark"), (2, 0.0));
}
