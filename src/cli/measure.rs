//! `wayup measure`: all the figures of one pose.

use super::args::MeasureArgs;
use crate::session::exit::{Exit, Failure};

use crate::advice;
use crate::gauge::readings;
use crate::report::json::MeasureReport;
use crate::report::{advise as words, measure as figures};
use nalgebra::Vector3;

/// Measures the pose named, or the one in which the file is.
///
/// # Errors
/// Flags or settings that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &MeasureArgs) -> Result<Exit, Failure> {
    let (resolved, intake) = args.one.read()?;
    let settings = &resolved.settings;
    let down = args.down.unwrap_or(-Vector3::z_axis());
    let bench = intake.bench(settings)?;
    let pose = advice::measure(&bench, down);
    let found = match args.found {
        Some(read) if read.iter().any(|v| *v <= 0.0) => {
            return Err(Failure::new(
                Exit::Words,
                "--found",
                "takes three lengths above zero, read along build X, Y and Z",
                "measure the print along the axes of this pose, for example: --found 110.2,28.1,30",
            ));
        }
        Some(read) => {
            let [x, y] = pose.figures.footprint_mm;
            Some(readings::compare(
                read,
                [x, y, pose.figures.height_mm],
                settings,
            ))
        }
        None => None,
    };
    let report = MeasureReport::new(intake.facts, resolved.in_force(), pose, found);
    args.one.show(&report, |look| {
        figures::text(
            &report.part,
            &report.pose,
            report.found.as_ref(),
            settings,
            look,
        ) + &words::cautions(look)
    })
}
