//! A 3MF package of one object (3MF Core 1.4): content types, relationships, model.

use crate::mesh::{Mesh, Units};
use std::io::{self, Seek, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

const CONTENT_TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
 <Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
 <Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"#;

const RELATIONSHIPS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
 <Relationship Id="rel0" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"#;

pub(super) fn write<W: Write + Seek>(to: &mut W, mesh: &Mesh, units: Units) -> io::Result<()> {
    // One fixed date: the same mesh gives the same bytes on any day.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default());
    let mut zip = ZipWriter::new(to);
    zip.start_file("[Content_Types].xml", options)?;
    zip.write_all(CONTENT_TYPES.as_bytes())?;
    zip.start_file("_rels/.rels", options)?;
    zip.write_all(RELATIONSHIPS.as_bytes())?;
    zip.start_file(
        "3D/3dmodel.model",
        options.large_file(mesh.triangles.len() > 20_000_000),
    )?;
    let mut text = io::BufWriter::new(&mut zip);
    model(&mut text, mesh, units)?;
    text.flush()?;
    drop(text);
    zip.finish()?;
    Ok(())
}

fn model<W: Write>(to: &mut W, mesh: &Mesh, units: Units) -> io::Result<()> {
    write!(
        to,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"{}\" xml:lang=\"en-US\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n<resources>\n\
         <object id=\"1\" type=\"model\">\n<mesh>\n<vertices>\n",
        units.attribute()
    )?;
    for p in &mesh.vertices {
        let [x, y, z] = [p.x, p.y, p.z].map(|c| units.from_mm(c));
        writeln!(to, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>")?;
    }
    to.write_all(b"</vertices>\n<triangles>\n")?;
    for [a, b, c] in &mesh.triangles {
        writeln!(to, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>")?;
    }
    to.write_all(
        b"</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n",
    )
}
