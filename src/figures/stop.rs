//! A question asked again and again while a pose is measured: should the work end now?
//!
//! What has been asked to stop returns soon, with a result that means nothing. Once the
//! answer is yes it must stay yes: whoever began the work asks once more at the end, and
//! then throws the result away. So nothing half-measured is ever seen.

/// When to stop.
#[derive(Clone, Copy, Default)]
pub struct Stop<'a>(Option<&'a (dyn Fn() -> bool + Sync)>);

impl<'a> Stop<'a> {
    /// Stops when `asked` says so. It is asked from many threads, some thousand times a
    /// pose, and must not take back a yes.
    pub fn when(asked: &'a (dyn Fn() -> bool + Sync)) -> Self {
        Self(Some(asked))
    }

    /// Goes on to the end.
    pub fn never() -> Self {
        Self(None)
    }

    /// Whether to stop.
    pub fn asked(&self) -> bool {
        self.0.is_some_and(|asked| asked())
    }
}

/// The work was stopped before it came to a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped before one pose was measured")]
pub struct Stopped;
