use super::*;
use crate::mesh::{Mesh, Part};
use crate::pose::Pose;
use approx::assert_relative_eq;
use nalgebra::Point3;

/// An axis-parallel box as 12 triangles; `flip` turns it inside out.
fn block(lo: [f64; 3], size: [f64; 3], flip: bool) -> Mesh {
    let corner = |i: usize| {
        let at = |axis: usize| lo[axis] + if i >> axis & 1 == 1 { size[axis] } else { 0.0 };
        Point3::new(at(0), at(1), at(2))
    };
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let mut mesh = Mesh {
        vertices: (0..8).map(corner).collect(),
        triangles: Vec::new(),
    };
    for [a, b, c, d] in quads {
        mesh.triangles.push([a, b, c]);
        mesh.triangles.push([a, c, d]);
    }
    if flip {
        for t in &mut mesh.triangles {
            t.swap(1, 2);
        }
    }
    mesh
}

fn join(meshes: &[Mesh]) -> Mesh {
    let mut out = Mesh::default();
    for m in meshes {
        let base = out.vertices.len() as u32;
        out.vertices.extend_from_slice(&m.vertices);
        out.triangles
            .extend(m.triangles.iter().map(|t| t.map(|v| v + base)));
    }
    out
}

fn cut_at(mesh: Mesh, planes: &[f64]) -> Cut {
    let part = Part::new(mesh).expect("a solid").0;
    let posed = Posed::new(&part, Pose::as_stored(&part.mesh.vertices));
    cut(&posed, planes)
}

#[test]
fn a_box_gives_its_rectangle_counter_clockwise() {
    let cut = cut_at(block([0.0; 3], [4.0, 3.0, 2.0], false), &[0.5, 1.5]);
    assert_eq!(cut.mended, 0);
    for section in &cut.sections {
        let [piece] = section.pieces.as_slice() else {
            panic!("one piece, not {}", section.pieces.len())
        };
        assert_relative_eq!(piece.area_mm2, 12.0, max_relative = 1e-12);
        assert_relative_eq!(piece.perimeter_mm(), 14.0, max_relative = 1e-12);
        assert!(polygon::area(&piece.outer) > 0.0);
    }
}

#[test]
fn a_plane_through_corners_counts_them_as_above() {
    // At the very top nothing is left, at the bottom the whole face is there.
    let cut = cut_at(block([0.0; 3], [4.0, 3.0, 2.0], false), &[0.0, 2.0, 3.0]);
    let areas: Vec<f64> = cut
        .sections
        .iter()
        .map(|s| s.pieces.iter().map(|p| p.area_mm2).sum())
        .collect();
    assert_eq!(areas[0], 0.0);
    assert_relative_eq!(areas[1], 12.0, max_relative = 1e-12);
    assert_eq!(areas[2], 0.0);
}

#[test]
fn a_cavity_is_a_hole_and_a_body_in_it_a_piece_of_its_own() {
    let mesh = join(&[
        block([0.0; 3], [10.0; 3], false),
        block([1.0; 3], [8.0; 3], true),
        block([4.0; 3], [2.0; 3], false),
    ]);
    let cut = cut_at(mesh, &[0.5, 5.0]);
    assert_eq!(cut.sections[0].pieces.len(), 1);
    let mut pieces: Vec<(usize, f64)> = cut.sections[1]
        .pieces
        .iter()
        .map(|p| (p.holes.len(), p.area_mm2))
        .collect();
    pieces.sort_by(|a, b| a.1.total_cmp(&b.1));
    assert_eq!(pieces.len(), 2);
    assert_eq!((pieces[0].0, pieces[1].0), (0, 1));
    assert_relative_eq!(pieces[0].1, 4.0, max_relative = 1e-9);
    assert_relative_eq!(pieces[1].1, 36.0, max_relative = 1e-9);
}

#[test]
fn overlapping_bodies_count_once() {
    let mesh = join(&[
        block([0.0; 3], [4.0, 4.0, 4.0], false),
        block([2.0, 1.0, 0.0], [4.0, 2.0, 4.0], false),
    ]);
    let cut = cut_at(mesh, &[1.0]);
    assert_eq!(cut.sections[0].pieces.len(), 1);
    assert_relative_eq!(
        cut.sections[0].pieces[0].area_mm2,
        20.0,
        max_relative = 1e-6
    );
}

#[test]
fn an_open_surface_is_closed_by_a_line_and_counted() {
    let mut mesh = block([0.0; 3], [4.0, 3.0, 2.0], false);
    // Take out the wall at x = 4.
    mesh.triangles.truncate(10);
    let cut = cut_at(mesh, &[1.0]);
    assert_eq!(cut.mended, 1);
    assert_eq!(cut.sections[0].pieces.len(), 1);
    assert_relative_eq!(
        cut.sections[0].pieces[0].area_mm2,
        12.0,
        max_relative = 1e-12
    );
}

#[test]
fn the_sections_of_a_tilted_box_add_up_to_its_volume() {
    let mut mesh = block([0.0; 3], [30.0, 20.0, 10.0], false);
    let turn = nalgebra::Rotation3::from_euler_angles(0.3, -0.7, 1.1);
    for p in &mut mesh.vertices {
        *p = turn * *p;
    }
    let part = Part::new(mesh).expect("a solid").0;
    let posed = Posed::new(&part, Pose::as_stored(&part.mesh.vertices));
    let settings = Settings {
        layer_mm: 0.05,
        first_layer_mm: 0.05,
        ..Settings::default()
    };
    let (layers, mended) = layers(&posed, &settings, &Stop::never());
    let volume: f64 = layers
        .sections
        .iter()
        .map(|s| s.pieces.iter().map(|p| p.area_mm2).sum::<f64>() * 0.05)
        .sum();
    assert_eq!(mended, 0);
    assert_relative_eq!(volume, 6000.0, max_relative = 1e-4);
    assert_eq!(layers.levels_mm.len(), layers.sections.len() + 1);
}

#[test]
fn sections_do_not_depend_on_the_order_of_faces() {
    let mut mesh = block([0.0; 3], [30.0, 20.0, 10.0], false);
    for p in &mut mesh.vertices {
        p.x += 0.3 * p.z;
    }
    let mut shuffled = mesh.clone();
    shuffled.triangles.reverse();
    for t in &mut shuffled.triangles {
        t.rotate_left(1);
    }
    let (a, b) = (cut_at(mesh, &[3.3]), cut_at(shuffled, &[3.3]));
    assert_relative_eq!(
        a.sections[0].pieces[0].area_mm2,
        b.sections[0].pieces[0].area_mm2,
        max_relative = 1e-12
    );
}
