//! `wayup inspect`: what the part is and what is wrong with it, before any advice.

use super::args::OnePart;
use crate::report::inspect as words;
use crate::report::json::InspectReport;
use crate::session::exit::{Exit, Failure};

/// Looks at one part.
///
/// # Errors
/// Flags that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &OnePart) -> Result<Exit, Failure> {
    let (_, intake) = args.read()?;
    let report = InspectReport::new(intake.facts, &intake.part.bodies, &intake.defects);
    args.show(&report, |look| words::text(&report, look))
}
