//! The page behind a sheet that shows the map of the part.

use super::SheetJob;
use crate::rank::map::MappedDirection;
use crate::report::html::{escape, figure, list};
use crate::report::sphere;
use crate::words;

/// A page of its own with the support of every direction that was looked at.
pub fn page(job: &SheetJob, mapped: &[MappedDirection]) -> String {
    let plot = sphere::map_of(mapped, &job.advice.poses);
    let (id, level) = (format!("map-{}", job.number[0]), job.level() + 1);
    let name = escape(&job.name());
    let read = [
        "Each point of the map is one way to set the part on the bed. A dot with a number is a pose of the list; 1, with a ring, is the best on the whole, not always the one with least support.".into(),
        "Along a line the volume of support is the same, as the height is on a map of hills. All space under overhang counts, also what bridges without support: the figures are higher than those in the table of poses.".into(),
        "Lines close together: a tilt of a few degrees changes the support a lot. Wide apart: it changes little.".into(),
    ];
    let looked = words::count(mapped.len(), "direction", "directions");
    format!(
        "<article class=\"sheet map\" aria-labelledby=\"{id}\">\n<header><h{level} id=\"{id}\">Support for “{name}”, by the side that is down</h{level}>\n<p class=\"verdict\">{looked} checked.</p></header>\n{}\n{}</article>\n",
        figure(&plot.svg(), ""),
        list(&read)
    )
}
