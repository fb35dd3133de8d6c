//! What a maker may want of a part that its shape alone does not tell, and which pose that asks
//! for: a bore that must come out round, a side that must come out flat, a pull along a member.
//!
//! Each is put to the poses that were judged, by the row of the penalty table that the flag
//! would bring in (`--round`, `--flat`, `--load`). Where another pose then comes first it is
//! told, with what it costs beside pose 1; where nothing changes, nothing is said. Where no pose
//! judged meets the purpose one more is measured, if the search was long enough that this hardly
//! counts. A bore or a thread that no pose does well by is told too, with what to do instead.

mod asked;
mod find;
mod given;
mod kind;
mod reliefs;
mod told;

pub use asked::{AskedPurpose, asked};
pub use given::{UnmetPurpose, check};
pub use kind::PurposeKind;
pub use told::{Purpose, purposes};
