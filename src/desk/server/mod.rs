//! The server: one address on this machine, and who may ask at it.
//!
//! - [`guard`]: token, host and origin of every request
//! - `connections`: how many, and how long each may take to say what it wants
//! - [`upload`]: a part comes in
//! - [`takeaway`]: the surface, turned files, sheet and JSON go out
//! - [`socket`]: one connection of the page: settings and turns; `ranking`: its answers,
//!   `outbox`: how they go out

mod connections;
pub mod guard;
mod outbox;
mod ranking;
pub mod socket;
mod state;
pub mod takeaway;
pub mod upload;

use super::engine::table::OpenParts;
use super::page::{self, Asset};
use crate::session::config::Resolved;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
pub use state::{AppState, Limits};
use state::{aside, found, json};
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

/// Uploads that are read at a time: each may hold as much as the limit.
const UPLOADS_AT_ONCE: usize = 2;

/// A server that is bound to its address but answers nobody yet.
pub struct Bound {
    listener: TcpListener,
    /// What the routes share; parts can be put on its table.
    pub desk: Arc<AppState>,
}

impl Bound {
    /// Binds to `port` of 127.0.0.1, 0 for a free one. Needs a tokio runtime.
    ///
    /// # Errors
    /// The port is taken, or the system gives no random numbers or threads.
    pub async fn new(port: u16, base: Resolved, limits: Limits) -> io::Result<Self> {
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
            desk: Arc::new(AppState {
                token: guard::token()?,
                port,
                limits,
                table: OpenParts::default(),
                base,
                search: pool("search")?,
                rest: pool("rest")?,
                first: pool("first")?,
                uploads: Semaphore::new(UPLOADS_AT_ONCE),
                sockets: Arc::new(Semaphore::new(limits.sockets)),
            }),
        })
    }

    /// The address of the page.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.desk.port, self.desk.token)
    }

    /// Answers until `end` comes.
    pub async fn serve(self, end: impl Future<Output = ()> + Send + 'static) {
        let (routes, limits) = (routes(Arc::clone(&self.desk)), self.desk.limits);
        tokio::select! {
            never = connections::answer(self.listener, routes, limits) => match never {},
            () = end => {}
        }
    }
}

fn routes(desk: Arc<AppState>) -> Router {
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
    ([(header::CONTENT_TYPE, asset.kind())], asset.bytes).into_response()
}

async fn named(Path(name): Path<String>) -> Response {
    page::find(&name).map_or_else(|| StatusCode::NOT_FOUND.into_response(), asset)
}

async fn close(State(desk): State<Arc<AppState>>, Path(id): Path<u64>) -> StatusCode {
    if desk.table.close(id) {
        StatusCode::NO_CONTENT
    } else {
        StatusCode::NOT_FOUND
    }
}
