//! The same triangles in every format, as plain as the format allows.

use crate::bench::Triangle;
use std::io::Write;
use zip::write::SimpleFileOptions;

pub fn text_stl(shape: &[Triangle]) -> String {
    let mut out = String::from("solid made\n");
    for t in shape {
        out += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in t {
            out += &format!("vertex {x} {y} {z}\n");
        }
        out += "endloop\nendfacet\n";
    }
    out + "endsolid made\n"
}

/// Corners one after the other, three a triangle.
fn corners(shape: &[Triangle]) -> impl Iterator<Item = &[f32; 3]> {
    shape.iter().flatten()
}

pub fn obj(shape: &[Triangle]) -> String {
    let mut out = String::new();
    for [x, y, z] in corners(shape) {
        out += &format!("v {x} {y} {z}\n");
    }
    for t in 0..shape.len() {
        out += &format!("f {} {} {}\n", 3 * t + 1, 3 * t + 2, 3 * t + 3);
    }
    out
}

pub fn off(shape: &[Triangle]) -> String {
    let mut out = format!("OFF\n{} {} 0\n", 3 * shape.len(), shape.len());
    for [x, y, z] in corners(shape) {
        out += &format!("{x} {y} {z}\n");
    }
    for t in 0..shape.len() {
        out += &format!("3 {} {} {}\n", 3 * t, 3 * t + 1, 3 * t + 2);
    }
    out
}

fn ply_head(form: &str, shape: &[Triangle]) -> String {
    format!(
        "ply\nformat {form} 1.0\nelement vertex {}\nproperty float x\nproperty float y\n\
         property float z\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n",
        3 * shape.len(),
        shape.len()
    )
}

pub fn ply(shape: &[Triangle]) -> String {
    let mut out = ply_head("ascii", shape);
    for [x, y, z] in corners(shape) {
        out += &format!("{x} {y} {z}\n");
    }
    for t in 0..shape.len() {
        out += &format!("3 {} {} {}\n", 3 * t, 3 * t + 1, 3 * t + 2);
    }
    out
}

pub fn ply_binary(shape: &[Triangle]) -> Vec<u8> {
    let mut out = ply_head("binary_little_endian", shape).into_bytes();
    for c in corners(shape).flatten() {
        out.extend(c.to_le_bytes());
    }
    for t in 0..shape.len() as i32 {
        out.push(3);
        for k in 0..3 {
            out.extend((3 * t + k).to_le_bytes());
        }
    }
    out
}

/// The `<mesh>` of a 3MF object.
pub fn mesh_xml(shape: &[Triangle]) -> String {
    let mut out = String::from("<mesh><vertices>");
    for [x, y, z] in corners(shape) {
        out += &format!(r#"<vertex x="{x}" y="{y}" z="{z}"/>"#);
    }
    out += "</vertices><triangles>";
    for t in 0..shape.len() {
        let [a, b, c] = [3 * t, 3 * t + 1, 3 * t + 2];
        out += &format!(r#"<triangle v1="{a}" v2="{b}" v3="{c}"/>"#);
    }
    out + "</triangles></mesh>"
}

/// A model with these resources and build items.
pub fn model_xml(resources: &str, build: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>{resources}</resources><build>{build}</build></model>"#
    )
}

const RELATIONS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;

/// A 3MF package around a model.
pub fn package(model: &str) -> Vec<u8> {
    zipped(&[
        ("_rels/.rels", RELATIONS.as_bytes()),
        ("3D/3dmodel.model", model.as_bytes()),
    ])
}

/// A zip archive of some entries.
pub fn zipped(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        zip.start_file(*name, SimpleFileOptions::default())
            .expect("a new entry");
        zip.write_all(bytes).expect("in memory");
    }
    zip.finish().expect("in memory").into_inner()
}

pub fn threemf(shape: &[Triangle]) -> Vec<u8> {
    let object = format!(
        r#"<object id="1" type="model">{}</object>"#,
        mesh_xml(shape)
    );
    package(&model_xml(&object, r#"<item objectid="1"/>"#))
}
