//! What can be said before any layer is cut: facets of the hull in the order of their bounds.

use crate::advice::RankedPose;
use crate::advice::bodies::BodyKinds;
use crate::advice::reasons::Roles;
use crate::advice::support::SupportCall;
use crate::figures::Figures;
use crate::figures::quick::Bench;
use crate::figures::stop::Stop;
use crate::gauge::card;
use crate::pose::{Pose, axes};
use crate::rank::penalties::{self, ROWS, Row, Scene};
use crate::rank::search::{Candidate, Search};
use crate::rank::{Charge, Origin};
use crate::settings::weights::Penalty;
use nalgebra::{Unit, Vector3};
use std::sync::Arc;

/// Keys of the figures that are exact without a layer.
pub const KNOWN_FIGURES: [&str; 12] = [
    "height_mm",
    "layers",
    "footprint_mm",
    "contact_area_mm2",
    "tip_angle_deg",
    "underside_area_mm2",
    "bores_lying_mm2",
    "layer_steps_mean_um",
    "base_shrinkage_mm",
    "load_across_layers",
    "round_missed",
    "flat_missed",
];

/// Rows of the penalty table that are exact without a layer.
pub const KNOWN_PENALTIES: [Penalty; 9] = [
    Penalty::Contact,
    Penalty::Underside,
    Penalty::Bores,
    Penalty::Tip,
    Penalty::Height,
    Penalty::Stairs,
    Penalty::Load,
    Penalty::Round,
    Penalty::Flat,
];

/// The `top` facets of the hull with the lowest bounds, equivalent ones and neighbours left out.
///
/// Figures that need layers are at the least that they can be, and so is the total:
/// only [`KNOWN_FIGURES`] and [`KNOWN_PENALTIES`] are to be shown. There are no reasons
/// and no precautions. O(n) for a few facets near the bed each; those that come after it was to
/// stop are left out.
pub fn glance(bench: &Bench, search: &Search, top: usize, stop: &Stop) -> Vec<RankedPose> {
    let bodies = BodyKinds::new(bench);
    let ranked = |(c, rank)| RankedPose {
        rank,
        ..entry(bench, search, &bodies, c)
    };
    let found = search.facets_by_bound(top.max(1), stop);
    found.iter().zip(1..).map(ranked).collect()
}

/// One direction, as [`glance`] shows it, without rank.
fn entry(bench: &Bench, search: &Search, bodies: &BodyKinds, candidate: &Candidate) -> RankedPose {
    let settings = bench.settings;
    let pose = Pose::new(&candidate.down, &bench.hull().vertices);
    let figures = Figures {
        footprint_mm: bench.hull().footprint_mm(&pose),
        ..penalties::floor(bench, &candidate.quick, &candidate.down)
    };
    let values = Scene::new(bench.part, settings, &figures).charges();
    let known = (pose, figures, &values[..]);
    wordless(bench, search, bodies, candidate, known, None)
}

/// A pose at the default yaw with its figures and penalties, and nothing said of it yet but
/// its card: that of the pose `written`, which may be turned about Z.
pub(super) fn wordless(
    bench: &Bench,
    search: &Search,
    bodies: &BodyKinds,
    candidate: &Candidate,
    (pose, figures, values): (Pose, Figures, &[f64]),
    written: Option<&Pose>,
) -> RankedPose {
    let ([x, y], z) = (figures.footprint_mm, figures.height_mm);
    // The card leaves crumbs out.
    let extents_mm = bodies.extents_mm(&pose).unwrap_or([x, y, z]);
    let charge = |(row, &value): (&Row, &f64)| Charge {
        penalty: row.penalty,
        value,
    };
    RankedPose {
        rank: 0,
        axes: axes(bench.part, &pose),
        equivalent: search.equivalent(&candidate.down),
        undominated: true,
        origin: candidate.origin,
        needs_support: false,
        support: SupportCall::Off,
        charges: ROWS.iter().zip(values).map(charge).collect(),
        total: candidate.bound,
        share: None,
        gates: candidate.gates.clone(),
        reasons: Vec::new(),
        roles: Roles::default(),
        brief: String::new(),
        precautions: Vec::new(),
        precautions_detail: Vec::new(),
        faults: Vec::new(),
        design: Vec::new(),
        layer_profile: None,
        cuts: Arc::default(),
        gentle_mm3: 0.0,
        spanning: None,
        card: card::card(
            &card::JawWork {
                features: &bench.layout.features,
                opposite: bench.layout.opposite(bench.part),
                held: bench.layout.held(bench.part),
            },
            &card::AsWritten {
                level: &pose,
                written: written.unwrap_or(&pose),
                extents_mm,
                corners: &bench.hull().vertices,
            },
            bench.settings,
        ),
        pose,
        figures,
    }
}

/// The part direction itself, without rank, as [`glance`] shows it.
pub fn of_direction(bench: &Bench, search: &Search, down: Unit<Vector3<f64>>) -> RankedPose {
    let candidate = search.candidate(down, Origin::Named);
    entry(bench, search, &BodyKinds::new(bench), &candidate)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::fixture::{boxes, part_of};
    use crate::pose::Hull;
    use crate::settings::Settings;

    #[test]
    fn what_was_to_stop_looks_at_no_further_facet() {
        let soup = boxes(&[[[0.0; 3], [30.0, 20.0, 10.0]]], &[]);
        let part = part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        assert_eq!(glance(&bench, &search, 3, &Stop::never()).len(), 3);
        assert!(glance(&bench, &search, 3, &Stop::when(&|| true)).is_empty());
    }
}
