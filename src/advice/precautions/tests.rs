mod after;
mod bed;
mod order;
mod surface;

use crate::advice::bodies::BodyRemarks;
use crate::advice::marks::{Cause, Held, Single, Touched, singles};
use crate::advice::precautions::*;
use crate::figures::Figures;
use crate::figures::bed_detail::BedDetail;
use crate::figures::fixture::{boxes, part, revolved};
use crate::figures::held::{HeldPlace, Shape};
use crate::figures::mock::{Stack, rectangle, square};
use crate::figures::outer_wall::runs_through;
use crate::figures::profile::LayerProfile;
use crate::figures::quick::Bench;
use crate::figures::{Bridge, CeilingHole, Footing, Island, Stretch};
use crate::gauge::holes::UprightHole;
use crate::mesh::Mesh;
use crate::mesh::Part;
use crate::pose::Hull;
use crate::rank::FailedGate;
use nalgebra::{Point3, Vector3};

/// No support touches it.
static NOTHING: Touched = Touched {
    marks: None,
    needed: Vec::new(),
    gentle: Vec::new(),
    lone: Vec::new(),
};

/// A level place of an area with room below it.
fn place(area_mm2: f64, room_mm3: f64, z_mm: f64) -> HeldPlace {
    HeldPlace {
        count: 1,
        alike: true,
        shape: Shape::Ceiling,
        area_mm2,
        face_mm2: area_mm2,
        room_mm3,
        stood_on_mm2: 0.0,
        z_mm: [z_mm; 2],
        most_lean_deg: 90.0,
        gentle_mm2: 0.0,
        is_gentle: false,
        is_inside: false,
        facets: Vec::new(),
    }
}

/// A place that support is needed for.
fn needed(place: HeldPlace, with: Vec<Single>) -> Held {
    Held { place, with }
}

fn cube() -> Part {
    let mut mesh = Mesh::default();
    for k in 0..8_u32 {
        let at = |bit: u32| f64::from((k >> bit) & 1) * 10.0;
        mesh.vertices
            .push(nalgebra::Point3::new(at(0), at(1), at(2)));
    }
    for [a, b, c, d] in [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ] {
        mesh.triangles.push([a, b, c]);
        mesh.triangles.push([a, c, d]);
    }
    Part::new(mesh).expect("a cube").0
}

/// A stocky part that needs nothing.
fn calm() -> Figures {
    Figures {
        height_mm: 20.0,
        footprint_mm: [50.0, 20.0],
        contact_area_mm2: 1000.0,
        tip_angle_deg: 45.0,
        ..Figures::default()
    }
}

struct Case {
    figures: Figures,
    settings: Settings,
    near: BedDetail,
    slivers: Vec<Stretch>,
    traits: PoseTraits,
    layer_profile: Option<LayerProfile>,
    bodies: BodyRemarks,
    kept_out: Option<(f64, String)>,
    touched: Touched,
}

impl Case {
    fn of(figures: Figures) -> Self {
        Self {
            figures,
            settings: Settings::default(),
            near: BedDetail::default(),
            slivers: Vec::new(),
            traits: PoseTraits::default(),
            layer_profile: None,
            bodies: BodyRemarks::default(),
            kept_out: None,
            touched: Touched::default(),
        }
    }

    fn notes(&self) -> Vec<Note> {
        let part = cube();
        notes(&RuleInput {
            figures: &self.figures,
            gates: &[],
            part: &part,
            settings: &self.settings,
            near: &self.near,
            slivers: &self.slivers,
            traits: &self.traits,
            layer_profile: self.layer_profile.as_ref(),
            bodies: &self.bodies,
            kept_out: &self.kept_out,
            touched: &self.touched,
        })
    }

    fn said(&self, key: &str) -> Option<String> {
        self.notes()
            .into_iter()
            .find(|n| n.key == key)
            .map(|n| n.says)
    }
}

#[test]
fn a_stocky_part_needs_nothing() {
    let notes = Case::of(calm()).notes();
    assert!(notes.is_empty(), "{notes:?}");
}

/// The formula of the table, by hand: demand 4·h/A or pull/0.45 or 15°/tip; width
/// 4·(1 + ln demand), rounded, between 4 and 12.
#[test]
fn the_brim_is_as_wide_as_its_formula_says() {
    let wide = |f: Figures| Case::of(f).said("brim").unwrap_or_default();
    // 4 · 25/100 = 1: just none. 4 · 25.5/100 = 1.02: 4.08 mm.
    let post = |h: f64| Figures {
        height_mm: h,
        contact_area_mm2: 100.0,
        ..calm()
    };
    assert_eq!(wide(post(25.0)), "");
    assert!(
        wide(post(25.5)).starts_with("Brim 4 mm wide"),
        "{}",
        wide(post(25.5))
    );
    // 4 · 50/100 = 2: 4 · 1.693 = 6.77.
    assert!(wide(post(50.0)).starts_with("Brim 7 mm wide"));
    // The same that sways half a millimetre: 3, 4 · 2.099 = 8.39.
    let soft = Figures {
        sway_mm_per_n: 0.5,
        ..post(50.0)
    };
    assert!(wide(soft).starts_with("Brim 8 mm wide"));
    // ABS over 270 mm: 0.0072 · 270 = 1.944; /0.45 = 4.32: 4 · 2.463 = 9.85.
    let long = Figures {
        base_shrinkage_mm: 1.944,
        ..calm()
    };
    assert!(wide(long).starts_with("Brim 10 mm wide"));
    // Tips at 3°: 5: 4 · 2.609 = 10.4.
    let shaky = Figures {
        tip_angle_deg: 3.0,
        ..calm()
    };
    assert!(wide(shaky).starts_with("Brim 10 mm wide: a tilt of 3°"));
}

#[test]
fn only_what_shrinks_much_goes_into_a_closed_machine() {
    let mut case = Case::of(Figures {
        base_shrinkage_mm: 0.5,
        ..calm()
    });
    assert_eq!(case.said("draught"), None);
    case.settings.material = crate::materials::Material::find("ABS").expect("a row");
    assert!(
        case.said("draught")
            .expect("said")
            .contains("closed, warm machine")
    );
    case.settings.material = crate::materials::Material::find("PLA").expect("a row");
    case.figures.base_shrinkage_mm = 0.64;
    // The brim says how much it shrinks; one for another reason does not.
    assert!(
        case.said("brim")
            .expect("said")
            .contains("shrinks by up to 0.64 mm")
    );
    assert_eq!(case.said("draught"), None);
    case.figures.tip_angle_deg = 5.0;
    assert!(case.said("brim").expect("said").contains("tips it"));
    let said = case.said("draught").expect("said");
    assert!(
        said.starts_with("Keep it out of draughts: PLA contracts by 0.2 %")
            && !said.contains("closed"),
        "{said}"
    );
}

#[test]
fn a_hairs_breadth_of_support_is_left_off() {
    let f = Figures {
        support_needed_mm3: 47.6,
        overhang_charged_mm2: 15.0,
        cantilever_longest_mm: 0.66,
        ..calm()
    };
    let case = Case::of(f.clone());
    assert!(case.said("leave_support_off").is_some());
    assert_eq!(case.said("support"), None);
    for worse in [
        Figures {
            overhang_charged_mm2: 150.0,
            ..f.clone()
        },
        Figures {
            cantilever_longest_mm: 2.0,
            ..f.clone()
        },
        Figures {
            bridges: vec![Bridge {
                z_mm: 8.0,
                span_mm: 10.5,
                area_mm2: 60.0,
                direction_deg: 0.0,
                around_hole: None,
                across: None,
            }],
            ..f.clone()
        },
        Figures {
            islands: vec![Island {
                z_mm: 3.0,
                area_mm2: 4.0,
                graze: false,
            }],
            ..f
        },
    ] {
        let case = Case::of(worse.clone());
        assert_eq!(case.said("leave_support_off"), None, "{worse:?}");
        assert!(case.said("support").is_some(), "{worse:?}");
    }
}

#[test]
fn support_says_whether_it_can_be_got_out() {
    let mut f = Figures {
        support_needed_mm3: 3000.0,
        overhang_charged_mm2: 200.0,
        bridges: vec![Bridge {
            z_mm: 15.0,
            span_mm: 20.0,
            area_mm2: 200.0,
            direction_deg: 0.0,
            ..Bridge::default()
        }],
        bridge_longest_mm: 20.0,
        ..calm()
    };
    let span = || Single {
        what: Cause::Span("20 mm along the part".into()),
        z_mm: 15.0,
    };
    let says = |f: &Figures, held: Vec<Held>, gentle: Vec<HeldPlace>| {
        let case = Case {
            touched: Touched {
                needed: held,
                gentle,
                ..Touched::default()
            },
            ..Case::of(f.clone())
        };
        case.said("support").expect("said")
    };
    let whole = || vec![needed(place(200.0, 3000.0, 15.0), vec![span()])];
    assert_eq!(
        says(&f, whole(), Vec::new()),
        "Switch support on for an underside of 200 mm² at z = 15 mm (a span of 20 mm along the part): 3 cm³. It stands on the bed."
    );
    // Nothing but a span that other machines bridge; one of 24 mm is no matter of the machine.
    let mut narrow = Figures {
        overhang_charged_mm2: 50.0,
        ..f.clone()
    };
    narrow.bridges[0].span_mm = 15.0;
    let said = says(&narrow, whole(), Vec::new());
    assert!(
        said.ends_with("A machine that bridges 15 mm needs none there: try that first."),
        "{said}"
    );
    let mut far = narrow;
    far.bridges[0].span_mm = 24.0;
    let said = says(&far, whole(), Vec::new());
    assert!(!said.contains("A machine"), "{said}");
    // Slopes beside it that print by themselves: their room is not counted.
    let slopes = HeldPlace {
        z_mm: [4.0, 9.0],
        shape: Shape::Slope(50.0),
        most_lean_deg: 50.0,
        is_gentle: true,
        ..place(150.0, 1200.0, 4.0)
    };
    let part = vec![needed(place(200.0, 1810.0, 15.0), vec![span()])];
    assert_eq!(
        says(&f, part, vec![slopes.clone()]),
        "Switch support on for an underside of 200 mm² at z = 15 mm (a span of 20 mm along the part): about 1.8 cm³ (3 cm³ with the limit at 45°). It stands on the bed. Set the limit for support to 60° from the vertical (30° where it counts from the bed): then the slopes between z = 4 and 9 mm (150 mm²) get none, and print a little rough."
    );
    // What is needed leans hardly more than these: a limit would leave it out too.
    let island = HeldPlace {
        shape: Shape::Curved,
        most_lean_deg: 58.0,
        ..place(200.0, 1810.0, 15.0)
    };
    let said = says(&f, vec![needed(island, vec![span()])], vec![slopes.clone()]);
    assert!(
        said.ends_with("Place support by hand, only where it is named above: the slopes between z = 4 and 9 mm (150 mm²) lean at most 60° from the vertical and print without, a little rough."),
        "{said}"
    );
    // It leans far, but a third of it does not.
    let partly = HeldPlace {
        shape: Shape::Curved,
        gentle_mm2: 70.0,
        ..place(200.0, 1810.0, 15.0)
    };
    let said = says(&f, vec![needed(partly, vec![span()])], vec![slopes.clone()]);
    assert!(said.contains("Place support by hand"), "{said}");
    let few = HeldPlace {
        face_mm2: 30.0,
        ..slopes
    };
    let said = says(&f, whole(), vec![few]);
    assert!(!said.contains("Set the limit"), "{said}");
    // Two places: only one stands on the part.
    let on_part = |area: f64, room: f64, z: f64| HeldPlace {
        stood_on_mm2: 40.0,
        ..place(area, room, z)
    };
    let two = vec![
        needed(place(150.0, 2000.0, 15.0), vec![span()]),
        needed(on_part(100.0, 1000.0, 8.0), Vec::new()),
    ];
    let said = says(&f, two, Vec::new());
    assert!(
        said.contains("for an underside of 150 mm² at z = 15 mm (a span of 20 mm along the part) and an underside of 100 mm² at z = 8 mm: 3 cm³ in all."),
        "{said}"
    );
    assert!(
        said.ends_with(
            "Below z = 8 mm it stands on the part, not on the bed, and marks about 40 mm² there."
        ),
        "{said}"
    );
    let both = vec![needed(on_part(200.0, 3000.0, 15.0), Vec::new())];
    let said = says(&f, both, Vec::new());
    assert!(
        said.ends_with("It rests on about 40 mm² of the part and marks it there."),
        "{said}"
    );
    assert!(!said.contains("hardly comes off"), "{said}");
    // 120 mm³ under 200 mm²: three layers high.
    let low = |stood_on_mm2: f64| {
        let low = HeldPlace {
            stood_on_mm2,
            ..place(200.0, 120.0, 15.0)
        };
        vec![needed(low, Vec::new())]
    };
    let thin = Figures {
        support_needed_mm3: 120.0,
        ..f.clone()
    };
    let said = says(&thin, low(0.0), Vec::new());
    assert!(said.contains("only 0.6 mm high on average"), "{said}");
    // A hollow is spoken of only where there is one: where support stands on the part.
    assert!(!said.contains("hollow"), "{said}");
    let said = says(&thin, low(150.0), Vec::new());
    assert!(said.contains("fill that hollow in the model"), "{said}");
    f.support_trapped_mm3 = 3000.0;
    assert!(
        Case::of(f)
            .said("trapped_support")
            .expect("said")
            .contains("cannot be removed")
    );
}

/// Three places are told at most, and no more than make up most of what is held.
#[test]
fn the_places_that_make_up_most_of_the_support_are_told() {
    let f = Figures {
        support_needed_mm3: 1000.0,
        overhang_charged_mm2: 400.0,
        ..calm()
    };
    let says = |places: &[(f64, f64)]| {
        let held = places.iter().enumerate();
        let held = held.map(|(k, &(area, room))| needed(place(area, room, 5.0 + k as f64), vec![]));
        let case = Case {
            touched: Touched {
                needed: held.collect(),
                ..Touched::default()
            },
            ..Case::of(f.clone())
        };
        case.said("support").expect("said")
    };
    let said = says(&[(370.0, 930.0), (30.0, 70.0)]);
    assert!(
        said.starts_with("Switch support on for an underside of 370 mm² at z = 5 mm: 1 cm³."),
        "{said}"
    );
    let said = says(&[(250.0, 700.0), (150.0, 300.0)]);
    assert!(
        said.contains("at z = 5 mm and an underside of 150 mm² at z = 6 mm: "),
        "{said}"
    );
    let said = says(&[(100.0, 250.0); 4]);
    assert!(
        said.contains("an underside of 100 mm² at z = 7 mm and other undersides: "),
        "{said}"
    );
}

#[test]
fn heights_to_watch_are_named() {
    let mut f = calm();
    f.bridges = vec![Bridge {
        z_mm: 7.0,
        span_mm: 8.0,
        area_mm2: 80.0,
        direction_deg: 0.0,
        ..Bridge::default()
    }];
    f.bridge_longest_mm = 8.0;
    f.slender = Some(Stretch {
        from_mm: 4.0,
        to_mm: 114.0,
        width_mm: 3.6,
        ratio: 30.6,
        tip_mm: [0.0; 3],
        sway_mm_per_n: 3.6,
        footing: Footing::Part,
    });
    f.slender_ratio = 30.6;
    f.sway_mm_per_n = 3.6;
    let case = Case::of(f.clone());
    assert!(case.said("bridge").expect("said").contains("z = 7 mm"));
    let said = case.said("slender").expect("said");
    assert!(
        said.contains("From z = 4 mm") && said.contains("brace it"),
        "{said}"
    );
    f.slender = Some(Stretch {
        from_mm: 4.0,
        to_mm: 44.0,
        width_mm: 4.0,
        ratio: 10.0,
        tip_mm: [0.0; 3],
        sway_mm_per_n: 3.6,
        footing: Footing::Part,
    });
    let said = Case::of(f).said("slender").expect("said");
    assert!(said.contains("slow down towards the top"), "{said}");
}

/// A stretch of 20 mm from z = 12 mm on.
fn hair(width_mm: f64) -> Stretch {
    Stretch {
        from_mm: 12.0,
        to_mm: 32.0,
        width_mm,
        ratio: 20.0 / width_mm,
        tip_mm: [0.0; 3],
        sway_mm_per_n: 1.0,
        footing: Footing::Part,
    }
}

#[test]
fn a_sliver_is_named_with_its_width_and_height() {
    let said = |slivers: Vec<Stretch>| {
        let case = Case {
            slivers,
            ..Case::of(calm())
        };
        case.said("sliver").expect("said")
    };
    let one = said(vec![hair(0.1)]);
    assert!(
        one.starts_with(
            "Look at the model at z = 12 mm: a sliver 0.1 mm wide stands there, which the nozzle cannot draw."
        ),
        "{one}"
    );
    let two = said(vec![hair(0.1), hair(0.002)]);
    assert!(
        two.contains("2 slivers stand there, the narrowest less than 0.05 mm wide"),
        "{two}"
    );
}

/// A ceiling that goes round a hole and would bridge 9.5 mm without it.
fn ring(z_mm: f64, width_mm: f64) -> Bridge {
    Bridge {
        z_mm,
        span_mm: 7.8,
        area_mm2: 30.0,
        direction_deg: 0.0,
        around_hole: Some(CeilingHole {
            width_mm,
            count: 1,
            closed_span_mm: 9.5,
        }),
        across: None,
    }
}

/// The longest span is told with its own height and direction, not with the lowest one.
#[test]
fn each_bridge_is_told_with_its_own_height() {
    let bridge = |z_mm: f64, span_mm: f64, direction_deg: f64| Bridge {
        z_mm,
        span_mm,
        area_mm2: 80.0,
        direction_deg,
        around_hole: None,
        across: None,
    };
    let f = Figures {
        bridges: vec![
            bridge(4.0, 7.0, 0.0),
            bridge(9.2, 12.0, 0.0),
            bridge(11.8, 21.6, 90.0),
            bridge(15.0, 9.6, 90.0),
        ],
        bridge_longest_mm: 21.6,
        support_needed_mm3: 3000.0,
        overhang_charged_mm2: 200.0,
        ..calm()
    };
    let mut held = f.clone();
    held.bridges.retain(|b| b.span_mm < 10.0);
    (held.support_needed_mm3, held.overhang_charged_mm2) = (0.0, 0.0);
    let lone = singles(&f, &Settings::default());
    let mut case = Case::of(f);
    case.touched.lone = lone;
    // Where support is on, nobody watches the bridges beside it.
    assert_eq!(case.said("bridge"), None);
    let said = case.said("support").expect("said");
    assert!(
        said.contains("a span of 21.6 mm across the part at z = 11.8 mm: "),
        "{said}"
    );
    let said = Case::of(held).said("bridge").expect("said");
    assert!(
        said.starts_with(
            "Watch the bridges (9.6 mm across the part at z = 15 mm; 1 more of 7 mm at z = 4 mm):"
        ),
        "{said}"
    );
}

#[test]
fn a_ceiling_around_a_hole_gets_a_sacrificial_layer_and_is_no_bridge() {
    let with = |bridges: Vec<Bridge>| {
        Case::of(Figures {
            bridges,
            bridge_longest_mm: 7.8,
            ..calm()
        })
    };
    let case = with(vec![ring(6.2, 5.3)]);
    let said = case.said("ceiling_hole").expect("said");
    assert!(
        said.starts_with(
            "Model a sacrificial layer of one layer thickness (0.2 mm) across the 5.3 mm hole at z = 6.2 mm, and cut or drill it out after printing"
        ),
        "{said}"
    );
    assert_eq!(case.said("bridge"), None);
    let said = with(vec![ring(6.2, 5.3), ring(8.0, 3.4)]).said("ceiling_hole");
    let said = said.expect("said");
    assert!(
        said.contains("across the 2 holes of 3.4 to 5.3 mm at z = 6.2 and 8 mm"),
        "{said}"
    );
    // Where even the closed ceiling is too wide to bridge, a layer across the hole is no help.
    let mut wide = ring(6.2, 8.0);
    wide.around_hole = wide.around_hole.map(|h| CeilingHole {
        closed_span_mm: 12.0,
        ..h
    });
    assert_eq!(with(vec![wide]).said("ceiling_hole"), None);
    // A ring 1.5 mm wide prints as it is.
    let mut narrow = ring(6.2, 5.3);
    narrow.around_hole = narrow.around_hole.map(|h| CeilingHole {
        closed_span_mm: h.width_mm + 3.0,
        ..h
    });
    assert_eq!(with(vec![narrow]).said("ceiling_hole"), None);
}

/// Upright holes of these diameters from the bed to a height of 10 mm.
fn holes(diameters: &[f64]) -> Vec<UprightHole> {
    let hole = |&diameter_mm: &f64| UprightHole {
        diameter_mm,
        from_mm: 0.0,
        to_mm: 10.0,
        blind: false,
        seat: false,
    };
    diameters.iter().map(hole).collect()
}

/// What is said of a part of triangles as it stands.
fn told_of_soup(soup: &[[Point3<f64>; 3]], material: &str) -> Vec<String> {
    let part = Part::new(part(soup, false).mesh).expect("a solid").0;
    let settings = Settings {
        material: crate::materials::Material::find(material).expect("a row"),
        ..Settings::default()
    };
    let hull = Hull::new(&part.mesh.vertices).expect("a solid has a hull");
    let bench = Bench::new(&part, &settings, hull);
    crate::advice::measure(&bench, -Vector3::z_axis()).precautions
}

/// The same of boxes less other boxes.
fn told_of(solid: &[[[f64; 3]; 2]], less: &[[[f64; 3]; 2]], material: &str) -> Vec<String> {
    told_of_soup(&boxes(solid, less), material)
}

/// Layer profile and line of made layers.
fn told(stack: &Stack) -> Case {
    let layers = stack.layers();
    let layer_profile = LayerProfile::new(&layers);
    let height_mm = layers.levels_mm.last().copied().unwrap_or(0.0);
    let line = traits::jumps(&layer_profile, height_mm)
        .into_iter()
        .find(|jump| {
            let k = layers.sections.partition_point(|s| s.z_mm < jump.z_mm);
            let pieces = |k: usize| &layers.sections[k].pieces[..];
            runs_through(pieces(k - 1), pieces(k), LINE_FACTOR)
        });
    Case {
        layer_profile: Some(layer_profile),
        traits: PoseTraits {
            line,
            ..PoseTraits::default()
        },
        ..Case::of(Figures {
            height_mm,
            ..calm()
        })
    }
}

#[test]
fn keys_are_unique_and_every_rule_has_a_source() {
    assert!(RULES.iter().map(|r| r.key).eq(Precaution::ALL));
    for (i, r) in RULES.iter().enumerate() {
        let name = r.key.name();
        assert!(RULES[..i].iter().all(|o| o.key != r.key), "{name}");
        assert!(!r.source.is_empty() && !r.rule.is_empty());
    }
}

/// The printed threshold is where a rule turns over: a hair before it the rule says one
/// thing, a hair past it another.
/// A case whose tested figure is the number given.
type Make<'a> = Box<dyn Fn(f64) -> Case + 'a>;

#[test]
fn every_rule_turns_over_at_the_threshold_that_it_prints() {
    let shut = |v: f64| Figures {
        support_trapped_mm3: v,
        ..calm()
    };
    let abs = Settings {
        material: crate::materials::Material::find("ABS").expect("a row"),
        ..Settings::default()
    };
    let wide = Settings {
        line_mm: 0.8,
        ..Settings::default()
    };
    let hanging = |mm3: f64, mm2: f64| Figures {
        support_needed_mm3: mm3,
        overhang_charged_mm2: mm2,
        cantilever_longest_mm: if mm2 > 150.0 { 9.0 } else { 0.2 },
        ..calm()
    };
    let bridge = |span_mm: f64| Figures {
        bridges: vec![Bridge {
            z_mm: 7.0,
            span_mm,
            area_mm2: 80.0,
            direction_deg: 0.0,
            ..Bridge::default()
        }],
        ..calm()
    };
    let slender = |ratio: f64| Figures {
        slender: Some(Stretch {
            from_mm: 4.0,
            to_mm: 44.0,
            width_mm: 4.0,
            ratio,
            tip_mm: [0.0; 3],
            sway_mm_per_n: 3.6,
            footing: Footing::Part,
        }),
        ..calm()
    };
    let start = Island {
        z_mm: 3.0,
        area_mm2: 4.0,
        graze: false,
    };
    let rings = |n: f64| Figures {
        bridges: vec![ring(6.2, 5.3); n as usize],
        ..calm()
    };
    let starts = |n: f64| Figures {
        islands: vec![start; n as usize],
        ..calm()
    };
    // It tips easily too: a brim against shrinkage says what the draught would.
    let pull = |v: f64| Figures {
        base_shrinkage_mm: v,
        tip_angle_deg: 5.0,
        ..calm()
    };
    let ledge = |v: f64| Figures {
        cantilever_longest_mm: v,
        ..calm()
    };
    let brim = |v: f64| Figures {
        tip_angle_deg: 15.0 / v,
        ..calm()
    };
    // 10 × 10 below; above, flush with its right side, as wide as changes the section by the factor.
    let jump = |factor: f64| {
        let stack = Stack::new(0.2).up_to(10.0, &[square(0.0, 0.0, 10.0)]);
        let wide = 10.0 / factor;
        stack.up_to(20.0, &[rectangle(5.0 - wide / 2.0, 0.0, wide, 10.0)])
    };
    // A layer of this area takes so many seconds: area · 0.2 / 5 + 2.
    let slow = |seconds: f64| {
        let side = ((seconds - 2.0) * 5.0 / 0.2).sqrt();
        Stack::new(0.2).up_to(20.0, &[square(0.0, 0.0, side)])
    };
    let with = |settings: &Settings, figures: Figures| Case {
        settings: settings.clone(),
        ..Case::of(figures)
    };
    let with_bodies = |n: f64| {
        let said = Some((n, "said".to_string()));
        Case {
            bodies: BodyRemarks {
                crumbs: said.clone(),
                parts: said.clone(),
                in_place: said,
            },
            ..Case::of(calm())
        }
    };
    let plain = Settings::default();
    let walks: Vec<(&str, f64, Make)> = vec![
        (
            "stands_on_edges",
            1e-6,
            Box::new(|v| {
                let mut case = Case::of(calm());
                case.traits.flat_share = Some(v);
                case
            }),
        ),
        ("brim", 1e-6, Box::new(|v| Case::of(brim(v)))),
        ("draught", 1e-6, Box::new(|v| with(&plain, pull(v)))),
        ("draught", 1e-6, Box::new(|v| with(&abs, pull(v)))),
        ("support", 1e-6, Box::new(|v| Case::of(hanging(v, 200.0)))),
        (
            "leave_support_off",
            1e-6,
            Box::new(|v| Case::of(hanging(50.0, v))),
        ),
        ("stray_crumbs", 1.0, Box::new(&with_bodies)),
        ("separate_parts", 1.0, Box::new(&with_bodies)),
        ("print_in_place", 1.0, Box::new(with_bodies)),
        (
            "support_kept_out",
            1.0,
            Box::new(|v| Case {
                kept_out: Some((v, "Block".into())),
                ..Case::of(calm())
            }),
        ),
        ("trapped_support", 1e-6, Box::new(|v| Case::of(shut(v)))),
        ("starts_in_the_air", 1.0, Box::new(|v| Case::of(starts(v)))),
        ("bridge", 1e-6, Box::new(|v| Case::of(bridge(v)))),
        ("ceiling_hole", 1.0, Box::new(|v| Case::of(rings(v)))),
        ("ledge", 1e-6, Box::new(|v| with(&plain, ledge(v)))),
        ("ledge", 1e-6, Box::new(|v| with(&wide, ledge(v)))),
        ("slender", 1e-6, Box::new(|v| Case::of(slender(v)))),
        (
            "sliver",
            1e-6,
            Box::new(|v| Case {
                slivers: vec![hair(v)],
                ..Case::of(calm())
            }),
        ),
        ("line_on_the_side", 1e-6, Box::new(|v| told(&jump(v)))),
        ("quick_layers", 1e-6, Box::new(|v| told(&slow(v)))),
        (
            "detail_on_the_bed",
            1.0,
            Box::new(|v| Case {
                near: BedDetail {
                    islands: v as usize,
                    ..BedDetail::default()
                },
                ..Case::of(calm())
            }),
        ),
        (
            "bores_on_the_bed",
            1.0,
            Box::new(|v| Case {
                traits: PoseTraits {
                    holes: holes(&vec![5.0; v as usize]),
                    ..PoseTraits::default()
                },
                ..Case::of(calm())
            }),
        ),
    ];
    for rule in RULES.iter() {
        let name = rule.key.name();
        // Those that have no figure to walk have tests of their own.
        let by_hand = matches!(
            name,
            "too_large"
                | "open_surface"
                | "drying"
                | "layer_seam"
                | "undersize_holes"
                | "sagging_holes"
                | "nut_fit"
                | "insert_fit"
                | "clean_up"
        );
        assert!(by_hand || walks.iter().any(|w| w.0 == name), "{name}");
    }
    for (key, step, make) in &walks {
        let rule = RULES.iter().find(|r| r.key.name() == *key).expect("a rule");
        let at = rule.threshold(&make(1.0).settings);
        let speaks = |value: f64| {
            let said = make(value).said(key);
            said.is_some_and(|s| !s.starts_with("No brim"))
        };
        let (before, past) = (speaks(at - step), speaks(at + step));
        let below = rule.is == Relation::Below;
        assert_eq!((before, past), (below, !below), "{key} at {at}");
        if *step == 1.0 {
            assert_eq!(speaks(at), rule.is == Relation::AtLeast, "{key} at {at}");
        }
    }
}

/// The two rules of a yes or no: closed is 1, a gate that is failed is 1.
#[test]
fn a_pose_that_fits_nowhere_and_an_open_surface_speak_past_their_thresholds() {
    let case = Case::of(calm());
    let mut part = cube();
    let spoken = |part: &Part, gates: &[FailedGate]| -> Vec<(&'static str, f64)> {
        let notes = notes(&RuleInput {
            figures: &case.figures,
            gates,
            part,
            settings: &case.settings,
            near: &case.near,
            slivers: &[],
            traits: &case.traits,
            layer_profile: None,
            bodies: &BodyRemarks::default(),
            kept_out: &None,
            touched: &NOTHING,
        });
        let of = |n: &Note| matches!(n.key, "too_large" | "open_surface");
        notes
            .iter()
            .filter(|n| of(n))
            .map(|n| (n.key, n.value))
            .collect()
    };
    assert_eq!(spoken(&part, &[]), []);
    assert_eq!(
        spoken(&part, &[FailedGate::DoesNotFit]),
        [("too_large", 1.0)]
    );
    part.closed = false;
    assert_eq!(spoken(&part, &[]), [("open_surface", 0.0)]);
}
