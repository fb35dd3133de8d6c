//! The figures that every candidate gets: exact, from a few facets each.
//!
//! Height, contact area, tip angle, overhang area and stair steps need no layers
//! and no columns. They are exact (sums and clipping), cost a fraction of a
//! millisecond at a million facets, and give the lower bound by which the ranking
//! leaves out candidates that cannot win.

use super::gauss::{Gauss, Sums, Thresholds};
use super::low::low_slope_mm;
use super::stop::Stop;
use super::touch::{Segment, bed_axes, share_below, union_area};
use super::{Figures, height, purpose, strength, warp};
use crate::features::{self, Bodies, Features, Hook, Opposite, Size};
use crate::mesh::Part;
use crate::mesh::bvh::FacetBvh;
use crate::plane::{polygon, rect};
use crate::pose::{Hull, bounds, in_plane};
use crate::settings::Settings;
use crate::sync::held;
use crate::tol;
use nalgebra::{Point2, Point3, Unit, Vector3};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

/// Lean from which an overhang counts as a ceiling that a bridge may carry, as a
/// sine. Steeper overhang is charged in full by the ranking. 75°.
pub const CEILING_SIN: f64 = 0.965_925_826_289_068_3;

/// A facet whose normal has so much along a ray is left there, not entered, however its
/// corners are rounded.
const FACING_AWAY: f64 = 0.1;

/// Whether a facet may be entered by a ray: what clearly faces the same way is left there.
pub(super) fn faces(normal: &Vector3<f64>, along: &Unit<Vector3<f64>>) -> bool {
    normal.dot(along) < FACING_AWAY
}

/// Vertices of the hull that are looked at one by one for how far the part reaches.
const SAMPLE: usize = 4096;

/// Lean from which a surface counts as an underside, as a sine. 10°: draft and
/// tessellated uprights stay below.
pub const UNDERSIDE_SIN: f64 = 0.173_648_177_666_930_3;

/// Figures of one direction that need neither layers nor columns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quick {
    /// Extent along the build direction, mm.
    pub height_mm: f64,
    /// Section area at touch height, mm².
    pub contact_area_mm2: f64,
    /// Longest chord of the contact section's hull, mm.
    pub contact_chord_mm: f64,
    /// Smallest tilt that carries the centroid over an edge of the contact hull,
    /// radians; −π/2 without contact.
    pub tip_angle_rad: f64,
    /// The same with support counted to the base, of a pose that falls over without it and has a base
    /// worth the name; none where that does not hold it either.
    pub propped_tip_rad: Option<f64>,
    /// Overhang area above touch height, mm².
    pub overhang_area_mm2: f64,
    /// The part of the overhang that is too small to need support: roofs of small bores,
    /// and ledges ([`crate::features::small`]).
    pub small_overhang_mm2: f64,
    /// The part of it in roofs of bores up to twice as wide.
    pub middling_overhang_mm2: f64,
    /// The ceilings (75° and more) that are neither.
    pub broad_ceiling_mm2: f64,
    /// Slopes, neither small nor middling nor ceilings, that are low over the bed: a lying
    /// round bar, a fillet (within 1.5 mm of it).
    pub low_slope_mm2: f64,
    /// Area above touch height that looks down at 10° or more, yet is no overhang:
    /// chamfers, countersinks and draft with their fine side to the bed.
    pub underside_area_mm2: f64,
    /// Wall area of round holes times sin² of the angle of their axis to the vertical.
    pub bores_lying_mm2: f64,
    /// Area-weighted mean cusp height, µm.
    pub layer_steps_mean_um: f64,
    /// Fits the build volume at some yaw.
    pub fits: bool,
}

impl Quick {
    /// The figures that are exact without a layer; the others are nothing.
    pub fn figures(&self, settings: &Settings, down: &Unit<Vector3<f64>>) -> Figures {
        let load = settings.load.as_ref();
        Figures {
            height_mm: self.height_mm,
            layers: height::layer_count(self.height_mm, settings),
            contact_area_mm2: self.contact_area_mm2,
            tip_angle_deg: self.tip_angle_rad.to_degrees(),
            tip_with_support_deg: self.propped_tip_rad.map(f64::to_degrees),
            overhang_area_mm2: self.overhang_area_mm2,
            underside_area_mm2: self.underside_area_mm2,
            bores_lying_mm2: self.bores_lying_mm2,
            layer_steps_mean_um: self.layer_steps_mean_um,
            base_shrinkage_mm: self.contact_chord_mm * settings.material.contraction(),
            load_across_layers: load.map(|load| strength::load_across_layers(down, load)),
            round_missed: purpose::round_missed(down, &settings.round),
            flat_missed: purpose::flat_missed(down, &settings.flat),
            ..Figures::default()
        }
    }
}

/// What is worth computing once of a part whatever the settings: the hull, and where
/// to find facets by their slope and by their place.
pub struct Layout {
    /// Convex hull of the vertices.
    pub hull: Hull,
    /// Plane regions, bores and opposite faces.
    pub features: Features,
    pub(super) gauss: Gauss,
    pub(super) bvh: FacetBvh,
    slicings: AtomicUsize,
    /// No two points of the part are farther apart.
    pub(super) diagonal_mm: f64,
    /// Lengths below this are none.
    skin_mm: f64,
    /// The last one made, since few settings touch it.
    small: Mutex<Option<Arc<Small>>>,
}

impl Layout {
    /// Lays the part out under some settings. Takes time in proportion to n log n; none where
    /// it was to stop before that was done.
    pub fn until(part: &Part, hull: Hull, settings: &Settings, stop: &Stop) -> Option<Self> {
        let widest_mm = widest_mm(settings);
        let goes_on = || (!stop.asked()).then_some(());
        let (by_normal, shape) = rayon::join(
            || {
                let (gauss, bvh) = rayon::join(
                    || Gauss::new(&part.normals, &part.areas),
                    || goes_on().map(|()| FacetBvh::new(&part.mesh)),
                );
                Some((gauss, bvh?))
            },
            || {
                let features = Features::unless(part, &|| stop.asked())?;
                goes_on()?;
                let small = Small::new(part, &features, widest_mm);
                Some((features, small))
            },
        );
        let ((gauss, bvh), (features, small)) = (by_normal?, shape?);
        goes_on()?;
        Some(Self {
            hull,
            features,
            gauss,
            bvh,
            slicings: AtomicUsize::new(0),
            diagonal_mm: part.mesh.bounds().map_or(0.0, |(lo, hi)| (hi - lo).norm()),
            skin_mm: tol::length(part.extent()),
            small: Mutex::new(Some(Arc::new(small))),
        })
    }

    /// Large plane faces of `part`, the one laid out, that lie opposite each other; a scan has
    /// none. Found at the first call: O(n) for each face looked at.
    pub fn opposite(&self, part: &Part) -> &[Opposite] {
        self.features.opposite(part, &self.bvh)
    }

    /// Where jaws can hold each of the largest bores and bosses of `part`, the one laid out.
    pub fn held(&self, part: &Part) -> &[Option<Point3<f64>>] {
        self.features.held(part, &self.bvh)
    }

    /// Which bodies of `part`, the one laid out, hang together. Found at the first call:
    /// O(n log n) for several bodies.
    pub fn bodies(&self, part: &Part) -> &Bodies {
        self.features.bodies(part, &self.bvh)
    }

    /// Thin arms of `part`, the one laid out, with a catch at the free end.
    pub fn hooks(&self, part: &Part) -> &[Hook] {
        self.features.hooks(part, &self.bvh)
    }

    /// How often poses of this part were cut into layers.
    pub fn slicings(&self) -> usize {
        self.slicings.load(Ordering::Relaxed)
    }

    pub(super) fn count_slicing(&self) {
        self.slicings.fetch_add(1, Ordering::Relaxed);
    }

    /// What is small where bores up to `widest_mm` are.
    fn small(&self, part: &Part, widest_mm: f64) -> Arc<Small> {
        let kept = || held(&self.small);
        if let Some(small) = kept().as_ref().filter(|s| s.widest_mm == widest_mm) {
            return Arc::clone(small);
        }
        // Made without the lock: a thread that waits in here may take up another job.
        let small = Arc::new(Small::new(part, &self.features, widest_mm));
        *kept() = Some(Arc::clone(&small));
        small
    }
}

/// Tip angle below which a pose does not stand well, degrees (house value); one that leans off its base is
/// held up by its support where it tips no sooner than that then.
pub const TIP_DEG: f64 = 5.0;
/// Contact for each millimetre of height below which there is no base worth the name, mm²/mm (house value).
pub const CONTACT_PER_HEIGHT: f64 = 0.5;

/// What of a part is too small to need support.
pub(super) struct Small {
    /// Diameter of the widest bore that is.
    widest_mm: f64,
    /// How small what each triangle belongs to is.
    sizes: Vec<Size>,
    little: Gauss,
    middling: Gauss,
    /// Axis and wall area of every round hole, mm².
    pub(super) holes: Vec<(Unit<Vector3<f64>>, f64)>,
}

impl Small {
    fn new(part: &Part, features: &Features, widest_mm: f64) -> Self {
        let sizes = features::sizes(part, features, widest_mm);
        let of_size = |size: Size| {
            let (normals, areas): (Vec<_>, Vec<_>) = (0..sizes.len())
                .filter(|&t| sizes[t] == size)
                .map(|t| (part.normals[t], part.areas[t]))
                .unzip();
            Gauss::new(&normals, &areas)
        };
        Self {
            widest_mm,
            little: of_size(Size::Small),
            middling: of_size(Size::Middling),
            sizes,
            holes: (features.bores.iter())
                .filter(|b| b.hole)
                .map(|b| (b.axis, b.area_mm2))
                .collect(),
        }
    }
}

/// A part laid out for measuring under some settings.
pub struct Bench<'a> {
    /// The part.
    pub part: &'a Part,
    /// Settings in force.
    pub settings: &'a Settings,
    /// What no setting changes.
    pub layout: Arc<Layout>,
    pub(super) small: Arc<Small>,
}

impl<'a> Bench<'a> {
    /// Lays the part out. Takes time in proportion to n log n.
    pub fn new(part: &'a Part, settings: &'a Settings, hull: Hull) -> Self {
        let Some(layout) = Layout::until(part, hull, settings, &Stop::never()) else {
            unreachable!("what is never stopped comes to an end");
        };
        Self::on(part, settings, &Arc::new(layout))
    }

    /// The bench of a part that is laid out already: at once, unless overhang limit or
    /// bridge limit are others than the last time, then O(n).
    pub fn on(part: &'a Part, settings: &'a Settings, layout: &Arc<Layout>) -> Self {
        Self {
            part,
            settings,
            layout: Arc::clone(layout),
            small: layout.small(part, widest_mm(settings)),
        }
    }

    /// Convex hull of the vertices.
    pub fn hull(&self) -> &Hull {
        &self.layout.hull
    }

    /// No larger than a line or two: too small for advice on it, and all of it near the bed.
    pub fn is_crumb(&self) -> bool {
        self.part.extent() < 2.0 * self.settings.line_mm
    }

    /// How small what a triangle belongs to is.
    pub fn size(&self, triangle: usize) -> Size {
        self.small
            .sizes
            .get(triangle)
            .copied()
            .unwrap_or(Size::Large)
    }

    /// Length of the void below a point of the surface, straight along `down` to the
    /// next surface that faces it; `None` where there is none. Part frame, mm.
    pub fn void_below(&self, from: &Point3<f64>, down: &Unit<Vector3<f64>>) -> Option<f64> {
        self.void_within(from, down, f64::MAX)
    }

    /// The same where it is no longer than `within`; far quicker for a short way.
    pub(crate) fn void_within(
        &self,
        from: &Point3<f64>,
        down: &Unit<Vector3<f64>>,
        within: f64,
    ) -> Option<f64> {
        let skin = self.skin_mm();
        let faces = |t: usize| faces(&self.part.normals[t], down);
        (self.layout.bvh)
            .first_within(&self.part.mesh, from, down, within, faces, |hit| {
                hit.enters && hit.apart_mm > skin
            })
            .map(|hit| hit.apart_mm)
            .filter(|apart_mm| *apart_mm <= within)
    }

    /// Lengths below this are none, mm.
    pub(super) fn skin_mm(&self) -> f64 {
        self.layout.skin_mm
    }

    fn thresholds(&self) -> Thresholds {
        let overhang = self.settings.overhang_sin();
        Thresholds {
            under: UNDERSIDE_SIN.min(overhang),
            overhang,
            ceiling: CEILING_SIN.max(overhang),
            level: libm::cos(tol::LEVEL_DEG.to_radians()),
        }
    }

    /// Overhang above touch height at another limit that is neither a ceiling (75° and
    /// more) nor part of something small. Part frame, degrees from the vertical, mm².
    pub fn sloped_overhang_mm2(&self, down: &Unit<Vector3<f64>>, limit_deg: f64) -> f64 {
        let overhang = libm::sin((limit_deg + tol::OVERHANG_MARGIN_DEG).to_radians());
        let at = Thresholds {
            overhang,
            ceiling: CEILING_SIN.max(overhang),
            ..self.thresholds()
        };
        let lowest = self.farthest(down);
        let touch = self.settings.touch_mm();
        let [all, small, middling] = self.sums(down, lowest, touch, at, |_, _, _| {});
        let sloped = |sums: Sums| sums.overhang - sums.ceiling;
        (sloped(all) - sloped(small) - sloped(middling)).max(0.0)
    }

    /// Sums above touch height over all facets, the small ones and the middling ones. `each`
    /// is told of every facet that reaches below `height_mm`, its corners and their heights.
    fn sums(
        &self,
        down: &Unit<Vector3<f64>>,
        lowest: f64,
        height_mm: f64,
        at: Thresholds,
        mut each: impl FnMut(usize, &[Point3<f64>; 3], [f64; 3]),
    ) -> [Sums; 3] {
        let touch = self.settings.touch_mm();
        let mut sums = self.gauss_sums(down, at);
        self.layout.bvh.visit(down, lowest - height_mm, |t| {
            let corners = self.part.mesh.corners(t);
            let heights = corners.map(|p| lowest - p.coords.dot(down));
            let sine = self.part.normals[t].dot(down);
            if sine > at.under {
                let below = self.part.areas[t] * share_below(heights, touch);
                sums[0].below(sine, below, at);
                match self.size(t) {
                    Size::Large => {}
                    Size::Small => sums[1].below(sine, below, at),
                    Size::Middling => sums[2].below(sine, below, at),
                }
            }
            each(t, &corners, heights);
        });
        sums
    }

    /// Sums over all facets, the small ones and the middling ones.
    pub(super) fn gauss_sums(&self, down: &Unit<Vector3<f64>>, at: Thresholds) -> [Sums; 3] {
        let small = &self.small;
        [&self.layout.gauss, &small.little, &small.middling].map(|g| g.sums(down, at))
    }

    /// Quick figures with `down` (part frame) turned to the bed.
    pub fn quick(&self, down: &Unit<Vector3<f64>>) -> Quick {
        let at = self.thresholds();
        let touch = self.settings.touch_mm();
        let lowest = self.farthest(down);
        let highest = -self.farthest(&-*down);
        let axes = bed_axes(down);

        let mut segments: Vec<Segment> = Vec::new();
        let low_mm = low_slope_mm(self.settings);
        let mut low_slope_mm2 = 0.0;
        let [sums, small, middling] = self.sums(down, lowest, low_mm, at, |t, corners, heights| {
            segments.extend(Segment::cut(t, corners, heights, touch, &axes));
            let sine = self.part.normals[t].dot(down);
            if sine > at.overhang && sine <= at.ceiling && self.size(t) == Size::Large {
                let below = |mm| share_below(heights, mm);
                low_slope_mm2 += self.part.areas[t] * (below(low_mm) - below(touch));
            }
        });

        let points: Vec<Point2<f64>> = segments.iter().flat_map(|s| [s.from, s.to]).collect();
        let contact_area_mm2 = if self.part.overlapping {
            union_area(&segments, &self.part.opposite)
        } else {
            // 0 where the loops run the other way round.
            polygon::area_within(segments.iter().map(|s| (s.from, s.to))).max(0.0)
        };
        let outline = rect::hull2d(&points);
        let centroid = Point3::from(
            in_plane(&axes, &self.part.mass.centroid)
                .coords
                .push(lowest - self.part.mass.centroid.coords.dot(down)),
        );
        let tip_angle_rad = if outline.len() < 3 {
            -std::f64::consts::FRAC_PI_2
        } else {
            rect::tip_angle(&centroid, &outline)
        };
        let height_mm = lowest - highest;
        let leans = tip_angle_rad <= 0.0 && contact_area_mm2 >= CONTACT_PER_HEIGHT * height_mm;
        let propped_tip_rad =
            (leans.then(|| self.propped(down, lowest, &axes, &centroid, points))).flatten();
        Quick {
            height_mm,
            contact_area_mm2,
            contact_chord_mm: warp::longest_chord_mm(&outline),
            tip_angle_rad,
            propped_tip_rad,
            overhang_area_mm2: sums.overhang.max(0.0),
            small_overhang_mm2: small.overhang.max(0.0),
            middling_overhang_mm2: middling.overhang.max(0.0),
            broad_ceiling_mm2: (sums.ceiling - small.ceiling - middling.ceiling).max(0.0),
            low_slope_mm2,
            underside_area_mm2: (sums.under - sums.overhang).max(0.0),
            bores_lying_mm2: self
                .small
                .holes
                .iter()
                .map(|(axis, area)| area * axis.cross(down).norm_squared())
                .sum(),
            layer_steps_mean_um: if sums.step_area > 0.0 {
                self.settings.layer_mm * 1000.0 * sums.step_flux / sums.step_area
            } else {
                0.0
            },
            fits: height_mm <= self.settings.bed_mm[2] && self.footprint_fits(&axes),
        }
    }

    /// The tipping angle of a pose that leans off its base, support counted to that: none where it is
    /// no more than [`TIP_DEG`]. `base` are points of the base, build frame.
    fn propped(
        &self,
        down: &Unit<Vector3<f64>>,
        lowest: f64,
        axes: &[Vector3<f64>; 2],
        centroid: &Point3<f64>,
        mut base: Vec<Point2<f64>>,
    ) -> Option<f64> {
        let (sine, low_mm) = (self.settings.overhang_sin(), low_slope_mm(self.settings));
        // Each vertex once, though some six facets share it.
        let vertices = &self.part.mesh.vertices;
        let mut is_held = vec![false; vertices.len()];
        for (t, normal) in self.part.normals.iter().enumerate() {
            if normal.dot(down) > sine && self.size(t) != Size::Small {
                let corners = self.part.mesh.triangles[t].map(|v| v as usize);
                let is_high = |v: &usize| lowest - vertices[*v].coords.dot(down) > low_mm;
                if corners.iter().all(is_high) {
                    for v in corners {
                        is_held[v] = true;
                    }
                }
            }
        }
        let held = vertices.iter().zip(is_held).filter(|(_, held)| *held);
        base.extend(held.map(|(p, _)| in_plane(axes, p)));
        let tip_rad = rect::tip_angle(centroid, &rect::hull2d(&base));
        (tip_rad > TIP_DEG.to_radians()).then_some(tip_rad)
    }

    /// How far the part reaches along `down`, part frame, mm. All of a hull of few
    /// vertices is looked at; of a large one a sample, and then the facets that may
    /// reach farther than that.
    fn farthest(&self, down: &Unit<Vector3<f64>>) -> f64 {
        let vertices = &self.hull().vertices;
        let stride = vertices.len().div_ceil(SAMPLE).max(1);
        let reach = (vertices.iter().step_by(stride))
            .map(|p| p.coords.dot(down))
            .fold(f64::NEG_INFINITY, f64::max);
        let mut farthest = reach;
        if stride > 1 {
            self.layout.bvh.visit(down, reach, |t| {
                for p in self.part.mesh.corners(t) {
                    farthest = farthest.max(p.coords.dot(down));
                }
            });
        }
        farthest
    }

    fn footprint_fits(&self, axes: &[Vector3<f64>; 2]) -> bool {
        let [bed_x, bed_y, _] = self.settings.bed_mm;
        if self.layout.diagonal_mm <= bed_x.min(bed_y) {
            return true;
        }
        let flat: Vec<Point2<f64>> = self
            .hull()
            .vertices
            .iter()
            .map(|p| in_plane(axes, p))
            .collect();
        let Some([lo, hi]) = bounds(flat.iter().copied()) else {
            return true;
        };
        let (w, d) = (hi.x - lo.x, hi.y - lo.y);
        (w <= bed_x && d <= bed_y)
            || (d <= bed_x && w <= bed_y)
            || rect::fits_at_some_yaw(&rect::hull2d(&flat), bed_x, bed_y).is_some()
    }
}

/// Diameter of the widest bore that closes over itself: its roof beyond the overhang
/// limit is a chord of diameter times cosine.
fn widest_mm(settings: &Settings) -> f64 {
    settings.bridge_limit_mm / libm::cos(settings.overhang_lean_rad())
}
