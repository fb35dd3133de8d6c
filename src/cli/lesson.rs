//! `wayup lesson`: a page to teach with.

use super::args::LessonArgs;
use super::terminal::{self, TerminalProgress};
use crate::cli::paper;
use crate::session::clock::deadline;
use crate::session::exit::{Exit, Failure};
use crate::session::intake;

use crate::advice;
use crate::rank::search::Wanted;
use crate::report::draw::view::Angle;
use crate::report::lesson;
use crate::report::sheet::SheetJob;
use crate::words::printable;
use std::io::Write as _;

/// Writes the lesson of a part.
///
/// # Errors
/// Flags that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &LessonArgs) -> Result<Exit, Failure> {
    let asked = args.common.asked()?;
    let place = paper::page_file(&args.file)?;
    intake::threads(args.common.run.threads)?;
    let until = deadline(args.common.given.seconds);
    let (resolved, intake) = asked.read(&args.part, until)?;
    let settings = &resolved.settings;
    let watch = TerminalProgress::start(&intake.facts.path, until);
    let wanted = Wanted::first(lesson::LOOKED_AT);
    let bench = intake.bench(settings)?;
    let advice =
        advice::advise(&bench, &wanted, &watch).map_err(|_| intake::too_slow(&args.part))?;
    let cut_short = watch.finish();
    terminal::note_cut(cut_short, &intake.facts.path);
    let job = SheetJob {
        bench: &bench,
        advice: &advice,
        facts: &intake.facts,
        angle: Angle::default(),
        date: None,
        number: [1, 1],
    };
    let page = lesson::page(&job, cut_short);
    place.write(|file| file.write_all(page.as_bytes()))?;
    let text = format!(
        "{}: the lesson of {}.",
        printable(&args.file.display().to_string()),
        printable(&intake.facts.path)
    );
    terminal::result(&terminal::look().paragraph(&text))?;
    Ok(Exit::Done)
}
