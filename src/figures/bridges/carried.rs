//! Which overhang a bridge carries: an index for millions of questions.

use super::cut::Cut;
use crate::figures::Layers;
use crate::figures::buckets::Buckets;
use crate::plane::overlay::Window;
use nalgebra::{Point2, Point3, Vector2};

/// More than a point inside a triangle is off by for rounding, mm.
pub(crate) const ROUNDING_MM: f64 = 1e-6;

/// Answers whether an overhang point is carried by a bridge within the limit.
///
/// Belongs to the sections it was made from; build frame, mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Carried {
    /// Heights of the cuts, one a layer.
    cuts_mm: Vec<f64>,
    /// Those of each layer.
    fields: Vec<Vec<Field>>,
    /// The box around those of each layer.
    around: Vec<Window>,
}

/// What of it is near a triangle: few fields, to be asked about many points.
#[derive(Debug, Default)]
pub(crate) struct Near<'a> {
    /// Heights of the cuts that may be the next above a point of the triangle.
    cuts_mm: &'a [f64],
    /// Fields with the place of their cut among these, ascending.
    fields: Vec<(usize, &'a Field)>,
}

impl Near<'_> {
    /// No point of the triangle is carried.
    pub fn is_empty(&self) -> bool {
        self.fields.is_empty()
    }

    /// As [`Carried::carried`], of a point of the triangle.
    pub fn carried(&self, p: &Point3<f64>) -> bool {
        let k = self.cuts_mm.partition_point(|&cut| cut < p.z);
        let from = self.fields.partition_point(|f| f.0 < k);
        let of_layer = self.fields[from..].iter().take_while(|f| f.0 == k);
        of_layer.into_iter().any(|f| f.1.carries(p.xy()))
    }
}

/// The bridged strips of one overhang area.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Field {
    around: Window,
    along: Vector2<f64>,
    across: Vector2<f64>,
    first_mid: f64,
    pitch: f64,
    /// First strip of the list, and how far beyond its first and last middle the field goes, mm.
    first_strip: u32,
    beyond: [f64; 2],
    /// Where bridges begin and end in each strip from `first_strip` on.
    spans: Buckets<[f64; 2]>,
    slack: f64,
}

impl Field {
    /// The chords of `cut` that are held at both ends and longer than the first, no
    /// longer than the second of `lengths_mm`; `None` if there are none.
    pub fn new(cut: &Cut, lengths_mm: [f64; 2], slack: f64) -> Option<Self> {
        let [beyond_mm, limit_mm] = lengths_mm;
        let within: Vec<_> = (cut.chords.iter())
            .filter(|c| c.bridged() && c.length() > beyond_mm && c.length() <= limit_mm)
            .collect();
        let (first, last) = (within.first()?, within.last()?);
        let strips = (last.strip - first.strip) as usize + 1;
        let spans = (within.iter()).map(|c| ((c.strip - first.strip) as usize, [c.from, c.to]));
        let beyond = [first.width, last.width].map(|w| (w - 0.5 * cut.pitch).max(0.5 * cut.pitch));
        let ends = (within.iter()).flat_map(|c| [c.from, c.to].map(|t| cut.point(c.strip, t)));
        Some(Self {
            around: Window::around(ends).grown(beyond[0].max(beyond[1]) + slack),
            along: cut.along,
            across: cut.across,
            first_mid: cut.first_mid,
            pitch: cut.pitch,
            first_strip: first.strip,
            beyond,
            spans: Buckets::new(strips, spans),
            slack,
        })
    }

    fn strip(&self, i: i64) -> &[[f64; 2]] {
        match usize::try_from(i) {
            Ok(i) if i < self.spans.len() => self.spans.of(i),
            _ => &[],
        }
    }

    /// Between the middles of two strips the ends of a bridge run from one chord
    /// to the next, so a point counts within the hull of the two.
    fn carries(&self, p: Point2<f64>) -> bool {
        if !self.around.contains(p) {
            return false;
        }
        let (s, t) = (p.coords.dot(&self.across), p.coords.dot(&self.along));
        let place = (s - self.first_mid) / self.pitch - f64::from(self.first_strip);
        let last = self.spans.len() as f64 - 1.0;
        if place * self.pitch < -self.beyond[0] - self.slack
            || (place - last) * self.pitch > self.beyond[1] + self.slack
        {
            return false;
        }
        let here = place.clamp(0.0, last).round();
        let beside = if place > here { here + 1.0 } else { here - 1.0 };
        let beside = self.strip(beside as i64);
        self.strip(here as i64).iter().any(|&[mut from, mut to]| {
            for other in beside {
                if other[0] < to && other[1] > from {
                    from = from.min(other[0]);
                    to = to.max(other[1]);
                }
            }
            t >= from - self.slack && t <= to + self.slack
        })
    }
}

impl Carried {
    /// Collects the fields of every layer, in order.
    pub(super) fn new(layers: &Layers, fields: Vec<Vec<Field>>) -> Self {
        let corners = |f: &Field| [f.around.lo, f.around.hi];
        let around = |all: &Vec<Field>| Window::around(all.iter().flat_map(corners));
        Self {
            cuts_mm: layers.sections.iter().map(|s| s.z_mm).collect(),
            around: fields.iter().map(around).collect(),
            fields,
        }
    }

    /// Does no bridge within the limit exist? Then every answer is `false`.
    pub fn is_empty(&self) -> bool {
        self.fields.iter().all(Vec::is_empty)
    }

    /// Number of cuts below a height: the layer that a point there belongs to.
    pub(super) fn layer(&self, z: f64) -> usize {
        let cuts = &self.cuts_mm;
        let (Some(first), Some(last)) = (cuts.first(), cuts.last()) else {
            return 0;
        };
        // All but the first are evenly apart: the guess is off by a cut or two.
        let guess = (z - first) / (last - first) * (cuts.len() - 1) as f64;
        let mut k = (guess as usize).min(cuts.len());
        while k > 0 && cuts[k - 1] >= z {
            k -= 1;
        }
        while cuts.get(k).is_some_and(|&cut| cut < z) {
            k += 1;
        }
        k
    }

    /// What may carry points of the triangle. Build frame, mm.
    pub(crate) fn near(&self, corners: &[Point3<f64>; 3]) -> Near<'_> {
        let around = Window::around(corners.iter().map(Point3::xy)).grown(ROUNDING_MM);
        let (lo, hi) = (corners.iter()).fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
            (lo.min(p.z - ROUNDING_MM), hi.max(p.z + ROUNDING_MM))
        });
        let (first, beyond) = (self.layer(lo), (self.layer(hi) + 1).min(self.fields.len()));
        let mut near = Near::default();
        for k in first..beyond {
            if self.around[k].meets(&around) {
                let meeting = self.fields[k].iter().filter(|f| f.around.meets(&around));
                near.fields.extend(meeting.map(|f| (k - first, f)));
            }
        }
        near.cuts_mm = self.cuts_mm.get(first..beyond).unwrap_or_default();
        near
    }

    /// Is the overhang point at (`x`, `y`, `z`) carried by a bridge within the limit?
    ///
    /// Build frame, mm. The point belongs to the layer whose cut is the first at
    /// or above it. Bridges within the limit are chords held at both ends and no
    /// longer than [`bridge_limit_mm`](crate::settings::Settings::bridge_limit_mm).
    /// Points above the last cut, and NaN, are not carried.
    pub fn carried(&self, x: f64, y: f64, z: f64) -> bool {
        let (k, p) = (self.layer(z), Point2::new(x, y));
        let near = self.around.get(k).is_some_and(|a| a.contains(p));
        near && self.fields[k].iter().any(|f| f.carries(p))
    }
}
