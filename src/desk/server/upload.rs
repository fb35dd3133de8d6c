//! A part comes in: bytes in, facts or a defect out. The name sent is a label, never a path.

use super::{AppState, Limits, aside, json};
use crate::desk::engine::part::DeskPart;
use crate::desk::engine::shape;
use crate::mesh::{Place, ReadError, ReadFault, ReadOptions, Units, checksum, read_bytes};
use crate::session::config::in_force;
use crate::session::exit::{Exit, Failure};
use crate::session::intake::{self, Intake};
use crate::session::memory;
use crate::words::{is_unseen, printable};
use axum::body::{Body, Bytes};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use http_body_util::{BodyExt, LengthLimitError, Limited};
use serde::Deserialize;
use serde_json::{Value, json as object};
use std::str::FromStr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

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
    State(desk): State<Arc<AppState>>,
    sent: Result<Query<Sent>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let Ok(Query(sent)) = sent else {
        let hint = "give name and units once each, other signs as %XX";
        return refused(StatusCode::BAD_REQUEST, "part", OFF_QUERY, hint);
    };
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
            return refused(StatusCode::BAD_REQUEST, &name, &why, "choose another unit");
        }
    };
    let Ok(_turn) = desk.uploads.acquire().await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    // Dropped where the sender goes away, too.
    let gone = Arc::new(AtomicBool::new(false));
    let _end = SetOnDrop(Arc::clone(&gone));
    let broken = |status, text| refused(status, &name, text, "send it again");
    let whole = whole(body, &desk.limits);
    let bytes = match tokio::time::timeout(desk.limits.upload_time, whole).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(Broken::Long)) => return too_long(&name, limit),
        Ok(Err(Broken::Off)) => {
            return broken(StatusCode::BAD_REQUEST, "the upload was interrupted");
        }
        Ok(Err(Broken::Idle)) | Err(_) => {
            return broken(StatusCode::REQUEST_TIMEOUT, "the upload took too long");
        }
    };
    let (label, kept) = (name.clone(), bytes.clone());
    let opened = aside(&desk, move |desk| open(desk, &label, &kept, units, &gone)).await;
    match opened {
        Ok(Ok(reply)) => json(StatusCode::OK, &reply),
        Ok(Err(error)) => json(StatusCode::UNPROCESSABLE_ENTITY, &error),
        Err(status) => {
            let why = intake::fault(&name, Some(&checksum(&bytes)));
            json(status, &error(&why, &why.defect, None))
        }
    }
}

/// Says that nobody waits any more.
struct SetOnDrop(Arc<AtomicBool>);

impl Drop for SetOnDrop {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What is said of a query that cannot be read.
pub(super) const OFF_QUERY: &str = "what stands behind the ? of the address is not understood";

/// Why a body did not come whole.
enum Broken {
    Long,
    Off,
    Idle,
}

/// Bytes a second below which an upload, once it has had the time to fall silent, counts as silent:
/// another may wait for its place, and the sender is on this machine.
const SLOWEST: f64 = 65_536.0;

/// The whole body. Stops reading at the limit, whatever the sender says of the length, and where
/// nothing comes for too long, or too little.
async fn whole(body: Body, limits: &Limits) -> Result<Bytes, Broken> {
    let mut body = Limited::new(body, limits.upload_bytes);
    let mut bytes = Vec::new();
    let began = Instant::now();
    loop {
        let since = began.elapsed();
        let due = since.saturating_sub(limits.upload_idle).as_secs_f64() * SLOWEST;
        if (bytes.len() as f64) < due {
            return Err(Broken::Idle);
        }
        let next = tokio::time::timeout(limits.upload_idle, body.frame()).await;
        match next.map_err(|_| Broken::Idle)? {
            None => return Ok(bytes.into()),
            Some(Err(why)) if why.is::<LengthLimitError>() => return Err(Broken::Long),
            Some(Err(_)) => return Err(Broken::Off),
            Some(Ok(frame)) => bytes.extend_from_slice(frame.data_ref().map_or(&[], |d| d)),
        }
    }
}

/// The last piece of what the page calls the file, without what no name has.
fn label(sent: &str) -> String {
    let last = sent.rsplit(['/', '\\']).next().unwrap_or_default();
    let clean: String = last
        .chars()
        .filter(|c| !is_unseen(*c))
        .take(NAME_LENGTH)
        .collect();
    match clean.trim() {
        "" | "." | ".." => "part".into(),
        name => name.into(),
    }
}

fn too_long(name: &str, limit: usize) -> Response {
    let text = format!("longer than the {} MB that the desk takes", limit >> 20);
    let hint = "use wayup advise, which has no such limit";
    refused(StatusCode::PAYLOAD_TOO_LARGE, name, &text, hint)
}

fn refused(status: StatusCode, name: &str, defect: &str, hint: &str) -> Response {
    let failure = Failure::new(Exit::Unreadable, name, defect, hint);
    json(status, &error(&failure, defect, None))
}

/// What the page is told of a failure: `defect` and `place` by themselves, and all in the
/// words of the terminal.
fn error(failure: &Failure, defect: &str, place: Option<Place>) -> Value {
    object!({"error": {
        "file": failure.subject,
        "defect": defect,
        "place": place.map(|p| p.to_string()),
        "hint": failure.hint,
        "text": failure.to_string(),
    }})
}

/// Reads the bytes and puts the part on the table; a defect in the words of the terminal. Ends
/// early, and puts nothing there, once the sender is `gone`, and where it takes too long.
fn open(
    desk: &AppState,
    name: &str,
    bytes: &[u8],
    units: Option<Units>,
    gone: &AtomicBool,
) -> Result<Value, Value> {
    let options = ReadOptions {
        units,
        until: Instant::now().checked_add(desk.limits.open_time),
        ..ReadOptions::default()
    };
    let heard = || {
        let unheard = gone.load(Ordering::Relaxed);
        let nobody = || {
            Failure::new(
                Exit::Unreadable,
                name,
                "the sender went away",
                "send it again",
            )
        };
        if unheard {
            Err(error(&nobody(), "the sender went away", None))
        } else {
            Ok(())
        }
    };
    let off = |e: ReadError| match e.fault {
        ReadFault::TooLate => {
            let (text, hint) = (
                "took too long to be read",
                "use wayup advise with --seconds",
            );
            error(&Failure::new(Exit::TooLate, name, text, hint), text, None)
        }
        _ => error(&intake::failure(&e), &e.fault.to_string(), e.place),
    };
    heard()?;
    let loaded = read_bytes(name, bytes, &options).map_err(off)?;
    heard()?;
    let too_many = memory::too_many(loaded.mesh.triangles.len());
    intake::fits_memory(name.as_ref(), too_many).map_err(|f| error(&f, &f.defect, None))?;
    let intake = Intake::new(loaded).map_err(off)?;
    heard()?;
    let number = desk.table.number();
    let part = DeskPart::new(number, intake, units.is_some(), desk.base.clone())
        .map_err(|f| error(&f, &f.defect, None))?;
    heard()?;
    Ok(reply(&desk.table.put(part)))
}

/// What the page is told of a part that is open.
pub fn reply(part: &DeskPart) -> Value {
    let origin = shape::origin_mm(&part.intake.part);
    object!({
        "part": part.id,
        "name": printable(&part.stem()),
        "facts": part.intake.facts,
        "defects": part.intake.defects,
        "origin_mm": [origin.x, origin.y, origin.z],
        "standing": part.rests.len(),
        "settings": in_force(&part.base.settings, &part.base.files),
    })
}
