//! The section at touch height, facet by facet: what the quick figures need of it.

use crate::mesh::NO_NEIGHBOUR;
use crate::plane::{polygon, union};
use crate::pose::{down_rotation, in_plane};
use nalgebra::{Point2, Point3, Unit, Vector3};

/// Two axes that span the bed, right-handed with −down.
pub(super) fn bed_axes(down: &Unit<Vector3<f64>>) -> [Vector3<f64>; 2] {
    let part_from_build = down_rotation(down).inverse();
    [Vector3::x(), Vector3::y()].map(|axis| part_from_build * axis)
}

/// One facet's piece of the touch section, material on the left.
pub(super) struct Segment {
    pub from: Point2<f64>,
    pub to: Point2<f64>,
    /// Half-edges by which the section enters and leaves the facet.
    enter: u32,
    leave: u32,
}

impl Segment {
    /// `None` where the facet does not cross. A corner at the touch height counts
    /// as above it.
    pub fn cut(
        t: usize,
        corners: &[Point3<f64>; 3],
        heights: [f64; 3],
        touch: f64,
        axes: &[Vector3<f64>; 2],
    ) -> Option<Self> {
        let above = heights.map(|h| h >= touch);
        let rising = (0..3).find(|&i| !above[i] && above[(i + 1) % 3])?;
        let falling = (0..3).find(|&i| above[i] && !above[(i + 1) % 3])?;
        // From the lower corner on both sides of an edge: the same bits.
        let cross = |low: usize, high: usize| {
            let s = (touch - heights[low]) / (heights[high] - heights[low]);
            in_plane(axes, &(corners[low] + (corners[high] - corners[low]) * s))
        };
        Some(Self {
            from: cross((falling + 1) % 3, falling),
            to: cross(rising, (rising + 1) % 3),
            enter: (t * 3 + falling) as u32,
            leave: (t * 3 + rising) as u32,
        })
    }
}

/// Share of a facet's area that lies below `touch`.
pub(super) fn share_below(mut heights: [f64; 3], touch: f64) -> f64 {
    heights.sort_by(f64::total_cmp);
    let [a, b, c] = heights;
    if touch >= c {
        1.0
    } else if touch <= a {
        0.0
    } else if touch <= b {
        (touch - a).powi(2) / ((b - a) * (c - a))
    } else {
        1.0 - (c - touch).powi(2) / ((c - b) * (c - a))
    }
}

/// Area of the union (non-zero rule) of the loops that the segments form.
pub(super) fn union_area(segments: &[Segment], opposite: &[u32]) -> f64 {
    let mut by_entry: Vec<(u32, usize)> = segments
        .iter()
        .enumerate()
        .map(|(i, s)| (s.enter, i))
        .collect();
    by_entry.sort_unstable();
    let mut seen = vec![false; segments.len()];
    let mut rings: Vec<polygon::Ring> = Vec::new();
    for start in 0..segments.len() {
        let mut ring = Vec::new();
        let mut at = start;
        while !seen[at] {
            seen[at] = true;
            ring.push(segments[at].to);
            let next = opposite[segments[at].leave as usize];
            let Ok(found) = by_entry.binary_search_by_key(&next, |e| e.0) else {
                break;
            };
            if next == NO_NEIGHBOUR {
                break;
            }
            at = by_entry[found].1;
        }
        if ring.len() >= 3 {
            rings.push(ring);
        }
    }
    let areas = union::union(rings.iter().map(Vec::as_slice));
    areas.iter().flatten().map(|ring| polygon::area(ring)).sum()
}
