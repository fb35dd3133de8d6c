//! What a part must meet, and the reports of it that build systems read.

pub mod judged;
pub mod junit;
pub mod require;
pub mod sarif;
