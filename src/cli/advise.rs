//! `wayup advise`: each part through the whole house.

use super::args::AdviseArgs;
use super::gate::RequirementGate;
use super::json::{json_line, no_json};
use super::map::{self, MapFile};
use super::paper::Paper;
use super::terminal::{self, TerminalProgress};
use super::turn::Target;
use crate::checks::judged::Judged;
use crate::figures::quick::Bench;
use crate::figures::stop::Stop;
use crate::pose::Posed;
use crate::rank::certify::certify;
use crate::rank::search::{Progress, Search, Wanted};
use crate::session::clock::{Clock, deadline};
use crate::session::config::{Request, TOP};
use crate::session::exit::{Exit, Failure};
use crate::session::intake;

use crate::advice::{self, Advice};
use crate::report::advise as words;
use crate::report::compare::{self, Which};
use crate::report::draw::dots;
use crate::report::draw::model::DrawingModel;
use crate::report::first::FirstAnswer;
use crate::report::json::{AdviceReport, Seconds};
use crate::report::layout::Look;
use crate::report::number;
use crate::report::sheet::Page;
use crate::words::printable;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Columns and rows of the drawing in the terminal at most.
const DRAWING: (usize, usize) = (46, 16);

/// Advises on every part named.
///
/// A part that cannot be read is complained of and the others go on; the exit
/// is then the lowest of the codes met, 0 left out.
///
/// # Errors
/// What stops the whole run: flags that are off, an output that cannot be
/// written, a reader who has gone away.
pub fn run(args: &AdviseArgs) -> Result<Exit, Failure> {
    let asked = args.common.asked()?;
    let once = "run it once for each part";
    for (flag, file, hint) in [
        ("--turned", &args.turned, once),
        ("--map", &args.map, once),
        (
            "--picture",
            &args.picture,
            &format!("{once}, or use --sheet"),
        ),
    ] {
        if file.is_some() && args.parts.len() > 1 {
            let defect = "takes one part, not several";
            return Err(Failure::new(Exit::Words, flag, defect, hint));
        }
    }
    if args.pose.is_some() && args.turned.is_none() && args.picture.is_none() {
        let defect = "chooses what --turned or --picture writes, and neither is given";
        let hint = "add one of them, or leave --pose out";
        return Err(Failure::new(Exit::Words, "--pose", defect, hint));
    }
    let task = Task {
        args,
        asked,
        target: args.turned.as_deref().map(Target::check).transpose()?,
        paper: Paper::check(args)?,
        map: args.map.as_deref().map(MapFile::check).transpose()?,
        gate: RequirementGate::check(&args.checks)?,
        look: terminal::look(),
    };
    intake::threads(args.common.run.threads)?;
    let mut told = Told::default();
    let count = args.parts.len();
    told.all(&args.parts, args.json, &|path, at| {
        task.advise(path, [at, count])
    })?;
    task.paper.finish(&told.pages)?;
    let met = task
        .gate
        .finish(&|take| told.judged.iter().try_for_each(take))?;
    if told.answered > 0 && !args.json {
        terminal::result(&words::cautions(task.look))?;
    }
    Ok(told.worst.unwrap_or(met))
}

/// How far a total may lie below that of the first pose at most, as a share of it; none where nothing
/// is certain.
fn gap(bench: &Bench, advice: &Advice, percent: f64, until: Option<Instant>) -> Option<f64> {
    let first = advice.poses.first().filter(|p| p.gates.is_empty())?;
    let clock = Clock::until(until, None);
    let asked = || clock.cancelled();
    let found = certify(bench, first.total, percent / 100.0, &Stop::when(&asked));
    found.map(|certificate| certificate.gap)
}

/// What came of the parts.
#[derive(Default)]
struct Told {
    answered: usize,
    /// The lowest of the exit codes met, 0 left out.
    worst: Option<Exit>,
    judged: Vec<Judged>,
    pages: Vec<Page>,
}

impl Told {
    /// Tells what `advise` answers on each part, given with its number from 1. A part on which the
    /// program itself fails is complained of as one that cannot be read.
    fn all(
        &mut self,
        parts: &[PathBuf],
        json: bool,
        advise: &dyn Fn(&Path, usize) -> Result<Answer, Failure>,
    ) -> Result<(), Failure> {
        for (path, number) in parts.iter().zip(1..) {
            let failure = match intake::guarded(path, || advise(path, number)) {
                Ok(answer) => {
                    let gap = if json || self.answered == 0 {
                        ""
                    } else {
                        "\n\n"
                    };
                    terminal::result(&format!("{gap}{}", answer.text))?;
                    self.answered += 1;
                    self.pages.extend(answer.page);
                    self.judged.extend(answer.judged);
                    answer.failure
                }
                Err(failure) => {
                    self.judged.push(Judged {
                        path: path.display().to_string(),
                        sha256: None,
                        result: Err(failure.defect.clone()),
                    });
                    Some(failure)
                }
            };
            let Some(failure) = failure else { continue };
            terminal::complain(&failure);
            self.worst = Some(self.worst.map_or(failure.exit, |w| w.min(failure.exit)));
        }
        Ok(())
    }
}

/// What is asked of every part, checked before the first is read.
struct Task<'a> {
    args: &'a AdviseArgs,
    asked: Request,
    target: Option<Target>,
    paper: Paper,
    map: Option<MapFile>,
    gate: RequirementGate,
    look: Look,
}

/// The answer on one part.
struct Answer {
    text: String,
    /// What came of the requirements, where there are any.
    judged: Option<Judged>,
    /// Its page of the sheet.
    page: Option<Page>,
    /// Told after it: the turned part or the map was not written, or no pose fits the bed.
    failure: Option<Failure>,
}

impl Task<'_> {
    fn advise(&self, path: &Path, number: [usize; 2]) -> Result<Answer, Failure> {
        let start = Instant::now();
        let (args, look) = (self.args, self.look);
        let until = deadline(args.common.given.seconds);
        let (resolved, intake) = self.asked.read(path, until)?;
        let read = start.elapsed().as_secs_f64();

        let watch = TerminalProgress::start(&intake.facts.path, until);
        let wanted = args.pose.unwrap_or(1) as usize;
        let listed = args.top.unwrap_or(TOP) as usize;
        let top = wanted.max(listed).max(last_compared(args));
        let bench = intake.bench(&resolved.settings)?;
        super::purpose::check(&bench)?;
        let search = Search::new(&bench);
        let advice = advice::advise_on(&bench, &search, &Wanted::first(top), &watch);
        let [candidates, score] = watch.split();
        let cut_short = watch.finish();
        let seconds = || Seconds {
            read,
            candidates,
            score,
            total: start.elapsed().as_secs_f64(),
        };
        let Ok(advice) = advice else {
            let in_force = resolved.in_force();
            let mut first = FirstAnswer::new(&bench, &search, intake.facts.clone(), in_force);
            first.seconds = Some(seconds());
            return self.first(path, &first);
        };
        terminal::note_cut(cut_short, &intake.facts.path);
        let gap = (args.certify).and_then(|percent| gap(&bench, &advice, percent, until));
        let advice = Advice {
            certified_gap: gap,
            ..advice
        };
        if args.certify.is_some() && gap.is_none() {
            let why = if intake.part.closed {
                "no pose can be printed"
            } else {
                "the mesh is not closed"
            };
            let path = &intake.facts.path;
            terminal::note(&format!("{path}: {why}, so --certify was left out"));
        }
        let missing = |flag: &str, pose: usize, hint: &str| {
            let defect = format!("there is no pose {pose}, only {}", advice.poses.len());
            Failure::new(Exit::Words, flag, defect, hint)
        };
        let turned = self.target.as_ref().map(|target| {
            let pose = advice.poses.get(wanted - 1);
            let pose = pose.ok_or_else(|| missing("--pose", wanted, "choose one of the list"))?;
            let posed = Posed::new(&intake.part, pose.pose.clone());
            target.write(posed, intake.units)
        });
        let compared = args.compare.as_ref().map(|list| {
            let hint = "choose among those of the list";
            let poses = compare::pick(&advice, &list.0);
            let poses = poses.map_err(|pose| missing("--compare", pose, hint))?;
            let text = compare::text(&poses, look);
            Ok(format!("{}:\n\n{text}", printable(&intake.facts.path)))
        });
        let compared = compared.transpose()?;
        let mapped =
            (self.map.as_ref()).map(|_| map::measured(&bench, &search, &intake.facts.path, until));
        let known = mapped.as_ref().and_then(|m| m.as_deref().ok());
        let page = (self.paper).draw(&bench, &advice, &intake.facts, args, (number, known))?;
        let mapped = self.map.as_ref().zip(mapped).map(|(file, mapped)| {
            let facts = (intake.facts.clone(), resolved.in_force());
            file.write(&bench, facts, &mapped?, &advice.poses)
        });
        let drawn = !args.json && drawn(args);
        let drawing = drawn.then(|| drawing(&bench, &advice, look));
        let nowhere = advice.fits_nowhere().then(|| {
            let [x, y, z] = resolved.settings.bed_mm;
            let defect = format!("fits a bed of {x} × {y} × {z} mm in no pose");
            let hint = "cut the part in two, or give the build volume of a larger machine by --bed";
            Failure::new(Exit::FitsNowhere, intake.facts.path.clone(), defect, hint)
        });
        let in_force = resolved.in_force();
        let report = AdviceReport::new(intake.facts, in_force, advice, cut_short, seconds());
        let text = match compared {
            _ if args.json => json_line(&report)?,
            Some(compared) => compared,
            None => drawing.unwrap_or_default() + &words::text(&report.part, &report.advice, look),
        };
        Ok(Answer {
            text,
            judged: self.judged(&report)?,
            page,
            failure: (turned.and_then(Result::err))
                .or(mapped.and_then(Result::err))
                .or(nowhere),
        })
    }
}

impl Task<'_> {
    /// The answer where no pose was measured in time: exit 7.
    fn first(&self, path: &Path, first: &FirstAnswer) -> Result<Answer, Failure> {
        let text = if self.args.json {
            json_line(first)?
        } else {
            first.text(self.look)
        };
        Ok(Answer {
            text,
            judged: self.judged(first)?,
            page: None,
            failure: Some(intake::too_slow(path)),
        })
    }

    /// What comes of the requirements, where there are any.
    fn judged(&self, report: &impl Serialize) -> Result<Option<Judged>, Failure> {
        let judged = self.gate.wanted().then(|| {
            let record = number::tree(report).map_err(|e| no_json(&e))?;
            Ok(Judged::new(&record, &self.gate.demands))
        });
        judged.transpose()
    }
}

/// The last place of the list that is to be compared, or 0.
fn last_compared(args: &AdviseArgs) -> usize {
    let place = |which: &Which| match which {
        Which::Rank(n) => *n,
        Which::Stored => 0,
    };
    let compared = args.compare.iter().flat_map(|list| &list.0);
    compared.map(place).max().unwrap_or(0)
}

/// Whether the winner is drawn in the terminal: as the flags say, else on a terminal.
fn drawn(args: &AdviseArgs) -> bool {
    args.drawing || (!args.no_drawing && terminal::is_screen())
}

/// The winner in block characters, with an empty line below.
fn drawing(bench: &Bench, advice: &Advice, look: Look) -> String {
    advice.poses.first().map_or_else(String::new, |first| {
        let level = Posed::new(bench.part, first.pose.clone());
        let (columns, rows) = (look.width.min(DRAWING.0), DRAWING.1);
        dots::text(&DrawingModel::new(bench.part), &level, columns, rows) + "\n"
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::checksum;
    use std::fs;

    #[test]
    fn a_panic_on_one_part_is_told_and_the_others_go_on() {
        let folder = tempfile::tempdir().expect("a folder");
        let parts = ["a.stl", "b.stl", "c.stl"].map(|name| folder.path().join(name));
        for part in &parts {
            fs::write(part, b"abc").expect("written");
        }
        let mut told = Told::default();
        let all = told.all(&parts, true, &|path, number| {
            assert!(number != 2, "on purpose");
            assert_eq!(path, parts[number - 1]);
            Ok(Answer {
                text: String::new(),
                judged: None,
                page: None,
                failure: None,
            })
        });
        assert_eq!(all, Ok(()));
        assert_eq!((told.answered, told.worst), (2, Some(Exit::Unreadable)));
        let why = told.judged[0].result.as_ref().expect_err("a fault");
        assert!(why.starts_with("internal error, please report it"), "{why}");
        assert!(why.contains(&checksum(b"abc")), "{why}");
    }
}
