//! Runs with a stand-in that scores in no time: what is done again and what is not.

use super::columns::Flags;
use super::record::ScoredPart;
use super::scorer::Scorer;
use super::walk::PartFile;
use super::*;
use crate::figures::quick::Bench;
use crate::library::outline::Outlines;
use crate::pose::Hull;
use crate::rank::search::{Silent, Wanted};
use crate::report::draw::fixture::cuboid;
use crate::report::json::{AdviceReport, PartFacts, Seconds, SettingsInForce};
use crate::session::config::{Request, TOP};
use crate::session::exit::{Exit, Failure};
use crate::settings::Settings;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// What stands in for the search.
pub type Trial<'a> = dyn Fn(&Path, &[u8]) -> Result<ScoredPart, Failure> + Sync + 'a;

struct Quiet;

impl RunObserver for Quiet {
    fn begin(&mut self, _: usize, _: u64) {}
    fn done(&mut self, _: u64, _: bool) {}
    fn tick(&mut self) {}
    fn exporting(&mut self) {}
}

/// Says the same of every file that holds more than a byte, and counts how often.
struct Fake {
    report: AdviceReport,
    asked: AtomicUsize,
    top: usize,
    limit_s: Option<f64>,
}

impl Fake {
    fn new() -> Self {
        let part = cuboid(30.0, 20.0, 10.0);
        let settings = Settings::default();
        let bench = Bench::new(
            &part,
            &settings,
            Hull::new(&part.mesh.vertices).expect("a hull"),
        );
        let wanted = Wanted::first(2);
        let advice = crate::advice::advise(&bench, &wanted, &Silent).expect("never stopped");
        let facts = PartFacts {
            path: String::new(),
            sha256: String::new(),
            format: "stl".into(),
            units: "mm".into(),
            triangles: 12,
            bodies: 1,
            closed: true,
            size_mm: [30.0, 20.0, 10.0],
            volume_mm3: Some(6000.0),
            area_mm2: 2200.0,
            centroid_mm: [0.0; 3],
            inertia_mm5: [[0.0; 3]; 3],
            notes: Vec::new(),
        };
        let in_force = SettingsInForce::new(&settings, Vec::new(), Vec::new());
        let report = AdviceReport::new(facts, in_force, advice, false, Seconds::default());
        Self {
            report,
            asked: AtomicUsize::new(0),
            top: TOP as usize,
            limit_s: None,
        }
    }

    fn score(&self, path: &Path, bytes: &[u8]) -> Result<ScoredPart, Failure> {
        self.asked.fetch_add(1, Ordering::SeqCst);
        match bytes {
            b"bad" => return Err(Failure::new(Exit::Unreadable, "", "is bad", "h")),
            b"slow" => return Err(Failure::new(Exit::TooLate, "", "took too long", "h")),
            b"bug" => panic!("on purpose"),
            b"away" => fs::remove_dir_all(path.with_file_name("library")).expect("removed"),
            _ => {}
        }
        let mut report = self.report.clone();
        report.part.path = path.display().to_string();
        report.part.sha256 = crate::mesh::checksum(bytes);
        Ok(ScoredPart {
            report,
            flags: Flags::default(),
            outlines: Outlines::default(),
            sheet: None,
        })
    }

    /// Calls `run` with a scorer that asks this one.
    fn with<T>(&self, run: impl FnOnce(&Scorer) -> T) -> T {
        let (stop, trial) = (AtomicBool::new(false), |path: &Path, bytes: &[u8]| {
            self.score(path, bytes)
        });
        let mut scorer = Scorer::new(Request::default(), self.top, self.limit_s, &stop);
        scorer.trial = Some(&trial);
        run(&scorer)
    }

    fn asked(&self) -> usize {
        self.asked.swap(0, Ordering::SeqCst)
    }
}

/// A folder with parts and one for the library.
struct Place {
    parts: tempfile::TempDir,
    out: tempfile::TempDir,
}

impl Place {
    fn new(files: &[(&str, &str)]) -> Self {
        let place = Self {
            parts: tempfile::tempdir().expect("a folder"),
            out: tempfile::tempdir().expect("a folder"),
        };
        for (name, text) in files {
            place.write(name, text);
        }
        place
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.parts.path().join(name), text).expect("written");
    }

    fn run(&self, judge: &Fake, recheck: bool) -> Outcome {
        let mut names: Vec<PathBuf> = fs::read_dir(self.parts.path())
            .expect("listed")
            .map(|e| e.expect("an entry").path())
            .collect();
        names.sort();
        let task = LibraryRun {
            parts: names.into_iter().map(PartFile::new).collect(),
            out: self.out.path(),
            recheck,
            threads: 2,
        };
        judge.with(|scorer| keep(task, scorer, &mut Quiet).expect("done"))
    }

    fn lines(&self) -> Vec<String> {
        let text = fs::read_to_string(self.out.path().join("parts.jsonl")).expect("written");
        text.lines().map(String::from).collect()
    }
}

#[test]
fn what_has_not_changed_is_not_scored_again() {
    let judge = Fake::new();
    let place = Place::new(&[("a", "one"), ("b", "two"), ("c", "bad")]);
    let first = place.run(&judge, false);
    assert_eq!((first.scored, first.kept, first.counts.unread), (3, 0, 1));
    assert_eq!(judge.asked(), 3);
    let lines = place.lines();
    assert_eq!(place.run(&judge, false).kept, 3);
    assert_eq!((judge.asked(), place.lines()), (0, lines.clone()));

    place.write("b", "changed");
    assert_eq!(place.run(&judge, false).scored, 1);
    assert_eq!(judge.asked(), 1);
    assert_ne!(place.lines()[1], lines[1]);
    assert_eq!(
        [&place.lines()[0], &place.lines()[2]],
        [&lines[0], &lines[2]]
    );

    assert_eq!(place.run(&judge, true).scored, 3);
    assert_eq!(judge.asked(), 3);
    let other = Fake {
        top: 1,
        ..Fake::new()
    };
    assert_eq!(place.run(&other, false).scored, 3);
}

#[test]
fn a_copy_and_a_moved_file_take_over_the_record_with_their_own_path() {
    let judge = Fake::new();
    let place = Place::new(&[("a", "one")]);
    place.run(&judge, false);
    place.write("copy", "one");
    fs::rename(
        place.parts.path().join("a"),
        place.parts.path().join("moved"),
    )
    .expect("moved");
    judge.asked();
    let outcome = place.run(&judge, false);
    assert_eq!(
        (judge.asked(), outcome.kept, outcome.counts.gone),
        (0, 2, 1)
    );
    let taken = place.lines();
    place.run(&judge, true);
    assert_eq!(place.lines(), taken);
    assert!(taken[0].contains("/copy\"") && taken[1].contains("/moved\""));
}

#[test]
fn a_file_that_comes_back_has_lost_nothing() {
    let judge = Fake::new();
    let place = Place::new(&[("a", "one"), ("b", "two")]);
    place.run(&judge, false);
    let lines = place.lines();
    fs::remove_file(place.parts.path().join("a")).expect("removed");
    assert_eq!(place.run(&judge, false).counts.gone, 1);
    assert_eq!(place.lines(), lines[1..]);
    place.write("a", "one");
    judge.asked();
    place.run(&judge, false);
    assert_eq!((judge.asked(), place.lines()), (0, lines));
}

#[test]
fn an_answer_that_time_cut_short_is_sought_again_with_more_time() {
    let place = Place::new(&[("a", "slow"), ("b", "one")]);
    let with = |limit_s| Fake {
        limit_s,
        ..Fake::new()
    };
    let [short, long, none] = [Some(1.0), Some(2.0), None].map(with);
    place.run(&short, false);
    for (judge, again) in [(&short, 0), (&long, 1), (&short, 0), (&none, 1)] {
        judge.asked();
        place.run(judge, false);
        assert_eq!(judge.asked(), again);
    }
}

#[test]
fn a_fault_of_the_program_on_one_part_leaves_the_others_and_is_tried_again() {
    let judge = Fake::new();
    let place = Place::new(&[("a", "bug"), ("b", "one")]);
    for _ in 0..2 {
        let outcome = place.run(&judge, false);
        assert_eq!((outcome.counts.parts, outcome.counts.unread), (2, 1));
        let line: serde_json::Value = serde_json::from_str(&place.lines()[0]).expect("JSON");
        let hash = crate::mesh::checksum(b"bug");
        assert_eq!(line["part"]["sha256"], hash);
        let said = line["error"]["defect"].as_str().expect("words");
        assert!(said.starts_with("internal error, please report it") && said.contains(&hash));
    }
    assert_eq!(judge.asked(), 3);
}

#[test]
fn a_stream_hands_over_each_record_and_says_if_one_is_unread() {
    let judge = Fake::new();
    let place = Place::new(&[("a", "one"), ("b", "bad")]);
    let run = |names: &[&str]| {
        let paths = names.iter().map(|n| place.parts.path().join(n));
        let mut lines = Vec::new();
        let paths = paths.collect::<Vec<_>>().into_iter();
        let unread = judge.with(|scorer| {
            stream(paths, 2, scorer, |r| {
                lines.push(r.line.clone());
                Ok::<(), Failure>(())
            })
        });
        lines.sort();
        (unread.expect("done"), lines)
    };
    let (unread, one) = run(&["a"]);
    assert!(!unread && one.len() == 1);
    let (unread, three) = run(&["a", "b", "nowhere"]);
    assert!(unread && three.len() == 3);
    place.run(&judge, false);
    assert!(three.contains(&one[0]) && place.lines()[0] == one[0]);
}

#[test]
fn an_output_folder_that_is_taken_away_ends_the_run_at_the_next_part() {
    let judge = Fake::new();
    let place = Place::new(&[]);
    // The longest come first.
    place.write("a", "away");
    let parts = place.parts.path();
    for i in 0..200 {
        place.write(&format!("b{i}"), "one");
    }
    let (names, out) = (fs::read_dir(parts).expect("listed"), parts.join("library"));
    let parts = names.map(|e| PartFile::new(e.expect("an entry").path()));
    let task = LibraryRun {
        parts: parts.collect(),
        out: &out,
        recheck: false,
        threads: 1,
    };
    fs::create_dir(&out).expect("made");
    let said = judge.with(|scorer| keep(task, scorer, &mut Quiet).expect_err("gone"));
    assert_eq!(said.exit, Exit::Unwritable);
    assert!(said.subject.ends_with("library.sqlite"), "{said}");
    assert!(said.defect.contains("was taken away"), "{said}");
    assert!(judge.asked() < 100, "the others were scored for nothing");
}
