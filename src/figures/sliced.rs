//! A pose cut into layers: made once, read by all that needs the layers of that pose.

use super::bridges::{self, Spanning};
use super::quick::Bench;
use super::stop::Stop;
use super::{Layers, slicing};
use crate::pose::{Pose, Posed};
use crate::settings::Settings;
use std::sync::OnceLock;

/// The layers of one pose and the bridges in them, each found when it is first asked for.
///
/// It holds all outlines of the part, so few are to be kept at a time.
pub struct Sliced<'a> {
    /// The pose.
    pub pose: Pose,
    bench: &'a Bench<'a>,
    posed: OnceLock<Posed<'a>>,
    layers: OnceLock<(Layers, usize)>,
    spanning: OnceLock<Spanning>,
}

impl<'a> Sliced<'a> {
    /// Nothing is done yet.
    pub fn new(bench: &'a Bench<'a>, pose: Pose) -> Self {
        Self {
            pose,
            bench,
            posed: OnceLock::new(),
            layers: OnceLock::new(),
            spanning: OnceLock::new(),
        }
    }

    /// Settings in force.
    pub fn settings(&self) -> &'a Settings {
        self.bench.settings
    }

    /// The part in its pose.
    pub fn posed(&self) -> &Posed<'a> {
        self.posed
            .get_or_init(|| Posed::new(self.bench.part, self.pose.clone()))
    }

    /// Sections at mid-layer height, and the number of gaps closed by a guess.
    pub fn layers(&self) -> &(Layers, usize) {
        self.layers_until(&Stop::never())
    }

    /// The same; where it is stopped, sections are missing, and this value is of no more use.
    pub(super) fn layers_until(&self, stop: &Stop) -> &(Layers, usize) {
        self.layers.get_or_init(|| {
            self.bench.layout.count_slicing();
            slicing::layers_until(self.posed(), self.bench.settings, stop)
        })
    }

    /// Bridges, and where they carry.
    pub fn spanning(&self) -> &Spanning {
        self.spanning_until(&Stop::never())
    }

    /// The same; where it is stopped, this value is of no more use.
    pub(super) fn spanning_until(&self, stop: &Stop) -> &Spanning {
        self.spanning.get_or_init(|| {
            bridges::bridges_until(&self.layers_until(stop).0, self.bench.settings, stop)
        })
    }
}
