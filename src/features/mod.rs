//! Form features that a person would name: flats, bores, threads, snap arms, ledges and bodies apart. Part frame.
//!
//! They do not depend on the pose, so they are found once ([`Features`]) and kept with the
//! part. The ranking asks which overhang is too small to need support and which bores stand
//! upright; the measuring card asks what a calliper can reach; the desk asks which facets
//! are one face.

pub mod bodies;
pub mod bores;
mod cylinders;
mod found;
pub mod hexagons;
pub mod hooks;
pub mod opposite;
mod reach;
pub mod regions;
pub mod small;
pub mod threads;

pub use bodies::{Bodies, Captive, Lump};
pub use bores::Bore;
pub use found::Features;
pub use hexagons::Hexagon;
pub use hooks::Hook;
pub use opposite::{Between, Opposite};
pub use regions::Regions;
pub use small::{Size, sizes};
pub use threads::Thread;
