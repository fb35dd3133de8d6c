//! Weights of the penalty table that a person gives in place of its own.

/// Rows of the penalty table, in its order (`rank::penalties` holds it to this).
pub const ROWS: [&str; 17] = [
    "contact",
    "overhang",
    "bridge",
    "wide",
    "support",
    "underside",
    "bores",
    "trapped",
    "slender",
    "sway",
    "tip",
    "height",
    "stairs",
    "scar",
    "time",
    "load",
    "show",
];

/// Weights from 0, which leaves a row out, to this are taken. House value: the largest
/// of the table is 60.
pub const MOST: f64 = 1000.0;

/// A weight for each row, or none where the table's own stays.
///
/// A weight that is given is the one in force, whatever the aim.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Weights([Option<f64>; ROWS.len()]);

impl Weights {
    /// The weight given for a row.
    pub fn get(&self, row: &str) -> Option<f64> {
        place(row).and_then(|i| self.0[i])
    }

    /// Gives a row a weight, or takes it away; the range is checked with the other values.
    ///
    /// # Errors
    /// The end of a sentence: there is no such row.
    pub fn set(&mut self, row: &str, weight: Option<f64>) -> Result<(), String> {
        let i = place(row).ok_or_else(|| {
            format!(
                "'{row}' is no row of the penalty table ({})",
                ROWS.join(", ")
            )
        })?;
        self.0[i] = weight;
        Ok(())
    }

    /// Rows that are given a weight, in the order of the table.
    pub fn given(&self) -> impl Iterator<Item = (&'static str, f64)> {
        (ROWS.iter().zip(self.0)).filter_map(|(row, weight)| weight.map(|w| (*row, w)))
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

fn place(row: &str) -> Option<usize> {
    let row = row.trim();
    ROWS.iter().position(|r| r.eq_ignore_ascii_case(row))
}

/// Reads `ROW=VALUE`.
///
/// # Errors
/// A sentence that names what is wanted.
pub fn weight(word: &str) -> Result<(&'static str, f64), String> {
    let (row, value) = word
        .split_once('=')
        .ok_or_else(|| format!("'{word}' is not ROW=VALUE, such as height=0.5"))?;
    Weights::default().set(row, None)?;
    let number = value.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    match (place(row), number) {
        (Some(i), Some(value)) => Ok((ROWS[i], value)),
        _ => Err(format!("'{value}' in '{word}' is not a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_read_by_row_and_value() {
        assert_eq!(weight("Height = 0.5"), Ok(("height", 0.5)));
        assert_eq!(weight("show=0"), Ok(("show", 0.0)));
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
        let of = |list: &[(&str, f64)]| {
            let mut all = Weights::default();
            for (row, w) in list {
                all.set(row, Some(*w)).expect("a row");
            }
            all
        };
        let both = of(&[("tip", 1.0), ("load", 2.0)]).with(&of(&[("load", 3.0), ("time", 0.0)]));
        let given: Vec<_> = both.given().collect();
        assert_eq!(given, [("tip", 1.0), ("time", 0.0), ("load", 3.0)]);
        assert_eq!(both.get("contact"), None);
    }
}
