//! `advise --map`: figures of every direction that was looked at.

use super::paper::{ending, wrong_ending};
use crate::advice::RankedPose;
use crate::figures::quick::Bench;
use crate::rank::map::{self, MappedDirection};
use crate::rank::search::Search;
use crate::report::json::{PartFacts, SettingsInForce};
use crate::report::map::DirectionMap;
use crate::report::sphere;
use crate::session::clock::Clock;
use crate::session::destination::Destination;
use crate::session::exit::{Exit, Failure};
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

/// A checked place for a map.
pub struct MapFile {
    place: Destination,
    format: MapFormat,
}

/// Format of a map.
#[derive(Clone, Copy)]
enum MapFormat {
    Csv,
    Json,
    Svg,
}

impl MapFile {
    /// Checks ending and place before the long run.
    ///
    /// # Errors
    /// Exit 2 for another ending than .csv, .json and .svg, exit 5 for a place that cannot be written.
    pub fn check(path: &Path) -> Result<Self, Failure> {
        let format = match ending(path).as_deref() {
            Some("csv") => MapFormat::Csv,
            Some("json") => MapFormat::Json,
            Some("svg") => MapFormat::Svg,
            _ => return Err(wrong_ending(path, "map", ".csv, .json or .svg")),
        };
        let place = Destination::check(path)?;
        Ok(Self { place, format })
    }

    /// Writes the file; the poses of the list are marked on a drawing.
    ///
    /// # Errors
    /// Exit 5 where it cannot be written.
    pub fn write(
        &self,
        bench: &Bench,
        (part, in_force): (PartFacts, SettingsInForce),
        mapped: &[MappedDirection],
        poses: &[RankedPose],
    ) -> Result<(), Failure> {
        let table = || DirectionMap::new(part, in_force, bench.settings, mapped);
        let text = match self.format {
            MapFormat::Csv => table().csv(),
            MapFormat::Json => table().json(),
            MapFormat::Svg => {
                let plot = sphere::map_of(mapped, poses);
                Ok(plot.picture.svg_file(&plot.alt))
            }
        };
        let text = text.map_err(|e| super::json::no_json(&e))?;
        self.place.write(|file| file.write_all(text.as_bytes()))
    }
}

/// Measures every direction of a part.
///
/// # Errors
/// Exit 7 where the time is over before.
pub fn measured(
    bench: &Bench,
    search: &Search,
    path: &str,
    until: Option<Instant>,
) -> Result<Vec<MappedDirection>, Failure> {
    map::map(bench, search, &Clock::until(until, None)).map_err(|_| {
        let defect = "--seconds ended the work before the map was complete";
        let hint = "give it more time, or leave --map out";
        Failure::new(Exit::TooLate, path, defect, hint)
    })
}
