//! How a part of a library is scored: as `advise` does it.

use crate::figures::quick::Bench;
use crate::library::outline::{Outlines, outline};
use crate::library::record::{Answer, Marks, Refused};
use crate::library::{Ground, Judge};
use crate::pose::{Pose, Posed};
use crate::rank::search::{Progress, Stage, Wanted};
use crate::session::clock::Clock;
use crate::session::config::{self, Asked};
use crate::session::exit::{Exit, Failure};
use crate::session::intake;

use crate::advice::{self, Advice, verdict};
use crate::report::json::{AdviceReport, SCHEMA_VERSION, Seconds};
use crate::report::number;
use crate::words::hex;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Scores one part after the other under what the run was asked for.
pub struct Scorer<'a> {
    /// What the run was asked for.
    pub asked: Asked,
    /// Most poses to keep of a part.
    pub top: usize,
    /// Seconds that a part may take.
    pub limit_s: Option<f64>,
    /// Ends the work on all parts.
    pub stop: &'a AtomicBool,
}

impl Judge for Scorer<'_> {
    fn ground(&self, path: &Path) -> Result<Ground, Refused> {
        let resolved = self.asked.resolve(Some(path)).map_err(refused)?;
        let shown = number::line(&(
            env!("CARGO_PKG_VERSION"),
            SCHEMA_VERSION,
            resolved.in_force(),
            resolved.units,
            self.top,
        ));
        let shown = shown.map_err(|e| Refused {
            exit: Exit::Words as u8,
            defect: format!("its settings cannot be put into JSON: {e}"),
            hint: "look at the wayup.toml beside it".into(),
            late: false,
        })?;
        let key = hex(&Sha256::digest(shown.as_bytes())[..16]);
        Ok(Ground {
            settings: resolved.settings,
            files: resolved.files,
            units: resolved.units,
            key,
        })
    }

    fn bytes(&self, path: &Path) -> Result<Vec<u8>, Refused> {
        // A pipe would be waited for without end.
        if fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
            return Err(Refused {
                exit: Exit::Unreadable as u8,
                defect: "is not a plain file".into(),
                hint: "name a mesh file".into(),
                late: false,
            });
        }
        intake::bytes(path).map_err(refused)
    }

    fn advise(&self, path: &Path, bytes: Vec<u8>, ground: &Ground) -> Result<Answer, Refused> {
        let start = Instant::now();
        let intake = intake::take(path, bytes, ground.units).map_err(refused)?;
        let read = start.elapsed().as_secs_f64();
        let (part, facts) = (intake.part, intake.facts);
        let hull = intake::hull(&part, path).map_err(refused)?;
        let bench = Bench::new(&part, &ground.settings, hull);
        let limit = Limit {
            clock: Clock::start(self.limit_s),
            stop: self.stop,
        };
        let wanted = Wanted {
            named: Vec::new(),
            top: self.top,
        };
        let advice = advice::advise(&bench, &wanted, &limit).map_err(|_| Refused {
            late: true,
            ..refused(intake::too_slow(path))
        })?;
        let [candidates, score] = limit.clock.split();
        let outlines = outlines(&bench, &advice);
        let seconds = Seconds {
            read,
            candidates,
            score,
            total: start.elapsed().as_secs_f64(),
        };
        Ok(Answer {
            marks: marks(&advice),
            outlines,
            report: AdviceReport::new(
                facts,
                config::in_force(&ground.settings, &ground.files),
                advice,
                limit.clock.cut(),
                seconds,
            ),
        })
    }

    fn limit_s(&self) -> Option<f64> {
        self.limit_s
    }
}

fn refused(failure: Failure) -> Refused {
    // A settings file is not the part itself: it has to be named.
    let defect = if failure.exit == Exit::Words && !failure.subject.is_empty() {
        format!("{}: {}", failure.subject, failure.defect)
    } else {
        failure.defect
    };
    Refused {
        exit: failure.exit as u8,
        defect,
        hint: failure.hint,
        late: false,
    }
}

fn marks(advice: &Advice) -> Marks {
    let first = advice.poses.first();
    Marks {
        sways: first.is_some_and(|p| verdict::sways(&p.figures)),
        does_not_fit: advice.fits_nowhere(),
    }
}

/// The first pose and the loaded one, each set square.
fn outlines(bench: &Bench, advice: &Advice) -> Outlines {
    let of = |pose: &advice::RankedPose| {
        let level = Pose::new(&pose.pose.down, &bench.hull().vertices);
        outline(&Posed::new(bench.part, level))
    };
    Outlines {
        best: advice.poses.first().map(of).unwrap_or_default(),
        loaded: of(&advice.as_loaded),
    }
}

/// Ends the search on a part after its time, or with the whole run.
struct Limit<'a> {
    clock: Clock,
    stop: &'a AtomicBool,
}

impl Progress for Limit<'_> {
    fn step(&self, stage: Stage, _: usize, _: usize) {
        self.clock.step(stage);
    }

    fn cancelled(&self) -> bool {
        self.clock.over(self.stop.load(Ordering::Relaxed))
    }
}
