//! Purposes that a part cannot have.

use crate::advice::purposes;
use crate::figures::quick::Bench;
use crate::session::exit::{Exit, Failure};

/// Refuses an axis of `--round` or a side of `--flat` that the part does not have.
///
/// # Errors
/// Exit 2, with the nearest ones that it has.
pub(super) fn check(bench: &Bench) -> Result<(), Failure> {
    purposes::check(bench)
        .map_err(|unmet| Failure::new(Exit::Words, unmet.flag, unmet.defect, unmet.hint))
}
