//! Who may ask: only the page that this program opened.
//!
//! - The address has a secret part, so that nobody else on the machine can guess it.
//! - `Host` has to be this machine by name or number, so that a name of another site that
//!   is pointed here leads nowhere.
//! - `Origin`, where it is sent, has to be this page, so that no other page in the same
//!   browser can send a request or open a socket.

use super::Desk;
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
pub async fn guard(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response {
    let mut response = match refusal(&desk, request.headers(), request.uri().path()) {
        Some(status) => status.into_response(),
        None => next.run(request).await,
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (
            header::CONTENT_SECURITY_POLICY,
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
             connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        ),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert(
        "cross-origin-resource-policy",
        HeaderValue::from_static("same-origin"),
    );
    response
}

fn refusal(desk: &Desk, headers: &HeaderMap, path: &str) -> Option<StatusCode> {
    let hosts = [
        format!("127.0.0.1:{}", desk.port),
        format!("localhost:{}", desk.port),
    ];
    let known = |value: &HeaderValue, before: &str| {
        value
            .to_str()
            .ok()
            .and_then(|v| v.strip_prefix(before))
            .is_some_and(|v| hosts.iter().any(|h| h == v))
    };
    let mut host = headers.get_all(header::HOST).iter();
    if !(host.next().is_some_and(|h| known(h, "")) && host.next().is_none()) {
        return Some(StatusCode::FORBIDDEN);
    }
    if !headers
        .get_all(header::ORIGIN)
        .iter()
        .all(|o| known(o, "http://"))
    {
        return Some(StatusCode::FORBIDDEN);
    }
    let secret = path.split('/').nth(1).unwrap_or("");
    (!same(secret, &desk.token)).then_some(StatusCode::NOT_FOUND)
}

/// Whether two texts are the same, in a time that does not tell where they differ.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |d, (x, y)| d | (x ^ y)) == 0
}
