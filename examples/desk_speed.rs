//! How quick the desk is: opens a part of 100,000 triangles, asks for the advice, turns it by
//! hand over a real socket, and prints how long the answers take.
//!
//! `cargo run --release --example desk_speed [FILE [TURNS]]`; without FILE a demo part whose
//! triangles are cut until there are enough.

use serde_json::{Value, json};
use std::error::Error;
use std::path::Path;
use std::time::{Duration, Instant};
use wayup::mesh::{Format, Mesh, ReadOptions, Units, read_path, write_to};

#[path = "../tests/desk/client.rs"]
mod client;

use client::{Client, Running};

/// Triangles that the part has at least.
const TRIANGLES: usize = 100_000;

/// Turns that are sent unless told otherwise.
const TURNS: usize = 300;

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let file = words.next();
    let turns = words.next().map_or(Ok(TURNS), |w| w.parse())?;
    let bytes = match &file {
        Some(path) => std::fs::read(path)?,
        None => dense()?,
    };
    let desk = Running::start();
    let began = Instant::now();
    let reply = desk.upload("part.stl", &bytes)?;
    println!("opened                {:8.1} ms", ms(began.elapsed()));
    let triangles = &reply["facts"]["triangles"];
    println!("triangles             {triangles}");
    let part = &reply["part"];
    let began = Instant::now();
    let (_, _, surface) = desk.get(&format!("/part/{part}/mesh"))?;
    println!(
        "surface sent          {:8.1} ms, {:.1} MB",
        ms(began.elapsed()),
        surface.len() as f64 / 1e6
    );

    let mut page = Client::connect(&desk)?;
    let began = Instant::now();
    page.say(&json!({"do": "open", "part": part}))?;
    page.wait(|m| m["say"] == "ranking" && m["stage"] == "quick")?;
    println!("first ranking         {:8.1} ms", ms(began.elapsed()));

    // Half of them or so while the search runs.
    let busy = drag(&mut page, part, turns)?;
    print("turn, search running ", &busy);
    let last = page.wait(|m| m["say"] == "ranking" && m["final"] == true)?;
    println!(
        "full ranking          {:8.1} ms, {} poses measured",
        ms(began.elapsed()),
        last["measured_anew"]
    );
    let idle = drag(&mut page, part, turns)?;
    print("turn, nothing else   ", &idle);

    for (what, values) in [
        ("weight changed", json!({"weights": {"height": 0.5}})),
        ("aim changed", json!({"aim": "clean"})),
        ("material changed", json!({"material": "PETG"})),
        ("load given", json!({"load": [0, 1, 0]})),
        ("limit changed", json!({"limit_deg": 50})),
    ] {
        let began = Instant::now();
        page.say(&json!({"do": "settings", "part": part, "values": values}))?;
        page.wait(|m| m["say"] == "ranking")?;
        let first = began.elapsed();
        let last = page.wait(|m| m["say"] == "ranking" && m["final"] == true)?;
        println!(
            "{what:20} {:8.1} ms to the first ranking, {:8.1} to the last, {} poses measured again",
            ms(first),
            ms(began.elapsed()),
            last["measured_anew"]
        );
    }
    Ok(())
}

/// Sends turns one after the other and waits for the quick figures of each.
fn drag(page: &mut Client, part: &Value, turns: usize) -> Result<Vec<Duration>, Box<dyn Error>> {
    let mut times = Vec::new();
    for seq in 0..turns {
        let (s, c) = libm::sincos(seq as f64 * 0.05);
        let down = [c, s, libm::sin(seq as f64 * 0.013) - 0.5];
        let began = Instant::now();
        page.say(&json!({"do": "turn", "part": part, "seq": seq, "down": down, "rest": false}))?;
        page.wait(|m| m["say"] == "figures" && m["seq"] == seq)?;
        times.push(began.elapsed());
    }
    times.sort_unstable();
    Ok(times)
}

fn print(what: &str, times: &[Duration]) {
    let at = |share: f64| ms(times[((times.len() - 1) as f64 * share) as usize]);
    println!(
        "{what} {:8.1} ms median, {:.1} ms 95th percentile, {} turns",
        at(0.5),
        at(0.95),
        times.len()
    );
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

/// A demo part, its triangles cut until there are enough.
fn dense() -> Result<Vec<u8>, Box<dyn Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("meshes/valve-oil-rack.stl");
    let mut mesh = read_path(&path, &ReadOptions::default())?.mesh;
    let pieces = (TRIANGLES as f64 / mesh.triangles.len() as f64)
        .sqrt()
        .ceil() as u32;
    mesh = cut(&mesh, pieces);
    let mut out = std::io::Cursor::new(Vec::new());
    write_to(&mut out, &mesh, Format::Stl, Units::Millimeter)?;
    Ok(out.into_inner())
}

/// Every triangle cut into n² of its shape.
fn cut(mesh: &Mesh, n: u32) -> Mesh {
    let mut out = Mesh::default();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        // From the corners in a fixed order, so that neighbours cut their edge alike.
        let at = |i: u32, j: u32| {
            let (i, j, k) = (f64::from(i), f64::from(j), f64::from(n - i - j));
            let mut terms = [(a, k), (b, i), (c, j)];
            terms.sort_by(|p, q| {
                let key = |p: &nalgebra::Point3<f64>| [p.x, p.y, p.z];
                key(&p.0)
                    .partial_cmp(&key(&q.0))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            let sum = terms
                .iter()
                .fold(nalgebra::Vector3::zeros(), |sum, (p, w)| {
                    sum + p.coords * *w
                });
            nalgebra::Point3::from(sum / f64::from(n))
        };
        let mut add = |corners: [nalgebra::Point3<f64>; 3]| {
            let first = out.vertices.len() as u32;
            out.vertices.extend(corners);
            out.triangles.push([first, first + 1, first + 2]);
        };
        for j in 0..n {
            for i in 0..n - j {
                add([at(i, j), at(i + 1, j), at(i, j + 1)]);
                if i + j + 1 < n {
                    add([at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)]);
                }
            }
        }
    }
    out
}
