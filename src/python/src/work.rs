//! The long part of a call: without the interpreter lock, and stopped by Ctrl-C.

use crate::options::Options;
use pyo3::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;
use wayup::rank::search::{Progress, Stage};
use wayup::session::clock::Clock;

/// How often the interpreter is asked for a signal.
const GLANCE: Duration = Duration::from_millis(50);

/// Ends the work at a time limit, or when the interpreter was told to stop.
pub struct SignalWatch {
    clock: Clock,
    stopped: AtomicBool,
}

impl SignalWatch {
    /// Whether the work was cut short.
    pub fn cut(&self) -> bool {
        self.clock.cut()
    }
}

impl Progress for SignalWatch {
    fn step(&self, _: Stage, _: usize, _: usize) {}

    fn cancelled(&self) -> bool {
        self.clock.over(self.stopped.load(Ordering::Relaxed))
    }
}

/// Does a job on a thread of its own while this one waits, without the lock.
///
/// # Errors
/// What a signal handler raised, or that no threads could be started.
pub fn run<T: Send>(
    py: Python<'_>,
    options: &Options,
    job: impl FnOnce(&SignalWatch) -> T + Send,
) -> PyResult<T> {
    let pool = options
        .threads
        .map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build())
        .transpose()
        .map_err(|e| pyo3::exceptions::PyOSError::new_err(format!("threads: {e}")))?;
    let watch = SignalWatch {
        clock: Clock::start(options.seconds),
        stopped: AtomicBool::new(false),
    };
    py.detach(|| {
        thread::scope(|scope| {
            let (done, finished) = channel::<()>();
            let worker = thread::Builder::new().spawn_scoped(scope, || {
                // Dropped when the job ends, however it ends.
                let _done = done;
                match &pool {
                    Some(pool) => pool.install(|| job(&watch)),
                    None => job(&watch),
                }
            })?;
            let mut raised = None;
            while let Err(RecvTimeoutError::Timeout) = finished.recv_timeout(GLANCE) {
                if raised.is_none() {
                    raised = Python::attach(|py| py.check_signals().err());
                    watch.stopped.store(raised.is_some(), Ordering::Relaxed);
                }
            }
            let answer = worker.join();
            match raised {
                Some(error) => Err(error),
                None => answer.map_err(|_| crate::broken("the work came to a sudden end")),
            }
        })
    })
}
