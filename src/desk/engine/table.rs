//! The parts that are open: a bounded number, in memory only.

use super::part::DeskPart;
use crate::sync::held;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

/// Parts kept at most; the one that was asked for longest ago goes first.
pub const MOST_PARTS: usize = 6;

/// The parts that are open, the one asked for last at the end.
#[derive(Default)]
pub struct OpenParts {
    parts: Mutex<Vec<Arc<DeskPart>>>,
    next: AtomicU64,
}

impl OpenParts {
    /// A number for a new part.
    pub fn number(&self) -> u64 {
        self.next.fetch_add(1, Ordering::Relaxed) + 1
    }

    /// Puts a part on the table; the oldest falls off where there are too many.
    pub fn put(&self, part: DeskPart) -> Arc<DeskPart> {
        let part = Arc::new(part);
        let mut parts = held(&self.parts);
        parts.push(Arc::clone(&part));
        if parts.len() > MOST_PARTS {
            parts.remove(0).close();
        }
        part
    }

    /// The part of a number, which becomes the one asked for last.
    pub fn find(&self, id: u64) -> Option<Arc<DeskPart>> {
        let mut parts = held(&self.parts);
        let at = parts.iter().position(|p| p.id == id)?;
        let part = parts.remove(at);
        parts.push(Arc::clone(&part));
        Some(part)
    }

    /// All parts, the one asked for last at the end.
    pub fn all(&self) -> Vec<Arc<DeskPart>> {
        held(&self.parts).clone()
    }

    /// Takes a part off the table and ends the work on it. False where there is none of that
    /// number.
    pub fn close(&self, id: u64) -> bool {
        let mut parts = held(&self.parts);
        let at = parts.iter().position(|p| p.id == id);
        at.map(|at| parts.remove(at).close()).is_some()
    }
}
