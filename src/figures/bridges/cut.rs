//! An overhang area cut into chords along one direction.

use nalgebra::{Point2, Vector2};

/// A straight run through the gap along the bridge direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chord {
    pub strip: u32,
    /// Where it begins and ends along the bridge direction, mm.
    pub from: f64,
    pub to: f64,
    /// Is the beginning held, is the end?
    pub held: [bool; 2],
    /// Width of the strip that the chord stands for, mm.
    pub width: f64,
}

/// Where a ledge is looked at: at its tip and further in, where the way back may be longer.
pub(super) const ALONG_LEDGE: [f64; 4] = [1.0, 0.75, 0.5, 0.25];

impl Chord {
    pub fn length(&self) -> f64 {
        self.to - self.from
    }

    /// Held at both ends?
    pub fn bridged(&self) -> bool {
        self.held == [true, true]
    }

    /// Held at one end?
    pub fn ledge(&self) -> bool {
        self.held[0] != self.held[1]
    }
}

/// The chords of one overhang area in one direction.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Cut {
    pub direction_rad: f64,
    pub along: Vector2<f64>,
    pub across: Vector2<f64>,
    /// Middle of the first strip across the direction, mm, and strip pitch, mm.
    pub first_mid: f64,
    pub pitch: f64,
    /// In order of strips, then along the direction.
    pub chords: Vec<Chord>,
}

impl Cut {
    /// The point of a strip's middle line at `t` along the direction.
    pub fn point(&self, strip: u32, t: f64) -> Point2<f64> {
        let s = self.first_mid + f64::from(strip) * self.pitch;
        Point2::from(self.along * t + self.across * s)
    }

    /// The point of a chord that is held at one end, at a share of its length from there.
    pub fn out_from_hold(&self, c: &Chord, share: f64) -> Point2<f64> {
        let (root, tip) = if c.held[0] {
            (c.from, c.to)
        } else {
            (c.to, c.from)
        };
        self.point(c.strip, root + share * (tip - root))
    }
}
