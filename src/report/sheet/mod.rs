//! The sheet: one A4 page a part, to look at, print and file with the job.
//!
//! - `page`: one part
//! - [`plots`]: its two plots
//! - [`block`]: the title block (ISO 7200, from memory) and the measuring card
//! - [`map`]: the page behind it with the map of the part, where that is asked for
//! - [`room`]: how much of the page each piece may take
//!
//! A sheet holds no time of day: the date is the one that is given, else a line to
//! fill in by hand, so that the same part gives the same bytes.

pub mod block;
mod job;
pub mod map;
pub mod page;
pub mod plots;
pub mod room;

use super::html::{TAIL, escape, head};
pub use job::{Page, SheetJob, name};

pub use page::page;

/// All pages in one file, an index first where they are several.
pub fn document(pages: &[Page]) -> String {
    let title = match pages {
        [one] => format!("Print sheet: {}", one.name),
        several => format!("Print sheets of {} parts", several.len()),
    };
    let mut out = head(&title, STYLE);
    if pages.len() > 1 {
        out.push_str("<a class=\"skip\" href=\"#part-1\">Skip the index</a>\n");
        out.push_str(&format!(
            "<header class=\"sheet index\"><h1>Which way up: {} parts</h1>\n<nav aria-label=\"Parts\"><ol>",
            pages.len()
        ));
        for Page {
            id, name, verdict, ..
        } in pages
        {
            let (name, verdict) = (escape(name), escape(verdict));
            out.push_str(&format!(
                "<li><a href=\"#{id}\">{name}</a><br>{verdict}</li>"
            ));
        }
        out.push_str("</ol></nav></header>\n");
    }
    out.push_str("<main>\n");
    for p in pages {
        out.push_str(&p.html);
    }
    out.push_str("</main>\n");
    out.push_str(TAIL);
    out
}

/// The style of a sheet: a stack of rows on a phone, one A4 page on paper and on a wide
/// screen.
pub const STYLE: &str = include_str!("sheet.css").trim_ascii_end();
