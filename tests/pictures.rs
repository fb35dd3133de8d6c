//! Drawings against pictures that were looked at: `tests/golden/pictures/`.
//!
//! A few grey levels and a few pixels may differ; more than that fails and writes
//! `tests/out/pictures.html` with before, after and the difference.
//! `WAYUP_GOLDEN=write cargo test --test pictures` writes them anew: look at them.

use base64::Engine as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Pixels of the program's picture that make one of the golden one.
const COARSER: usize = 3;

/// Grey levels by which a pixel may differ.
const LEVELS: u8 = 48;

/// Share of the inked pixels that may differ by more.
const SHARE: f64 = 0.02;

struct Grey {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

impl Grey {
    fn read(bytes: &[u8]) -> Self {
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("of a size")];
        let info = reader.next_frame(&mut pixels).expect("a picture");
        assert_eq!(info.color_type, png::ColorType::Grayscale);
        pixels.truncate(info.buffer_size());
        Self {
            width: info.width as usize,
            height: info.height as usize,
            pixels,
        }
    }

    fn write(&self) -> Vec<u8> {
        let mut out = Vec::new();
        let mut encoder = png::Encoder::new(&mut out, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_compression(png::Compression::High);
        let mut writer = encoder.write_header().expect("a header");
        writer.write_image_data(&self.pixels).expect("pixels");
        drop(writer);
        out
    }

    /// Means over squares of pixels.
    fn coarser(&self) -> Self {
        let (width, height) = (self.width / COARSER, self.height / COARSER);
        let pixels = (0..width * height)
            .map(|i| {
                let (x, y) = (i % width * COARSER, i / width * COARSER);
                let sum: usize = (0..COARSER * COARSER)
                    .map(|k| self.pixels[(y + k / COARSER) * self.width + x + k % COARSER])
                    .map(usize::from)
                    .sum();
                (sum / (COARSER * COARSER)) as u8
            })
            .collect();
        Self {
            width,
            height,
            pixels,
        }
    }

    /// Pixels that differ, as a share of the inked ones, and a picture of them.
    fn against(&self, other: &Self) -> (f64, Self) {
        if (self.width, self.height) != (other.width, other.height) {
            return (
                1.0,
                Self {
                    width: 1,
                    height: 1,
                    pixels: vec![0],
                },
            );
        }
        let off: Vec<u8> = (self.pixels.iter().zip(&other.pixels))
            .map(|(a, b)| 255 - a.abs_diff(*b))
            .collect();
        let differ = off.iter().filter(|d| 255 - **d > LEVELS).count();
        let inked = self.pixels.iter().filter(|p| **p < 200).count().max(1);
        let picture = Self {
            width: self.width,
            height: self.height,
            pixels: off,
        };
        (differ as f64 / inked as f64, picture)
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn drawn(part: &str, flags: &[&str], folder: &Path) -> Vec<u8> {
    let file = folder.join("drawn.png");
    let done = Command::new(env!("CARGO_BIN_EXE_wayup"))
        .current_dir(root())
        .env("HOME", folder)
        .env_remove("XDG_CONFIG_HOME")
        .args(["advise", part, "--picture"])
        .arg(&file)
        .args(flags)
        .output()
        .expect("runs");
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    fs::read(file).expect("written")
}

#[test]
fn drawings_are_the_ones_that_were_looked_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = std::env::var("WAYUP_GOLDEN").is_ok_and(|v| v == "write");
    let mut page = String::new();
    let mut wrong = Vec::new();
    for (name, part, flags) in [
        (
            "page-holder-2",
            "meshes/page-holder.stl",
            &["--pose", "2"][..],
        ),
        ("valve-oil-rack", "meshes/valve-oil-rack.stl", &[]),
        (
            "valve-oil-rack-3",
            "meshes/valve-oil-rack.stl",
            &["--pose", "3"],
        ),
        ("bell-spout", "meshes/bell-spout.ply", &[]),
        (
            "wall-hanger-third",
            "meshes/wall-hanger.stl",
            &["--angle", "third"],
        ),
        ("reed-case", "meshes/reed-case.stl", &[]),
    ] {
        let now = Grey::read(&drawn(part, flags, folder.path())).coarser();
        let golden = root().join(format!("tests/golden/pictures/{name}.png"));
        if write {
            fs::create_dir_all(golden.parent().expect("a folder")).expect("made");
            fs::write(&golden, now.write()).expect("written");
            continue;
        }
        let bytes = fs::read(&golden).unwrap_or_else(|e| panic!("{}: {e}", golden.display()));
        let before = Grey::read(&bytes);
        let (share, difference) = before.against(&now);
        if share > SHARE {
            wrong.push(format!("{name}: {:.1} % of the ink", 100.0 * share));
            page.push_str(&format!("<h2>{name}</h2>"));
            for (title, bytes) in [
                ("before", bytes),
                ("after", now.write()),
                ("difference", difference.write()),
            ] {
                let data = base64::engine::general_purpose::STANDARD.encode(bytes);
                page.push_str(&format!(
                    "<p>{title}<br><img alt=\"{title}\" src=\"data:image/png;base64,{data}\"></p>"
                ));
            }
        }
    }
    if !wrong.is_empty() {
        let out = root().join("tests/out");
        fs::create_dir_all(&out).expect("made");
        let html = format!("<!DOCTYPE html><meta charset=\"utf-8\"><title>Pictures</title>{page}");
        fs::write(out.join("pictures.html"), html).expect("written");
        panic!("see tests/out/pictures.html: {}", wrong.join("; "));
    }
}

#[test]
fn a_picture_is_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().expect("a folder");
    let one = drawn("meshes/stand-clip.stl", &["--threads", "1"], folder.path());
    let four = drawn("meshes/stand-clip.stl", &["--threads", "4"], folder.path());
    assert!(one == four);
}

#[test]
fn a_shifted_line_is_seen_as_a_difference() {
    let line = |x: usize| Grey {
        width: 40,
        height: 40,
        pixels: (0..1600)
            .map(|i| if i % 40 == x { 0 } else { 255 })
            .collect(),
    };
    assert_eq!(line(10).against(&line(10)).0, 0.0);
    assert!(line(10).against(&line(11)).0 > SHARE);
}
