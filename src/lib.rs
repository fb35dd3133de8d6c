//! # wayup: which way up should this part be printed?
//!
//! A mesh goes in; a ranked list of build orientations with their trade-offs comes out. To read a
//! part, rank its poses and measure one of them:
//!
//! ```
//! use wayup::rank::search::{Silent, Wanted};
//! use wayup::{advice, session::intake, settings::Settings, settings::triple::direction};
//!
//! let part = intake::read("meshes/page-holder.stl".as_ref(), None)?;
//! let settings = Settings { limit_deg: 50.0, ..Settings::default() };
//! let bench = part.bench(&settings)?;
//! let ranked = advice::advise(&bench, &Wanted::first(3), &Silent)?;
//! assert!(ranked.verdict.starts_with("Print it with the −Y side down"));
//! let best = &ranked.poses[0];
//! assert!(!best.needs_support && best.figures.height_mm < 29.0);
//! let upright = advice::measure(&bench, direction("-z")?);
//! assert!(upright.figures.slender_ratio > 10.0 * best.figures.slender_ratio);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! A program that needs the geometry alone takes the crate with `default-features = false`: no web
//! server, database or Parquet is built then. [`docs`] has a quickstart, every figure with its
//! meaning, and how good the advice is. What follows is the index of every capability, one line each.
//!
//! A part flows through four rooms, from the door inward and back out:
//!
//! ```text
//! file ─► mesh (read, weld, orient, weigh) ─► pose (directions worth trying)
//!      ─► figures (measure one pose) ─► rank (compare poses) ─► advice (say why) ─► report ─► cli
//! ```
//!
//! Frames: *part* is the frame of the file in millimetres; *build* is the frame
//! of ISO/ASTM 52921 (now ISO 17295): right-handed, X–Y is the build platform,
//! +Z points away from it. A map is named by both ends: `build_from_part`.
//! Angles are radians inside and degrees outside; names carry the unit.
//!
//! # From figures to advice
//!
//! - [`advice::reasons`], [`advice::verdict`]: why a pose stands where it stands, and when none is good
//! - [`advice::precautions`]: what to do on the machine, one table of rules with thresholds and sources
//! - [`advice::design`]: what change of the part would help, with place and size
//! - [`advice::glance`]: what can be said before any layer is cut
//! - [`gauge::card`], [`gauge::readings`]: what a calliper should read, and what its readings mean
//!
//! # Settings and doors
//!
//! - [`settings::Settings`]: every value that can change a figure or a rank
//! - [`settings::overrides`]: those that a person gives, from flags or a `wayup.toml`, with their ranges
//! - [`settings::triple`]: `X,Y,Z` and signed axes as directions
//! - [`words`]: directions, lengths, areas, times in words
//! - [`report::advise`], [`report::measure`], [`report::inspect`], [`report::turn`]: results in words
//! - [`report::table`]: ranked poses side by side, for any width
//! - [`report::json`], [`report::number`]: the same as JSON, byte for byte the same on every run
//! - [`report::schema`]: the JSON Schema of all of it
//! - [`report::cautions`]: what all of it has to be read with
//! - [`settings::weights`]: weights that override those of the penalty table
//! - [`desk`]: a page on this machine: [`desk::server`] answers it, [`desk::engine`] knows the parts,
//!   [`rank::known`] remembers what was measured
//! - [`library`]: a whole folder of parts: [`library::walk`] finds them, [`library::crew`] shares out the work,
//!   [`library::store`] keeps a record of each, [`library::sheets`] their sheets, [`library::export`] and [`library::summary`] make files of them
//! - [`checks::require`]: conditions that a part must meet; [`checks::junit`], [`checks::sarif`]: reports of them
//! - [`mesh::from_arrays`]: a part from vertices and faces in memory, the door of the Python module
//! - [`cli`]: the commands, completions and manual pages; [`session::exit`]: how a run ends; [`session::config`]: what is in force for a part;
//!   [`session::destination`]: output files that are never half-written
#![doc = include_str!("promises.md")]

pub mod advice;
pub mod checks;
pub mod cli;
#[cfg(feature = "desk")]
pub mod desk;
pub mod docs;
pub mod features;
pub mod figures;
pub mod gauge;
#[cfg(feature = "library")]
pub mod library;
pub mod materials;
pub mod mesh;
pub mod plane;
pub mod pose;
pub mod rank;
pub mod report;
pub mod session;
pub mod settings;
mod sync;
mod tables;
pub mod tol;
pub mod words;
