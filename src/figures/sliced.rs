//! A pose cut into layers: made once, read by all that needs the layers of that pose.

use super::Layers;
use super::bridges::{self, Spanning};
use super::quick::Bench;
use super::slicing::{self, Cut};
use super::stop::Stop;
use crate::pose::{Pose, Posed};
use crate::settings::Settings;
use std::sync::{Arc, OnceLock};

/// The layers of one pose and the bridges in them, each found when it is first asked for.
///
/// It holds all outlines of the part, so few are to be kept at a time.
pub struct Sliced<'a> {
    /// The pose.
    pub pose: Pose,
    bench: &'a Bench<'a>,
    posed: OnceLock<Posed<'a>>,
    layers: OnceLock<(Layers, usize)>,
    touch: OnceLock<Cut>,
    spanning: OnceLock<Arc<Spanning>>,
}

impl<'a> Sliced<'a> {
    /// Nothing is done yet.
    pub fn new(bench: &'a Bench<'a>, pose: Pose) -> Self {
        Self {
            pose,
            bench,
            posed: OnceLock::new(),
            layers: OnceLock::new(),
            touch: OnceLock::new(),
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
            slicing::layers(self.posed(), self.bench.settings, stop)
        })
    }

    /// The section at touch height.
    pub fn touch(&self) -> &Cut {
        (self.touch).get_or_init(|| slicing::cut(self.posed(), &[self.settings().touch_mm()]))
    }

    /// Bridges, and where they carry.
    pub fn spanning(&self) -> &Arc<Spanning> {
        self.spanning_until(&Stop::never())
    }

    /// Takes bridges that are known already.
    pub(crate) fn spans(&mut self, known: Arc<Spanning>) {
        self.spanning = known.into();
    }

    /// The same; where it is stopped, this value is of no more use.
    pub(super) fn spanning_until(&self, stop: &Stop) -> &Arc<Spanning> {
        self.spanning.get_or_init(|| {
            let layers = &self.layers_until(stop).0;
            Arc::new(bridges::bridges(layers, self.bench.settings, stop))
        })
    }
}
