//! Every cut-off point of a valid file of each format: what is left is refused with a reason, or it
//! is as much of the part as can be told from it.

use crate::bench::stl;
use crate::formats;
use crate::shapes::tetrahedron;
use wayup::mesh::{DefectKind, Part, ReadFault, ReadOptions, read_bytes};

/// What is left of a file at each place where it can be cut off.
struct Cuts {
    refused: usize,
    /// Read, with all triangles.
    whole: usize,
    /// Read, with fewer: the surface is then open, and that is said.
    open: usize,
}

fn cuts(bytes: &[u8]) -> Cuts {
    let mut out = Cuts {
        refused: 0,
        whole: 0,
        open: 0,
    };
    for end in 0..bytes.len() {
        let made = read_bytes("cut", &bytes[..end], &ReadOptions::default())
            .and_then(|mut loaded| loaded.take_part());
        match made {
            Err(error) => {
                assert_ne!(error.fault, ReadFault::TooLate);
                assert!(error.to_string().starts_with("cut: "), "{error}");
                out.refused += 1;
            }
            Ok((part, _)) if part.mesh.triangles.len() == 4 && part.closed => out.whole += 1,
            Ok((part, defects)) => {
                let open = |d: &wayup::mesh::Defect| d.kind == DefectKind::OpenEdges;
                assert!(defects.iter().any(open), "cut at {end}: {part:?}");
                out.open += 1;
            }
        }
    }
    out
}

/// The number of cut-off points with each outcome. Formats that state how much is to come refuse all
/// but a missing last line break and a last number that lost a digit; of text STL the last word may be
/// missing, which is noted. Of OBJ, and of text STL between two facets, a cut cannot be seen, but it
/// leaves the surface open.
#[test]
fn every_cut_off_point_of_every_format() {
    let shape = tetrahedron([0.0; 3], 20.0);
    let found = [
        ("binary STL", stl(&shape)),
        ("text STL", formats::text_stl(&shape).into_bytes()),
        ("OBJ", formats::obj(&shape).into_bytes()),
        ("OFF", formats::off(&shape).into_bytes()),
        ("PLY", formats::ply(&shape).into_bytes()),
        ("binary PLY", formats::ply_binary(&shape)),
        ("3MF", formats::threemf(&shape)),
    ]
    .map(|(name, bytes)| {
        let Cuts {
            refused,
            whole,
            open,
        } = cuts(&bytes);
        assert_eq!(refused + whole + open, bytes.len(), "{name}");
        (name, whole, open)
    });
    let wanted = [
        ("binary STL", 0, 0),
        ("text STL", 8, 4),
        ("OBJ", 1, 19),
        ("OFF", 1, 1),
        ("PLY", 1, 1),
        ("binary PLY", 0, 0),
        ("3MF", 0, 0),
    ];
    assert_eq!(found, wanted, "cut-off points that are read: whole, open");
}

/// The largest of all indices and counts in every place of a small file: no memory is taken for what
/// a file only claims.
#[test]
fn numbers_that_claim_too_much_are_refused() {
    let shape = tetrahedron([0.0; 3], 20.0);
    let texts = [
        formats::obj(&shape),
        formats::off(&shape),
        formats::ply(&shape),
    ];
    for text in texts {
        let digits: Vec<usize> = (0..text.len())
            .filter(|&i| text.as_bytes()[i].is_ascii_digit())
            .collect();
        for at in digits {
            for claim in ["4294967295", "9223372036854775807", "-1", "1e308"] {
                let mut changed = text.clone();
                changed.replace_range(at..=at, claim);
                let read = read_bytes("claim", changed.as_bytes(), &ReadOptions::default());
                if let Ok(mut loaded) = read {
                    let _: Result<(Part, _), _> = loaded.take_part();
                }
            }
        }
    }
}
