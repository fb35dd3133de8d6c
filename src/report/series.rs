//! One figure of several poses beside each other: in one unit, the best marked.

use super::figures::{Better, Figure};
use super::quantity::Scale;

/// One figure of several poses.
pub struct Series {
    /// The figure.
    pub figure: &'static Figure,
    /// Its values, one a pose.
    pub values: Vec<f64>,
    /// How they are written.
    pub scale: Scale,
}

impl Series {
    /// These values of a figure.
    pub fn new(figure: &'static Figure, values: Vec<f64>) -> Self {
        Self {
            figure,
            scale: figure.quantity.scale(&values),
            values,
        }
    }

    /// The values without their unit, for below a head.
    pub fn cells(&self) -> Vec<String> {
        self.values.iter().map(|v| self.scale.cell(*v)).collect()
    }

    /// The values with their unit.
    pub fn said(&self) -> Vec<String> {
        self.values.iter().map(|v| self.scale.say(*v)).collect()
    }

    /// Which of the poses that `count` are best, unless all of those read the same. Ties
    /// are ties of what is shown: two values that read the same are equally good.
    pub fn best(&self, count: &[bool]) -> Vec<bool> {
        let cells = self.cells();
        let better = |a: f64, b: f64| match self.figure.better {
            Better::Higher => a > b,
            Better::Lower | Better::Neither => a < b,
        };
        let counted = || (0..cells.len()).filter(|&i| count[i]);
        let finite = counted().filter(|&i| self.values[i].is_finite());
        let top = finite.reduce(|top, i| {
            if better(self.values[i], self.values[top]) {
                i
            } else {
                top
            }
        });
        let same = |i: usize| top.is_some_and(|top| cells[i] == cells[top]);
        let all = counted().all(same);
        (0..cells.len())
            .map(|i| count[i] && same(i) && !all)
            .collect()
    }
}
