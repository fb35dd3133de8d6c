//! Who may ask: only the page that this program opened.
//!
//! - The address has a secret part, so that nobody else on the machine can guess it.
//! - `Host` has to be this machine by name or number, so that a name of another site that
//!   is pointed here leads nowhere.
//! - `Origin`, where it is sent, has to be this page, so that no other page in the same
//!   browser can send a request or open a socket. So has the site that `Sec-Fetch-Site`
//!   (W3C, Fetch Metadata) says a request comes from, unless a person follows a link to the page.

use super::AppState;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::io;
use std::sync::Arc;

/// Bytes of the secret.
const SECRET: usize = 16;

/// A new secret, as hexadecimal text.
///
/// # Errors
/// The system gives no random numbers.
pub fn token() -> io::Result<String> {
    let mut bytes = [0; SECRET];
    getrandom::fill(&mut bytes).map_err(io::Error::other)?;
    Ok(format!("{:032x}", u128::from_be_bytes(bytes)))
}

/// Refuses what does not come from the page; marks all answers as private.
pub async fn guard(State(desk): State<Arc<AppState>>, request: Request, next: Next) -> Response {
    let response = match refusal(&desk, &request) {
        Some(status) => status.into_response(),
        None => next.run(request).await,
    };
    let private = [
        (
            "content-security-policy",
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
             connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        ),
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        ("cache-control", "no-store"),
        ("cross-origin-resource-policy", "same-origin"),
    ];
    (private, response).into_response()
}

fn refusal(desk: &AppState, request: &Request) -> Option<StatusCode> {
    let (headers, target) = (request.headers(), request.uri());
    let hosts = ["127.0.0.1", "localhost"].map(|name| format!("{name}:{}", desk.port));
    let known = |value: &HeaderValue, before: &str| {
        let host = value.to_str().ok().and_then(|v| v.strip_prefix(before));
        host.is_some_and(|v| hosts.iter().any(|h| h == v))
    };
    let host: Vec<_> = headers.get_all(header::HOST).iter().collect();
    let mut origins = headers.get_all(header::ORIGIN).iter();
    // A target with a host of its own goes before the header (RFC 9112, 3.2.2).
    let mut named = target.authority().into_iter();
    let ours = host.len() == 1
        && known(host[0], "")
        && named.all(|name| hosts.iter().any(|h| h == name.as_str()))
        && origins.all(|o| known(o, "http://"));
    let path = target.path();
    if !ours || (is_foreign(headers) && !(is_visit(headers) && path.ends_with('/'))) {
        return Some(StatusCode::FORBIDDEN);
    }
    let secret = path.split('/').nth(1).unwrap_or("");
    (!same(secret, &desk.token)).then_some(StatusCode::NOT_FOUND)
}

/// Whether the browser says that another site asks.
fn is_foreign(headers: &HeaderMap) -> bool {
    let mut sites = headers.get_all("sec-fetch-site").iter();
    !sites.all(|site| site == "same-origin" || site == "none")
}

/// Whether the browser says that a person goes to a page, as by a link or the file that leads
/// here.
fn is_visit(headers: &HeaderMap) -> bool {
    let says = |name, what| headers.get(name).is_some_and(|v| v == what);
    says("sec-fetch-mode", "navigate") && says("sec-fetch-dest", "document")
}

/// Whether two texts are the same, in a time that does not tell where they differ.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |d, (x, y)| d | (x ^ y)) == 0
}
