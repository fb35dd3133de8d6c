//! What parts must meet: from flags to reports and the exit code.

use super::args::Checks;
use super::terminal;
use crate::checks::judged::{CaseCounts, Demands, Judged};
use crate::checks::require::{Requirement, Subject};
use crate::checks::{junit, sarif};
use crate::session::destination::Destination;
use crate::session::exit::{Exit, Failure};
use std::io::{self, BufWriter};

/// Missed requirements that are told one by one; a report has all of them.
const TOLD: usize = 20;

/// Takes one judged part.
pub type Take<'a> = &'a mut dyn FnMut(&Judged) -> io::Result<()>;

/// The requirements in force, with the reports to write.
pub struct RequirementGate {
    /// What is asked of every part.
    pub demands: Demands,
    junit: Option<Destination>,
    sarif: Option<Destination>,
}

impl RequirementGate {
    /// Reads the requirements and checks the places of the reports, before the long run.
    ///
    /// # Errors
    /// A requirement that is off, a report that cannot be written.
    pub fn check(checks: &Checks) -> Result<Self, Failure> {
        let requirements = checks
            .require
            .iter()
            .map(|text| {
                text.parse::<Requirement>().map_err(|flaw| {
                    let defect = format!("'{text}': {flaw}");
                    Failure::new(Exit::Words, "--require", defect, flaw.hint)
                })
            })
            .collect::<Result<Vec<_>, _>>()?;
        let subject = if checks.as_stored {
            Subject::AsStored
        } else {
            Subject::Winner
        };
        let place =
            |path: &Option<std::path::PathBuf>| path.as_deref().map(Destination::check).transpose();
        Ok(Self {
            demands: Demands::new(&requirements, subject),
            junit: place(&checks.junit)?,
            sarif: place(&checks.sarif)?,
        })
    }

    /// Whether there is anything to judge or to report.
    pub fn wanted(&self) -> bool {
        !self.demands.requirements.is_empty() || self.junit.is_some() || self.sarif.is_some()
    }

    /// Writes the reports and tells what is missed on standard error. `each` hands over
    /// every part in the same order each time that it is called: once to count, then
    /// once for each report, so that a library need not be held in memory.
    ///
    /// # Errors
    /// A report cannot be written, or the parts cannot be read again.
    pub fn finish(&self, each: &dyn Fn(Take<'_>) -> io::Result<()>) -> Result<Exit, Failure> {
        let mut tally = CaseCounts::default();
        let mut told = 0;
        each(&mut |judged| {
            tally.add(judged);
            for (_, why) in judged.missed(&self.demands) {
                told += 1;
                if told <= TOLD {
                    let hint = "change the part or its pose, or the requirement";
                    let path = judged.path.clone();
                    terminal::complain(&Failure::new(Exit::NotMet, path, why, hint));
                }
            }
            Ok(())
        })
        .map_err(|e| {
            let defect = format!("cannot be read again: {e}");
            Failure::new(Exit::Unwritable, "the records", defect, "run it once more")
        })?;
        if told > TOLD {
            terminal::note(&format!("{} more of the kind are not shown", told - TOLD));
        }
        if let Some(place) = &self.junit {
            place.write(|file| {
                let mut report = junit::Report::begin(BufWriter::new(file), &self.demands, &tally)?;
                each(&mut |judged| report.part(judged))?;
                report.end()
            })?;
        }
        if let Some(place) = &self.sarif {
            place.write(|file| {
                let mut report = sarif::Report::begin(BufWriter::new(file), &self.demands)?;
                each(&mut |judged| report.part(judged))?;
                report.end()
            })?;
        }
        Ok(if tally.failed > 0 {
            Exit::NotMet
        } else {
            Exit::Done
        })
    }
}
