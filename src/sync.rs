//! Locks that outlive a panic.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// What a lock guards, also where a thread panicked that held it: nothing here is left
/// half-changed between two statements.
pub(crate) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
