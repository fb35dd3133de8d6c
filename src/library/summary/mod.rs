//! The library as a page to look at: `summary.html`, one file that asks for nothing else.
//!
//! Counts, distributions, the parts that turning helps most, and a table to sort and
//! filter; without scripts the table is a table. Counts and distributions are of all
//! parts; the table holds [`page::MOST_ROWS`] of them at most, so that the page of a large
//! library stays one that a browser opens, and says how they were chosen.

mod bins;
pub mod page;
mod rows;
mod words;

pub use page::Gathered;
