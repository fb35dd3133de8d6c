//! Parts on the table, and answers about them.
//!
//! - [`part`]: one part with all that no setting changes
//! - [`table`]: the parts there are, a bounded number
//! - [`advice`]: the ranking, first a quick one, then the full one
//! - [`hand`]: figures of a pose that is turned to by hand
//! - [`surface`]: what each facet means for the print in a pose
//! - [`values`]: settings as the page sends them
//! - [`command`]: command lines that give the same answers
//! - [`shape`]: the surface as the page draws it

pub mod advice;
pub mod command;
pub mod hand;
pub mod part;
pub mod shape;
pub mod surface;
pub mod table;
pub mod values;
