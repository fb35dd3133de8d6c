//! What each facet of a part means for the print in a pose, for the page to hatch.

use crate::figures::sliced::Sliced;
use crate::figures::subdivide::each_piece;
use crate::report::draw::spans;
use crate::report::draw::surface::{MarkedSurface, Meaning};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use rayon::prelude::*;
use serde_json::{Value, json};
use std::sync::Arc;

/// Each side of a facet is looked at in so many places: the vote of n² pieces decides.
const PIECES: usize = 4;

/// What the page hatches, and the bridges that it draws arrows for.
#[derive(Debug, Clone)]
pub struct FacetMarks {
    /// A byte a triangle in base64: 0 nothing, 1 lies on the bed, 2 hangs over, 3 a bridge
    /// carries it.
    pub meaning: Arc<str>,
    /// The largest bridges: middle, direction and span, part frame, mm.
    pub spans: Value,
}

/// The marks of a pose. Where it is not cut into layers yet, that takes about as long as
/// measuring it.
pub fn marks(sliced: &Sliced) -> FacetMarks {
    let (surface, posed) = (MarkedSurface::of(sliced), sliced.posed());
    let bytes: Vec<u8> = (0..posed.normal_z.len())
        .into_par_iter()
        .with_min_len(1024)
        .map(|t| meaning(&surface, t))
        .collect();
    let part_from_build = posed.pose.build_from_part.inverse();
    let spans: Vec<Value> = spans::spans(&surface, sliced.settings().bridge_limit_mm)
        .iter()
        .map(|s| {
            let (middle, along) = (part_from_build * s.middle, part_from_build * s.along);
            json!({
                "middle": [middle.x, middle.y, middle.z],
                "along": [along.x, along.y, along.z],
                "span_mm": s.span_mm,
            })
        })
        .collect();
    FacetMarks {
        meaning: STANDARD.encode(bytes).into(),
        spans: spans.into(),
    }
}

/// What most of a facet means.
fn meaning(surface: &MarkedSurface, t: usize) -> u8 {
    if !surface.leans(t as u32) {
        return 0;
    }
    let posed = surface.posed;
    let corners = posed.corners(t);
    let mut votes = [0_usize; 4];
    each_piece(&corners, PIECES, |p| {
        let kind = match surface.meaning(t as u32, p.into()) {
            Meaning::Plain => 0,
            Meaning::Contact => 1,
            Meaning::HangsOver => 2,
            Meaning::Bridged(_) => 3,
        };
        votes[kind] += 1;
    });
    // Of as many votes the one that asks for more.
    (0..4).max_by_key(|k| votes[*k]).map_or(0, |k| k as u8)
}
