//! Who works on what: one part a thread as a rule, a big part on all threads in turn.
//!
//! A part costs memory for its triangles; what all parts in work may cost together is
//! bounded by a budget. A part that takes more than a thread's share of it has the
//! machine to itself. Parts are served in the order in which they come, so that a big
//! one is not put off for ever. Who works on a part, and on how many threads, changes
//! nothing in its record.

use crate::session::exit::{Exit, Failure};
use crate::session::memory;
use crate::sync::held;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::SyncSender;
use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

/// Memory that the parts in work may take for each thread, bytes.
const BUDGET_A_THREAD: u64 = 500 << 20;
/// Stack of a thread: as much as a program's first one has.
const STACK: usize = 8 << 20;
/// How often a run looks at the clock while no part is done.
pub const TICK: Duration = Duration::from_millis(500);
/// Answers that wait to be stored.
const WAITING: usize = 32;

/// Threads and the memory they share.
pub struct Crew {
    threads: usize,
    share: usize,
    all: ThreadPool,
    own: Vec<ThreadPool>,
    /// Memory for all, bytes.
    budget: u64,
    /// Threads and bytes that no part holds.
    free: Mutex<(usize, u64)>,
    more: Condvar,
}

impl Crew {
    /// A crew of `threads`. Where there are fewer jobs than that, each gets several
    /// threads.
    ///
    /// # Errors
    /// Exit 2: the system does not grant the threads.
    pub fn new(threads: usize, jobs: Option<usize>) -> Result<Self, Failure> {
        let threads = threads.max(1);
        let workers = jobs.unwrap_or(threads).clamp(1, threads);
        let budget = (BUDGET_A_THREAD * threads as u64).min(memory::room() / 2);
        Ok(Self {
            threads,
            share: threads / workers,
            all: pool(threads)?,
            own: (0..workers)
                .map(|_| pool(threads / workers))
                .collect::<Result<_, _>>()?,
            budget,
            free: Mutex::new((threads, budget)),
            more: Condvar::new(),
        })
    }

    /// Does `work` on every job and hands the results to `take` in the order in which
    /// they are done, on this thread. `memory` is what a job takes at its peak, roughly, bytes.
    /// Ends early where `take` says so or `stop` is set.
    ///
    /// A panic in `work` is the result `Err(())` of its job.
    ///
    /// # Errors
    /// What `take` says.
    pub fn run<J, R, E>(
        &self,
        jobs: impl Iterator<Item = J> + Send,
        memory: impl Fn(&J) -> u64 + Sync,
        stop: &AtomicBool,
        work: impl Fn(&J) -> R + Sync,
        mut take: impl FnMut(Option<(J, Result<R, ()>)>) -> Result<(), E>,
    ) -> Result<(), E>
    where
        J: Send + Sync,
        R: Send,
    {
        let jobs = Mutex::new(jobs);
        let (sender, results) = std::sync::mpsc::sync_channel(WAITING);
        std::thread::scope(|scope| {
            for pool in &self.own {
                let (jobs, memory, work, sender) = (&jobs, &memory, &work, sender.clone());
                scope.spawn(move || self.worker(pool, jobs, memory, stop, work, &sender));
            }
            drop(sender);
            let mut said = Ok(());
            loop {
                let result = match results.recv_timeout(TICK) {
                    Ok(result) => Some(result),
                    Err(std::sync::mpsc::RecvTimeoutError::Timeout) => None,
                    Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => break,
                };
                if said.is_ok() {
                    said = take(result);
                    if said.is_err() {
                        stop.store(true, Ordering::Relaxed);
                    }
                }
            }
            said
        })
    }

    fn worker<J: Send + Sync, R: Send>(
        &self,
        own: &ThreadPool,
        jobs: &Mutex<impl Iterator<Item = J> + Send>,
        memory: &(impl Fn(&J) -> u64 + Sync),
        stop: &AtomicBool,
        work: &(impl Fn(&J) -> R + Sync),
        sender: &SyncSender<(J, Result<R, ()>)>,
    ) {
        while !stop.load(Ordering::Relaxed) {
            // Nobody takes the next one before there is room for this.
            let mut next = held(jobs);
            let Some(job) = next.next() else { return };
            let need = memory(&job);
            let big = need > self.budget * self.share as u64 / self.threads as u64;
            let (pool, threads) = if big {
                (&self.all, self.threads)
            } else {
                (own, self.share)
            };
            let need = need.min(self.budget);
            let short = |free: &mut (usize, u64)| free.0 < threads || free.1 < need;
            let free = self.more.wait_while(held(&self.free), short);
            let mut free = free.unwrap_or_else(PoisonError::into_inner);
            *free = (free.0 - threads, free.1 - need);
            drop((free, next));
            // Nothing that a part's panic leaves behind is looked at again.
            let done = || catch_unwind(AssertUnwindSafe(|| pool.install(|| work(&job))));
            let result = (!stop.load(Ordering::Relaxed)).then(done);
            let mut free = held(&self.free);
            *free = (free.0 + threads, free.1 + need);
            drop(free);
            self.more.notify_all();
            let Some(result) = result else { return };
            if sender.send((job, result.map_err(|_| ()))).is_err() {
                return;
            }
        }
    }
}

fn pool(threads: usize) -> Result<ThreadPool, Failure> {
    let pool = ThreadPoolBuilder::new().num_threads(threads);
    pool.stack_size(STACK).build().map_err(|e| {
        let defect = format!("so many threads cannot be started ({e})");
        Failure::new(Exit::Words, "--threads", defect, "give a smaller number")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;

    /// Number, and bytes of memory.
    type Job = (usize, u64);

    fn memory(job: &Job) -> u64 {
        job.1
    }

    #[derive(Debug)]
    struct Never;

    #[test]
    fn every_job_is_done_once_and_a_big_one_alone() {
        let crew = Crew::new(3, None).expect("threads");
        let (inside, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let alone = AtomicBool::new(true);
        let jobs = (0..60).map(|i| (i, if i % 20 == 7 { u64::MAX / 100 } else { 10 }));
        let mut done = vec![0; 60];
        crew.run(
            jobs,
            memory,
            &AtomicBool::new(false),
            |job| {
                let now = inside.fetch_add(1, Ordering::SeqCst) + 1;
                most.fetch_max(now, Ordering::SeqCst);
                std::thread::sleep(std::time::Duration::from_millis(2));
                if job.1 > 10 {
                    assert_eq!(rayon::current_num_threads(), 3);
                    alone.fetch_and(inside.load(Ordering::SeqCst) == 1, Ordering::SeqCst);
                } else {
                    assert_eq!(rayon::current_num_threads(), 1);
                }
                inside.fetch_sub(1, Ordering::SeqCst);
            },
            |result| {
                if let Some((job, result)) = result {
                    result.map_err(|()| Never)?;
                    done[job.0] += 1;
                }
                Ok::<(), Never>(())
            },
        )
        .expect("done");
        assert_eq!(done, vec![1; 60]);
        assert!(alone.load(Ordering::SeqCst));
        assert!((2..=3).contains(&most.load(Ordering::SeqCst)));
    }

    #[test]
    fn few_jobs_get_several_threads_each() {
        let crew = Crew::new(4, Some(2)).expect("threads");
        crew.run(
            (0..2).map(|i| (i, 1)),
            memory,
            &AtomicBool::new(false),
            |_| assert_eq!(rayon::current_num_threads(), 2),
            |r| r.map_or(Ok(()), |(_, r)| r.map_err(|()| Never)),
        )
        .expect("done");
    }

    #[test]
    fn a_panic_is_the_result_of_its_job_and_an_error_ends_the_work() {
        let crew = Crew::new(2, None).expect("threads");
        let mut bad = Vec::new();
        crew.run(
            (0..20).map(|i| (i, 1)),
            memory,
            &AtomicBool::new(false),
            |job| assert!(job.0 != 5, "on purpose"),
            |r| {
                bad.extend(r.filter(|(_, r)| r.is_err()).map(|(job, _)| job.0));
                Ok::<(), Never>(())
            },
        )
        .expect("done");
        assert_eq!(bad, [5]);
        let begun = AtomicUsize::new(0);
        let said = crew.run(
            (0..1_000_000).map(|i| (i, 1)),
            memory,
            &AtomicBool::new(false),
            |_| begun.fetch_add(1, Ordering::SeqCst),
            |r| if r.is_some() { Err(Never) } else { Ok(()) },
        );
        assert!(said.is_err());
        assert!(begun.load(Ordering::SeqCst) < 1000);
    }
}
