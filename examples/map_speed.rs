//! How long the support of a thousand directions takes, and how far it is off:
//! `cargo run --release --example map_speed -- FILE [DIRECTIONS] [CHECKED]`.
//!
//! Every direction gets the brief figure; of so many, evenly picked, the figure measured in full
//! is set against it.

use rayon::prelude::*;
use std::time::Instant;
use wayup::figures::stop::Stop;
use wayup::figures::support::{Survey, support};
use wayup::mesh::{ReadOptions, read_path};
use wayup::pose::lattice::spiral;
use wayup::pose::{Hull, Pose, Posed};
use wayup::settings::Settings;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args_os().skip(1);
    let Some(path) = args.next() else {
        eprintln!("name a mesh file");
        return Ok(());
    };
    let mut number = |default: usize| {
        args.next()
            .and_then(|a| a.to_str()?.parse().ok())
            .unwrap_or(default)
    };
    let (count, checked) = (number(1000), number(50));
    let (part, _) = read_path(path.as_ref(), &ReadOptions::default())?.take_part()?;
    let hull = Hull::new(&part.mesh.vertices)?;
    let settings = Settings::default();
    let stop = Stop::never();
    let directions = spiral(count);
    let start = Instant::now();
    let survey = Survey::new(&part);
    let found: Vec<_> = (directions.par_iter())
        .map(|d| survey.support(d, &settings, stop))
        .collect();
    println!(
        "{} triangles, {count} directions in {:.2} s; unresolved {}",
        part.mesh.triangles.len(),
        start.elapsed().as_secs_f64(),
        found.iter().filter(|b| !b.resolved).count()
    );
    let (mut sum, mut worst, mut outside, mut n) = (0.0, 0.0_f64, 0, 0);
    for k in (0..count).step_by((count / checked.max(1)).max(1)) {
        let posed = Posed::new(&part, Pose::new(&directions[k], &hull.vertices));
        let full = support(&posed, &settings, &|_, _, _| false, stop);
        let off = (found[k].volume_mm3 - full.volume_mm3).abs();
        let share = off / full.volume_mm3.max(1.0);
        sum += share;
        worst = worst.max(share);
        outside += usize::from(off > found[k].error_mm3 + full.error_mm3);
        n += 1;
    }
    println!(
        "{n} against the full figure: mean {:.2} %, worst {:.2} %, outside their errors {outside}",
        100.0 * sum / f64::from(n),
        100.0 * worst
    );
    Ok(())
}
