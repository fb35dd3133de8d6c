//! Files that no program should have to read: each with its written outcome, and every bound that
//! the program promises on time and memory.
//!
//! The files are made here, by code; `outcomes.toml` says of each what the program must answer.
//! `WAYUP_OUTCOMES=show cargo test --test awkward -- --nocapture` prints what it answers now.

#[path = "../cli/bench.rs"]
#[allow(dead_code, reason = "made for the tests of the command line")]
mod bench;
mod bounds;
#[path = "../common/mod.rs"]
mod common;
mod corpus;
mod cuts;
mod formats;
mod mutate;
mod places;
mod promises;
mod shapes;
