//! How a part of a library is scored: as `advise` does it.

use crate::cli::advise;
use crate::cli::args::{Library, Run};
use crate::figures::quick::Bench;
use crate::library::outline::{Outlines, outline};
use crate::library::record::{Answer, Marks, Refused};
use crate::library::{Ground, Judge};
use crate::pose::{Pose, Posed};
use crate::rank::search::{Progress, Wanted};
use crate::session::clock::Clock;
use crate::session::exit::{Exit, Failure};
use crate::session::{config, intake};

use crate::advice::{self, Advice, verdict};
use crate::report::json::{AdviceReport, SCHEMA_VERSION, Seconds};
use crate::report::number;
use crate::settings::overrides::Overrides;
use crate::words::hex;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Scores one part after the other under the flags of the run.
pub struct Scorer<'a> {
    args: &'a Library,
    flags: Overrides,
    stop: &'a AtomicBool,
}

impl<'a> Scorer<'a> {
    /// With the flags as checked; `stop` ends the work on all parts.
    pub fn new(args: &'a Library, flags: Overrides, stop: &'a AtomicBool) -> Self {
        Self { args, flags, stop }
    }

    fn top(&self) -> usize {
        self.args.top.unwrap_or(advise::TOP) as usize
    }
}

impl Judge for Scorer<'_> {
    fn ground(&self, path: &Path) -> Result<Ground, Refused> {
        let resolved =
            config::resolve(Some(path), &self.args.given, &self.flags).map_err(refused)?;
        let Run { units, .. } = resolved.reading(&self.args.run);
        let in_force = advise::in_force(&resolved.settings, &resolved.files);
        let shown = number::line(&(
            env!("CARGO_PKG_VERSION"),
            SCHEMA_VERSION,
            in_force,
            units,
            self.top(),
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
            units,
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
            clock: Clock::start(self.limit_s()),
            stop: self.stop,
        };
        let wanted = Wanted {
            named: Vec::new(),
            top: self.top(),
        };
        let advice = advice::advise(&bench, &wanted, &limit).map_err(|_| {
            let Failure { defect, hint, .. } = intake::too_slow(path);
            Refused {
                exit: Exit::Words as u8,
                defect,
                hint,
                late: true,
            }
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
                advise::in_force(&ground.settings, &ground.files),
                &advice,
                limit.clock.cut(),
                seconds,
            ),
        })
    }

    fn limit_s(&self) -> Option<f64> {
        self.args.given.seconds
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
    fn step(&self, what: &str, _: usize, _: usize) {
        self.clock.step(what);
    }

    fn cancelled(&self) -> bool {
        self.clock.over(self.stop.load(Ordering::Relaxed))
    }
}
