//! Files of the formats that are text or packages, and what is no mesh at all.

use super::Made;
use crate::bench::stl;
use crate::formats::{self, model_xml, off, package, threemf, zipped};
use crate::shapes::cube;

/// OBJ, PLY and OFF.
pub(super) fn text_files() -> Vec<Made> {
    let shape = cube(20.0);
    let (obj, ply) = (formats::obj(&shape), formats::ply(&shape));
    let corners = "v 0 0 0\nv 20 0 0\nv 0 20 0\nv 0 0 20\n";
    let obj_of = |faces: &str| format!("{corners}{faces}").into_bytes();
    let off_of = |head: &str| off(&shape).replacen("36 12 0", head, 1).into_bytes();
    let ply_of = |from: &str, to: &str| ply.replacen(from, to, 1).into_bytes();
    vec![
        ("cube.obj", obj.clone().into_bytes()),
        (
            "counted-back.obj",
            obj_of("f -4 -2 -3\nf -4 -3 -1\nf -4 -1 -2\nf -3 -2 -1\n"),
        ),
        ("index-of-zero.obj", obj_of("f 0 1 2\n")),
        ("index-too-high.obj", obj_of("f 1 2 5\n")),
        (
            "index-of-20-digits.obj",
            obj_of("f 1 2 99999999999999999999\n"),
        ),
        ("points-alone.obj", obj_of("p 1 2 3\n")),
        ("lines-alone.obj", obj_of("l 1 2 3\n")),
        ("corner-without-z.obj", b"v 1 2\nf 1 1 1\n".to_vec()),
        (
            "not-a-number.obj",
            obj.replacen("20", "nan", 1).into_bytes(),
        ),
        ("face-of-one-corner.obj", obj_of("f 1\nf 1 2\nf 1 2 3 4\n")),
        (
            "crossing-face.obj",
            b"v 0 0 0\nv 9 9 0\nv 9 0 0\nv 0 9 0\nv 4 4 9\nf 1 2 3 4\nf 1 2 5\nf 3 4 5\n".to_vec(),
        ),
        ("cube.ply", ply.clone().into_bytes()),
        ("cube-binary.ply", formats::ply_binary(&shape)),
        (
            "claims-a-milliard-vertices.ply",
            ply_of("vertex 36", "vertex 1000000000"),
        ),
        (
            "claims-too-few-vertices.ply",
            ply_of("vertex 36", "vertex 4"),
        ),
        (
            "claims-minus-one-vertex.ply",
            ply_of("vertex 36", "vertex -1"),
        ),
        ("list-longer-than-the-file.ply", ply_of("\n3 0", "\n250 0")),
        ("without-end-of-header.ply", ply_of("end_header\n", "")),
        ("unknown-format.ply", ply_of("ascii", "middle_endian")),
        ("cube.off", off(&shape).into_bytes()),
        ("claims-a-milliard-faces.off", off_of("36 1000000000 0")),
        ("claims-minus-one-face.off", off_of("36 -1 0")),
        ("claims-no-vertices.off", off_of("0 12 0")),
        ("header-alone.off", b"OFF\n".to_vec()),
    ]
}

/// 3MF.
pub(super) fn packages() -> Vec<Made> {
    let shape = cube(20.0);
    let mesh = formats::mesh_xml(&shape);
    let object = format!(r#"<object id="1">{mesh}</object>"#);
    let one = r#"<item objectid="1"/>"#;
    let placed = |transform: &str| {
        let item = format!(r#"<item objectid="1" transform="{transform}"/>"#);
        package(&model_xml(&object, &item))
    };
    let within = |a: u32, b: u32| {
        format!(r#"<object id="{a}"><components><component objectid="{b}"/></components></object>"#)
    };
    let deep: String = (1..200).map(|k| within(k + 1, k)).collect();
    let twice = |k: u32| {
        let two = format!(r#"<component objectid="{k}"/>"#).repeat(2);
        let id = k + 1;
        format!(r#"<object id="{id}"><components>{two}</components></object>"#)
    };
    let wide: String = (1..40).map(twice).collect();
    let entities =
        r#"<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>"#;
    let good = model_xml(&object, one);
    vec![
        ("cube.3mf", threemf(&shape)),
        (
            "contains-itself.3mf",
            package(&model_xml(&(within(1, 2) + &within(2, 1)), one)),
        ),
        (
            "nested-too-deep.3mf",
            package(&model_xml(
                &(object.clone() + &deep),
                r#"<item objectid="200"/>"#,
            )),
        ),
        (
            "doubled-forty-times.3mf",
            package(&model_xml(
                &(object.clone() + &wide),
                r#"<item objectid="40"/>"#,
            )),
        ),
        (
            "object-missing.3mf",
            package(&model_xml(&object, r#"<item objectid="7"/>"#)),
        ),
        ("nothing-to-build.3mf", package(&model_xml(&object, ""))),
        (
            "index-too-high.3mf",
            package(&good.replacen(r#"v3="2""#, r#"v3="99""#, 1)),
        ),
        (
            "corner-not-a-number.3mf",
            package(&good.replacen(r#"x="20""#, r#"x="nan""#, 1)),
        ),
        ("flattened.3mf", placed("1 0 0 0 1 0 0 0 0 0 0 0")),
        ("mirrored.3mf", placed("-1 0 0 0 1 0 0 0 1 0 0 0")),
        ("transform-too-short.3mf", placed("1 0 0")),
        (
            "transform-not-finite.3mf",
            placed("1e308 0 0 0 1e308 0 0 0 1e308 0 0 inf"),
        ),
        (
            "transform-overflows.3mf",
            placed("1e200 0 0 0 1e200 0 0 0 1e200 0 0 0"),
        ),
        (
            "unknown-unit.3mf",
            package(&good.replacen("millimeter", "cubit", 1)),
        ),
        ("xml-cut-short.3mf", package(&good[..good.len() / 2])),
        (
            "entities.3mf",
            package(&good.replacen("?><model", &format!("?>{entities}<model"), 1)),
        ),
        ("no-model.3mf", zipped(&[("readme.txt", b"nothing here")])),
        ("empty-archive.3mf", zipped(&[])),
        (
            "name-climbs-out.3mf",
            zipped(&[
                ("../../../etc/passwd", b"x"),
                ("3D/3dmodel.model", good.as_bytes()),
            ]),
        ),
        ("five-thousand-entries.3mf", {
            let names: Vec<String> = (0..5000).map(|k| format!("e{k}")).collect();
            let entries: Vec<(&str, &[u8])> =
                names.iter().map(|n| (n.as_str(), &b""[..])).collect();
            zipped(&entries)
        }),
    ]
}

/// What is no mesh, and names that are odd.
pub(super) fn others() -> Vec<Made> {
    let good = stl(&cube(20.0));
    vec![
        ("nothing.stl", Vec::new()),
        ("one-byte.stl", vec![b's']),
        (
            "error-page.stl",
            b"<!DOCTYPE html><html><body>404 Not Found</body></html>".to_vec(),
        ),
        (
            "picture.stl",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02\0\0\0".to_vec(),
        ),
        ("compressed.stl", b"\x1f\x8b\x08\0\0\0\0\0\0\x03".to_vec()),
        ("archive.stl", b"7z\xbc\xaf\x27\x1c\0\x04".to_vec()),
        (
            "drawing.stl",
            b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n".to_vec(),
        ),
        (
            "letter.obj",
            b"Dear all,\nplease find the part enclosed.\n".to_vec(),
        ),
        ("wrong-ending.obj", good.clone()),
        ("wrong-ending.3mf", formats::obj(&cube(20.0)).into_bytes()),
        ("no ending at all", good.clone()),
        ("-begins-with-a-dash.stl", good.clone()),
        ("=1+1.stl", good.clone()),
        ("a name; rm -rf $(pwd) 'x' \"y\".stl", good.clone()),
        ("Gehäuse-部品-\u{1f9f0}.stl", good.clone()),
        ("right\u{202e}lts.to-left.stl", good.clone()),
        ("two\nlines\u{1b}[31m.stl", good),
    ]
}
