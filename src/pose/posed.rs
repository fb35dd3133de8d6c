//! A pose, and the part in it.

use crate::mesh::{Part, bounds, each};
use nalgebra::{
    IsometryMatrix3, Matrix3, Point2, Point3, Rotation3, Translation3, Unit, Vector3, matrix,
};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

/// A build orientation: which part direction goes down, and the map to the build frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(into = "Placement")]
pub struct Pose {
    /// Part direction that is turned to −Z.
    pub down: Unit<Vector3<f64>>,
    /// Rotation followed by the offset that puts the lowest point at z = 0 and
    /// the footprint's box centred on the origin. The rotation is kept as a matrix so
    /// that quarter turns are exact.
    pub build_from_part: IsometryMatrix3<f64>,
}

/// A pose as the JSON shows it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Placement {
    /// Unit direction of the part that goes down to the bed.
    pub down: [f64; 3],
    /// Rows of the rotation: a posed point is rotation · p + offset.
    pub rotation: [[f64; 3]; 3],
    /// Puts the lowest point at z = 0 and the footprint in the middle of the bed.
    pub offset_mm: [f64; 3],
}

impl From<Pose> for Placement {
    fn from(pose: Pose) -> Self {
        Self {
            down: pose.down.into_inner().into(),
            // An array of columns, so its transpose has the rows.
            rotation: pose.rotation().matrix().transpose().into(),
            offset_mm: pose.build_from_part.translation.vector.into(),
        }
    }
}

impl Pose {
    /// The pose with `down` towards the bed and the default yaw: the smallest-area rectangle
    /// around the footprint lies with its long side along X.
    ///
    /// `points` are the corners of the hull (or all vertices), part frame, mm. Without
    /// points the offset is zero. A `down` along an axis gives an exact rotation, and a
    /// footprint with sides along the axes gets an exact yaw.
    pub fn new(down: &Unit<Vector3<f64>>, points: &[Point3<f64>]) -> Self {
        let down = snapped(down);
        let level = down_rotation(&down);
        let shadow: Vec<Point2<f64>> = points.iter().map(|p| (level * p).xy()).collect();
        let along = crate::plane::rect::min_area_rectangle(&crate::plane::rect::hull2d(&shadow))
            .map_or_else(nalgebra::Vector2::x, |r| r.along);
        let yaw = about_z(along.x, -along.y);
        Self::with_rotation(down, yaw * level, points)
    }

    /// The pose of a file as it is: no rotation, only the offset.
    pub fn as_stored(points: &[Point3<f64>]) -> Self {
        Self::with_rotation(-Vector3::z_axis(), Rotation3::identity(), points)
    }

    /// The pose with `down` (part frame) to the bed, turned on from the default yaw by
    /// `yaw_deg` where that is given.
    pub fn with_yaw(
        down: &Unit<Vector3<f64>>,
        yaw_deg: Option<f64>,
        points: &[Point3<f64>],
    ) -> Self {
        let level = Self::new(down, points);
        match yaw_deg {
            Some(deg) => level.turned(deg.to_radians(), points),
            None => level,
        }
    }

    /// The same `down`, turned further by `yaw_rad` about Z, standing on z = 0 and centred.
    #[must_use]
    pub fn turned(&self, yaw_rad: f64, points: &[Point3<f64>]) -> Self {
        let (s, c) = libm::sincos(yaw_rad);
        let snap = |x: f64| {
            if x.abs() < AXIS_SNAP {
                0.0
            } else if x.abs() > 1.0 - AXIS_SNAP.powi(2) {
                x.signum()
            } else {
                x
            }
        };
        let rotation = about_z(snap(c), snap(s)) * self.rotation();
        Self::with_rotation(self.down, rotation, points)
    }

    /// The pose of a rotation that turns `down` to −Z.
    pub(crate) fn with_rotation(
        down: Unit<Vector3<f64>>,
        rotation: Rotation3<f64>,
        points: &[Point3<f64>],
    ) -> Self {
        // A turn by a matrix of zeros and ones leaves −0.0 behind, which prints badly.
        let rotation = Rotation3::from_matrix_unchecked(rotation.matrix().map(|c| c + 0.0));
        let turned = bounds(points.iter().map(|p| rotation * p));
        let offset = turned.map_or_else(Vector3::zeros, |[lo, hi]| {
            let (x, y) = (f64::midpoint(lo.x, hi.x), f64::midpoint(lo.y, hi.y));
            Vector3::new(-x, -y, -lo.z).map(|c| c + 0.0)
        });
        Self {
            down,
            build_from_part: IsometryMatrix3::from_parts(Translation3::from(offset), rotation),
        }
    }

    /// The rotation as a matrix (proper, det +1).
    pub fn rotation(&self) -> Rotation3<f64> {
        self.build_from_part.rotation
    }

    /// Points of the part seen from above in the build frame, mm.
    pub fn shadow(&self, points: &[Point3<f64>]) -> Vec<Point2<f64>> {
        (points.iter())
            .map(|p| (self.build_from_part * p).xy())
            .collect()
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

impl<'a> Posed<'a> {
    /// Moves every vertex of `part` into the build frame of `pose`. O(n), parallel; the
    /// result does not depend on the number of threads.
    ///
    /// A pose made from the hull's corners holds for all vertices; those that rounding
    /// would put below the bed are put on it.
    pub fn new(part: &'a Part, pose: Pose) -> Self {
        let map = pose.build_from_part;
        let up_in_part = map.rotation.matrix().row(2).transpose();
        let vertices = each(&part.mesh.vertices, CHUNK, |p| {
            let q = map * p;
            Point3::new(q.x, q.y, q.z.max(0.0))
        });
        let heights = vertices.par_iter().with_min_len(CHUNK).map(|p| p.z);
        Self {
            height_mm: heights.reduce(|| 0.0, f64::max),
            normal_z: each(&part.normals, CHUNK, |n| n.dot(&up_in_part)),
            part,
            pose,
            vertices,
        }
    }

    /// The three corners of triangle `t` in the build frame, mm.
    pub fn corners(&self, t: usize) -> [Point3<f64>; 3] {
        self.part.mesh.triangles[t].map(|v| self.vertices[v as usize])
    }

    /// Centroid in the build frame, mm.
    pub fn centroid(&self) -> Point3<f64> {
        self.pose.build_from_part * self.part.mass.centroid
    }

    /// Extents along X and Y, mm.
    pub fn footprint_mm(&self) -> [f64; 2] {
        let plan = bounds(self.vertices.iter().map(Point3::xy));
        plan.map_or([0.0; 2], |[lo, hi]| [hi.x - lo.x, hi.y - lo.y])
    }
}

/// `down`, or the axis it is meant to be.
fn snapped(down: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
    let main = down.iamax();
    if (0..3).any(|k| k != main && down[k].abs() > AXIS_SNAP) {
        return *down;
    }
    let mut axis = Vector3::zeros();
    axis[main] = down[main].signum();
    Unit::new_unchecked(axis)
}

/// A rotation that turns `down` to −Z, before any yaw: the shortest one where `down`
/// points below the horizon, else that of its opposite after a half turn about X.
/// Exact for axes and accurate everywhere.
pub fn down_rotation(down: &Unit<Vector3<f64>>) -> Rotation3<f64> {
    let flip = down.z > 0.0;
    // The direction that becomes +Z, with z ≥ 0 after the half turn.
    let u = if flip {
        Vector3::new(-down.x, down.y, down.z)
    } else {
        -down.into_inner()
    };
    let k = 1.0 / (1.0 + u.z);
    let level = matrix![
        1.0 - u.x * u.x * k, -u.x * u.y * k, -u.x;
        -u.x * u.y * k, 1.0 - u.y * u.y * k, -u.y;
        u.x, u.y, u.z
    ];
    let half = Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0));
    Rotation3::from_matrix_unchecked(if flip { level * half } else { level })
}

/// Rotation about Z by the angle with this cosine and sine.
fn about_z(c: f64, s: f64) -> Rotation3<f64> {
    Rotation3::from_matrix_unchecked(Matrix3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0))
}

/// A `down` whose other two components are below this is taken for the axis itself.
const AXIS_SNAP: f64 = 1e-9;

/// Vertices a task, fixed.
const CHUNK: usize = 1 << 14;
