//! How long one view of a mesh takes: `cargo run --release --example draw_speed -- FILE`.
//!
//! Reads the file as metres if its numbers are small; prints milliseconds for the depth
//! buffer, for the lines and for both, each the best of three.

use std::time::Instant;
use wayup::mesh::{ReadOptions, read_path};
use wayup::pose::{Pose, Posed};
use wayup::report::draw::lines::Seen;
use wayup::report::draw::model::DrawingModel;
use wayup::report::draw::view::View;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let Some(path) = std::env::args_os().nth(1) else {
        eprintln!("name a mesh file");
        return Ok(());
    };
    let (part, _) = read_path(path.as_ref(), &ReadOptions::default())?.take_part()?;
    let posed = Posed::new(&part, Pose::as_stored(&part.mesh.vertices));
    let start = Instant::now();
    let model = DrawingModel::new(&part);
    println!(
        "{} triangles, made ready in {:.0} ms",
        part.mesh.triangles.len(),
        start.elapsed().as_secs_f64() * 1e3
    );
    for (name, view) in [
        ("front", View::front()),
        ("left", View::left()),
        ("below", View::below()),
        ("isometric", View::isometric()),
    ] {
        let mut best = [f64::INFINITY; 2];
        for _ in 0..3 {
            let start = Instant::now();
            let Some(seen) = Seen::new(&posed, view, 1400) else {
                return Err("no triangle to draw".into());
            };
            let depth = start.elapsed().as_secs_f64() * 1e3;
            let lines = seen.lines(&model, true);
            let all = start.elapsed().as_secs_f64() * 1e3;
            assert!(!lines.outline.is_empty());
            best = [best[0].min(depth), best[1].min(all)];
        }
        println!(
            "{name:<10} depth {:5.0} ms, lines {:5.0} ms, view {:5.0} ms",
            best[0],
            best[1] - best[0],
            best[1]
        );
    }
    Ok(())
}
