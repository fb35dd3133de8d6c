//! `wayup measure`: all the figures of one pose.

use super::advise::in_force;
use super::args::Measure;
use super::config::{self, Resolved};
use super::exit::{Exit, Failure};
use super::{intake, terminal};
use crate::figures::quick::Bench;
use crate::rank;
use crate::report::json::MeasureReport;
use crate::report::{advise as words, measure as figures};
use nalgebra::Vector3;

/// Measures the pose named, or the one in which the file is.
///
/// # Errors
/// Flags or settings that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &Measure) -> Result<Exit, Failure> {
    let flags = config::flags(&args.given)?;
    intake::threads(&args.run)?;
    let Resolved { settings, files } = config::resolve(&args.part, &args.given, &flags)?;
    let intake = intake::read(&args.part, &args.run)?;
    let down = args.down.unwrap_or(-Vector3::z_axis());
    let bench = Bench::new(
        &intake.part,
        &settings,
        intake::hull(&intake.part, &args.part)?,
    );
    let pose = rank::measure(&bench, down);
    let text = if args.output.json {
        super::json_line(&MeasureReport::new(
            intake.facts,
            in_force(&settings, &files),
            &pose,
        ))?
    } else {
        let look = terminal::look();
        figures::text(&intake.facts, &pose, &settings, look) + &words::cautions(look)
    };
    terminal::result(&text)?;
    Ok(Exit::Done)
}
