//! Which poses no other beats on everything.

/// Marks the rows of penalties that no other row undercuts: `true` where no other
/// is at least as low on every penalty and lower on one. Differences below a
/// thousandth of a unit count as equal. Source: Pareto order.
pub fn undominated(charges: &[&[f64]]) -> Vec<bool> {
    const EQUAL: f64 = 1e-3;
    charges
        .iter()
        .map(|a| {
            !charges.iter().any(|b| {
                let no_worse = a.iter().zip(*b).all(|(x, y)| *y <= x + EQUAL);
                let better = a.iter().zip(*b).any(|(x, y)| *y < x - EQUAL);
                no_worse && better
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::rank::pareto::undominated;

    #[test]
    fn only_what_is_beaten_everywhere_falls() {
        let rows: [&[f64]; 4] = [&[1.0, 5.0], &[2.0, 1.0], &[2.0, 5.0], &[1.0, 5.0]];
        assert_eq!(undominated(&rows), [true, true, false, true]);
    }
}
