//! A part comes in: bytes in, facts or a defect out. The name sent is a label, never a path.

use super::{Desk, aside, json};
use crate::desk::engine::part::DeskPart;
use crate::desk::engine::shape;
use crate::mesh::{ReadOptions, Units, read_bytes};
use crate::session::config::in_force;
use crate::session::intake;
use crate::session::intake::Intake;
use axum::body::{Body, to_bytes};
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use http_body_util::LengthLimitError;
use serde::Deserialize;
use serde_json::{Value, json as object};
use std::str::FromStr;
use std::sync::Arc;

/// Longest name that is kept, characters.
const NAME_LENGTH: usize = 120;

/// What goes with the bytes.
#[derive(Debug, Deserialize)]
pub struct Sent {
    name: Option<String>,
    units: Option<String>,
}

/// Takes a file in.
pub async fn part(
    State(desk): State<Arc<Desk>>,
    Query(sent): Query<Sent>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let name = label(sent.name.as_deref().unwrap_or_default());
    let limit = desk.limits.upload_bytes;
    let stated = headers
        .get(header::CONTENT_LENGTH)
        .and_then(|v| v.to_str().ok()?.parse::<u64>().ok());
    if stated.is_some_and(|n| n > limit as u64) {
        return too_long(&name, limit);
    }
    let units = match sent.units.as_deref().map(Units::from_str).transpose() {
        Ok(units) => units,
        Err(why) => {
            let text = why.clone();
            return refused(
                StatusCode::BAD_REQUEST,
                &name,
                &text,
                None,
                "choose another unit",
            );
        }
    };
    let Ok(_turn) = desk.uploads.acquire().await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    // Stops reading at the limit, whatever the sender says of the length.
    let bytes = match tokio::time::timeout(desk.limits.upload_time, to_bytes(body, limit)).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(why)) if is_too_long(&why) => return too_long(&name, limit),
        Ok(Err(_)) => {
            let text = "the upload broke off";
            return refused(StatusCode::BAD_REQUEST, &name, text, None, "send it again");
        }
        Err(_) => {
            let text = "the upload took too long";
            return refused(
                StatusCode::REQUEST_TIMEOUT,
                &name,
                text,
                None,
                "send it again",
            );
        }
    };
    let opened = aside(&desk, move |desk| open(desk, &name, &bytes, units)).await;
    match opened {
        Ok(Ok(reply)) => json(StatusCode::OK, &reply),
        Ok(Err(error)) => json(StatusCode::UNPROCESSABLE_ENTITY, &error),
        Err(status) => status.into_response(),
    }
}

/// The last piece of what the page calls the file, without what no name has.
fn label(sent: &str) -> String {
    let last = sent.rsplit(['/', '\\']).next().unwrap_or_default();
    let clean: String = last
        .chars()
        .filter(|c| !c.is_control())
        .take(NAME_LENGTH)
        .collect();
    match clean.trim() {
        "" | "." | ".." => "part".into(),
        name => name.into(),
    }
}

fn is_too_long(error: &axum::Error) -> bool {
    let mut cause: Option<&dyn std::error::Error> = Some(error);
    while let Some(at) = cause {
        if at.is::<LengthLimitError>() {
            return true;
        }
        cause = at.source();
    }
    false
}

fn too_long(name: &str, limit: usize) -> Response {
    let text = format!("longer than the {} MB that the desk takes", limit >> 20);
    let hint = "use wayup advise, which has no such limit";
    refused(StatusCode::PAYLOAD_TOO_LARGE, name, &text, None, hint)
}

fn refused(
    status: StatusCode,
    name: &str,
    defect: &str,
    place: Option<&str>,
    hint: &str,
) -> Response {
    let text = format!("error: {name}: {defect}\nhint: {hint}");
    json(status, &error(name, defect, place, hint, &text))
}

fn error(file: &str, defect: &str, place: Option<&str>, hint: &str, text: &str) -> Value {
    object!({"error": {"file": file, "defect": defect, "place": place, "hint": hint, "text": text}})
}

/// Reads the bytes and puts the part on the table; a defect in the words of the terminal.
fn open(desk: &Desk, name: &str, bytes: &[u8], units: Option<Units>) -> Result<Value, Value> {
    let options = ReadOptions {
        units,
        ..ReadOptions::default()
    };
    let intake = read_bytes(name, bytes, &options)
        .and_then(Intake::new)
        .map_err(|e| {
            let failure = intake::failure(&e);
            error(
                name,
                &e.fault.to_string(),
                e.place.map(|p| p.to_string()).as_deref(),
                &failure.hint,
                &failure.to_string(),
            )
        })?;
    let number = desk.table.number();
    let part = DeskPart::new(number, intake, units.is_some(), desk.base.clone())
        .map_err(|f| error(&f.subject, &f.defect, None, &f.hint, &f.to_string()))?;
    Ok(reply(&desk.table.put(part)))
}

/// What the page is told of a part that is open.
pub fn reply(part: &DeskPart) -> Value {
    let origin = shape::origin_mm(&part.intake.part);
    object!({
        "part": part.id,
        "name": part.stem(),
        "facts": part.intake.facts,
        "defects": part.intake.defects,
        "origin_mm": [origin.x, origin.y, origin.z],
        "standing": part.rests.len(),
        "settings": in_force(&part.base.settings, &part.base.files),
    })
}
