//! Slivers of the mesh: what stands free and is narrower than half a line. No nozzle draws it,
//! so it is neither slender nor soft, and nobody braces it.

use crate::figures::full::Cuts;
use crate::figures::slender::{SLIVER_LINES, slenderest, softest_sway};
use crate::figures::{Figures, Stretch};
use crate::settings::Settings;
use std::borrow::Cow;

/// Whether a stretch is too narrow to be drawn.
pub fn is_sliver(stretch: &Stretch, settings: &Settings) -> bool {
    stretch.width_mm < SLIVER_LINES * settings.line_mm
}

/// The stretches that are too narrow to be drawn, from the bed up.
pub(crate) fn slivers(cuts: &Cuts, settings: &Settings) -> Vec<Stretch> {
    let all = cuts.stretches.iter().copied();
    all.filter(|s| is_sliver(s, settings)).collect()
}

/// The figures of what is printed: as measured, but slenderness and sway without slivers.
pub(crate) fn drawn<'a>(f: &'a Figures, cuts: &Cuts, settings: &Settings) -> Cow<'a, Figures> {
    let real: Vec<Stretch> = (cuts.stretches.iter().copied())
        .filter(|s| !is_sliver(s, settings))
        .collect();
    if real.len() == cuts.stretches.len() {
        return Cow::Borrowed(f);
    }
    let slender = slenderest(&real).copied();
    Cow::Owned(Figures {
        slender_ratio: slender.map_or(0.0, |s| s.ratio),
        slender,
        sway_mm_per_n: softest_sway(&real) / settings.material.e_mpa,
        ..f.clone()
    })
}

#[cfg(test)]
mod tests {
    use crate::advice::{RankedPose, measure};
    use crate::figures::fixture;
    use crate::figures::quick::Bench;
    use crate::pose::Hull;
    use crate::settings::Settings;
    use nalgebra::Vector3;

    /// A plate with an upright fin of this thickness on it, 20 mm high.
    fn plate_with_fin(thick_mm: f64) -> RankedPose {
        let plate = [[0.0, 0.0, 0.0], [30.0, 30.0, 4.0]];
        let fin = [[10.0, 10.0, 4.0], [10.0 + thick_mm, 20.0, 24.0]];
        let soup = fixture::boxes(&[plate, fin], &[]);
        let part = fixture::part_of(&soup);
        let settings = Settings::default();
        let hull = Hull::new(&part.mesh.vertices).expect("a hull");
        measure(&Bench::new(&part, &settings, hull), -Vector3::z_axis())
    }

    /// 0.2 mm is less than half a line of 0.45 mm: neither a fault nor something to brace. The
    /// figures stay what they are.
    #[test]
    fn a_sliver_is_told_and_is_no_fault() {
        let pose = plate_with_fin(0.2);
        assert!(pose.figures.slender_ratio > 90.0, "{:?}", pose.figures);
        assert!(pose.faults.is_empty(), "{:?}", pose.faults);
        assert!(pose.design.is_empty(), "{:?}", pose.design);
        let said = pose.precautions.join(" ");
        assert!(said.contains("a sliver 0.2 mm wide"), "{said}");
        for other in ["stands free", "slow down", "Brim"] {
            assert!(!said.contains(other), "{said}");
        }
    }

    /// The same as thick as a line is braced.
    #[test]
    fn what_the_nozzle_draws_is_a_fault_as_before() {
        let pose = plate_with_fin(0.5);
        assert_eq!(pose.faults.len(), 1, "{:?}", pose.faults);
        assert!(!pose.design.is_empty());
        let said = pose.precautions.join(" ");
        assert!(
            said.contains("brace it") && !said.contains("sliver"),
            "{said}"
        );
    }
}
