//! The long part of a call: without the interpreter lock, and stopped by Ctrl-C.

use crate::options::Options;
use pyo3::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;
use wayup::session::clock::Clock;

/// How often the interpreter is asked for a signal.
const GLANCE: Duration = Duration::from_millis(50);

/// Does a job on a thread of its own while this one waits, without the lock.
///
/// # Errors
/// What a signal handler raised, or that no threads could be started.
pub fn run<T: Send>(
    py: Python<'_>,
    options: &Options,
    job: impl FnOnce(&Clock) -> T + Send,
) -> PyResult<T> {
    let pool = options
        .threads
        .map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build())
        .transpose()
        .map_err(|e| pyo3::exceptions::PyOSError::new_err(format!("threads: {e}")))?;
    let stop = AtomicBool::new(false);
    let clock = Clock::start(options.seconds, Some(&stop));
    py.detach(|| {
        thread::scope(|scope| {
            let (done, finished) = channel::<()>();
            let worker = thread::Builder::new().spawn_scoped(scope, || {
                // Dropped when the job ends, however it ends.
                let _done = done;
                match &pool {
                    Some(pool) => pool.install(|| job(&clock)),
                    None => job(&clock),
                }
            })?;
            let mut raised = None;
            while let Err(RecvTimeoutError::Timeout) = finished.recv_timeout(GLANCE) {
                if raised.is_none() {
                    raised = Python::attach(|py| py.check_signals().err());
                    if raised.is_some() {
                        stop.store(true, Ordering::Relaxed);
                    }
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
