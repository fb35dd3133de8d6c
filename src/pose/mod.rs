//! Directions: hull, standing facets, lattice, yaw, twins, and the rotation of a pose.

use crate::mesh::Part;
use nalgebra::{Isometry3, Point3, Rotation3, Unit, UnitQuaternion, Vector3};

/// A build orientation: which part direction goes down, and the map to the build frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Pose {
    /// Part direction that is turned to −Z.
    pub down: Unit<Vector3<f64>>,
    /// Rotation followed by the offset that puts the lowest point at z = 0 and
    /// the footprint's box centred on the origin.
    pub build_from_part: Isometry3<f64>,
}

impl Pose {
    /// The rotation as a matrix (proper, det +1).
    pub fn rotation(&self) -> Rotation3<f64> {
        self.build_from_part.rotation.to_rotation_matrix()
    }
}

/// A part standing in a pose: every vertex in the build frame, lowest at z = 0.
#[derive(Debug, Clone)]
pub struct Posed<'a> {
    /// The part.
    pub part: &'a Part,
    /// The pose.
    pub pose: Pose,
    /// Vertices in the build frame, same order as the mesh, mm.
    pub vertices: Vec<Point3<f64>>,
    /// Build-frame normal z of every triangle (unit normals).
    pub normal_z: Vec<f64>,
    /// Height above the bed, mm.
    pub height_mm: f64,
}

/// The shortest rotation that turns `down` to −Z, before any yaw. For
/// `down` = +Z it is a half turn about X.
pub fn down_rotation(down: &Unit<Vector3<f64>>) -> UnitQuaternion<f64> {
    UnitQuaternion::rotation_between_axis(down, &-Vector3::z_axis())
        .unwrap_or_else(|| UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI))
}
