//! The server: one address on this machine, and who may ask at it.
//!
//! - [`guard`]: token, host and origin of every request
//! - [`upload`]: a part comes in
//! - [`takeaway`]: the surface, turned files, sheet and JSON go out
//! - [`socket`]: one connection of the page: settings and turns; `ranking`: its answers

pub mod guard;
mod ranking;
pub mod socket;
pub mod takeaway;
pub mod upload;

use super::engine::part::{Base, DeskPart};
use super::engine::table::Table;
use super::page::{self, Asset};
use crate::report::number;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde_json::Value;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// Limits on what comes in.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Largest upload, bytes.
    pub upload_bytes: usize,
    /// Longest time that an upload may take.
    pub upload_time: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            // Five million triangles of binary STL.
            upload_bytes: 256 << 20,
            upload_time: Duration::from_secs(120),
        }
    }
}

/// Uploads that are read at a time: each may hold as much as the limit.
const UPLOADS_AT_ONCE: usize = 2;

/// All that the routes share.
pub struct Desk {
    /// Secret part of the address.
    pub token: String,
    /// Port that is listened at.
    pub port: u16,
    /// Limits on what comes in.
    pub limits: Limits,
    /// The parts that are open.
    pub table: Table,
    /// Settings of a part that comes without a folder.
    pub base: Base,
    /// Threads for the searches, so that a turn by hand never waits behind one.
    pub search: rayon::ThreadPool,
    /// Threads for the full figures of a turn, for reading files and for writing them.
    pub rest: rayon::ThreadPool,
    /// Threads for the first ranking and for messages. The quick figures of a turn have none
    /// to wait for: they are worked out where they are asked for.
    pub first: rayon::ThreadPool,
    uploads: Semaphore,
}

/// A server that is bound to its address but answers nobody yet.
pub struct Bound {
    listener: TcpListener,
    /// What the routes share; parts can be put on its table.
    pub desk: Arc<Desk>,
}

impl Bound {
    /// Binds to `port` of 127.0.0.1, 0 for a free one. Needs a tokio runtime.
    ///
    /// # Errors
    /// The port is taken, or the system gives no random numbers or threads.
    pub async fn new(port: u16, base: Base, limits: Limits) -> io::Result<Self> {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await?;
        let port = listener.local_addr()?.port();
        let pool = |name: &'static str| {
            rayon::ThreadPoolBuilder::new()
                .num_threads(rayon::current_num_threads())
                .thread_name(move |i| format!("{name}-{i}"))
                .build()
                .map_err(io::Error::other)
        };
        Ok(Self {
            listener,
            desk: Arc::new(Desk {
                token: guard::token()?,
                port,
                limits,
                table: Table::default(),
                base,
                search: pool("search")?,
                rest: pool("rest")?,
                first: pool("first")?,
                uploads: Semaphore::new(UPLOADS_AT_ONCE),
            }),
        })
    }

    /// The address of the page.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.desk.port, self.desk.token)
    }

    /// Answers until `end` comes.
    ///
    /// # Errors
    /// The system takes the socket away.
    pub async fn serve(self, end: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
        let routes = routes(Arc::clone(&self.desk));
        tokio::select! {
            done = async { axum::serve(self.listener, routes).await } => done,
            () = end => Ok(()),
        }
    }
}

fn routes(desk: Arc<Desk>) -> Router {
    let at = |path: &str| format!("/{}{path}", desk.token);
    Router::new()
        .route(&at("/"), get(async || asset(&page::INDEX)))
        .route(&at("/assets/{name}"), get(named))
        .route(&at("/table"), get(takeaway::table))
        .route(&at("/part"), post(upload::part))
        .route(&at("/part/{id}/close"), post(close))
        .route(&at("/part/{id}/{what}"), get(takeaway::take))
        .route(&at("/ws"), get(socket::upgrade))
        // The upload has its own limit; nothing else has a body.
        .layer(DefaultBodyLimit::disable())
        .layer(axum::middleware::from_fn_with_state(
            Arc::clone(&desk),
            guard::guard,
        ))
        .with_state(desk)
}

fn asset(asset: &'static Asset) -> Response {
    ([(header::CONTENT_TYPE, asset.kind)], asset.bytes).into_response()
}

async fn named(Path(name): Path<String>) -> Response {
    page::find(&name).map_or_else(|| StatusCode::NOT_FOUND.into_response(), asset)
}

async fn close(State(desk): State<Arc<Desk>>, Path(id): Path<u64>) -> StatusCode {
    if desk.table.close(id) {
        StatusCode::NO_CONTENT
    } else {
        StatusCode::NOT_FOUND
    }
}

/// A reply of plain data, numbers rounded as in all JSON.
fn json(status: StatusCode, value: &Value) -> Response {
    match number::line(value) {
        Ok(line) => (status, [(header::CONTENT_TYPE, "application/json")], line).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// Runs heavy work off the threads that answer, and off those that follow the hand.
async fn aside<T: Send + 'static>(
    desk: &Arc<Desk>,
    work: impl FnOnce(&Desk) -> T + Send + 'static,
) -> Result<T, StatusCode> {
    let desk = Arc::clone(desk);
    tokio::task::spawn_blocking(move || desk.rest.install(|| work(&desk)))
        .await
        .map_err(|_| StatusCode::INTERNAL_SERVER_ERROR)
}

/// The part of a number, or 404.
fn found(desk: &Desk, id: u64) -> Result<Arc<DeskPart>, StatusCode> {
    desk.table.find(id).ok_or(StatusCode::NOT_FOUND)
}
