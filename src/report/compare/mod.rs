//! Poses side by side: what one has that the other has not, in words and numbers.

mod differences;
mod page;
mod pick;
mod terminal;

pub use page::page;
pub use pick::{MOST, Picked, Which, parse, pick};
pub use terminal::text;
