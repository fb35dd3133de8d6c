//! What all doors share: intake of a file, settings in force, output files, the clock, failures.

pub mod clock;
pub mod config;
pub mod destination;
pub mod exit;
pub mod intake;
pub mod memory;
