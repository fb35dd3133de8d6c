//! Planar geometry: polygons and their moments, boolean operations, hulls, rectangles.

pub mod moments;
pub mod overlay;
pub mod polygon;
pub mod rect;
pub mod union;
