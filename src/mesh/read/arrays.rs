//! A mesh that is in memory already: vertices and faces of another program.

use super::raw::{ReadOptions, check_count};
use super::{FARTHEST_MM, to_mm};
use crate::mesh::error::ReadFault;
use crate::mesh::units::Units;
use crate::mesh::weld::weld_points;
use crate::mesh::{Defect, Part};
use nalgebra::Point3;

/// What is wrong with arrays of vertices and faces, and in which row.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ArrayFault {
    /// A coordinate that is no number, or too far out to reckon with.
    #[error("vertices: row {row} is not finite ({x}, {y}, {z})")]
    NotFinite {
        /// Row, from 0.
        row: usize,
        /// Its numbers as given.
        x: f64,
        /// The second.
        y: f64,
        /// The third.
        z: f64,
    },
    /// A face that names no vertex.
    #[error("faces: row {row} names vertex {index}, and there are {vertices} (0 to {last})", last = vertices.saturating_sub(1))]
    OutOfRange {
        /// Row, from 0.
        row: usize,
        /// What it names.
        index: i128,
        /// Number of vertices.
        vertices: usize,
    },
    /// The arrays hold no mesh that can be worked with.
    #[error("the mesh {0}")]
    NoPart(ReadFault),
}

impl From<ReadFault> for ArrayFault {
    fn from(fault: ReadFault) -> Self {
        Self::NoPart(fault)
    }
}

/// Makes a part of arrays, with what is wrong with its surface and remarks on its size.
///
/// `vertex(i)` is row i of `vertices` rows in `units`, `face(i)` row i of `faces` rows
/// with the numbers of three vertices, from 0. The arrays are read where they lie;
/// vertices are welded as those of a file are, so that the same mesh gives the same
/// part from either door.
///
/// # Errors
/// The first row that is off, or [`Part::new`] refuses the mesh.
pub fn from_arrays(
    (vertices, vertex): (usize, impl Fn(usize) -> [f64; 3]),
    (faces, face): (usize, impl Fn(usize) -> [i128; 3]),
    units: Units,
) -> Result<(Part, Vec<Defect>, Vec<String>), ArrayFault> {
    check_count(faces as u64, &ReadOptions::default())?;
    let scale = units.mm();
    for row in 0..vertices {
        let [x, y, z] = vertex(row);
        if ![x, y, z].iter().all(|c| (c * scale).abs() <= FARTHEST_MM) {
            return Err(ArrayFault::NotFinite { row, x, y, z });
        }
    }
    for row in 0..faces {
        let inside = |i: &i128| u32::try_from(*i).is_ok_and(|i| (i as usize) < vertices);
        if let Some(&index) = face(row).iter().find(|i| !inside(i)) {
            return Err(ArrayFault::OutOfRange {
                row,
                index,
                vertices,
            });
        }
    }
    let mut mesh = weld_points(
        vertices,
        |i| Point3::from(vertex(i)),
        (0..faces).map(|row| face(row).map(|i| i as u32)),
    );
    let notes = to_mm(&mut mesh, units)?;
    let (part, defects) = Part::new(mesh)?;
    Ok((part, defects, notes.into_iter().collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tetrahedron with legs of 10; the second row stands there twice.
    const POINTS: [[f64; 3]; 5] = [
        [0.0, 0.0, 0.0],
        [10.0, 0.0, -0.0],
        [0.0, 10.0, 0.0],
        [0.0, 0.0, 10.0],
        [10.0, 0.0, 0.0],
    ];
    const FACES: [[i128; 3]; 4] = [[0, 2, 1], [0, 4, 3], [0, 3, 2], [1, 2, 3]];

    fn part(
        points: &[[f64; 3]],
        faces: &[[i128; 3]],
        units: Units,
    ) -> Result<(Part, Vec<Defect>, Vec<String>), ArrayFault> {
        from_arrays(
            (points.len(), |i| points[i]),
            (faces.len(), |i| faces[i]),
            units,
        )
    }

    #[test]
    fn a_tetrahedron_in_centimetres_is_welded_and_weighed() {
        let (part, defects, notes) = part(&POINTS, &FACES, Units::Centimeter).expect("a part");
        assert_eq!((part.mesh.vertices.len(), part.closed), (4, true));
        // V = a·b·c/6 of three legs at right angles.
        assert!((part.mass.volume_mm3 - 1e6 / 6.0).abs() < 1e-6);
        assert!(defects.is_empty() && notes.is_empty());
    }

    #[test]
    fn what_is_off_is_named_by_its_row() {
        let said = |points: &[[f64; 3]], faces: &[[i128; 3]]| {
            part(points, faces, Units::Millimeter)
                .expect_err("refused")
                .to_string()
        };
        let mut points = POINTS;
        points[3][1] = f64::NAN;
        assert_eq!(
            said(&points, &FACES),
            "vertices: row 3 is not finite (0, NaN, 10)"
        );
        for (index, shown) in [(5, "5"), (-1, "-1"), (1 << 40, "1099511627776")] {
            let mut faces = FACES;
            faces[2][0] = index;
            assert_eq!(
                said(&POINTS, &faces),
                format!("faces: row 2 names vertex {shown}, and there are 5 (0 to 4)")
            );
        }
        assert_eq!(said(&POINTS, &[]), "the mesh holds no usable triangle");
        assert_eq!(
            said(&[], &FACES),
            "faces: row 0 names vertex 0, and there are 0 (0 to 0)"
        );
    }

    #[test]
    fn a_part_that_is_very_small_is_remarked_upon() {
        let (_, _, notes) = part(&POINTS, &FACES, Units::Micron).expect("a part");
        assert!(notes[0].contains("very small"), "{notes:?}");
    }
}
