//! What to do about support, in words; whether it is needed is decided in
//! [`crate::figures::support_need`].

pub use crate::figures::support_need::{
    FREE_LEDGE_MM, NO_OVERHANG_MM2, NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2, all_too_long,
    free_ledge_mm, hangs, is_shallow, islands, ledge_mm, needs_support, on_mm3, room_mm3, spare,
    steep_mm2, under_mm2, within_limit,
};

use crate::figures::Figures;
use crate::figures::low::LOW_SLOPE_MM;
use crate::figures::spared::gentle_deg;
use crate::settings::Settings;
use crate::words::{self, named};
use serde::Serialize;

named! {
    /// What to do about support.
    #[derive(Serialize, schemars::JsonSchema)]
    SupportCall:
    /// Leave it off.
    Off "off",
    /// Switch it on.
    On "on",
    /// Switch it on, but block it at the places that the precautions name.
    Partly "partly",
}

/// Overhang of a kind below this share of all is not worth a word.
const LITTLE: f64 = 0.05;

/// Why overhang that is there needs no support, as clauses without a full stop; to be said
/// where [`hangs`] and [`spare`].
pub fn left_alone(f: &Figures, settings: &Settings) -> String {
    let limit = words::degrees(settings.limit_deg);
    let (all, needed) = (f.overhang_area_mm2, f.overhang_needed_mm2());
    let steep = steep_mm2(f);
    let low = f.overhang_low_mm2.min(needed);
    let (slit, across) = (f.overhang_slit_mm2, f.overhang_across_mm2);
    let gentle = (needed - steep - low - slit - across).max(0.0);
    // What common practice prints without support anyway.
    let light = (all - needed).max(0.0);
    let bridged = f.ceiling_carried_mm2.min(light);
    let (low_mm, lean) = (LOW_SLOPE_MM, gentle_deg(settings));
    let (low_mm, lean) = (words::length(low_mm), words::degrees(lean));
    let clauses = [
        (bridged, "bridge".to_owned()),
        (
            low,
            format!("lie within {low_mm} of the bed, where support would not come off"),
        ),
        (
            gentle,
            format!("lean no further than {lean} and come out rough"),
        ),
        (slit, "lie over slits too low for support".into()),
        (across, "bridge from side to side".into()),
        (
            steep + light - bridged,
            "lie in small roofs and short cantilevers that sag slightly".into(),
        ),
    ];
    if steep >= SPARE_MM2 && is_shallow(f) {
        let room = words::length(f.support_needed_mm3 / needed);
        return format!(
            "the room under the {} beyond {limit} is only {room} high on average, as in a thread, and no tool clears it",
            words::area(needed)
        );
    }
    let told = clauses.iter().filter(|c| c.0 > LITTLE * all);
    let told: Vec<(String, &str)> = told.map(|c| (words::area(c.0), c.1.as_str())).collect();
    match &told[..] {
        [] => format!("the {} beyond {limit} sag slightly", words::area(all)),
        [(area, what)] => format!("the {area} beyond {limit} {what}"),
        several => {
            let each = several.iter().map(|(area, what)| format!("{area} {what}"));
            format!(
                "of the {} of overhang beyond {limit}, {}",
                words::area(all),
                words::joined(each, "; ")
            )
        }
    }
}
