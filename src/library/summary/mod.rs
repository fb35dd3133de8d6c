//! The library as a page to look at: `summary.html`, one file that asks for nothing else.
//!
//! Counts, distributions, the parts that turning helps most, and a table to sort and
//! filter; without scripts the table is a table. Counts and distributions are of all
//! parts. The table shows a hundred rows at a time, sorted by the support that turning saves; the
//! script has the rest as data, [`page::MOST_ROWS`] at most, and turns over.

mod bins;
pub mod page;
mod rows;
mod words;

pub use page::Gathered;
