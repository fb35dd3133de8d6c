//! The program as a person or a script meets it: words in, text and exit code out.
//!
//! Parts are made here, in a folder of their own for each test. Golden texts lie in
//! `tests/golden/`; `WAYUP_GOLDEN=write cargo test --test cli` writes them anew.

mod advise;
mod bench;
mod certify;
mod checks;
#[path = "../common/mod.rs"]
mod common;
mod habits;
mod map;
mod measure;
mod one_part;
mod output;
mod words;
