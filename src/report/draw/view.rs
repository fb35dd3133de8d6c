//! Directions of view, and where each view goes on the sheet.

use crate::words::named;
use nalgebra::{Point3, Vector3};

/// A parallel projection of the build frame onto the sheet.
///
/// The three axes are orthonormal and right-handed. A point maps to (u, v, d): mm to the
/// right, mm upwards, and mm towards the one who looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Build direction that points right on the sheet.
    pub right: Vector3<f64>,
    /// Build direction that points up on the sheet.
    pub up: Vector3<f64>,
    /// Build direction that points at the one who looks.
    pub toward: Vector3<f64>,
}

impl View {
    fn new(right: Vector3<f64>, up: Vector3<f64>) -> Self {
        Self {
            right,
            up,
            toward: right.cross(&up),
        }
    }

    /// From the front: one stands at −Y and sees X to the right, Z up.
    pub fn front() -> Self {
        Self::new(Vector3::x(), Vector3::z())
    }

    /// From the left: one stands at −X and sees −Y to the right.
    pub fn left() -> Self {
        Self::new(-Vector3::y(), Vector3::z())
    }

    /// From the right: one stands at +X and sees Y to the right.
    pub fn right() -> Self {
        Self::new(Vector3::y(), Vector3::z())
    }

    /// From below, as the bed sees the part: X to the right, −Y up.
    pub fn below() -> Self {
        Self::new(Vector3::x(), -Vector3::y())
    }

    /// Isometric (ISO 5456-3), from the front, the left and above: all three axes
    /// come out equally short.
    pub fn isometric() -> Self {
        let (half, sixth) = (0.5_f64.sqrt(), (1.0_f64 / 6.0).sqrt());
        Self::new(
            Vector3::new(half, -half, 0.0),
            Vector3::new(sixth, sixth, 2.0 * sixth),
        )
    }

    /// From the front, a little from the left and above: what turns about build Y is
    /// seen to turn.
    pub fn leaning() -> Self {
        let (sa, ca) = libm::sincos(22.0_f64.to_radians());
        let (se, ce) = libm::sincos(16.0_f64.to_radians());
        Self::new(
            Vector3::new(ca, -sa, 0.0),
            Vector3::new(sa * se, ca * se, ce),
        )
    }

    /// (u, v, d) of a point, mm.
    pub fn map(&self, p: &Point3<f64>) -> [f64; 3] {
        [self.right, self.up, self.toward].map(|a| a.dot(&p.coords))
    }

    /// The point with this (u, v, d).
    pub fn unmap(&self, [u, v, d]: [f64; 3]) -> Point3<f64> {
        Point3::from(self.right * u + self.up * v + self.toward * d)
    }
}

named! {
    /// Which side of the front view the others go to.
    #[derive(Default)]
    Angle:
    /// First angle: the view from the left stands on the right, the one from below above.
    #[default]
    First "first",
    /// Third angle: the view from the right stands on the right, the one from below below.
    Third "third",
}

impl Angle {
    /// The view that stands on the right of the front view.
    pub fn side(self) -> View {
        match self {
            Self::First => View::left(),
            Self::Third => View::right(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn every_view_is_a_right_handed_frame_that_maps_back() {
        let p = Point3::new(3.0, -5.0, 7.0);
        for view in [
            View::front(),
            View::left(),
            View::right(),
            View::below(),
            View::isometric(),
            View::leaning(),
        ] {
            assert_relative_eq!(view.right.cross(&view.up), view.toward, epsilon = 1e-12);
            assert_relative_eq!(view.right.norm(), 1.0, epsilon = 1e-12);
            assert_relative_eq!(view.up.norm(), 1.0, epsilon = 1e-12);
            assert_relative_eq!(view.unmap(view.map(&p)), p, epsilon = 1e-12);
        }
    }

    #[test]
    fn views_look_from_where_their_names_say() {
        for (view, from) in [
            (View::front(), -Vector3::y()),
            (View::left(), -Vector3::x()),
            (View::right(), Vector3::x()),
            (View::below(), -Vector3::z()),
            (View::isometric(), Vector3::new(-1.0, -1.0, 1.0).normalize()),
        ] {
            assert_relative_eq!(view.toward, from, epsilon = 1e-12);
        }
    }

    #[test]
    fn isometric_shortens_all_axes_alike() {
        // √(2/3), ISO 5456-3 (from memory).
        let v = View::isometric();
        for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
            let [a, b, _] = v.map(&Point3::from(axis));
            assert_relative_eq!(libm::hypot(a, b), (2.0_f64 / 3.0).sqrt(), epsilon = 1e-12);
        }
    }
}
