//! Prints numbers that the program uses but does not show, as JSON: the hull, the
//! facets on which the part stands, the inertia, area and outline of every layer, and
//! where vertical lines cross the part.
//! The reference checks hold them against other libraries.
//!
//! ```text
//! cargo run --release --example inner_numbers -- PART UNITS DOWN_X DOWN_Y DOWN_Z LINES
//! ```
//!
//! `UNITS` is `mm`, `cm`, `m` or `in`; `LINES` is the number of lines along the longer
//! side of the footprint.

use nalgebra::{Unit, Vector3};
use serde_json::{Value, json};
use std::path::Path;
use wayup::figures::stop::Stop;
use wayup::figures::{dexels, slicing};
use wayup::mesh::{ReadOptions, read_path};
use wayup::pose::hull::Hull;
use wayup::pose::{Pose, Posed, standing};
use wayup::settings::Settings;

/// Angle of the grid of lines to build X, radians: no wall of a part runs along it.
const TURN_RAD: f64 = 0.6;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [path, units, x, y, z, lines] = words.as_slice() else {
        return Err("expected PART UNITS DOWN_X DOWN_Y DOWN_Z LINES".into());
    };
    let down = Unit::try_new(Vector3::new(x.parse()?, y.parse()?, z.parse()?), 1e-12)
        .ok_or("the direction has no length")?;
    let options = ReadOptions {
        units: Some(units.parse()?),
        ..ReadOptions::default()
    };
    let (part, _) = read_path(Path::new(path), &options)?.take_part()?;
    let hull = Hull::new(&part.mesh.vertices)?;
    let posed = Posed::new(&part, Pose::new(&down, &hull.vertices));
    let (layers, _) = slicing::layers(&posed, &Settings::default(), &Stop::never());

    let (mut volume, mut area) = (0.0, 0.0);
    for t in &hull.triangles {
        let [a, b, c] = t.map(|v| hull.vertices[v as usize].coords);
        volume += a.dot(&b.cross(&c)) / 6.0;
        area += (b - a).cross(&(c - a)).norm() / 2.0;
    }
    let layers: Vec<Value> = layers
        .sections
        .iter()
        .map(|section| {
            json!({
                "z_mm": section.z_mm,
                "area_mm2": section.pieces.iter().map(|p| p.area_mm2).sum::<f64>(),
                "perimeter_mm": section.pieces.iter().map(wayup::figures::Piece::perimeter_mm).sum::<f64>(),
                "pieces": section.pieces.len(),
            })
        })
        .collect();
    let rotation = posed.pose.rotation();
    let result = json!({
        "rotation": (0..3).map(|i| (0..3).map(|k| rotation[(i, k)]).collect()).collect::<Vec<Vec<f64>>>(),
        "offset_mm": posed.pose.build_from_part.translation.vector.as_slice(),
        "inertia_mm5": (0..3)
            .map(|i| (0..3).map(|k| part.mass.inertia_mm5[(i, k)]).collect())
            .collect::<Vec<Vec<f64>>>(),
        "hull": {
            "volume_mm3": volume,
            "area_mm2": area,
            "vertices": hull.vertices.len(),
            "facets": hull.facets().len(),
        },
        "rests": standing(&hull, &part.mass.centroid, usize::MAX)
            .iter()
            .zip(hull.facets())
            .map(|(r, f)| json!({"down": r.down.as_slice(), "stands": r.stands, "area_mm2": f.area_mm2}))
            .collect::<Vec<Value>>(),
        "layers": layers,
        "lines": crossings(&posed, lines.parse()?)?,
    });
    println!("{result}");
    Ok(())
}

/// Every line of a grid over the footprint with the heights where it crosses.
fn crossings(posed: &Posed, along: usize) -> Result<Vec<Value>, Box<dyn std::error::Error>> {
    let [long, short] = posed.footprint_mm();
    let cell = long.max(short) / along as f64;
    let grid =
        dexels::Grid::over(posed, cell, TURN_RAD, [0.437, 0.291]).ok_or("no grid of lines")?;
    let raster = dexels::Raster::new(posed, &grid);
    let (mut found, mut strip) = (Vec::new(), dexels::Dexels::default());
    for k in 0..raster.strips() {
        raster.strip(k, &mut strip, Stop::never());
        for j in strip.rows.clone() {
            for i in 0..grid.nx {
                let line = strip.line(i, j);
                if !line.is_empty() {
                    let at = grid.line(i, j);
                    let z: Vec<f64> = line.iter().map(|c| c.z_mm).collect();
                    found.push(json!({"x": at.x, "y": at.y, "z": z}));
                }
            }
        }
    }
    Ok(found)
}
