//! Slivers of the mesh: what stands free and is narrower than half a line. No nozzle draws it, so
//! it is neither slender nor soft, and nobody braces it.

use super::Stretch;
use super::slender::SLIVER_LINES;
use crate::settings::Settings;

/// Whether a stretch is too narrow to be drawn.
pub fn is_sliver(stretch: &Stretch, settings: &Settings) -> bool {
    stretch.width_mm < SLIVER_LINES * settings.line_mm
}

/// The stretches that are too narrow to be drawn, from the bed up.
pub(crate) fn slivers(stretches: &[Stretch], settings: &Settings) -> Vec<Stretch> {
    let all = stretches.iter().copied();
    all.filter(|s| is_sliver(s, settings)).collect()
}

/// Those that are drawn, from the bed up.
pub(crate) fn drawn(stretches: &[Stretch], settings: &Settings) -> Vec<Stretch> {
    let all = stretches.iter().copied();
    all.filter(|s| !is_sliver(s, settings)).collect()
}
