//! Weights of the penalty table that a person gives in place of its own.

use crate::words::{named, near_miss};

named! {
    /// A row of the penalty table (`rank::penalties`), in its order.
    Penalty:
    /// Little area on the bed.
    Contact "contact",
    /// Overhang that nothing carries.
    Overhang "overhang",
    /// Overhang that prints by itself: bridges, roofs of small holes, short cantilevers.
    Bridge "bridge",
    /// Spans of up to twice the bridge limit.
    Wide "wide",
    /// Volume of support.
    Support "support",
    /// Surface that looks down and is no overhang.
    Underside "underside",
    /// Walls of horizontal bores.
    Bores "bores",
    /// Support that cannot be removed.
    Trapped "trapped",
    /// Slenderness.
    Slender "slender",
    /// Deflection under a push of the nozzle.
    Sway "sway",
    /// A small tipping angle.
    Tip "tip",
    /// Height.
    Height "height",
    /// Layer steps.
    Stairs "stairs",
    /// Support marks.
    Scar "scar",
    /// Printing time.
    Time "time",
    /// Load across the layers.
    Load "load",
    /// Marks on cosmetic sides.
    Show "show",
    /// Bores that must come out round and do not stand upright.
    Round "round",
    /// Sides that must come out flat and do not lie on the bed.
    Flat "flat",
}

impl Penalty {
    /// The row of that name, whatever its case.
    ///
    /// # Errors
    /// The end of a sentence: there is no such row.
    pub fn of(name: &str) -> Result<Self, String> {
        Self::called(name).ok_or_else(|| {
            let (known, near) = (
                Self::ALL.map(Self::name),
                near_miss(name, Self::ALL.map(Self::name)),
            );
            let known = known.join(", ");
            format!("'{name}' is no row of the penalty table ({known}){near}")
        })
    }
}

/// Weights from 0, which leaves a row out, to this are taken. House value: the largest
/// of the table is 60.
pub const MOST: f64 = 1000.0;

/// A weight for each row, or none where the table's own stays.
///
/// A weight that is given is the one in force, whatever the aim.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Weights([Option<f64>; Penalty::ALL.len()]);

impl Weights {
    /// The weight given for a row.
    pub fn get(&self, row: Penalty) -> Option<f64> {
        self.0[row as usize]
    }

    /// Gives a row a weight, or takes it away; the range is checked with the other values.
    pub fn set(&mut self, row: Penalty, weight: Option<f64>) {
        self.0[row as usize] = weight;
    }

    /// Rows that are given a weight, in the order of the table.
    pub fn given(&self) -> impl Iterator<Item = (Penalty, f64)> {
        (Penalty::ALL.into_iter().zip(self.0)).filter_map(|(row, weight)| weight.map(|w| (row, w)))
    }

    /// These weights, those of `over` in place of their own.
    #[must_use]
    pub fn with(mut self, over: &Self) -> Self {
        for (slot, weight) in self.0.iter_mut().zip(over.0) {
            *slot = weight.or(*slot);
        }
        self
    }
}

/// Reads `ROW=VALUE`.
///
/// # Errors
/// A sentence that names what is wanted.
pub fn weight(word: &str) -> Result<(Penalty, f64), String> {
    let (row, value) = word
        .split_once('=')
        .ok_or_else(|| format!("'{word}' is not ROW=VALUE, such as height=0.5"))?;
    let row = Penalty::of(row)?;
    let number = value.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    number.map_or_else(
        || Err(format!("'{value}' in '{word}' is not a number")),
        |value| Ok((row, value)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_read_by_row_and_value() {
        assert_eq!(weight("Height = 0.5"), Ok((Penalty::Height, 0.5)));
        assert_eq!(weight("show=0"), Ok((Penalty::Show, 0.0)));
        for (word, said) in [
            ("height", "not ROW=VALUE"),
            ("colour=1", "no row of the penalty table (contact, overhang"),
            ("height=much", "'much' in 'height=much' is not a number"),
            ("height=inf", "is not a number"),
        ] {
            assert!(weight(word).is_err_and(|e| e.contains(said)), "{word}");
        }
    }

    #[test]
    fn the_later_weight_wins_row_by_row() {
        let of = |list: &[(Penalty, f64)]| {
            let mut all = Weights::default();
            for (row, w) in list {
                all.set(*row, Some(*w));
            }
            all
        };
        let both = of(&[(Penalty::Tip, 1.0), (Penalty::Load, 2.0)])
            .with(&of(&[(Penalty::Load, 3.0), (Penalty::Time, 0.0)]));
        let given: Vec<_> = both.given().collect();
        assert_eq!(
            given,
            [
                (Penalty::Tip, 1.0),
                (Penalty::Time, 0.0),
                (Penalty::Load, 3.0)
            ]
        );
        assert_eq!(both.get(Penalty::Contact), None);
    }
}
