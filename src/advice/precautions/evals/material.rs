//! What the filament asks for before the print.

use super::{RuleInput, Spoken};
use crate::words;

pub(in super::super) fn drying(g: &RuleInput) -> Spoken {
    let material = g.settings.material;
    let drying = material.drying?;
    let (name, hours) = (&material.name, words::decimal(drying.hours, 0));
    let at = words::decimal(drying.at_c, 0);
    let says = if drying.always {
        format!(
            "Dry the {name} for about {hours} h at {at} °C first and keep it dry while it prints: damp, it strings and its layers hold less."
        )
    } else {
        format!("Dry {name} that has stood open for about {hours} h at {at} °C: damp, it strings.")
    };
    g.gates.is_empty().then_some((drying.hours, says))
}
