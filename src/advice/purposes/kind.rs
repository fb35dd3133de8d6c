//! Kinds of purposes, and directions as the flags take them.

use crate::words::{self, named};
use nalgebra::{Unit, Vector3};
use serde::Serialize;

named! {
    /// What may be wanted.
    #[derive(Serialize)]
    #[serde(rename_all = "snake_case")]
    PurposeKind:
    /// A bore or boss that must come out round.
    Round "round",
    /// A thread that must turn.
    Thread "thread",
    /// A side that must come out flat.
    Flat "flat",
    /// Lettering or a relief that must come out crisp.
    Relief "relief",
    /// A side that will be seen and that the first pose marks with support.
    Seen "seen",
    /// An arm that must bend as a snap fit.
    Snap "snap",
    /// A pull on the part.
    Pull "pull",
}

impl PurposeKind {
    /// The flag that asks for it.
    pub const fn flag(self) -> &'static str {
        match self {
            Self::Round | Self::Thread => "--round",
            Self::Flat => "--flat",
            Self::Relief | Self::Seen => "--show",
            Self::Snap | Self::Pull => "--load",
        }
    }
}

/// A direction as a flag takes it: +x, or three numbers.
pub(super) fn typed(direction: &Unit<Vector3<f64>>) -> String {
    let axis = direction.iamax();
    let rest = (0..3).filter(|i| *i != axis).map(|i| direction[i].abs());
    if rest.fold(0.0, f64::max) < 1e-3 {
        let sign = if direction[axis] > 0.0 { '+' } else { '-' };
        return format!("{sign}{}", ["x", "y", "z"][axis]);
    }
    let [x, y, z] = <[f64; 3]>::from(direction.into_inner()).map(|c| words::decimal(c, 4));
    format!("{x},{y},{z}").replace('−', "-")
}

/// "the 22 mm bore", "the four 8.7 mm bores".
pub(super) fn the(count: usize, wide: &str, [one, many]: [&str; 2]) -> String {
    const NUMBERS: [&str; 9] = [
        "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    ];
    match count {
        0 | 1 => format!("the {wide} {one}"),
        n => match NUMBERS.get(n - 2) {
            Some(number) => format!("the {number} {wide} {many}"),
            None => format!("the {n} {many} of {wide}"),
        },
    }
}
