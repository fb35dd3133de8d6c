//! Figures of a pose that is turned to by hand.

use super::advice::known_only;
use super::command;
use super::part::DeskPart;
use crate::advice::{self, glance};
use crate::figures::stop::Stop;
use crate::rank::search::{Search, angle_deg};
use crate::settings::Settings;
use nalgebra::{Unit, Vector3};
use serde_json::{Value, json};
use std::time::Instant;

/// A resting pose is near within this, degrees.
const NEAR_DEG: f64 = 15.0;

/// A face that lies this close to a facet of the hull is laid down on that, degrees.
const FACE_DEG: f64 = 2.0;

/// A direction that the hand has turned down, and what is ranked now.
#[derive(Debug, Clone)]
pub struct HandTurn {
    /// Number that the page gave it.
    pub seq: u64,
    /// Part direction.
    pub down: Unit<Vector3<f64>>,
    /// Directions of the ranking shown, best first.
    pub ranked: Vec<Unit<Vector3<f64>>>,
}

/// The message with the figures that need no layers.
pub fn quick(part: &DeskPart, settings: &Settings, turn: &HandTurn) -> Value {
    let began = Instant::now();
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let pose = glance::of_direction(&bench, &search, turn.down);
    let mut message = head(part, settings, turn, "quick");
    message["pose"] = known_only(&pose);
    message["ms"] = (began.elapsed().as_secs_f64() * 1000.0).into();
    message
}

/// The message with all figures, and what each facet means; none where it is stopped.
pub fn full(part: &DeskPart, settings: &Settings, turn: &HandTurn, stop: &Stop) -> Option<Value> {
    let began = Instant::now();
    let bench = part.bench(settings);
    let search = Search::on(&bench, &part.known);
    let (pose, sliced) = advice::measure_until(&bench, &search, turn.down, stop)?;
    if stop.asked() {
        return None;
    }
    let marks = part.marks(&turn.down, &sliced);
    let mut message = head(part, settings, turn, "full");
    message["pose"] = json!(pose);
    message["meaning"] = marks.meaning.as_ref().into();
    message["spans"] = marks.spans;
    message["ms"] = (began.elapsed().as_secs_f64() * 1000.0).into();
    Some(message)
}

/// What goes with the figures.
fn head(part: &DeskPart, settings: &Settings, turn: &HandTurn, stage: &str) -> Value {
    json!({
        "say": "figures",
        "part": part.id,
        "seq": turn.seq,
        "stage": stage,
        "command": command::turn(part, settings, &turn.down),
        "near": near(part, turn),
    })
}

/// The nearest pose in which the part stands, with its place in the ranking.
fn near(part: &DeskPart, turn: &HandTurn) -> Option<Value> {
    let places = (turn.ranked.iter().enumerate()).map(|(i, d)| (d, Some(i + 1)));
    let rests = part.rests.iter().map(|d| (d, None));
    let (down, rank, deg) = places
        .chain(rests)
        .map(|(d, rank)| (d, rank, angle_deg(d, &turn.down)))
        .filter(|(_, _, deg)| *deg <= NEAR_DEG)
        // Of equal ones the first: the one with a place.
        .min_by(|a, b| a.2.total_cmp(&b.2))?;
    Some(json!({"down": [down.x, down.y, down.z], "deg": deg, "rank": rank}))
}

/// The direction in which a face looks: that of its plane region, or of the facet of the
/// hull that it is part of. `None` for a triangle that is not there or has no area.
pub fn face(part: &DeskPart, triangle: usize) -> Option<Unit<Vector3<f64>>> {
    let regions = &part.layout.features.regions;
    let region = regions.list.get(*regions.of.get(triangle)? as usize)?;
    let normal = region.normal;
    (normal.norm() > 0.5).then(|| {
        part.facets
            .iter()
            .map(|d| (angle_deg(d, &normal), d))
            .filter(|(deg, _)| *deg <= FACE_DEG)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(normal, |(_, d)| *d)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::config::Resolved;
    use crate::session::intake;

    /// Figures, words, proposals and marks of a turn rest on one cut.
    #[test]
    fn a_turn_by_hand_cuts_the_layers_once() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/meshes/mouthpiece-tray.stl");
        let intake = intake::bytes(path.as_ref())
            .and_then(|bytes| intake::take(path.as_ref(), bytes, None, None))
            .expect("a part");
        let base = Resolved::default();
        let settings = base.settings.clone();
        let part = DeskPart::new(1, intake, false, base).expect("a hull");
        let turn = HandTurn {
            seq: 1,
            down: Unit::new_normalize(Vector3::new(0.3, -0.5, -0.8)),
            ranked: Vec::new(),
        };
        let message = full(&part, &settings, &turn, &Stop::never());
        assert!(message.expect("never stopped")["meaning"].is_string());
        assert_eq!(part.layout.slicings(), 1);
    }
}
