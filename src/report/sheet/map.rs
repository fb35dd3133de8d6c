//! The page behind a sheet that shows the map of the part.

use super::SheetJob;
use crate::rank::map::MappedDirection;
use crate::report::html::{escape, figure, list};
use crate::report::sphere::{self, downs};
use crate::words;

/// A page of its own with the support of every direction that was looked at.
pub fn page(job: &SheetJob, mapped: &[MappedDirection]) -> String {
    let plot = sphere::map(mapped, &downs(&job.advice.poses));
    let (id, level) = (format!("map-{}", job.number[0]), job.level() + 1);
    let name = escape(&job.name());
    let read = [
        "Each point of the map is a side of the part that may go down on the bed. A cross with a number is a pose of the list; 1 is the best.".into(),
        "Along a line the support is the same. It is all space under overhang, also where a bridge carries it: more than the table of the poses says.".into(),
        "Lines close together: a tilt of a few degrees changes the support much. Wide apart: it does not matter.".into(),
    ];
    let looked = words::count(mapped.len(), "direction", "directions");
    format!(
        "<article class=\"sheet map\" aria-labelledby=\"{id}\">\n<header><h{level} id=\"{id}\">Support of {name} by the side that goes down</h{level}>\n<p class=\"verdict\">{looked} looked at.</p></header>\n{}\n{}</article>\n",
        figure(&plot.svg(), ""),
        list(&read)
    )
}
