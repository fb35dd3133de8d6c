//! What a sheet is made of.

use super::super::draw::view::Angle;
use super::super::json::PartFacts;
use crate::advice::Advice;
use crate::figures::quick::Bench;

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
