//! What a sheet is made of.

use crate::advice::Advice;
use crate::figures::quick::Bench;
use crate::report::act;
use crate::report::draw::view::Angle;
use crate::report::html::escape;
use crate::report::json::PartFacts;

/// All that a sheet is made of.
pub struct SheetJob<'a> {
    /// Part, settings and hull.
    pub bench: &'a Bench<'a>,
    /// The ranked poses.
    pub advice: &'a Advice,
    /// What is known of the file.
    pub facts: &'a PartFacts,
    /// Where the views go.
    pub angle: Angle,
    /// The date to print; a line to fill in where there is none.
    pub date: Option<&'a str>,
    /// Number of the sheet, and of how many.
    pub number: [usize; 2],
}

impl SheetJob<'_> {
    /// Name of the part: its file without folder and ending.
    pub fn name(&self) -> String {
        name(&self.facts.path)
    }

    /// Level of the heading of a page.
    pub fn level(&self) -> u8 {
        if self.number[1] > 1 { 2 } else { 1 }
    }

    /// The page below this heading and the verdict of the advice; an index says `says` of it.
    pub fn page(&self, heading: &str, html: &str, says: String) -> Page {
        let (id, level) = (format!("part-{}", self.number[0]), self.level());
        let act = act::to_do(self.advice);
        Page {
            html: format!(
                "<article class=\"sheet\" id=\"{id}\" aria-labelledby=\"{id}-t\">\n<header><h{level} id=\"{id}-t\">{heading}</h{level}>\n<p class=\"verdict\">{}{act}</p></header>\n{html}</article>\n",
                escape(&self.advice.verdict)
            ),
            id,
            name: self.name(),
            verdict: says,
        }
    }
}

/// One page with what an index says of it.
#[derive(Debug, Clone)]
pub struct Page {
    /// Anchor.
    pub id: String,
    /// Name of the part.
    pub name: String,
    /// The answer.
    pub verdict: String,
    /// The page itself.
    pub html: String,
}

/// The file of a path without folder and ending.
pub fn name(path: &str) -> String {
    std::path::Path::new(path)
        .file_stem()
        .map_or_else(|| path.to_string(), |s| s.to_string_lossy().into_owned())
}
