//! What to do about support, in words; whether it is needed is decided in
//! [`crate::figures::support_need`].

pub use crate::figures::support_need::{
    FREE_LEDGE_MM, NO_OVERHANG_MM2, NO_SUPPORT_MM3, SHUT_MM3, SPARE_MM2, all_too_long,
    free_ledge_mm, hangs, held_mm3, is_shallow, islands, ledge_mm, needs_support, on_mm3, room_mm3,
    spare, steep_mm2, under_mm2, within_limit,
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

/// A span that well set machines bridge, mm (published limits end at 30; house value).
pub const MACHINE_SPAN_MM: f64 = 16.0;
/// Bridges longer than this are worth a look, mm.
pub(crate) const WATCH_BRIDGE_MM: f64 = 6.0;
/// Overhang of a kind below this share of all is not worth a word (house value).
const LITTLE: f64 = 0.15;
/// What is left of it is told from this share on.
const REST: f64 = 0.02;
/// Below this area the kinds of overhang are named without their areas, mm²: a thumbnail (house value).
const FEW_MM2: f64 = 100.0;

/// Why overhang that is there needs no support, as clauses without a full stop; to be said
/// where [`hangs`] and [`spare`].
pub fn left_alone(f: &Figures, settings: &Settings) -> String {
    let limit = words::degrees(settings.limit_deg);
    let (all, needed) = (f.overhang_area_mm2, f.overhang_needed_mm2());
    let steep = steep_mm2(f);
    let (slit, across) = (f.overhang_slit_mm2, f.overhang_across_mm2);
    // What common practice prints without support anyway.
    let light = (all - needed).max(0.0);
    let bridged = f.ceiling_carried_mm2.min(light);
    // Sampled, each by itself: together they are no more than all.
    let low = f.overhang_low_mm2.min(needed);
    let low = low.min((all - bridged - across).max(0.0));
    let gentle = (needed - steep - low - slit - across).max(0.0);
    let (low_mm, lean) = (LOW_SLOPE_MM, gentle_deg(settings));
    let (low_mm, lean) = (words::length(low_mm), words::degrees(lean));
    // Area, what it does, and what it is.
    let clauses = [
        (
            bridged + across,
            "bridge".to_owned(),
            "short bridges".to_owned(),
        ),
        (
            low,
            format!("lie within {low_mm} of the bed, where support would not come off"),
            "edges low over the bed".into(),
        ),
        (
            gentle,
            format!("lean no further than {lean} and come out rough"),
            format!("slopes not far beyond {limit}"),
        ),
        (
            slit,
            "lie over slits that are too low for support and may close up".into(),
            "ceilings of slits that may close up".into(),
        ),
        (
            steep + light - bridged,
            "lie in small roofs and short cantilevers that sag slightly".into(),
            "small roofs and short cantilevers".into(),
        ),
    ];
    if steep >= SPARE_MM2 && is_shallow(f) {
        let room = words::length(f.support_needed_mm3 / needed);
        return format!(
            "the room under the {} beyond {limit} is only {room} high on average, as in a thread, and no tool clears it",
            words::area(needed)
        );
    }
    let told: Vec<&(f64, String, String)> = clauses.iter().filter(|c| c.0 > LITTLE * all).collect();
    let sum: f64 = told.iter().map(|c| c.0).sum();
    let is_rest = sum < (1.0 - REST) * all;
    match &told[..] {
        [] => format!("the {} beyond {limit} sag slightly", words::area(all)),
        few @ [_, _, ..] if all < FEW_MM2 => {
            let kinds = few.iter().map(|c| c.2.as_str());
            let kinds = words::joined(kinds, ", ");
            format!("the {} beyond {limit} are {kinds}", words::area(all))
        }
        [(_, what, _)] if !is_rest => format!("the {} beyond {limit} {what}", words::area(all)),
        several => {
            let each = several.iter().map(|(area, what, _)| {
                let [_, area] = words::areas_compared(all, *area);
                format!("{area} {what}")
            });
            let rest = is_rest.then(|| "the rest is small".to_owned());
            format!(
                "of the {} of overhang beyond {limit}, {}",
                words::area(all),
                words::joined(each.chain(rest), "; ")
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of little overhang the kinds are named, of much the areas that count; what is left over is said.
    #[test]
    fn little_overhang_is_named_by_its_kinds() {
        let f = |all: f64, bridged: f64, low: f64| Figures {
            overhang_area_mm2: all,
            ceiling_carried_mm2: bridged,
            overhang_low_mm2: low,
            overhang_light_mm2: bridged,
            overhang_charged_mm2: all - bridged,
            support_needed_mm3: 100.0,
            ..Figures::default()
        };
        let said = |f: &Figures| left_alone(f, &Settings::default());
        assert_eq!(
            said(&f(60.0, 30.0, 30.0)),
            "the 60 mm² beyond 45° are short bridges, edges low over the bed"
        );
        assert_eq!(
            said(&f(600.0, 540.0, 30.0)),
            "of the 600 mm² of overhang beyond 45°, 540 mm² bridge; the rest is small"
        );
        assert_eq!(said(&f(600.0, 600.0, 0.0)), "the 600 mm² beyond 45° bridge");
        // Each is sampled by itself: what is told is no more than all.
        let both = Figures {
            overhang_across_mm2: 87.0,
            ..f(743.0, 523.0, 139.0)
        };
        assert_eq!(
            said(&both),
            "of the 743 mm² of overhang beyond 45°, 610 mm² bridge; 133 mm² lie within 1.5 mm of the bed, where support would not come off"
        );
    }
}
