//! How low over the bed a slope prints by itself.

use super::bridges::low_mm;
use crate::settings::Settings;

/// Slopes no higher than this over the bed are rounded or chamfered edges of the base: the few
/// lines that hang over rest on the bed where they sag, and support that low does not come
/// off, mm (house value).
pub(crate) const LOW_SLOPE_MM: f64 = 1.5;

/// Height over the bed up to which a slope is low, mm.
pub(crate) fn low_slope_mm(settings: &Settings) -> f64 {
    LOW_SLOPE_MM.max(low_mm(settings))
}
