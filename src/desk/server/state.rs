//! What the desk holds, and how its answers are made.

use super::super::engine::part::DeskPart;
use super::super::engine::table::OpenParts;
use crate::report::number;
use crate::session::config::Resolved;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::Value;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;

/// All that the routes share.
pub struct AppState {
    /// Secret part of the address.
    pub token: String,
    /// Port that is listened at.
    pub port: u16,
    /// Limits on what comes in.
    pub limits: Limits,
    /// The parts that are open.
    pub table: OpenParts,
    /// Settings of a part that comes without a folder.
    pub base: Resolved,
    /// Threads for the searches, so that a turn by hand never waits behind one.
    pub search: rayon::ThreadPool,
    /// Threads for the full figures of a turn, for reading files and for writing them.
    pub rest: rayon::ThreadPool,
    /// Threads for the first ranking and for messages. The quick figures of a turn have none
    /// to wait for: they are worked out where they are asked for.
    pub first: rayon::ThreadPool,
    pub(super) uploads: Semaphore,
    pub(super) sockets: Arc<Semaphore>,
}

/// A reply of plain data, numbers rounded as in all JSON.
pub(super) fn json(status: StatusCode, value: &Value) -> Response {
    match number::line(value) {
        Ok(line) => (status, [(header::CONTENT_TYPE, "application/json")], line).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// The part of a number, or 404.
pub(super) fn found(desk: &AppState, id: u64) -> Result<Arc<DeskPart>, StatusCode> {
    desk.table.find(id).ok_or(StatusCode::NOT_FOUND)
}

/// Limits on what comes in.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Largest upload, bytes.
    pub upload_bytes: usize,
    /// Longest time that an upload may take.
    pub upload_time: Duration,
    /// Longest time in which nothing of an upload comes.
    pub upload_idle: Duration,
    /// Longest time from the opening of a connection, or the last answer on it, to the end of the next head.
    pub head_time: Duration,
    /// Longest time that the reading of a part may take once it has come.
    pub open_time: Duration,
    /// Most connections at a time, open sockets of the page aside.
    pub connections: usize,
    /// Most open sockets of the page.
    pub sockets: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            // Five million triangles of binary STL.
            upload_bytes: 256 << 20,
            upload_time: Duration::from_secs(120),
            upload_idle: Duration::from_secs(5),
            head_time: Duration::from_secs(10),
            open_time: Duration::from_secs(120),
            // Of the thousand descriptors that a program usually has.
            connections: 256,
            sockets: 64,
        }
    }
}

/// Runs heavy work off the threads that answer, and off those that follow the hand.
pub(super) async fn aside<T: Send + 'static>(
    desk: &Arc<AppState>,
    work: impl FnOnce(&AppState) -> T + Send + 'static,
) -> Result<T, StatusCode> {
    let desk = Arc::clone(desk);
    tokio::task::spawn_blocking(move || desk.rest.install(|| work(&desk)))
        .await
        .map_err(|_| StatusCode::INTERNAL_SERVER_ERROR)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::server::Bound;
    use crate::session::config::Resolved;

    #[tokio::test]
    async fn a_fault_of_the_program_ends_one_answer_and_nothing_else() {
        let bound = Bound::new(0, Resolved::default(), Limits::default()).await;
        let desk = bound.expect("a free port").desk;
        let broken = aside(&desk, |_| -> u8 { panic!("on purpose") }).await;
        assert_eq!(broken, Err(StatusCode::INTERNAL_SERVER_ERROR));
        assert_eq!(aside(&desk, |_| 1).await, Ok(1));
    }
}
