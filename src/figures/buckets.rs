//! Items dealt out to numbered buckets.

use std::ops::Range;

/// Items by bucket in one flat list; within a bucket they keep the order they came in.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Buckets<T> {
    /// `items[starts[b]..starts[b + 1]]` are those of bucket b.
    starts: Vec<usize>,
    items: Vec<T>,
}

impl<T: Copy + Default> Buckets<T> {
    /// Deals out pairs of bucket and item to `count` buckets.
    pub fn new(count: usize, pairs: impl Iterator<Item = (usize, T)> + Clone) -> Self {
        let mut out = Self::default();
        out.deal(count, pairs);
        out
    }

    /// The same into the memory of what was held before. The pairs are walked twice:
    /// counting sort.
    pub fn deal(&mut self, count: usize, pairs: impl Iterator<Item = (usize, T)> + Clone) {
        self.starts.clear();
        self.starts.resize(count + 1, 0);
        for (bucket, _) in pairs.clone() {
            self.starts[bucket] += 1;
        }
        let mut total = 0;
        for start in &mut self.starts {
            total += std::mem::replace(start, total);
        }
        self.items.clear();
        self.items.resize(total, T::default());
        // Each start moves to the next one as its bucket fills up, and is moved back after.
        for (bucket, item) in pairs {
            let slot = &mut self.starts[bucket];
            self.items[*slot] = item;
            *slot += 1;
        }
        self.starts.copy_within(0..count, 1);
        self.starts[0] = 0;
    }
}

impl<T> Buckets<T> {
    /// Number of buckets.
    pub fn len(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    fn range(&self, bucket: usize) -> Range<usize> {
        self.starts[bucket]..self.starts[bucket + 1]
    }

    /// The items of a bucket.
    pub fn of(&self, bucket: usize) -> &[T] {
        &self.items[self.range(bucket)]
    }

    /// The same, to be put in order.
    pub fn of_mut(&mut self, bucket: usize) -> &mut [T] {
        let range = self.range(bucket);
        &mut self.items[range]
    }
}
