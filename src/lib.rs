//! # wayup: which way up should this part be printed?
//!
//! A mesh goes in; a ranked list of build orientations with their trade-offs
//! comes out. This page is the index of every capability, a line each.
//!
//! A part flows through four rooms, from the door inward and back out:
//!
//! ```text
//! file ─► mesh (read, weld, orient, weigh) ─► pose (directions worth trying)
//!      ─► figures (measure one pose) ─► rank (compare poses) ─► report ─► cli
//! ```
//!
//! Frames: *part* is the frame of the file in millimetres; *build* is the frame
//! of ISO/ASTM 52921 (now ISO 17295): right-handed, X–Y is the build platform,
//! +Z points away from it. A map is named by both ends: `build_from_part`.
//! Angles are radians inside and degrees outside; names carry the unit.

pub mod cli;
pub mod features;
pub mod figures;
pub mod materials;
pub mod mesh;
pub mod pose;
pub mod rank;
pub mod report;
pub mod settings;
pub mod tol;
pub mod words;
