//! What a bit of surface means for the print: rests, hangs over, is bridged, or neither.

use super::lines::Seen;
use super::marker::Marker;
use crate::figures::bridges::Carried;
use crate::figures::sliced::Sliced;
use crate::figures::{Bridge, Piece};
use crate::pose::Posed;
use crate::settings::Settings;
use rayon::prelude::*;

/// What a bit of surface means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// Nothing that needs a mark.
    Plain,
    /// Lies on the bed.
    Contact,
    /// Leans past the limit, and nothing carries it.
    HangsOver,
    /// A bridge within the limit carries it: the index of the bridge in the list.
    Bridged(u16),
}

/// The meaning of every bit of surface of one pose.
pub struct MarkedSurface<'a, 'p> {
    /// The part in its pose.
    pub posed: &'a Posed<'p>,
    /// Settings in force.
    pub settings: &'a Settings,
    /// Which overhang bridges carry.
    pub carried: &'a Carried,
    /// The bridges, from the bed up.
    pub bridges: &'a [Bridge],
    /// The section at touch height.
    pub contact: &'a [Piece],
    /// Purposes to be marked in the drawing.
    pub markers: Vec<Marker>,
    sine: f64,
}

impl<'a, 'p> MarkedSurface<'a, 'p> {
    /// The surface of a pose. Where its bridges are not known yet, it is cut into layers.
    pub fn of(sliced: &'a Sliced<'p>) -> Self {
        let (settings, spanning) = (sliced.settings(), sliced.spanning());
        let touch = sliced.touch().sections.first();
        Self {
            posed: sliced.posed(),
            settings,
            carried: &spanning.carried,
            bridges: &spanning.bridges,
            contact: touch.map_or(&[], |section| &section.pieces),
            markers: Vec::new(),
            sine: settings.overhang_sin(),
        }
    }

    /// Whether a facet leans past the limit.
    pub fn leans(&self, face: u32) -> bool {
        -self.posed.normal_z[face as usize] > self.sine
    }

    /// Whether overhang at this point of the build frame needs something under it.
    pub fn hangs(&self, face: u32, p: [f64; 3]) -> bool {
        self.leans(face)
            && p[2] > self.settings.touch_mm()
            && !self.carried.carried(p[0], p[1], p[2])
    }

    /// The meaning of a facet at a point of the build frame, mm.
    pub fn meaning(&self, face: u32, p: [f64; 3]) -> Meaning {
        if !self.leans(face) {
            Meaning::Plain
        } else if p[2] <= self.settings.touch_mm() {
            Meaning::Contact
        } else if self.carried.carried(p[0], p[1], p[2]) {
            self.nearest(p[2]).map_or(Meaning::Plain, Meaning::Bridged)
        } else {
            Meaning::HangsOver
        }
    }

    /// The bridge whose layer is nearest to a height, if one is within two layers.
    fn nearest(&self, z: f64) -> Option<u16> {
        let at = self.bridges.partition_point(|b| b.z_mm < z);
        let from = at.saturating_sub(1);
        (from..(at + 1).min(self.bridges.len()))
            .map(|i| ((self.bridges[i].z_mm - z).abs(), i))
            .filter(|(off, _)| *off <= 2.0 * self.settings.layer_mm)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .and_then(|(_, i)| u16::try_from(i).ok())
    }

    /// The meaning at every pixel of a view.
    pub fn picture(&self, seen: &Seen) -> Vec<Meaning> {
        (0..seen.depth.face.len())
            .into_par_iter()
            .with_min_len(1 << 14)
            .map(|i| match seen.depth.point(i) {
                Some((uvd, face)) if self.leans(face) => {
                    self.meaning(face, seen.view.unmap(uvd).coords.into())
                }
                _ => Meaning::Plain,
            })
            .collect()
    }
}
