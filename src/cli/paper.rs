//! `advise --sheet` and `--picture`: pages and pictures of what was advised.

use super::args::AdviseArgs;
use crate::advice::Advice;
use crate::figures::quick::Bench;
use crate::rank::map::MappedDirection;
use crate::report::compare;
use crate::report::draw::model::DrawingModel;
use crate::report::json::PartFacts;
use crate::report::sheet::page::{SheetPose, WIDE_MM};
use crate::report::sheet::{self, Page, SheetJob};
use crate::session::destination::Destination;
use crate::session::exit::{Exit, Failure};
use std::env;
use std::io::Write as _;
use std::path::Path;

/// Height of a picture on its own, mm.
const PICTURE_MM: f64 = 110.0;

/// Pixels a mm of a picture: 300 an inch.
const PX_PER_MM: f64 = 11.81;

/// What is to be drawn, places checked.
pub struct Paper {
    sheet: Option<Destination>,
    picture: Option<(Destination, PictureFormat)>,
    date: Option<String>,
}

/// Format of a picture.
#[derive(Clone, Copy, PartialEq, Eq)]
enum PictureFormat {
    Png,
    Svg,
}

impl Paper {
    /// Checks endings and places before the long run.
    ///
    /// # Errors
    /// Exit 2 for an ending or a date that is off, exit 5 for a place that cannot be written.
    pub fn check(args: &AdviseArgs) -> Result<Self, Failure> {
        let picture = |path: &Path| {
            let kind = match ending(path).as_deref() {
                Some("png") => PictureFormat::Png,
                Some("svg") => PictureFormat::Svg,
                _ => return Err(wrong_ending(path, "picture", ".png or .svg")),
            };
            Ok((Destination::check(path)?, kind))
        };
        Ok(Self {
            sheet: args.sheet.as_deref().map(page_file).transpose()?,
            picture: args.picture.as_deref().map(picture).transpose()?,
            date: date(args.date.as_deref())?,
        })
    }

    /// Draws one part: writes its picture, and returns its page if there is to be a sheet.
    ///
    /// # Errors
    /// Exit 5 where the picture cannot be written.
    pub fn draw(
        &self,
        bench: &Bench,
        advice: &Advice,
        facts: &PartFacts,
        args: &AdviseArgs,
        (number, mapped): ([usize; 2], Option<&[MappedDirection]>),
    ) -> Result<Option<Page>, Failure> {
        if self.sheet.is_none() && self.picture.is_none() {
            return Ok(None);
        }
        let model = DrawingModel::new(bench.part);
        let job = SheetJob {
            bench,
            advice,
            facts,
            angle: args.angle.unwrap_or_default(),
            date: self.date.as_deref(),
            number,
        };
        let wanted = args.pose.unwrap_or(1) as usize;
        if let (Some((place, kind)), Some(pose)) = (&self.picture, advice.poses.get(wanted - 1)) {
            let standing = SheetPose::new(&job, pose);
            let drawing = standing.drawing(&job, &model, [WIDE_MM, PICTURE_MM]);
            let bytes = match kind {
                PictureFormat::Png => drawing.picture.png(PX_PER_MM),
                PictureFormat::Svg => drawing.picture.svg_file(&drawing.alt).into_bytes(),
            };
            place.write(|file| file.write_all(&bytes))?;
        }
        let compared = args.compare.as_ref().map(|c| compare::pick(advice, &c.0));
        let page = self.sheet.as_ref().and_then(|_| match compared {
            None => Some(sheet::page(&job, &model)),
            Some(Ok(poses)) => Some(compare::page(&job, &model, &poses)),
            // That one of them is missing is told with the words.
            Some(Err(_)) => None,
        });
        Ok(page.map(|mut page| {
            if let Some(mapped) = mapped {
                page.html += &sheet::map::page(&job, mapped);
            }
            page
        }))
    }

    /// Writes the sheet of all parts that could be read.
    ///
    /// # Errors
    /// Exit 5; what was there before is untouched.
    pub fn finish(&self, pages: &[Page]) -> Result<(), Failure> {
        match &self.sheet {
            Some(place) if !pages.is_empty() => {
                place.write(|file| file.write_all(sheet::document(pages).as_bytes()))
            }
            _ => Ok(()),
        }
    }
}

/// A checked place for a page.
///
/// # Errors
/// Exit 2 for another ending than .html, exit 5 for a place that cannot be written.
pub fn page_file(path: &Path) -> Result<Destination, Failure> {
    match ending(path).as_deref() {
        Some("html" | "htm") => Destination::check(path),
        _ => Err(wrong_ending(path, "page", ".html")),
    }
}

pub(super) fn ending(path: &Path) -> Option<String> {
    path.extension()
        .map(|e| e.to_string_lossy().to_ascii_lowercase())
}

/// A name of a file that ends in no way that is known.
pub(super) fn wrong_ending(path: &Path, what: &str, right: &str) -> Failure {
    Failure::new(
        Exit::Words,
        path.display().to_string(),
        format!("its ending names no {what}"),
        format!("end the name in {right}"),
    )
}

/// The date to print: the one given, else the day of `SOURCE_DATE_EPOCH` (the open
/// convention for builds that can be repeated), else none.
fn date(given: Option<&str>) -> Result<Option<String>, Failure> {
    if let Some(text) = given {
        return Ok(Some(text.trim().to_string()).filter(|t| !t.is_empty()));
    }
    let Some(text) = env::var_os("SOURCE_DATE_EPOCH") else {
        return Ok(None);
    };
    let seconds = text.to_str().and_then(|t| t.trim().parse::<i64>().ok());
    let day = seconds.map(|seconds| Some(day(seconds.div_euclid(86_400))));
    day.ok_or_else(|| {
        let hint = "set it to whole seconds since 1970-01-01, or unset it";
        let defect = "is not a number of seconds";
        Failure::new(Exit::Words, "SOURCE_DATE_EPOCH", defect, hint)
    })
}

/// The date so many days after 1970-01-01, as YYYY-MM-DD (ISO 8601), in the calendar of
/// Gregory. Eras of 400 years have 146,097 days.
fn day(days: i64) -> String {
    let days = days.clamp(-700_000, 2_900_000) + 719_468;
    let (era, of_era) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    // Years begin in March here, so that the leap day is the last.
    let month = (5 * of_year + 2) / 153;
    let in_month = of_year - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = year_of_era + 400 * era + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{in_month:02}")
}

#[cfg(test)]
mod tests {
    use super::day;

    #[test]
    fn days_are_those_of_the_calendar() {
        // Unix time of well-known days (POSIX, from memory).
        for (days, text) in [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (19_723, "2024-01-01"),
            (19_782, "2024-02-29"),
            (-1, "1969-12-31"),
        ] {
            assert_eq!(day(days), text);
        }
    }
}
