//! How low over the bed overhang prints by itself.

use crate::settings::Settings;

/// Slopes no higher than this over the bed are rounded or chamfered edges of the base: the few
/// lines that hang over rest on the bed where they sag, and support that low does not come
/// off, mm (house value).
pub(crate) const LOW_SLOPE_MM: f64 = 1.5;

/// What hangs no higher than so many layers over the bed has room for a single layer of
/// support, between the one on the bed and the gap that lets it come off.
const LOW_LAYERS: f64 = 3.0;

/// Height over the bed below which support under a ceiling does nothing, mm.
pub(crate) fn low_mm(settings: &Settings) -> f64 {
    let above_first = (LOW_LAYERS - 1.0) * settings.layer_mm;
    settings.first_layer_mm + above_first + 0.05 * settings.layer_mm
}

/// Height over the bed up to which an island sags on to it, mm: no more than a single layer of air is
/// below it.
pub(crate) fn low_island_mm(settings: &Settings) -> f64 {
    settings.first_layer_mm + 0.5 * settings.layer_mm
}

/// Height over the bed up to which a slope is low, mm.
pub(crate) fn low_slope_mm(settings: &Settings) -> f64 {
    LOW_SLOPE_MM.max(low_mm(settings))
}
