//! The demo files' bytes, one format each that the crate reads.

use std::fmt::Write as _;
use std::io::{self, Cursor, Write as _};
use wayup::mesh::Mesh;

/// How a part is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Binary STL, mm.
    Stl,
    /// 3MF whose model is in inches.
    ThreeMfInch,
    /// Wavefront OBJ, mm.
    Obj,
    /// Binary little-endian PLY, mm.
    Ply,
    /// Object File Format, mm.
    Off,
}

/// The bytes of `mesh` in `format`.
///
/// # Errors
/// What the archive writer of a 3MF reports.
pub fn bytes(mesh: &Mesh, format: Format) -> io::Result<Vec<u8>> {
    match format {
        Format::Stl => Ok(stl(mesh)),
        Format::ThreeMfInch => three_mf_inch(mesh),
        Format::Obj => Ok(obj(mesh).into_bytes()),
        Format::Ply => Ok(ply(mesh)),
        Format::Off => Ok(off(mesh).into_bytes()),
    }
}

fn stl(mesh: &Mesh) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((mesh.triangles.len() as u32).to_le_bytes());
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let normal = (b - a).cross(&(c - a)).normalize();
        for v in [normal, a.coords, b.coords, c.coords] {
            // Adding zero turns a negative zero into a positive one.
            out.extend(v.iter().flat_map(|x| (*x as f32 + 0.0).to_le_bytes()));
        }
        out.extend([0, 0]);
    }
    out
}

fn ply(mesh: &Mesh) -> Vec<u8> {
    let mut out = format!(
        "ply\nformat binary_little_endian 1.0\nelement vertex {}\nproperty float x\n\
         property float y\nproperty float z\nelement face {}\n\
         property list uchar int vertex_indices\nend_header\n",
        mesh.vertices.len(),
        mesh.triangles.len()
    )
    .into_bytes();
    for p in &mesh.vertices {
        out.extend(p.iter().flat_map(|x| (*x as f32).to_le_bytes()));
    }
    for t in &mesh.triangles {
        out.push(3);
        out.extend(t.iter().flat_map(|v| (*v as i32).to_le_bytes()));
    }
    out
}

fn obj(mesh: &Mesh) -> String {
    let mut out = String::new();
    for p in &mesh.vertices {
        let _ = writeln!(out, "v {} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(out, "f {} {} {}", a + 1, b + 1, c + 1);
    }
    out
}

fn off(mesh: &Mesh) -> String {
    let mut out = format!("OFF\n{} {} 0\n", mesh.vertices.len(), mesh.triangles.len());
    for p in &mesh.vertices {
        let _ = writeln!(out, "{} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(out, "3 {a} {b} {c}");
    }
    out
}

fn three_mf_inch(mesh: &Mesh) -> io::Result<Vec<u8>> {
    let mut model = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"inch\" xml:lang=\"en\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n\
         <resources>\n<object id=\"1\" type=\"model\">\n<mesh>\n<vertices>\n",
    );
    for p in &mesh.vertices {
        let _ = writeln!(model, "<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", p.x, p.y, p.z);
    }
    model.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(model, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    model.push_str(
        "</triangles>\n</mesh>\n</object>\n</resources>\n\
         <build>\n<item objectid=\"1\"/>\n</build>\n</model>\n",
    );
    let files = [
        (
            "[Content_Types].xml",
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
             <Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\">\n\
             <Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\n\
             <Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>\n\
             </Types>\n",
        ),
        (
            "_rels/.rels",
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
             <Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\n\
             <Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" \
             Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\n\
             </Relationships>\n",
        ),
        ("3D/3dmodel.model", &model),
    ];
    // Stored, not deflated: the bytes then do not hang on a compressor's version.
    let options = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default());
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in files {
        archive.start_file(name, options)?;
        archive.write_all(text.as_bytes())?;
    }
    Ok(archive.finish()?.into_inner())
}
