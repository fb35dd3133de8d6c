//! What all readers share: formats, limits, and what a reader hands over.

use super::super::Mesh;
use super::super::error::ReadFault;
use super::super::units::Units;
use crate::words::named;
use std::time::Instant;

named! {
    /// A mesh file format, by its customary file ending.
    Format:
    /// STL, binary or text.
    Stl "stl",
    /// 3MF, the Core specification.
    ThreeMf "3mf",
    /// Wavefront OBJ.
    Obj "obj",
    /// PLY, text or binary of either byte order.
    Ply "ply",
    /// OFF, text or binary, with or without normals and colours.
    Off "off",
}

/// How to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadOptions {
    /// Units to take the file in, over whatever it says itself.
    pub units: Option<Units>,
    /// Most triangles that are taken, counted after 3MF components are placed.
    pub triangle_limit: u64,
    /// Most bytes of a file that are read.
    pub byte_limit: u64,
    /// Most bytes that a 3MF package may unpack to, all parts together.
    pub inflate_limit: u64,
    /// Most entries of a 3MF package.
    pub entry_limit: u64,
    /// When reading ends, finished or not.
    pub until: Option<Instant>,
}

impl ReadOptions {
    /// Refuses to go on where the time is over.
    pub(super) fn in_time(&self) -> Result<(), ReadFault> {
        ReadFault::if_late(self.until)
    }
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            units: None,
            triangle_limit: 40_000_000,
            byte_limit: 4_000_000_000,
            inflate_limit: 512_000_000,
            entry_limit: 4096,
            until: None,
        }
    }
}

/// What a format's reader hands over: file units, welded, not yet scaled.
#[derive(Debug)]
pub(super) struct Raw {
    pub(super) mesh: Mesh,
    /// Units that the file states.
    pub(super) units: Option<Units>,
    pub(super) notes: Vec<String>,
}

/// Refuses more triangles than `options` or the 32-bit corner numbers allow, and more time.
pub(super) fn check_count(triangles: u64, options: &ReadOptions) -> Result<(), ReadFault> {
    let limit = options.triangle_limit.min(u64::from(u32::MAX) / 3 - 1);
    if triangles > limit {
        return Err(ReadFault::TooManyTriangles { triangles, limit });
    }
    options.in_time()
}
