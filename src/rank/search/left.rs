//! What is left unmeasured when the search ends, by its bounds.

use super::{Candidate, Scored, Search, by_key};

/// What lies so far behind the first, in the unit of the total, is not counted: one maker in
/// a hundred thousand would choose it.
const REACH: f64 = 12.0;

impl Search<'_> {
    /// Bounds of unmeasured candidates; see [`super::Found::left`]. O(n log n) and, for those
    /// within reach, a comparison with each entry and with each other.
    pub(super) fn left<'c>(
        &self,
        entries: &[Scored],
        unmeasured: impl Iterator<Item = &'c Candidate>,
    ) -> Vec<f64> {
        let Some(first) = entries.first() else {
            return Vec::new();
        };
        let (tier, total) = first.key();
        let mut within: Vec<&Candidate> = unmeasured
            .filter(|c| c.tier() == tier && c.bound < total + REACH)
            .filter(|c| {
                let near = |e: &Scored| self.equivalent_or_near(&e.candidate.down, &c.down);
                !entries.iter().any(near)
            })
            .collect();
        within.sort_by(|a, b| by_key(&a.key(), &b.key()));
        let apart = self.apart(within.into_iter(), usize::MAX);
        apart.into_iter().map(|c| c.bound).collect()
    }
}
