// Literal files are put together piece by piece; speed is no matter.
#![allow(
    clippy::format_push_string,
    clippy::format_collect,
    clippy::needless_for_each
)]

use super::*;
use crate::mesh::Place;
use std::io::Write;

fn read(bytes: &[u8]) -> Result<Loaded, ReadError> {
    read_bytes("part", bytes, &ReadOptions::default())
}

fn fault(bytes: &[u8]) -> ReadFault {
    read(bytes)
        .map(|l| panic!("{:?} was read", l.mesh))
        .unwrap_err()
        .fault
}

/// Faces of the unit corner tetrahedron, as indices and as an STL would list them.
const POINTS: [[f32; 3]; 4] = [[0., 0., 0.], [1., 0., 0.], [0., 1., 0.], [0., 0., 1.]];
const FACES: [[usize; 3]; 4] = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];

fn binary(header: &[u8]) -> Vec<u8> {
    let mut bytes = header.to_vec();
    bytes.resize(80, b' ');
    bytes.extend(4u32.to_le_bytes());
    for face in FACES {
        bytes.extend([0; 12]);
        for c in face.iter().flat_map(|v| POINTS[*v]) {
            bytes.extend(c.to_le_bytes());
        }
        bytes.extend([0; 2]);
    }
    bytes
}

fn ascii(first: &str, last: &str, end: &str) -> String {
    let mut text = first.to_owned() + end;
    for face in FACES {
        text += &format!("facet normal 0 0 0{end} outer loop{end}");
        for [x, y, z] in face.map(|v| POINTS[v]) {
            text += &format!("  vertex {x:e} {y} {z:.3}{end}");
        }
        text += &format!(" endloop{end}endfacet{end}");
    }
    text + last
}

/// The unit corner: volume 1/6 and closed, whatever file it came from.
fn assert_corner(loaded: &mut Loaded) {
    assert_eq!(loaded.mesh.vertices.len(), 4);
    let scale = loaded.units.mm();
    let (part, defects) = loaded.take_part().unwrap();
    assert!(defects.is_empty() && part.closed, "{defects:?}");
    assert!((part.mass.volume_mm3 * 6.0 / scale.powi(3) - 1.0).abs() < 1e-9);
}

fn assert_reads(bytes: &[u8], format: Format) -> Loaded {
    let mut loaded = read(bytes).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(loaded.format, format);
    assert_corner(&mut loaded);
    loaded
}

#[test]
fn binary_stl_with_any_header() {
    for header in [
        &b""[..],
        b"solid from a program",
        b"SOLID\nfacet",
        b"ply\n",
        b"\0\0",
    ] {
        assert!(assert_reads(&binary(header), Format::Stl).notes.is_empty());
    }
}

#[test]
fn binary_stl_with_a_trailing_byte_or_short_of_one() {
    let mut long = binary(b"solid x");
    long.push(0);
    assert!(assert_reads(&long, Format::Stl).notes[0].contains("1 bytes after"));
    let whole = binary(b"x");
    let error = read(&whole[..whole.len() - 1]).unwrap_err();
    assert_eq!(error.place, Some(Place::Byte(283)));
    assert_eq!(
        error.to_string(),
        "part: is truncated: 3 of 4 triangles are there at byte 283; export or download it again"
    );
}

/// Some writers put a checksum or remarks there; the header says where the mesh ends.
#[test]
fn binary_stl_with_anything_behind_its_last_record() {
    for tail in [
        &[0xFF; 60][..],
        b"made on a Tuesday, with remarks that are longer than a record",
    ] {
        for head in [&b"solid x"[..], b"x"] {
            let long = [&binary(head), tail].concat();
            let note = format!("{} bytes after the last triangle", tail.len());
            assert!(assert_reads(&long, Format::Stl).notes[0].contains(&note));
        }
    }
}

#[test]
fn binary_stl_refusals() {
    let mut nan = binary(b"");
    nan[84 + 50 + 12..84 + 50 + 16].copy_from_slice(&f32::NAN.to_le_bytes());
    let error = read(&nan).unwrap_err();
    assert_eq!(
        (error.fault, error.place),
        (ReadFault::NotFinite, Some(Place::Byte(146)))
    );
    let mut none = vec![b' '; 80];
    none.extend([0; 4]);
    assert_eq!(fault(&none), ReadFault::NoTriangles);
    // Infinity in a stored normal is nobody's business.
    let mut normal = binary(b"");
    normal[84..88].copy_from_slice(&f32::INFINITY.to_le_bytes());
    assert_reads(&normal, Format::Stl);
    let options = ReadOptions {
        triangle_limit: 3,
        ..ReadOptions::default()
    };
    let error = read_bytes("part", &binary(b""), &options).unwrap_err();
    assert_eq!(
        error.fault,
        ReadFault::TooManyTriangles {
            triangles: 4,
            limit: 3
        }
    );
}

#[test]
fn negative_zero_does_not_tear_a_seam() {
    let mut bytes = binary(b"");
    let mut changed = 0;
    for record in 0..4 {
        for float in (3 + record % 2..12).step_by(2) {
            let at = 84 + 50 * record + 4 * float;
            if bytes[at..at + 4] == [0; 4] {
                bytes[at + 3] = 0x80;
                changed += 1;
            }
        }
    }
    assert!(changed > 8);
    assert_reads(&bytes, Format::Stl);
}

#[test]
fn text_stl_in_all_its_dress() {
    for (first, last, end) in [
        ("solid corner", "endsolid corner", "\n"),
        ("solid", "endsolid", "\n"),
        ("SOLID Corner", "ENDSOLID", "\r\n"),
        (
            "solid several words, vertex and all",
            "endsolid several words, vertex and all\n",
            "\n",
        ),
        ("\u{feff}solid marked", "endsolid", "\n"),
        ("solid without end", "", "\n"),
        ("\n\n  solid indented", "  endsolid\n\n", "\n\n"),
        ("solid old lines", "endsolid", "\r"),
        ("solid one line", "endsolid", " "),
        ("", "", "\n"),
    ] {
        assert_reads(ascii(first, last, end).as_bytes(), Format::Stl);
        let upper = ascii(first, last, end).to_uppercase();
        assert_reads(upper.as_bytes(), Format::Stl);
    }
}

#[test]
fn text_stl_of_several_solids_is_one_part() {
    let text = ascii("solid a", "endsolid a\n", "\n");
    let two = text.clone()
        + &text
            .replace("vertex ", "vertex 5")
            .replace("solid a", "solid");
    let loaded = read(two.as_bytes()).unwrap();
    assert_eq!(loaded.mesh.triangles.len(), 8);
    assert!(
        loaded.notes.iter().any(|n| n.starts_with("2 solids")),
        "{:?}",
        loaded.notes
    );
}

#[test]
fn text_stl_refusals_name_the_line() {
    let bad = |text: &str| {
        let error = read(text.as_bytes()).unwrap_err();
        (error.fault, error.place)
    };
    let text = ascii("solid", "endsolid", "\n");
    let line = |n| Some(Place::Line(n));
    assert_eq!(
        bad(&text.replacen("1e0", "nan", 1)),
        (ReadFault::NotFinite, line(6))
    );
    let (word, place) = bad(&text.replacen("1e0", "1,0", 1));
    assert_eq!(place, line(6));
    assert!(matches!(word, ReadFault::BadRecord(w) if w.contains("'1,0'")));
    assert!(matches!(
        bad(&text.replacen("endloop", "vertex 1 2 3", 1)).0,
        ReadFault::BadRecord(_)
    ));
    assert!(matches!(
        bad(&text[..text.len() - 20]).0,
        ReadFault::CutShort(_)
    ));
    assert_eq!(
        bad("solid nothing\nendsolid nothing\n").0,
        ReadFault::NoTriangles
    );
}

#[test]
fn obj_forms() {
    let v = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1 1.0\n";
    for faces in [
        "f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n",
        "f 1/1 3/2 2/3\nf 1//5 2//5 4//5\nf 1/2/3 4/2/3 3/2/3\nf 2 3 4 # last",
        "f -4 -2 -3\r\nf -4 -3 -1\r\nf -4 -1 -2\r\nf -3 -2 -1",
        "g a\ns off\nusemtl x\nl 1 2\np 1\nf 1 3 2\nf 1 2 \\\n 4\nf 1 4 3\nf 2 3 4\nodd stuff\n",
    ] {
        assert_reads(
            format!("# comment\no corner\n{v}{faces}").as_bytes(),
            Format::Obj,
        );
    }
    // Faces before the vertices they name.
    assert_reads(
        format!("f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n{v}").as_bytes(),
        Format::Obj,
    );
}

#[test]
fn obj_lines_may_be_continued() {
    // Wavefront's "Object Files", version 3.0, from memory: a backslash at the end of a
    // line joins it to the next.
    let v = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\n";
    for faces in [
        "f 1 3 2\nf 1 2 \\\n 4\nf 1 4 3\nf 2 3 4\n",
        "f 1 3 2\\\n\nf 1 2\\\r\n4\nf 1\\\n4\\\n3\nf 2 3 4",
        "f 1/1 3/\\\n1 2/3\nf 1/\\\n/5 2//\\\n5 4//5\nf 1/ \\\n4/\\\n 3/2/3\nf 2 3 4",
        "f \\\n1 3 2\nf\\\n1 2 4\nf 1 4 3 # a path\\\nf 2 3 4 \\",
        "# ends in \\\nf 1 3 2\nvn 0 0\\\n1\nf 1 2 4\nf 1 4 3\ng all of \\\nit\nf 2 3 4\n",
    ] {
        let text = format!("{v}{faces}");
        assert_reads(text.as_bytes(), Format::Obj);
        let notes = read(text.as_bytes()).unwrap().notes;
        assert_eq!(notes, Vec::<String>::new(), "{faces}");
    }
    let v = "v 0 \\\n0 0\\\n\nv 1 0 0 1.0\\\n0.5 0.5\nv 0 1\\\n 0\nv 0 0 1\n";
    let text = format!("{v}f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n");
    assert_reads(text.as_bytes(), Format::Obj);
    // The line is that of the word, the vertex that does not exist that of its face.
    let error = read(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 \\\n 2 \\\n x\n").unwrap_err();
    assert_eq!(error.place, Some(Place::Line(6)));
}

#[test]
fn obj_statements_that_are_none_are_said() {
    let notes = |text: &str| {
        let body = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";
        read(format!("{body}{text}").as_bytes()).unwrap().notes
    };
    let silent = "vn 0 0 1\nvt 0 0\nvp 0\no a\ng b\ns 1\nmg 1 1\nusemtl m\nmtllib m\nl 1 2\np 1\n\
        lod 1\nbevel on\nctech cparm 1\nshadow_obj x\n\n# f 1 2 9\n";
    assert_eq!(notes(silent), Vec::<String>::new());
    assert_eq!(
        notes("vn 0 0 1\nface 1 2 3\n"),
        ["an unknown statement was left out: 'face' at line 10"]
    );
    assert_eq!(
        notes("V 0 0 0\nvn 0 0 1\nF 1 2 3\nf2 1 2 3\n"),
        ["3 unknown statements were left out, the first 'V' at line 9"]
    );
}

#[test]
fn a_crossed_face_is_said_by_every_reader() {
    let said = |bytes: &[u8]| read(bytes).unwrap().notes;
    let note = |place: &str| {
        [format!(
            "the face {place} crosses itself: it was split without knowing what was meant"
        )]
    };
    let points = "0 0 0\n2 2 0\n2 0 0\n0 2 0\n1 1 1\n";
    let v: String = points.lines().map(|l| format!("v {l}\n")).collect();
    let faces = "f 1 2 5\nf 1 2 3 4\nf 3 4 5\n";
    assert_eq!(said(format!("{v}{faces}").as_bytes()), note("at line 7"));
    let off = format!("OFF\n5 3 0\n{points}3 0 1 4\n4 0 1 2 3\n3 2 3 4\n");
    assert_eq!(said(off.as_bytes()), note("at line 9"));
    let ply = format!(
        "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\n\
         property float z\nelement face 3\nproperty list uchar int vertex_indices\n\
         end_header\n{points}3 0 1 4\n4 0 1 2 3\n3 2 3 4\n"
    );
    assert_eq!(said(ply.as_bytes()), note("at face 2"));
}

#[test]
fn obj_refusals() {
    let error = read(b"v 0 0 0\nv 1 0 0\nv 0 1 0\n\nf 1 2 4\n").unwrap_err();
    assert_eq!(
        error.fault,
        ReadFault::IndexOutOfRange {
            index: 4,
            vertices: 3
        }
    );
    assert_eq!(error.place, Some(Place::Line(5)));
    for (text, index) in [("v 0 0 0\nf 1 1 0", 0), ("v 0 0 0\nf -2 1 1", -2)] {
        assert_eq!(
            fault(text.as_bytes()),
            ReadFault::IndexOutOfRange { index, vertices: 1 }
        );
    }
    assert_eq!(fault(b"v 0 inf 0\n"), ReadFault::NotFinite);
    assert_eq!(fault(b"v 0 0 0\nv 1 0 0\nl 1 2\n"), ReadFault::NoTriangles);
    assert!(matches!(
        fault(b"v 0 0\nv 1 0 0\n"),
        ReadFault::BadRecord(_)
    ));
    assert!(matches!(
        fault(b"v 0 0 0\nf 1 x 1\n"),
        ReadFault::BadRecord(_)
    ));
    assert_eq!(fault(b"# just a comment\n"), ReadFault::NotAMesh);
}

const PLY_TEXT: &str = "ply\nformat ascii 1.0\ncomment x\nelement vertex 4\nproperty float x\n\
    property float y\nproperty float z\nproperty uchar red\nelement face 4\n\
    property list uchar int vertex_indices\nend_header\n\
    0 0 0 9\n1 0 0 9\n0 1 0 9\n0 0 1 9\n3 0 2 1\n3 0 1 3\n3 0 3 2\n3 1 2 3\n";

/// A PLY whose columns are of many types and whose lists come among scalars.
fn ply_binary(big: bool) -> Vec<u8> {
    let order = if big { "big" } else { "little" };
    let mut out = format!(
        "ply\r\nformat binary_{order}_endian 1.0\r\nelement camera 1\r\nproperty list short double k\r\n\
         element vertex 4\r\nproperty double z\r\nproperty int8 q\r\nproperty float32 x\r\nproperty short y\r\n\
         element face 4\r\nproperty uint id\r\nproperty list uint16 uchar vertex_index\r\nproperty list char ushort t\r\nend_header\r\n"
    )
    .into_bytes();
    let mut put = |little: &[u8]| {
        if big {
            out.extend(little.iter().rev());
        } else {
            out.extend(little);
        }
    };
    put(&2i16.to_le_bytes());
    put(&1f64.to_le_bytes());
    put(&f64::NAN.to_le_bytes());
    for [x, y, z] in POINTS {
        put(&f64::from(z).to_le_bytes());
        put(&[200]);
        put(&x.to_le_bytes());
        put(&(y as i16).to_le_bytes());
    }
    for face in FACES {
        put(&7u32.to_le_bytes());
        put(&3u16.to_le_bytes());
        face.iter().for_each(|v| put(&[*v as u8]));
        put(&[1]);
        put(&99u16.to_le_bytes());
    }
    out
}

#[test]
fn ply_of_every_kind() {
    assert_reads(PLY_TEXT.as_bytes(), Format::Ply);
    assert_reads(&ply_binary(false), Format::Ply);
    assert_reads(&ply_binary(true), Format::Ply);
}

#[test]
fn ply_refusals() {
    let with = |from: &str, to: &str| fault(PLY_TEXT.replacen(from, to, 1).as_bytes());
    assert_eq!(
        with("3 1 2 3", "3 1 2 4"),
        ReadFault::IndexOutOfRange {
            index: 4,
            vertices: 4
        }
    );
    assert!(matches!(with("3 1 2 3", "3 1 2"), ReadFault::CutShort(_)));
    assert!(matches!(
        with("3 1 2 3", "3 1 2 -1"),
        ReadFault::BadRecord(_)
    ));
    assert_eq!(with("0 0 1 9", "0 0 nan 9"), ReadFault::NotFinite);
    assert!(matches!(
        with("element vertex 4", "element vertex 4000000000"),
        ReadFault::CutShort(_)
    ));
    assert!(matches!(
        with("property float z\n", ""),
        ReadFault::BadRecord(_)
    ));
    assert!(matches!(
        with("format ascii", "format morse"),
        ReadFault::BadRecord(_)
    ));
    assert_eq!(
        with("element face 4", "element face 0"),
        ReadFault::NoTriangles
    );
    let binary = ply_binary(true);
    let error = read(&binary[..binary.len() - 1]).unwrap_err();
    assert!(matches!(error.fault, ReadFault::CutShort(_)));
}

#[test]
fn off_with_any_header() {
    let body = "0 0 0\n1 0 0\n0 1 0\n0 0 1\n3 0 2 1\n3 0 1 3 255 0 0\n3 0 3 2 # x\n3 1 2 3\n";
    for head in [
        "OFF\n4 4 6\n",
        "OFF 4 4 0\n",
        "# c\n\nOFF # c\n# c\n4 4 6 # c\n",
        "OFF4 4 6\n",
    ] {
        assert_reads(format!("{head}{body}").as_bytes(), Format::Off);
    }
    let decorated = |extra: &str| {
        body.lines()
            .enumerate()
            .map(|(i, line)| {
                if i < 4 {
                    format!("{line} {extra}\n")
                } else {
                    format!("{line}\n")
                }
            })
            .collect::<String>()
    };
    for (head, extra) in [
        ("COFF", "1 0 0 1"),
        ("NOFF", "0 0 1"),
        ("STOFF", "0.5 0.5"),
        ("STCNOFF", "0 0 1 9 9 9 9 0 0"),
    ] {
        assert_reads(
            format!("{head}\n4 4 6\n{}", decorated(extra)).as_bytes(),
            Format::Off,
        );
    }
    let mut binary = b"COFF BINARY\n".to_vec();
    [4u32, 4, 6]
        .iter()
        .for_each(|n| binary.extend(n.to_be_bytes()));
    for p in POINTS {
        p.iter()
            .chain(&[1.0f32; 4])
            .for_each(|c| binary.extend(c.to_be_bytes()));
    }
    for face in FACES {
        [3].iter()
            .chain(&face)
            .chain(&[1])
            .for_each(|n| binary.extend((*n as u32).to_be_bytes()));
        binary.extend(0.5f32.to_be_bytes());
    }
    assert_reads(&binary, Format::Off);
    for cut in 12..binary.len() {
        let fault = fault(&binary[..cut]);
        assert!(matches!(fault, ReadFault::CutShort(_)), "{cut}: {fault:?}");
    }
}

#[test]
fn off_refusals() {
    assert!(matches!(
        fault(b"4OFF\n1 1 1\n0 0 0 0\n"),
        ReadFault::Unsupported(_)
    ));
    assert!(matches!(
        fault(b"OFF\n9 9 9\n0 0 0\n"),
        ReadFault::CutShort(_)
    ));
    let body = b"OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n";
    assert_eq!(
        fault(body),
        ReadFault::IndexOutOfRange {
            index: 3,
            vertices: 3
        }
    );
}

/// A package around model parts; the first is the root.
fn package(models: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    zip.start_file("_rels/.rels", options).unwrap();
    write!(
        zip,
        "<Relationships><Relationship Id=\"a\" Type=\"x\" Target=\"/thumb.png\"/>\
         <Relationship Id=\"b\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\" \
         Target=\"/{}\"/></Relationships>",
        models[0].0
    )
    .unwrap();
    for (name, text) in models {
        zip.start_file(*name, options).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

fn corner_mesh() -> String {
    let vertices: String = POINTS
        .iter()
        .map(|[x, y, z]| format!("<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>"))
        .collect();
    let triangles: String = FACES
        .iter()
        .map(|[a, b, c]| format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\" pid=\"3\"/>"))
        .collect();
    format!("<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>")
}

fn model(unit: &str, resources: &str, build: &str) -> Vec<u8> {
    package(&[(
        "3D/other name.model",
        &format!(
            "<?xml version=\"1.0\"?><model {unit} xmlns=\"c\" xmlns:x=\"d\"><resources>{resources}\
             </resources><build>{build}</build></model>"
        ),
    )])
}

fn bounds(loaded: &Loaded) -> [f64; 6] {
    let (lo, hi) = loaded.mesh.bounds().unwrap();
    [lo.x, lo.y, lo.z, hi.x, hi.y, hi.z]
}

#[test]
fn threemf_units_govern_translations_too() {
    let object = format!("<object id=\"4\">{}</object>", corner_mesh());
    let item = "<item objectid=\"4\" transform=\"1 0 0 0 1 0 0 0 1 2 3 4\"/>";
    for (unit, mm) in [
        ("", 1.0),
        ("unit=\"inch\"", 25.4),
        ("unit=\"meter\"", 1000.0),
        ("unit=\"micron\"", 1e-3),
    ] {
        let loaded = assert_reads(&model(unit, &object, item), Format::ThreeMf);
        let mesh = read(&model(unit, &object, item)).unwrap();
        let expected = [2., 3., 4., 3., 4., 5.].map(|c| c * mm);
        assert_eq!(bounds(&mesh), expected);
        assert_eq!(
            (loaded.units.mm(), loaded.units_origin),
            (mm, UnitsOrigin::File)
        );
    }
    let options = ReadOptions {
        units: Some(Units::Centimeter),
        ..ReadOptions::default()
    };
    let given = read_bytes("part", &model("unit=\"inch\"", &object, item), &options).unwrap();
    assert_eq!(
        (given.units, given.units_origin),
        (Units::Centimeter, UnitsOrigin::Given)
    );
    assert_eq!(bounds(&given)[0], 20.0);
    assert!(matches!(
        fault(&model("unit=\"furlong\"", &object, item)),
        ReadFault::BadRecord(_)
    ));
}

// T30, derived: box 10 x 20 x 30 turned +90° about X into the positive octant.
#[test]
fn threemf_transform_is_row_major_for_row_vectors() {
    let object = format!("<object id=\"1\">{}</object>", corner_mesh());
    let stretched = "<object id=\"2\"><components><component objectid=\"1\" transform=\"10 0 0 0 20 0 0 0 30 0 0 0\"/></components></object>";
    let item = "<item objectid=\"2\" transform=\"1 0 0 0 0 1 0 -1 0 0 30 0\"/>";
    let mut loaded = read(&model("", &(object + stretched), item)).unwrap();
    assert_eq!(bounds(&loaded), [0., 0., 0., 10., 30., 20.]);
    // (x, y, z) goes to (x, 30 − z, y): the corner's tips.
    for (from, to) in [
        ([10., 0., 0.], [10., 30., 0.]),
        ([0., 20., 0.], [0., 30., 20.]),
        ([0., 0., 30.], [0., 0., 0.]),
    ] {
        let _ = from;
        assert!(loaded.mesh.vertices.contains(&Point3::from(to)), "{to:?}");
    }
    let (part, defects) = loaded.take_part().unwrap();
    assert!(defects.is_empty());
    assert!((part.mass.volume_mm3 - 1000.0).abs() < 1e-9);
}

#[test]
fn threemf_mirrors_keep_their_volume_and_only_items_count() {
    let object = format!(
        "<object id=\"1\">{0}</object><object id=\"2\">{0}</object><object id=\"3\" type=\"support\">{0}</object>\
         <object id=\"5\"><components><component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 9 0 0\"/>\
         <component objectid=\"1\"/></components></object>",
        corner_mesh()
    );
    // A mirror in the item, one in the component, and both.
    let build = "<item objectid=\"5\"/><item objectid=\"5\" transform=\"1 0 0 0 1 0 0 0 -1 50 0 0\"/><item objectid=\"3\"/>";
    let mut loaded = read(&model("", &object, build)).unwrap();
    assert_eq!(loaded.mesh.triangles.len(), 16);
    assert!(
        loaded.notes.iter().any(|n| n.contains("1 support object")),
        "{:?}",
        loaded.notes
    );
    let (part, defects) = loaded.take_part().unwrap();
    assert!(defects.is_empty(), "{defects:?}");
    assert!(
        part.bodies
            .iter()
            .all(|b| !b.turned && (b.volume_mm3 - 1.0 / 6.0).abs() < 1e-12)
    );
}

#[test]
fn threemf_of_several_parts_and_foreign_elements() {
    let mesh = corner_mesh();
    let root = "<m:model xmlns:m=\"c\" xmlns:p=\"q\"><m:resources><p:object id=\"x\"/><m:object id=\"1\"><m:components>\
        <m:component objectid=\"7\" p:path=\"/3D/Objects/A.model\"/></m:components></m:object></m:resources>\
        <m:build><m:item objectid=\"1\"/></m:build></m:model>";
    let side =
        format!("<model><resources><object id=\"7\">{mesh}</object></resources><build/></model>");
    assert_reads(
        &package(&[("3D/root.model", root), ("3d/objects/a.model", &side)]),
        Format::ThreeMf,
    );
    assert!(matches!(
        fault(&package(&[("3D/root.model", root)])),
        ReadFault::BadRecord(_)
    ));
}

#[test]
fn threemf_refusals() {
    let object = |id: u32, inner: &str| format!("<object id=\"{id}\">{inner}</object>");
    let component = |id: u32| format!("<components><component objectid=\"{id}\"/></components>");
    let item = "<item objectid=\"1\"/>";
    let cycle = object(1, &component(2)) + &object(2, &component(1));
    assert_eq!(
        fault(&model("", &cycle, item)),
        ReadFault::ComponentCycle { object: 1 }
    );
    assert!(matches!(
        fault(&model("", &object(1, &component(8)), item)),
        ReadFault::BadRecord(_)
    ));
    let own = object(1, &corner_mesh());
    assert_eq!(fault(&model("", &own, "")), ReadFault::NoTriangles);
    let far = own.replacen("v3=\"1\"", "v3=\"4\"", 1);
    assert_eq!(
        fault(&model("", &far, item)),
        ReadFault::IndexOutOfRange {
            index: 4,
            vertices: 4
        }
    );
    assert_eq!(
        fault(&model("", &own.replacen("x=\"1\"", "x=\"NaN\"", 1), item)),
        ReadFault::NotFinite
    );
    assert!(matches!(
        fault(&model("", &own.replacen("x=\"1\"", "", 1), item)),
        ReadFault::BadRecord(_)
    ));
    let flat = "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 0 0 0 0\"/>";
    assert!(matches!(
        fault(&model("", &own, flat)),
        ReadFault::BadRecord(_)
    ));
    let inf = "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 inf 0 0\"/>";
    assert_eq!(fault(&model("", &own, inf)), ReadFault::NotFinite);
    assert!(matches!(
        fault(&package(&[("3D/a.model", "<html/>")])),
        ReadFault::BadRecord(_)
    ));
    let mut plain = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    plain
        .start_file("readme.txt", zip::write::SimpleFileOptions::default())
        .unwrap();
    let plain = plain.finish().unwrap().into_inner();
    assert!(matches!(fault(&plain), ReadFault::Archive(_)));
}

/// What 3MF does not know, but any zip program can write: 12 is bzip2, 14 LZMA.
#[test]
fn threemf_says_which_compression_it_does_not_read() {
    let own = format!("<object id=\"1\">{}</object>", corner_mesh());
    for (method, name) in [
        (12, "bzip2"),
        (14, "LZMA"),
        (95, "xz"),
        (97, "an unusual compression"),
    ] {
        let mut bytes = model("", &own, "<item objectid=\"1\"/>");
        // Local headers keep the method in bytes 8 and 9, the directory in 10 and 11.
        for (magic, at) in [(b"PK\x03\x04", 8), (b"PK\x01\x02", 10)] {
            for i in 0..bytes.len() {
                if bytes[i..].starts_with(magic) {
                    bytes[i + at] = method;
                }
            }
        }
        let error = read(&bytes).unwrap_err();
        assert_eq!(error.fault, ReadFault::Compression(name));
        assert!(
            error.to_string().contains("zip it again with deflate"),
            "{error}"
        );
    }
}

#[test]
fn threemf_that_grows_without_end_is_stopped() {
    // Inflating: a kilobyte that unpacks to a megabyte.
    let padding = " ".repeat(1_000_000);
    let bytes = model(&padding, "", "");
    assert!(bytes.len() < 4000);
    let options = ReadOptions {
        inflate_limit: 100_000,
        ..ReadOptions::default()
    };
    let error = read_bytes("part", &bytes, &options).unwrap_err();
    assert_eq!(
        error.fault,
        ReadFault::Inflates {
            limit_bytes: 100_000
        }
    );
    // Instances: ten of ten of ten ...
    let mut resources = format!("<object id=\"1\">{}</object>", corner_mesh());
    for id in 2..20 {
        let parts = format!("<component objectid=\"{}\"/>", id - 1).repeat(10);
        resources += &format!("<object id=\"{id}\"><components>{parts}</components></object>");
    }
    let error = fault(&model("", &resources, "<item objectid=\"19\"/>"));
    assert!(matches!(error, ReadFault::TooManyTriangles { .. }));
    let empty = resources.replacen(&corner_mesh(), "", 1);
    assert!(matches!(
        fault(&model("", &empty, "<item objectid=\"19\"/>")),
        ReadFault::TooManyObjects { .. }
    ));
    // Depth: a chain whose links were all counted from the shallow end.
    let mut chain = format!("<object id=\"1\">{}</object>", corner_mesh());
    let mut items = String::new();
    for id in 2..5000 {
        chain += &format!(
            "<object id=\"{id}\"><components><component objectid=\"{}\"/></components></object>",
            id - 1
        );
        items += &format!("<item objectid=\"{id}\"/>");
    }
    assert!(matches!(
        fault(&model("", &chain, &items)),
        ReadFault::BadRecord(_)
    ));
    let options = ReadOptions {
        entry_limit: 1,
        ..ReadOptions::default()
    };
    let error = read_bytes("part", &model("", "", ""), &options).unwrap_err();
    assert_eq!(
        error.fault,
        ReadFault::TooManyEntries {
            entries: 2,
            limit: 1
        }
    );
}

#[test]
fn other_files_are_told_apart() {
    assert_eq!(fault(b""), ReadFault::Empty);
    assert_eq!(
        fault(b"\x1f\x8b\x08\0\0\0"),
        ReadFault::Archive("a gzip-compressed file")
    );
    for other in [
        &b"hello world"[..],
        b"\x89PNG\r\n\x1a\n",
        b"<html></html>",
        b"{}",
        b"%PDF-1.4",
        &[7; 4000],
    ] {
        assert_eq!(fault(other), ReadFault::NotAMesh);
    }
    assert!(matches!(
        fault(b"\xff\xfes\0o\0l\0i\0d\0"),
        ReadFault::Unsupported(_)
    ));
}

#[test]
fn paths_that_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &Path| read_path(path, &ReadOptions::default()).unwrap_err();
    assert_eq!(at(folder.path()).fault, ReadFault::Folder);
    let error = at(&folder.path().join("gone\n.stl"));
    assert_eq!(error.fault, ReadFault::NotFound);
    let line = error.to_string();
    assert!(line.contains("gone\\n.stl: no such file; check the path") && !line.contains('\n'));
    let file = folder.path().join("part.txt");
    std::fs::write(&file, binary(b"x")).unwrap();
    assert_corner(&mut read_path(&file, &ReadOptions::default()).unwrap());
    let options = ReadOptions {
        byte_limit: 100,
        ..ReadOptions::default()
    };
    assert!(matches!(
        read_path(&file, &options).unwrap_err().fault,
        ReadFault::Unreadable(_)
    ));
}

#[test]
fn hash_is_sha256_of_the_bytes() {
    // FIPS 180-2, appendix B.1 (from memory).
    assert_eq!(
        hex(&Sha256::digest(b"abc")),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

#[test]
fn doubtful_sizes_get_a_remark_with_the_likely_unit() {
    let note =
        |size: [f64; 3]| doubtful_units(Point3::origin(), Point3::from(size), Units::Millimeter);
    assert_eq!(note([1.0, 0.1, 0.1]), None);
    assert_eq!(note([2000.0, 1.0, 1.0]), None);
    let metres = note([0.08, 0.05, 0.012]).unwrap();
    assert_eq!(
        metres,
        "the part is very small: 0.08 × 0.05 × 0.012 mm; its units may be wrong: if its numbers are metres (--units m), it is 80 × 50 × 12 mm"
    );
    let microns = note([60_000.0, 20_500.0, 1.0]).unwrap();
    assert!(
        microns
            .ends_with("if its numbers are micrometres (--units um), it is 60 × 20.5 × 0.001 mm"),
        "{microns}"
    );
    assert_eq!(short(123_456.7), "123457");
    assert_eq!(short(0.001_234), "0.00123");
    assert_eq!(short(2.0), "2");
}

#[test]
fn polygons_keep_their_area() {
    let quads = b"OFF\n8 6 0\n0 0 0\n2 0 0\n0 2 0\n2 2 0\n0 0 2\n2 0 2\n0 2 2\n2 2 2\n\
        4 0 2 3 1\n4 4 5 7 6\n4 0 1 5 4\n4 2 6 7 3\n4 0 4 6 2\n4 1 3 7 5\n";
    let (part, defects) = read(quads).unwrap().take_part().unwrap();
    assert!(defects.is_empty());
    assert!((part.mass.volume_mm3 - 8.0).abs() < 1e-12 && part.mesh.triangles.len() == 12);
}

// A second reader that shares no code: stl_io sees the same triangles.
#[test]
fn stl_agrees_with_stl_io() {
    let bytes = binary(b"x");
    let theirs = stl_io::read_stl(&mut std::io::Cursor::new(&bytes)).unwrap();
    let ours = read(&bytes).unwrap().mesh;
    assert_eq!(theirs.faces.len(), ours.triangles.len());
    for (t, face) in theirs.faces.iter().enumerate() {
        let corners = face
            .vertices
            .map(|v| Point3::from(theirs.vertices[v].0.map(f64::from)));
        assert_eq!(corners, ours.corners(t));
    }
}

/// One small file of every kind, for the tests that break files.
fn samples() -> Vec<Vec<u8>> {
    vec![
        binary(b"solid x"),
        ascii("solid a", "endsolid a\n", "\n").into_bytes(),
        b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1/1 2/2 4/3\nf -4//1 -1//1 -2//1\nf 2 3 4\nf 1 2 3 4\n".to_vec(),
        PLY_TEXT.as_bytes().to_vec(),
        ply_binary(false),
        ply_binary(true),
        b"OFF\n4 4 0\n0 0 0\n1 0 0\n0 1 0\n0 0 1\n3 0 2 1\n3 0 1 3\n3 0 3 2\n3 1 2 3\n".to_vec(),
        b"OFF BINARY\n\0\0\0\x03\0\0\0\x01\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\x3f\x80\0\0\0\0\0\0\0\0\0\0\0\0\0\0\x3f\x80\0\0\0\0\0\0\0\0\0\x03\0\0\0\0\0\0\0\x01\0\0\0\x02\0\0\0\0".to_vec(),
        model("unit=\"inch\"", &format!("<object id=\"1\">{}</object><object id=\"2\"><components><component objectid=\"1\"/></components></object>", corner_mesh()), "<item objectid=\"2\" transform=\"1 0 0 0 1 0 0 0 1 2 3 4\"/>"),
    ]
}

/// Reads, and makes the part if there is one: whatever comes, no panic.
fn survive(bytes: &[u8]) {
    match read(bytes) {
        Ok(mut loaded) => {
            assert!(!loaded.mesh.triangles.is_empty());
            let _ = loaded.take_part();
        }
        Err(error) => assert_eq!(error.to_string().lines().count(), 1),
    }
}

#[test]
fn reading_ends_where_the_time_is_over() {
    let now = || ReadOptions {
        until: Some(std::time::Instant::now()),
        ..ReadOptions::default()
    };
    for bytes in samples() {
        let error = read_bytes("part", &bytes, &now()).unwrap_err();
        assert_eq!(error.fault, ReadFault::TooLate);
        // And so does the making of the part.
        let mut loaded = read(&bytes).unwrap();
        loaded.until = now().until;
        assert_eq!(loaded.take_part().unwrap_err().fault, ReadFault::TooLate);
    }
    // In the middle: what is wrong at the end is not come to.
    let mut text = ascii("solid a", "endsolid a", "\n");
    text += "and a slip";
    let error = read_bytes("part", text.as_bytes(), &now()).unwrap_err();
    assert_eq!(error.fault, ReadFault::TooLate);
}

#[test]
fn no_truncation_panics() {
    for sample in samples() {
        for end in 0..sample.len() {
            survive(&sample[..end]);
        }
    }
}

/// Pieces of text and numbers that upset parsers.
const WORDS: [&[u8]; 12] = [
    b"nan",
    b"1e400",
    b"-1",
    b"4294967295",
    b"99999999999999999999",
    b"\xff\xff\xff\xff",
    b"\0\0\xc0\x7f",
    b"\n",
    b" ",
    b"",
    b"\"",
    b"<",
];

#[test]
fn no_changed_byte_panics() {
    // Deterministic: a xorshift generator from a fixed seed (Marsaglia 2003, from memory).
    let mut state = 0x2545_f491_4f6c_dd1du64;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state as usize
    };
    for sample in samples() {
        for _ in 0..1500 {
            let mut bytes = sample.clone();
            for _ in 0..=next() % 3 {
                let at = next() % bytes.len();
                match next() % 4 {
                    0 => bytes[at] = next() as u8,
                    1 => bytes[at] ^= 1 << (next() % 8),
                    2 => {
                        let word = WORDS[next() % WORDS.len()];
                        let end = (at + next() % 5).min(bytes.len());
                        bytes.splice(at..end, word.iter().copied());
                    }
                    _ => {
                        let from = next() % bytes.len();
                        let piece = bytes[from..(from + next() % 40).min(bytes.len())].to_vec();
                        bytes.splice(at..at, piece);
                    }
                }
                if bytes.is_empty() {
                    break;
                }
            }
            survive(&bytes);
        }
    }
}

#[test]
fn no_changed_model_inside_a_package_panics() {
    // The compressed stream hides the model from blind changes; change it before packing.
    let text = format!(
        "<model unit=\"inch\"><resources><object id=\"1\">{}</object><object id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 2 3 4\"/></components></object></resources><build><item objectid=\"2\"/></build></model>",
        corner_mesh()
    );
    for at in 0..text.len() {
        for word in ["", "9", "-", "<", "\"", "&amp;", "&x;", "nan"] {
            let mut changed = text.clone();
            changed.replace_range(at..=at, word);
            survive(&package(&[("3D/a.model", &changed)]));
        }
    }
}

proptest::proptest! {
    #[test]
    fn no_bytes_panic(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..400), head in 0usize..8) {
        let heads: [&[u8]; 8] = [b"", b"solid ", b"ply\n", b"OFF\n", b"v ", b"PK\x03\x04", b"OFF BINARY\n", b"ply\nformat binary_little_endian 1.0\nelement vertex 9\nproperty float x\nproperty float y\nproperty float z\nelement face 9\nproperty list uchar uchar vertex_index\nend_header\n"];
        survive(&[heads[head], &bytes].concat());
    }
}
