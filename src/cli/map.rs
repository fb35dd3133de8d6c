//! `advise --map`: figures of every direction that was looked at.

use super::paper::{ending, wrong_ending};
use crate::figures::quick::Bench;
use crate::rank::map;
use crate::rank::search::Search;
use crate::report::json::{PartFacts, SettingsInForce};
use crate::report::map::DirectionMap;
use crate::session::clock::Clock;
use crate::session::destination::Destination;
use crate::session::exit::{Exit, Failure};
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;

/// A checked place for a map.
pub struct MapFile {
    place: Destination,
    csv: bool,
}

impl MapFile {
    /// Checks ending and place before the long run.
    ///
    /// # Errors
    /// Exit 2 for another ending than .csv and .json, exit 5 for a place that cannot be written.
    pub fn check(path: &Path) -> Result<Self, Failure> {
        let csv = match ending(path).as_deref() {
            Some("csv") => true,
            Some("json") => false,
            _ => return Err(wrong_ending(path, "map", ".csv or .json")),
        };
        let place = Destination::check(path)?;
        Ok(Self { place, csv })
    }

    /// Measures every direction and writes the file.
    ///
    /// # Errors
    /// Exit 5 where it cannot be written, exit 7 where the time is over before: then there is none.
    pub fn write(
        &self,
        bench: &Bench,
        search: &Search,
        (part, in_force): (PartFacts, SettingsInForce),
        until: Option<Instant>,
    ) -> Result<(), Failure> {
        let mapped = map::map(bench, search, &Clock::until(until, None)).map_err(|_| {
            let defect = "--seconds ended the work before the map was complete";
            let hint = "give it more time, or leave --map out";
            Failure::new(Exit::TooLate, part.path.clone(), defect, hint)
        })?;
        let map = DirectionMap::new(part, in_force, bench.settings, &mapped);
        let text = if self.csv { map.csv() } else { map.json() };
        let text = text.map_err(|e| super::json::no_json(&e))?;
        self.place.write(|file| file.write_all(text.as_bytes()))
    }
}
