//! What goes out: the surface, turned files, the sheet, the JSON, small figures.

use super::{AppState, aside, found, json, upload};
use crate::desk::engine::advice::{FullAdvice, UntilClosed};
use crate::desk::engine::part::DeskPart;
use crate::desk::engine::{advice, shape, values};
use crate::materials::MATERIALS;
use crate::mesh::{Format, Mesh, write_to};
use crate::pose::{Pose, Posed};
use crate::rank::map;
use crate::rank::search::Search;
use crate::report::draw::model::DrawingModel;
use crate::report::draw::view::Angle;
use crate::report::layout::percent_encoded;
use crate::report::number;
use crate::report::sheet::{self, SheetJob};
use crate::report::sphere;
use crate::session::config::in_force;
use crate::settings::{Aim, Settings};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use nalgebra::{Unit, Vector3};
use serde::Deserialize;
use serde_json::{Value, json as object};
use std::io::Cursor;
use std::path::Path as FilePath;
use std::sync::Arc;

/// What is asked for besides the name.
#[derive(Debug, Deserialize)]
pub struct TakeQuery {
    down: Option<String>,
}

/// The parts that are open, and what a page needs before it asks anything.
pub async fn table(State(desk): State<Arc<AppState>>) -> Response {
    let parts: Vec<Value> = desk.table.all().iter().map(|p| upload::reply(p)).collect();
    json(
        StatusCode::OK,
        &object!({
            "parts": parts,
            "materials": MATERIALS.iter().map(|m| &m.name).collect::<Vec<_>>(),
            "aims": Aim::ALL.map(Aim::name),
            "settings": in_force(&desk.base.settings, &desk.base.files),
            "upload_limit_bytes": desk.limits.upload_bytes,
        }),
    )
}

/// A file about a part.
///
/// # Errors
/// 404 for a part or file that is not there, 400 for a direction that is none.
pub async fn take(
    State(desk): State<Arc<AppState>>,
    Path((id, what)): Path<(u64, String)>,
    asked: Result<Query<TakeQuery>, QueryRejection>,
) -> Result<Response, Response> {
    let said = |status: StatusCode| status.into_response();
    let off = |why: String| (StatusCode::BAD_REQUEST, why).into_response();
    let Query(asked) = asked.map_err(|_| off(upload::OFF_QUERY.into()))?;
    let part = found(&desk, id).map_err(said)?;
    let down = asked
        .down
        .map(|text| values::direction(&Value::String(text)))
        .transpose()
        .map_err(off)?
        .map(|down| part.exact(down));
    let made = aside(&desk, move |_| file(&part, &what, down)).await;
    made.and_then(|made| made).map_err(said)
}

fn file(
    part: &DeskPart,
    what: &str,
    down: Option<Unit<Vector3<f64>>>,
) -> Result<Response, StatusCode> {
    let (kind, name, bytes) = match what {
        "mesh" => {
            let block = shape::block(&part.intake.part, &part.layout.features.regions);
            ("application/octet-stream", None, block)
        }
        "picture.svg" => {
            let down = down.ok_or(StatusCode::BAD_REQUEST)?;
            let picture = advice::picture(part, &down).as_bytes().to_vec();
            ("image/svg+xml", None, picture)
        }
        "map.svg" => {
            let settings = part.in_force();
            let bench = part.bench(&settings);
            let told = answer(part, &settings)?;
            let search = Search::on(&bench, &part.known);
            let mapped = map::map(&bench, &search, &UntilClosed(part));
            let mapped = mapped.map_err(|_| StatusCode::NOT_FOUND)?;
            let plot = sphere::map_of(&mapped, &told.advice.poses);
            let picture = plot.picture.svg_file(&plot.alt);
            ("image/svg+xml", None, picture.into_bytes())
        }
        "advice.json" => {
            let settings = part.in_force();
            let told = answer(part, &settings)?;
            let line = number::line(&advice::report(part, &settings, &told.advice))
                .map_err(|_| StatusCode::INTERNAL_SERVER_ERROR)?;
            let name = Some("advice.json".to_string());
            ("application/json", name, (line + "\n").into_bytes())
        }
        "sheet.html" => {
            let settings = part.in_force();
            let bench = part.bench(&settings);
            let mut told = answer(part, &settings)?;
            if let Some(down) = down {
                advice::put_first(part, &settings, &mut told.advice, down);
            }
            let job = SheetJob {
                bench: &bench,
                advice: &told.advice,
                facts: &part.intake.facts,
                angle: Angle::default(),
                date: None,
                number: [1, 1],
            };
            let page = sheet::page(&job, &DrawingModel::new(&part.intake.part));
            let (name, page) = (Some("sheet.html".to_string()), sheet::document(&[page]));
            ("text/html; charset=utf-8", name, page.into_bytes())
        }
        _ => {
            let format = Some(FilePath::new(what))
                .filter(|p| p.file_stem().is_some_and(|s| s == "turned"))
                .and_then(Format::of_ending)
                .filter(|f| *f != Format::Off)
                .ok_or(StatusCode::NOT_FOUND)?;
            let bytes = turned(part, format, &down.ok_or(StatusCode::BAD_REQUEST)?)?;
            let name = Some(format!("turned.{}", format.name()));
            ("application/octet-stream", name, bytes)
        }
    };
    // What has a name is to be saved.
    let saved = name.map(|name| attachment(&format!("{}-{name}", part.stem())));
    let saved = saved.map(|how| [(header::CONTENT_DISPOSITION, how)]);
    Ok((saved, [(header::CONTENT_TYPE, kind)], bytes).into_response())
}

/// The full advice, however long it takes; 404 where the part is closed meanwhile.
fn answer(part: &DeskPart, settings: &Settings) -> Result<FullAdvice, StatusCode> {
    let told = advice::full(part, settings, &UntilClosed(part), &|_| {});
    told.ok()
        .filter(|_| !part.is_closed())
        .ok_or(StatusCode::NOT_FOUND)
}

/// The very file that `wayup turn` writes.
fn turned(
    part: &DeskPart,
    format: Format,
    down: &Unit<Vector3<f64>>,
) -> Result<Vec<u8>, StatusCode> {
    let intake = &part.intake;
    let yaw = part.yaw_deg(down, &part.in_force());
    let posed = Posed::new(
        &intake.part,
        Pose::with_yaw(down, yaw, &intake.part.mesh.vertices),
    );
    let mesh = Mesh {
        vertices: posed.vertices,
        triangles: intake.part.mesh.triangles.clone(),
    };
    let mut out = Cursor::new(Vec::new());
    write_to(&mut out, &mesh, format, intake.units)
        .map_err(|_| StatusCode::INTERNAL_SERVER_ERROR)?;
    Ok(out.into_inner())
}

/// How to save a file under a name; letters outside ASCII as RFC 6266 and RFC 5987 have it.
fn attachment(name: &str) -> String {
    let safe = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    let plain = name.replace(|c| !safe(c) && c != ' ', "_");
    let coded = percent_encoded(name, safe);
    format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{coded}")
}
