//! Connections: so many at a time, and each says soon what it wants.

use super::Limits;
use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// How long to wait where the system grants no connection.
const PAUSE: Duration = Duration::from_millis(100);

/// Answers all who come, for ever. Whoever is one too many waits outside until another ends; one
/// that does not send a whole head in time is hung up on. A socket of the page counts no more once
/// it is open.
pub(super) async fn answer(listener: TcpListener, routes: Router, limits: Limits) -> Infallible {
    let free = Arc::new(Semaphore::new(limits.connections));
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new())
        .header_read_timeout(limits.head_time);
    loop {
        // An error is one of a semaphore that was closed, and this never is.
        let place = Arc::clone(&free).acquire_owned().await;
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(PAUSE).await;
            continue;
        };
        let service = TowerToHyperService::new(routes.clone());
        let talk = http.serve_connection(TokioIo::new(stream), service);
        tokio::spawn(async move {
            // One that goes away in the middle is no fault.
            let _ = talk.with_upgrades().await;
            drop(place);
        });
    }
}
