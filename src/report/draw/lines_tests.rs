//! Closed-form pictures.

use super::*;
use crate::mesh::{Mesh, Part};
use crate::pose::Pose;
use crate::report::draw::fixture::{blocks, cuboid};
use crate::report::draw::model::DrawingModel;
use nalgebra::Point3;

fn drawn(part: &Part, view: View) -> Lines {
    let posed = Posed::new(part, Pose::as_stored(&part.mesh.vertices));
    let model = DrawingModel::new(part);
    Seen::new(&posed, view, 600)
        .expect("extent")
        .lines(&model, true)
}

fn length(lines: &[Polyline]) -> f64 {
    lines.iter().map(|l| super::super::join::length(l)).sum()
}

#[test]
fn a_cube_in_isometric_is_a_hexagon_with_a_y_and_a_hidden_y() {
    // Each edge comes out √(2/3) of its length: six in the outline, three seen
    // within it, three hidden (ISO 5456-3, closed form).
    let lines = drawn(&cuboid(30.0, 30.0, 30.0), View::isometric());
    let edge = 30.0 * (2.0_f64 / 3.0).sqrt();
    assert!((length(&lines.outline) - 6.0 * edge).abs() < 0.01 * edge);
    assert!((length(&lines.edges) - 3.0 * edge).abs() < 0.01 * edge);
    assert!(lines.outline.len() <= 2, "{:?}", lines.outline);
    // From a corner the hidden edges lie behind the seen ones: turned out of
    // line they would be three; here they coincide and are not drawn twice.
    let oblong = drawn(&cuboid(30.0, 20.0, 10.0), View::isometric());
    let hidden = (30.0 + 20.0 + 10.0) * (2.0_f64 / 3.0).sqrt();
    assert!(
        (length(&oblong.hidden) - hidden).abs() < 0.04 * hidden,
        "{}",
        length(&oblong.hidden)
    );
}

#[test]
fn a_box_from_the_front_is_a_rectangle_and_nothing_else() {
    let lines = drawn(&cuboid(40.0, 10.0, 25.0), View::front());
    assert!((length(&lines.outline) - 130.0).abs() < 0.5);
    assert!(
        lines.edges.is_empty() && lines.hidden.is_empty(),
        "{lines:?}"
    );
}

#[test]
fn what_lies_behind_is_hidden_and_what_stands_before_is_seen() {
    // A small block behind a large plate: its outline is hidden from the front
    // and seen from the back side's neighbour, the view from the left.
    let part = blocks(&[
        ([0.0, 0.0, 0.0], [60.0, 5.0, 40.0]),
        ([20.0, 10.0, 10.0], [40.0, 20.0, 25.0]),
    ]);
    let front = drawn(&part, View::front());
    assert!(
        (length(&front.hidden) - 2.0 * (20.0 + 15.0)).abs() < 1.0,
        "{}",
        length(&front.hidden)
    );
    let left = drawn(&part, View::left());
    assert!(left.hidden.is_empty());
    assert!((length(&left.outline) - 2.0 * (5.0 + 40.0) - 2.0 * (10.0 + 15.0)).abs() < 1.0);
}

#[test]
fn a_fine_sphere_is_a_circle() {
    let (rings, sides) = (180, 360);
    let mut mesh = Mesh::default();
    for i in 0..=rings {
        let polar = std::f64::consts::PI * f64::from(i) / f64::from(rings);
        for j in 0..sides {
            let turn = std::f64::consts::TAU * f64::from(j) / f64::from(sides);
            mesh.vertices.push(Point3::new(
                10.0 * libm::sin(polar) * libm::cos(turn),
                10.0 * libm::sin(polar) * libm::sin(turn),
                10.0 * libm::cos(polar),
            ));
        }
    }
    let at = |i: i32, j: i32| (i * sides + j % sides) as u32;
    for i in 0..rings {
        for j in 0..sides {
            if i > 0 {
                mesh.triangles.push([at(i, j), at(i + 1, j), at(i, j + 1)]);
            }
            if i + 1 < rings {
                mesh.triangles
                    .push([at(i, j + 1), at(i + 1, j), at(i + 1, j + 1)]);
            }
        }
    }
    // The poles are one point each.
    for t in &mut mesh.triangles {
        for v in t {
            let ring = *v as i32 / sides;
            if ring == 0 || ring == rings {
                *v = (ring * sides) as u32;
            }
        }
    }
    let part = Part::new(mesh).expect("a part").0;
    let lines = drawn(&part, View::isometric());
    let round = std::f64::consts::TAU * 10.0;
    // Steps along facets make it a little longer.
    assert!(
        (length(&lines.outline) - round).abs() < 0.06 * round,
        "{}",
        length(&lines.outline)
    );
    assert!(lines.edges.is_empty());
    for p in lines.outline.iter().flatten() {
        let (dx, dy) = (p[0], p[1] - 10.0 * (2.0_f64 / 3.0).sqrt());
        assert!((libm::hypot(dx, dy) - 10.0).abs() < 0.1);
    }
}
