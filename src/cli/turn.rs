//! `wayup turn`, and the file that `advise --turned` writes.

use super::args::TurnArgs;
use super::paper::wrong_ending;
use crate::mesh::{Format, Mesh, Units, write_to};
use crate::pose::{Pose, Posed};
use crate::report::json::TurnReport;
use crate::report::turn as words;
use crate::session::destination::Destination;
use crate::session::exit::{Exit, Failure};
use std::path::Path;

/// A checked output file with the format that its name asks for.
pub struct Target {
    place: Destination,
    format: Format,
}

impl Target {
    /// Reads the format off the ending of the name and checks the place.
    ///
    /// # Errors
    /// Exit 2 for an ending that is no format, exit 5 for a place that cannot be written.
    pub fn check(path: &Path) -> Result<Self, Failure> {
        let format = Format::of_ending(path)
            .filter(|f| *f != Format::Off)
            .ok_or_else(|| {
                let right = ".stl, .3mf, .obj or .ply";
                wrong_ending(path, "format that can be written", right)
            })?;
        Ok(Self {
            place: Destination::check(path)?,
            format,
        })
    }

    /// Writes the part as it stands, its numbers in `units`.
    ///
    /// # Errors
    /// Exit 5; what was there before is untouched.
    pub fn write(&self, posed: Posed, units: Units) -> Result<(), Failure> {
        let mesh = Mesh {
            vertices: posed.vertices,
            triangles: posed.part.mesh.triangles.clone(),
        };
        self.place
            .write(|file| write_to(file, &mesh, self.format, units))
    }
}

/// Writes the part with the named direction down.
///
/// # Errors
/// Flags that are off, a file that is no mesh, an output that cannot be written.
pub fn run(args: &TurnArgs) -> Result<Exit, Failure> {
    // What is off in the flags is told before what is off in the name of the file.
    args.one.common.asked()?;
    let target = Target::check(&args.file)?;
    let (_, intake) = args.one.read()?;
    let pose = Pose::with_yaw(&args.down, args.yaw, &intake.part.mesh.vertices);
    let posed = Posed::new(&intake.part, pose);
    let report = TurnReport::new(intake.facts, &posed, args.file.display().to_string());
    target.write(posed, intake.units)?;
    args.one.show(&report, |look| words::text(&report, look))
}
