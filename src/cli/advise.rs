//! `wayup advise`: each part through the whole house.

use super::args::{AdviseArgs, Compared};
use super::gate::RequirementGate;
use super::paper::Paper;
use super::terminal::{self, TerminalProgress};
use super::turn::Target;
use crate::checks::judged::Judged;
use crate::figures::quick::Bench;
use crate::pose::Posed;
use crate::rank::search::Wanted;
use crate::session::config::{Request, TOP};
use crate::session::exit::{Exit, Failure};
use crate::session::intake;
use crate::session::intake::Intake;

use crate::advice::{self, Advice};
use crate::report::advise as words;
use crate::report::compare::{self, Which};
use crate::report::draw::dots;
use crate::report::draw::model::DrawingModel;
use crate::report::json::{AdviceReport, Seconds};
use crate::report::layout::{Look, printable};
use crate::report::number;
use crate::report::sheet::Page;
use std::path::Path;
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
    if args.turned.is_some() && args.parts.len() > 1 {
        return Err(Failure::new(
            Exit::Words,
            "--turned",
            "takes one part, not several",
            "run it once for each part",
        ));
    }
    if args.pose.is_some() && args.turned.is_none() && args.picture.is_none() {
        return Err(Failure::new(
            Exit::Words,
            "--pose",
            "chooses what --turned or --picture writes, and neither is given",
            "add one of them, or leave --pose out",
        ));
    }
    let target = args.turned.as_deref().map(Target::check).transpose()?;
    let paper = Paper::check(args)?;
    let gate = RequirementGate::check(&args.checks)?;
    let mut judged: Vec<Judged> = Vec::new();
    intake::threads(args.common.run.threads)?;
    let look = terminal::look();
    let mut worst = Exit::Done;
    let mut answered = 0;
    let mut pages: Vec<Page> = Vec::new();
    for (i, path) in args.parts.iter().enumerate() {
        let number = [i + 1, args.parts.len()];
        let exit = match advise(path, args, &asked, target.as_ref(), (&paper, number)) {
            Ok(mut outcome) => {
                pages.extend(outcome.page.take());
                terminal::result(&outcome.text(args.json, answered > 0, look)?)?;
                answered += 1;
                if gate.wanted() {
                    judged.push(outcome.judged(&gate)?);
                }
                let failed = outcome.turned.err().or(outcome.nowhere);
                failed.map_or(Exit::Done, |failure| {
                    terminal::complain(&failure);
                    failure.exit
                })
            }
            Err(failure) => {
                terminal::complain(&failure);
                judged.push(Judged {
                    path: path.display().to_string(),
                    sha256: None,
                    result: Err(failure.defect),
                });
                failure.exit
            }
        };
        if worst == Exit::Done || (exit != Exit::Done && exit < worst) {
            worst = exit;
        }
    }
    paper.finish(&pages)?;
    let met = gate.finish(&|take| judged.iter().try_for_each(take))?;
    if worst == Exit::Done {
        worst = met;
    }
    if answered > 0 && !args.json {
        terminal::result(&words::cautions(look))?;
    }
    Ok(worst)
}

/// The answer on one part.
struct Outcome {
    report: AdviceReport,
    /// Told where no pose fits the bed.
    nowhere: Option<Failure>,
    /// How writing the turned part went.
    turned: Result<(), Failure>,
    /// Its page of the sheet.
    page: Option<Page>,
    /// The winner in block characters.
    drawing: String,
    /// Poses side by side, in words, instead of the advice.
    compared: Option<String>,
}

impl Outcome {
    /// What came of the requirements on this part.
    fn judged(&self, gate: &RequirementGate) -> Result<Judged, Failure> {
        let record = number::tree(&self.report).map_err(|e| super::no_json(&e))?;
        Ok(Judged::new(&record, &gate.demands))
    }

    fn text(&self, json: bool, again: bool, look: Look) -> Result<String, Failure> {
        if json {
            return super::json_line(&self.report);
        }
        let gap = if again { "\n\n" } else { "" };
        if let Some(compared) = &self.compared {
            return Ok(format!(
                "{gap}{}:\n\n{compared}",
                printable(&self.report.part.path)
            ));
        }
        Ok(format!(
            "{gap}{}{}",
            self.drawing,
            words::text(&self.report.part, &self.report.advice, look)
        ))
    }
}

fn advise(
    path: &Path,
    args: &AdviseArgs,
    asked: &Request,
    target: Option<&Target>,
    (paper, number): (&Paper, [usize; 2]),
) -> Result<Outcome, Failure> {
    let start = Instant::now();
    let (resolved, intake) = asked.read(path)?;
    let settings = &resolved.settings;
    let Intake {
        part, facts, units, ..
    } = intake;
    let read = start.elapsed().as_secs_f64();

    let watch = TerminalProgress::start(&facts.path, args.common.given.seconds);
    let wanted_pose = args.pose.unwrap_or(1) as usize;
    let wanted = Wanted {
        named: Vec::new(),
        top: wanted_pose
            .max(args.top.unwrap_or(TOP) as usize)
            .max(last_compared(args)),
    };
    let hull = intake::hull(&part, units, path, settings)?;
    let bench = Bench::new(&part, settings, hull);
    let advice = advice::advise(&bench, &wanted, &watch).map_err(|_| intake::too_slow(path))?;
    let [candidates, score] = watch.split();
    let cut_short = watch.finish();
    terminal::note_cut(cut_short, &facts.path);
    let nowhere = advice.fits_nowhere().then(|| {
        let [x, y, z] = settings.bed_mm;
        let defect = format!("fits a bed of {x} × {y} × {z} mm in no pose");
        Failure::new(
            Exit::FitsNowhere,
            facts.path.clone(),
            defect,
            "cut the part in two, or give the build volume of a larger machine by --bed",
        )
    });
    let turned = target.map_or(Ok(()), |t| match advice.poses.get(wanted_pose - 1) {
        Some(pose) => t.write(Posed::new(&part, pose.pose.clone()), units),
        None => Err(Failure::new(
            Exit::Words,
            "--pose",
            format!(
                "there is no pose {wanted_pose}, only {}",
                advice.poses.len()
            ),
            "choose one of the list",
        )),
    });
    let pick = |list: &Compared| compare::pick(&advice, &list.0);
    let compared = args.compare.as_ref().map(pick).transpose();
    let compared = compared.map_err(|missing| {
        let defect = format!("there is no pose {missing}, only {}", advice.poses.len());
        let hint = "choose among those of the list";
        Failure::new(Exit::Words, "--compare", defect, hint)
    })?;
    let compared = compared.map(|poses| compare::text(&poses, terminal::look()));
    let page = paper.draw(&bench, &advice, &facts, args, number)?;
    let drawing = drawing(&part, &advice, !args.json && drawn(args));
    let seconds = Seconds {
        read,
        candidates,
        score,
        total: start.elapsed().as_secs_f64(),
    };
    let report = AdviceReport::new(facts, resolved.in_force(), advice, cut_short, seconds);
    Ok(Outcome {
        report,
        nowhere,
        turned,
        page,
        drawing,
        compared,
    })
}

/// The last place of the list that is to be compared, or 0.
fn last_compared(args: &AdviseArgs) -> usize {
    let place = |which: &Which| match which {
        Which::Rank(n) => *n,
        Which::Loaded => 0,
    };
    let compared = args.compare.iter().flat_map(|list| &list.0);
    compared.map(place).max().unwrap_or(0)
}

/// Whether the winner is drawn in the terminal: as the flags say, else on a terminal.
fn drawn(args: &AdviseArgs) -> bool {
    args.drawing || (!args.no_drawing && terminal::is_screen())
}

/// The winner in block characters, with an empty line below; nothing where none is wanted.
fn drawing(part: &crate::mesh::Part, advice: &Advice, wanted: bool) -> String {
    let look = terminal::look();
    let first = advice.poses.first().filter(|_| wanted);
    first.map_or_else(String::new, |first| {
        let level = Posed::new(part, first.pose.clone());
        let (columns, rows) = (look.width.min(DRAWING.0), DRAWING.1);
        dots::text(&DrawingModel::new(part), &level, columns, rows) + "\n"
    })
}
