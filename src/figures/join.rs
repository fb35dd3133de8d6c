//! Things that belong together.

/// Disjoint sets of small integers (Tarjan 1975, halving paths; from memory).
/// The root of a set is its smallest member.
#[derive(Debug, Default)]
pub(crate) struct Join {
    parent: Vec<u32>,
}

impl Join {
    /// As many sets of one member each.
    pub fn new(n: usize) -> Self {
        Self {
            parent: (0..n as u32).collect(),
        }
    }

    /// Adds one more set of one member and names it.
    pub fn push(&mut self) -> u32 {
        let id = self.parent.len() as u32;
        self.parent.push(id);
        id
    }

    /// The root of the set of a member.
    pub fn root(&mut self, mut a: u32) -> u32 {
        while self.parent[a as usize] != a {
            let up = self.parent[self.parent[a as usize] as usize];
            self.parent[a as usize] = up;
            a = up;
        }
        a
    }

    /// Makes two sets one.
    pub fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        let (low, high) = (a.min(b), a.max(b));
        self.parent[high as usize] = low;
    }
}
