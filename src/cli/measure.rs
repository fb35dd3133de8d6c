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
    super::purpose::check(&bench)?;
    let pose = advice::measure(&bench, down);
    let compared = |read: [f64; 3]| {
        if read.iter().any(|v| *v <= 0.0) {
            return Err(Failure::new(
                Exit::Words,
                "--readings",
                "takes three lengths above zero, read along build X, Y and Z",
                "measure the print along the axes of this pose, for example: --readings 110.2,28.1,30",
            ));
        }
        let (nominal, turned_deg) = (pose.card.extents_mm, pose.card.aslant_deg);
        Ok(readings::compare_turned(
            read, nominal, turned_deg, settings,
        ))
    };
    let compared_readings = args.readings.map(compared).transpose()?;
    let report = MeasureReport::new(intake.facts, resolved.in_force(), pose, compared_readings);
    args.one.show(&report, |look| {
        figures::text(
            &report.part,
            &report.pose,
            report.readings.as_ref(),
            settings,
            look,
        ) + &words::cautions(look)
    })
}
