//! What a calliper should read on the print, and what its readings mean.

pub mod card;
pub mod holes;
pub mod readings;
pub mod tolerance;
