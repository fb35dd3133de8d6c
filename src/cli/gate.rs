//! What parts must meet: from flags to reports and the exit code.

use super::args::Checks;
use super::terminal;
use crate::checks::judged::{CaseCounts, Demands, Judged, failure};
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
        let subject = if checks.as_loaded {
            Subject::AsLoaded
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
            for failure in self.failures(judged) {
                told += 1;
                if told <= TOLD {
                    terminal::complain(&failure);
                }
            }
            Ok(())
        })
        .map_err(|e| {
            Failure::new(
                Exit::Unwritable,
                "the records",
                format!("cannot be read again: {e}"),
                "run it once more",
            )
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

    /// What one part misses.
    fn failures(&self, judged: &Judged) -> Vec<Failure> {
        let subject = self.demands.subject;
        let findings = judged.result.as_deref().unwrap_or_default();
        self.demands
            .requirements
            .iter()
            .zip(findings)
            .filter_map(|(requirement, finding)| failure(requirement, finding, subject))
            .map(|why| {
                let hint = "change the part or its pose, or the requirement";
                Failure::new(Exit::NotMet, judged.path.clone(), why, hint)
            })
            .collect()
    }
}
