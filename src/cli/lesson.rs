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
use crate::words::{self, printable};
use std::io::Write as _;

/// Writes the lesson of a part, or questions on several.
///
/// # Errors
/// Flags that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &LessonArgs) -> Result<Exit, Failure> {
    let asked = args.common.asked()?;
    let place = paper::page_file(&args.file)?;
    let (one, several) = (&args.parts[0], args.parts.len() > 1);
    if several && !args.set {
        let defect = format!(
            "{} were named",
            words::count(args.parts.len(), "part", "parts")
        );
        let hint = "a lesson is on one part; --set makes a page of questions on several";
        return Err(Failure::new(Exit::Words, "lesson", defect, hint));
    }
    intake::threads(args.common.run.threads)?;
    let mut parts = Vec::new();
    let mut page = String::new();
    for (i, path) in args.parts.iter().enumerate() {
        let until = deadline(args.common.given.seconds);
        let (resolved, intake) = asked.read(path, until)?;
        let settings = &resolved.settings;
        let watch = TerminalProgress::start(&intake.facts.path, until);
        let wanted = Wanted::first(lesson::LOOKED_AT);
        let bench = intake.bench(settings)?;
        let advice = advice::advise(&bench, &wanted, &watch).map_err(|_| intake::too_slow(path))?;
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
        if args.set {
            parts.push(lesson::set::part(&job, i + 1));
        } else {
            page = lesson::page(&job, cut_short);
        }
    }
    if args.set {
        page = lesson::set::page(&parts);
    }
    place.write(|file| file.write_all(page.as_bytes()))?;
    let what = if args.set {
        let counted = words::count(parts.len(), "part", "parts");
        format!("questions on {counted}, with an answer sheet")
    } else {
        format!("the lesson of {}", printable(&one.display().to_string()))
    };
    let text = format!("{}: {what}.", printable(&args.file.display().to_string()));
    terminal::result(&terminal::look().paragraph(&text))?;
    Ok(Exit::Done)
}
