//! One part of a library, from its file to its record: scored as `advise` does it.

use super::columns::Flags;
use super::outline::{Outlines, outline};
use super::record::{Basis, Record, ScoredPart};
use super::walk::PartFile;
use crate::advice::{self, Advice, verdict};
use crate::figures::quick::Bench;
use crate::mesh::checksum;
use crate::pose::{Pose, Posed};
use crate::rank::search::{Search, Wanted};
use crate::report::draw::model::DrawingModel;
use crate::report::draw::view::Angle;
use crate::report::first::FirstAnswer;
use crate::report::json::{AdviceReport, PartFacts, SCHEMA_VERSION, Seconds};
use crate::report::number;
use crate::report::sheet::{self, SheetJob};
use crate::session::clock::{Clock, deadline};
use crate::session::config::{Request, Resolved};
use crate::session::exit::{Exit, Failure};
use crate::session::intake;
use crate::words::hex;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

/// Scores one part after the other under what the run was asked for.
pub struct Scorer<'a> {
    /// What the run was asked for.
    asked: Request,
    /// Most poses to keep of a part.
    top: usize,
    /// Seconds that a part may take.
    pub(super) limit_s: Option<f64>,
    /// Ends the work on all parts.
    pub(super) stop: &'a AtomicBool,
    /// Make the sheet of each part too.
    pub(super) sheets: bool,
    /// Stands in for the search.
    #[cfg(test)]
    pub(super) trial: Option<&'a super::tests::Trial<'a>>,
}

/// What came of one part.
pub(super) enum Done {
    /// Its record holds good.
    Kept,
    /// So does that of a copy, in this row.
    Copy(i64),
    /// Scored, or refused.
    New(Box<Record>),
}

/// What came of a part that was read.
enum Scored {
    /// An advice.
    Advised(Box<ScoredPart>),
    /// Too little time to measure one pose.
    First(Box<FirstAnswer>),
}

impl<'a> Scorer<'a> {
    /// A scorer that keeps `top` poses of a part at most and gives each `limit_s` seconds;
    /// `stop` ends the work on all parts.
    pub fn new(asked: Request, top: usize, limit_s: Option<f64>, stop: &'a AtomicBool) -> Self {
        Self {
            asked,
            top,
            limit_s,
            stop,
            sheets: false,
            #[cfg(test)]
            trial: None,
        }
    }

    /// The same, which makes the sheet of each part that it scores.
    #[must_use]
    pub fn with_sheets(self) -> Self {
        Self {
            sheets: true,
            ..self
        }
    }

    /// One part from its path to its record, unless `known` has an answer for its bytes
    /// under its settings.
    pub(super) fn score(&self, file: &PartFile, known: impl Fn(&Basis) -> Option<Done>) -> Done {
        let began = Instant::now();
        let mut basis = Basis::default();
        let read = self.settings(&file.path).and_then(|(resolved, key)| {
            let bytes = bytes(&file.path)?;
            Ok((resolved, key, bytes))
        });
        let (resolved, key, bytes) = match read {
            Ok(read) => read,
            Err(why) => return new(Record::refused(file, &why, basis), file),
        };
        let file = &PartFile {
            bytes: bytes.len() as u64,
            ..file.clone()
        };
        basis.sha256 = Some(checksum(&bytes));
        basis.settings = key;
        if let Some(done) = known(&basis) {
            return done;
        }
        let read = began.elapsed().as_secs_f64();
        let scored = self.advise(&file.path, bytes, &resolved);
        let cut = match &scored {
            Ok(Scored::Advised(scored)) => scored.report.cut_short,
            Ok(Scored::First(_)) => true,
            Err(why) => why.exit == Exit::TooLate,
        };
        basis.cut_at_s = self.limit_s.filter(|_| cut);
        let record = match scored {
            Ok(Scored::Advised(mut scored)) => {
                if let Some(seconds) = &mut scored.report.seconds {
                    seconds.read += read;
                    seconds.total += read;
                }
                Record::advised(file, *scored, basis)
            }
            Ok(Scored::First(first)) => Record::first(file, *first, basis),
            Err(why) if why.passing => Record::refused(file, &why, of_no_settings(basis.sha256)),
            Err(why) => Record::refused(file, &why, basis),
        };
        new(record, file)
    }

    /// What the part at a path is scored under, and a fingerprint of all of it and of the
    /// program's version.
    fn settings(&self, path: &Path) -> Result<(Resolved, String), Failure> {
        let resolved = self.asked.resolve(Some(path))?;
        let shown = number::line(&(
            env!("CARGO_PKG_VERSION"),
            SCHEMA_VERSION,
            resolved.in_force(),
            resolved.units,
            self.top,
        ));
        let shown = shown.map_err(|e| {
            let defect = format!("its settings cannot be put into JSON: {e}");
            Failure::new(Exit::Words, "", defect, "look at the wayup.toml beside it")
        })?;
        let key = hex(&Sha256::digest(shown.as_bytes())[..16]);
        Ok((resolved, key))
    }

    fn advise(&self, path: &Path, bytes: Vec<u8>, under: &Resolved) -> Result<Scored, Failure> {
        #[cfg(test)]
        if let Some(trial) = self.trial {
            return trial(path, &bytes).map(|scored| Scored::Advised(scored.into()));
        }
        let start = Instant::now();
        let until = deadline(self.limit_s);
        let intake = intake::take(path, bytes, under.units, until)?;
        let read = start.elapsed().as_secs_f64();
        let bench = intake.bench_until(&under.settings, until)?;
        let clock = Clock::until(until, Some(self.stop));
        let search = Search::new(&bench);
        let Ok(advice) = advice::advise_on(&bench, &search, &Wanted::first(self.top), &clock)
        else {
            let first = FirstAnswer::new(&bench, &search, intake.facts.clone(), under.in_force());
            return Ok(Scored::First(first.into()));
        };
        let [candidates, score] = clock.split();
        let outlines = outlines(&bench, &advice);
        let sheet = self.sheets.then(|| sheet(&bench, &advice, &intake.facts));
        let seconds = Seconds {
            read,
            candidates,
            score,
            total: start.elapsed().as_secs_f64(),
        };
        let cut = clock.cut();
        let scored = ScoredPart {
            flags: flags(&advice),
            outlines,
            sheet,
            report: AdviceReport::new(intake.facts, under.in_force(), advice, cut, seconds),
        };
        Ok(Scored::Advised(scored.into()))
    }
}

/// The bytes of a file.
fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    // A pipe would be waited for without end.
    if fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        let (defect, hint) = ("is not a plain file", "name a mesh file");
        return Err(Failure::new(Exit::Unreadable, "", defect, hint));
    }
    intake::bytes(path)
}

/// A record, or that it could not be made, which is a fault of the program.
fn new(record: serde_json::Result<Record>, file: &PartFile) -> Done {
    record.map_or_else(|_| panicked(file), |r| Done::New(Box::new(r)))
}

/// What a record holds good for that holds good under no settings: the next run tries again.
fn of_no_settings(sha256: Option<String>) -> Basis {
    Basis {
        sha256,
        ..Basis::default()
    }
}

/// The record of a part on which the program itself failed; the next run tries again.
pub(super) fn panicked(file: &PartFile) -> Done {
    let basis = of_no_settings(bytes(&file.path).ok().map(|bytes| checksum(&bytes)));
    let why = intake::fault("", basis.sha256.as_deref());
    // Four texts and a number: there is nothing in it that JSON refuses.
    Record::refused(file, &why, basis).map_or(Done::Kept, |r| Done::New(Box::new(r)))
}

fn flags(advice: &Advice) -> Flags {
    let first = advice.poses.first();
    Flags {
        sways: first.is_some_and(|p| verdict::sways(&p.figures)),
        does_not_fit: advice.fits_nowhere(),
    }
}

/// The page that `advise --sheet` makes of one part.
fn sheet(bench: &Bench, advice: &Advice, facts: &PartFacts) -> String {
    let job = SheetJob {
        bench,
        advice,
        facts,
        angle: Angle::default(),
        date: None,
        number: [1, 1],
    };
    sheet::document(&[sheet::page(&job, &DrawingModel::new(bench.part))])
}

/// The first pose and the one as stored, each set square.
fn outlines(bench: &Bench, advice: &Advice) -> Outlines {
    let of = |pose: &advice::RankedPose| {
        let level = Pose::new(&pose.pose.down, &bench.hull().vertices);
        outline(&Posed::new(bench.part, level))
    };
    Outlines {
        best: advice.poses.first().map(of).unwrap_or_default(),
        stored: of(&advice.as_stored),
    }
}
