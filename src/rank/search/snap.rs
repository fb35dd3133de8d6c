//! Directions less than a degree off a face of the part: the face itself. Nobody tilts a part by
//! so little, and a print of it stands on an edge.

use super::{Candidate, MOST_FACETS, Search};
use crate::figures::quick::Bench;
use crate::pose::{Rest, standing};
use crate::rank::Origin;
use nalgebra::{Unit, Vector3};

/// Directions within this angle of a face become that face, degrees (house value).
const SNAP_DEG: f64 = 1.0;
/// A facet of the hull is a face where plane regions of the part lie in it to within this
/// angle, degrees …
const SAME_DEG: f64 = 0.2;
/// … each of at least this area …
const FOOT_MM2: f64 = 5.0;
/// … and all of at least this one, mm², and of this share of the surface (house values).
const LEAST_MM2: f64 = 20.0;
const LEAST_SHARE: f64 = 0.002;

impl Search<'_> {
    /// Turns candidates that were found (neither the pose of the file nor a named one) and lie
    /// within a degree of a face into that face, unless it fails a gate that they pass. A face
    /// that is in the list already is found to be the same by whoever reads it.
    pub(super) fn snap(&self, candidates: &mut [Candidate]) {
        let normals = faces(self.bench);
        let faces: Vec<Candidate> = (candidates.iter())
            .filter(|c| matches!(c.origin, Origin::Resting | Origin::Helped))
            .filter(|c| normals.contains(&c.down))
            .cloned()
            .collect();
        let cosine = libm::cos(SNAP_DEG.to_radians());
        for c in candidates {
            if matches!(c.origin, Origin::Stored | Origin::Named) {
                continue;
            }
            let nearest = (faces.iter())
                .filter(|f| f.down.dot(&c.down) > cosine && f.tier() <= c.tier())
                .max_by(|a, b| a.down.dot(&c.down).total_cmp(&b.down.dot(&c.down)));
            if let Some(face) = nearest.filter(|f| f.down != c.down) {
                let origin = match c.origin {
                    // They are counted by where they came from.
                    Origin::Lattice | Origin::Refined => c.origin,
                    _ => face.origin,
                };
                *c = Candidate {
                    origin,
                    ..face.clone()
                };
            }
        }
    }

    /// Whether a direction is a face that hardly tips.
    pub(super) fn is_steady(&self, down: &Unit<Vector3<f64>>) -> bool {
        self.steady.iter().any(|s| s.dot(down) > 1.0 - 1e-9)
    }

    /// Faces over which the part does not stand, but from which it tips by less than a degree on to a
    /// facet of the hull on which it does: it lies on such a face, and the first support under what
    /// is a hair higher holds it.
    pub(super) fn steady(bench: &Bench) -> Vec<Unit<Vector3<f64>>> {
        let rests = standing::standing(bench.hull(), &bench.part.mass.centroid, MOST_FACETS);
        let cosine = libm::cos(SNAP_DEG.to_radians());
        let faces = faces(bench);
        let tips_little = |r: &&Rest| {
            let onto = |s: &Rest| s.stands && s.down != r.down && s.down.dot(&r.down) > cosine;
            !r.stands && faces.contains(&r.down) && rests.iter().any(onto)
        };
        rests.iter().filter(tips_little).map(|r| r.down).collect()
    }
}

/// Normals of the facets of the hull in which plane regions of real size lie, one or several
/// feet. A facet that only spans edges and corners is no face of the part.
fn faces(bench: &Bench) -> Vec<Unit<Vector3<f64>>> {
    let (part, layout) = (bench.part, &bench.layout);
    let least = LEAST_MM2.max(LEAST_SHARE * part.mass.area_mm2);
    let cosine = libm::cos(SAME_DEG.to_radians());
    let touch = bench.settings.touch_mm();
    let regions = layout.features.regions.list.iter();
    let large: Vec<_> = regions.filter(|r| r.area_mm2 >= FOOT_MM2).collect();
    (layout.hull.facets().iter().take(MOST_FACETS))
        .filter(|facet| {
            let within = large.iter().filter(|r| {
                let level = facet.offset_mm - r.centre.coords.dot(&facet.normal);
                r.normal.dot(&facet.normal) > cosine && level.abs() <= touch
            });
            within.map(|r| r.area_mm2).sum::<f64>() >= least
        })
        .map(|facet| facet.normal)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::fixture;
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use crate::rank::search::angle_deg;
    use crate::settings::Settings;

    fn tilted(deg: f64) -> Unit<Vector3<f64>> {
        let (s, c) = libm::sincos(deg.to_radians());
        Unit::new_normalize(Vector3::new(s, 0.0, -c))
    }

    /// Bed directions of candidates after they were snapped, on a union of boxes.
    fn snapped(
        boxes: &[[[f64; 3]; 2]],
        given: &[(f64, Origin)],
    ) -> Vec<(Unit<Vector3<f64>>, Origin)> {
        let soup = fixture::boxes(boxes, &[]);
        let part = fixture::part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        let bench = Bench::new(&part, &settings, hull);
        let search = Search::new(&bench);
        let mut all: Vec<Candidate> = given
            .iter()
            .map(|&(deg, origin)| search.candidate(tilted(deg), origin))
            .collect();
        search.snap(&mut all);
        all.iter().map(|c| (c.down, c.origin)).collect()
    }

    const PLATE: [[f64; 3]; 2] = [[0.0; 3], [60.0, 40.0, 5.0]];

    #[test]
    fn less_than_a_degree_off_a_face_is_the_face() {
        let found = snapped(
            &[PLATE],
            &[
                (0.0, Origin::Resting),
                (0.6, Origin::Lattice),
                (0.6, Origin::Refined),
                (1.5, Origin::Lattice),
                (0.6, Origin::Stored),
                (0.6, Origin::Named),
            ],
        );
        let off: Vec<f64> = found
            .iter()
            .map(|f| angle_deg(&f.0, &tilted(0.0)))
            .collect();
        for (k, want) in [0.0, 0.0, 0.0, 1.5, 0.6, 0.6].into_iter().enumerate() {
            assert!((off[k] - want).abs() < 1e-9, "{off:?}");
        }
        // Counted by where it came from.
        assert_eq!(found[1].1, Origin::Lattice);
    }

    /// A facet of the hull that spans from the edge of a face to a lug half a millimetre higher:
    /// it is no face of the part, and less than a degree off one on which the part stands.
    #[test]
    fn a_facet_that_only_spans_edges_gives_way_to_the_face_beside_it() {
        let lug = [[60.0, 10.0, 0.5], [90.0, 30.0, 5.0]];
        let spans = libm::atan2(0.5, 30.0).to_degrees();
        let given = [(0.0, Origin::Resting), (spans, Origin::Helped)];
        let found = snapped(&[PLATE, lug], &given);
        assert!(angle_deg(&found[1].0, &tilted(0.0)) < 1e-9, "{found:?}");
        // A part that tips off its face by less than a degree lies on it all the same.
        let heavy = [[60.0, 0.0, 0.5], [130.0, 40.0, 45.0]];
        let foot = [[40.0, 0.0, 0.0], [60.0, 40.0, 5.0]];
        let spans = libm::atan2(0.5, 70.0).to_degrees();
        let given = [(0.0, Origin::Helped), (spans, Origin::Resting)];
        let found = snapped(&[foot, heavy], &given);
        assert!(angle_deg(&found[1].0, &tilted(0.0)) < 1e-9, "{found:?}");
    }

    /// Off a face by more than a degree it falls over, and that gate stands.
    #[test]
    fn what_tips_by_more_than_a_degree_falls_over() {
        let gates = |lift: f64, out: f64| {
            let heavy = [[60.0, 0.0, lift], [60.0 + out, 40.0, 45.0]];
            let foot = [[40.0, 0.0, 0.0], [60.0, 40.0, 5.0]];
            let soup = fixture::boxes(&[foot, heavy], &[]);
            let part = fixture::part_of(&soup);
            let settings = Settings::default();
            let hull = Hull::new(&part.mesh.vertices).expect("a hull");
            let bench = Bench::new(&part, &settings, hull);
            Search::new(&bench)
                .candidate(tilted(0.0), Origin::Helped)
                .gates
        };
        assert_eq!(gates(0.5, 70.0), []);
        assert_eq!(gates(1.4, 50.0), [crate::rank::FailedGate::Tips]);
        // Higher up support holds it.
        assert_eq!(gates(3.0, 70.0), []);
    }
}
