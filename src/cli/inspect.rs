//! `wayup inspect`: what the part is and what is wrong with it, before any advice.

use super::args::Inspect;
use crate::cli::terminal;
use crate::report::inspect as words;
use crate::report::json::InspectReport;
use crate::session::exit::{Exit, Failure};
use crate::session::intake;

/// Looks at one part.
///
/// # Errors
/// Flags that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &Inspect) -> Result<Exit, Failure> {
    let asked = args.given.asked(&args.run)?;
    intake::threads(args.run.threads)?;
    let (_, intake) = asked.read(&args.part)?;
    let report = InspectReport::new(intake.facts, &intake.part.bodies, &intake.defects);
    let text = if args.output.json {
        super::json_line(&report)?
    } else {
        words::text(&report, terminal::look())
    };
    terminal::result(&text)?;
    Ok(Exit::Done)
}
