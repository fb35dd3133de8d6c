use super::*;
use crate::mesh::{ReadOptions, UnitsOrigin, read_bytes};
use nalgebra::Point3;

const WRITTEN: [Format; 4] = [Format::Stl, Format::ThreeMf, Format::Obj, Format::Ply];

/// A corner with sides that are exact in single precision in mm and in inches.
fn corner() -> Mesh {
    let side = 25.4 * 4.0;
    Mesh {
        vertices: vec![
            Point3::origin(),
            Point3::new(side, 0.0, 0.0),
            Point3::new(0.0, side / 2.0, 0.0),
            Point3::new(0.0, 0.0, side / 4.0),
        ],
        triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
    }
}

fn bytes(mesh: &Mesh, format: Format, units: Units) -> Vec<u8> {
    let mut out = io::Cursor::new(Vec::new());
    write_to(&mut out, mesh, format, units).unwrap();
    out.into_inner()
}

#[test]
fn what_is_written_is_read_back() {
    for format in WRITTEN {
        for units in [Units::Millimeter, Units::Inch, Units::Micron, Units::Meter] {
            let written = bytes(&corner(), format, units);
            let told = (format != Format::ThreeMf).then_some(units);
            let options = ReadOptions {
                units: told,
                ..ReadOptions::default()
            };
            let read = read_bytes("part", &written, &options).unwrap();
            assert_eq!((read.format, read.units), (format, units));
            if format == Format::ThreeMf {
                assert_eq!(read.units_origin, UnitsOrigin::File);
            }
            // Vertices are renumbered by first use; corners stay.
            assert_eq!(read.mesh.triangles.len(), 4);
            for t in 0..4 {
                for (p, q) in corner().corners(t).iter().zip(read.mesh.corners(t)) {
                    // Half a unit in the last place of single precision at this size.
                    assert!((p - q).norm() < 4e-6, "{p} {q}");
                }
            }
        }
    }
}

#[test]
fn same_mesh_same_bytes() {
    for format in WRITTEN {
        assert_eq!(
            bytes(&corner(), format, Units::Inch),
            bytes(&corner(), format, Units::Inch)
        );
    }
}

#[test]
fn binary_stl_has_its_size_and_outward_normals() {
    let written = bytes(&corner(), Format::Stl, Units::Millimeter);
    assert_eq!(written.len(), 84 + 50 * 4);
    let theirs = stl_io::read_stl(&mut io::Cursor::new(&written)).unwrap();
    theirs.validate().unwrap();
    assert_eq!(theirs.faces[0].normal.0, [0.0, 0.0, -1.0]);
}

#[test]
fn package_has_the_three_parts_that_opc_asks_for() {
    let written = bytes(&corner(), Format::ThreeMf, Units::Inch);
    let mut zip = zip::ZipArchive::new(io::Cursor::new(&written)).unwrap();
    let names: Vec<_> = zip.file_names().map(|n| n.unwrap().into_owned()).collect();
    assert_eq!(
        names,
        ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    );
    let model = io::read_to_string(zip.by_index(2).unwrap()).unwrap();
    assert!(
        model.contains("unit=\"inch\"") && model.contains("<vertex x=\"4\" y=\"0\" z=\"0\"/>"),
        "{model}"
    );
}

#[test]
fn an_ending_names_its_format() {
    assert_eq!(
        Format::of_ending(Path::new("part.3MF")),
        Some(Format::ThreeMf)
    );
    assert_eq!(Format::of_ending(Path::new("part.step")), None);
    assert_eq!(Format::of_ending(Path::new("part")), None);
    let mut out = io::Cursor::new(Vec::new());
    let off = write_to(&mut out, &corner(), Format::Off, Units::Millimeter);
    assert_eq!(off.map_err(|e| e.kind()), Err(io::ErrorKind::Unsupported));
}
