//! What the settings ask for, and whether the first pose does it.

use super::find;
use super::kind::{PurposeKind, typed};
use crate::figures::purpose::{is_on_bed, is_upright};
use crate::figures::quick::Bench;
use crate::figures::show;
use crate::figures::strength::load_across_layers;
use crate::pose::Posed;
use crate::rank::search::Scored;
use crate::words;
use nalgebra::{Unit, Vector3};
use schemars::JsonSchema;
use serde::Serialize;

/// A load across the layers by no more than this runs along them: cos² of 75° to their normal.
const ALONG: f64 = 0.067;
/// A cosmetic side of which less than this share of the surface is marked keeps clean.
const CLEAN: f64 = 0.005;

/// A purpose that the settings ask for.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AskedPurpose {
    /// round, flat, relief (a cosmetic side) or pull.
    #[schemars(with = "String")]
    pub kind: PurposeKind,
    /// The flag that asks for it.
    pub flag: String,
    /// What it is about, in words.
    pub what: String,
    /// Axis, outward direction of the side, or direction of the pull; part frame.
    pub direction: [f64; 3],
    /// Where in the part that is, mm; null where it is the whole part or side.
    pub at_mm: Option<[f64; 3]>,
    /// Whether the first pose does it.
    pub met: bool,
    /// All of it in a sentence.
    pub says: String,
}

/// What the settings ask for, in the order of the flags, beside the first pose.
pub fn asked(bench: &Bench, first: &Scored) -> Vec<AskedPurpose> {
    let settings = bench.settings;
    let down = &first.candidate.down;
    let mut out = Vec::new();
    let mut told = |kind: PurposeKind, direction: &Unit<Vector3<f64>>, what: String, met, says| {
        out.push(AskedPurpose {
            kind,
            flag: format!("{} {}", kind.flag(), typed(direction)),
            what,
            direction: direction.into_inner().into(),
            at_mm: find::place(bench, kind, direction),
            met,
            says,
        });
    };
    let capital = |says: String| words::capital(&says);
    for axis in &settings.round {
        let along = format!("what is round along {}", typed(axis));
        let (what, several) = find::named_along(bench, axis, None).unwrap_or((along, false));
        let met = is_upright(down, axis);
        let says = match (met, several) {
            (true, false) => format!("{what} stands upright, as asked."),
            (true, true) => format!("{what} stand upright, as asked."),
            (false, false) => {
                format!("{what} does not stand upright: no pose meets all that is asked.")
            }
            (false, true) => {
                format!("{what} do not stand upright: no pose meets all that is asked.")
            }
        };
        told(PurposeKind::Round, axis, what, met, capital(says));
    }
    for side in &settings.flat {
        let what = format!("the {}", words::side(side));
        let met = is_on_bed(down, side);
        let says = if met {
            format!("{what} lies on the bed, as asked.")
        } else {
            format!("{what} does not lie on the bed: no pose meets all that is asked.")
        };
        told(PurposeKind::Flat, side, what, met, capital(says));
    }
    if !settings.show.is_empty() {
        let posed = Posed::new(bench.part, first.pose.clone());
        for side in &settings.show {
            let only = crate::settings::Settings {
                show: vec![*side],
                ..settings.clone()
            };
            let marked_mm2 = show::marked_mm2(&posed, &only);
            let met = marked_mm2 <= CLEAN * bench.part.mass.area_mm2;
            let what = format!("the {}", words::side(side));
            let says = if met {
                format!("{what} stays clean, as asked.")
            } else {
                format!(
                    "{} of {what} get marks or layer steps: no pose keeps it cleaner.",
                    words::area(marked_mm2)
                )
            };
            told(PurposeKind::Relief, side, what, met, capital(says));
        }
    }
    if let Some(load) = &settings.load {
        let across = load_across_layers(down, load);
        let met = across <= ALONG;
        let what = format!("the load along {}", typed(load));
        let says = if met {
            format!("{what} runs along the layers, as asked.")
        } else {
            format!(
                "{what} runs across the layers, {}% of it square to them.",
                words::decimal(100.0 * across, 0)
            )
        };
        told(PurposeKind::Pull, load, what, met, capital(says));
    }
    out
}
