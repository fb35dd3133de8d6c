use crate::advice::reasons::*;
use crate::figures::quick::Quick;
use crate::pose::Pose;
use crate::rank::penalties::ROWS;
use crate::rank::search::Candidate;
use nalgebra::{Unit, Vector3};
use std::sync::Arc;

/// A closed part of that volume.
fn bulk(mm3: f64) -> Bulk {
    Bulk {
        mm3,
        is_measured: true,
    }
}

/// An entry with some figures and with charges on some rows.
fn entry(down: Vector3<f64>, figures: Figures, charged: &[(&str, f64)]) -> Scored {
    let charges: Vec<f64> = ROWS
        .iter()
        .map(|r| {
            charged
                .iter()
                .find(|c| c.0 == r.name())
                .map_or(0.0, |c| c.1)
        })
        .collect();
    Scored {
        candidate: Candidate {
            down: Unit::new_normalize(down),
            origin: Origin::Resting,
            quick: Quick {
                height_mm: figures.height_mm,
                contact_area_mm2: figures.contact_area_mm2,
                contact_chord_mm: 0.0,
                tip_angle_rad: 1.0,
                propped_tip_rad: None,
                overhang_area_mm2: figures.overhang_area_mm2,
                small_overhang_mm2: 0.0,
                middling_overhang_mm2: 0.0,
                broad_ceiling_mm2: 0.0,
                low_slope_mm2: 0.0,
                underside_area_mm2: 0.0,
                bores_lying_mm2: 0.0,
                layer_steps_mean_um: 0.0,
                fits: true,
            },
            bound: 0.0,
            gates: Vec::new(),
        },
        pose: Pose::as_stored(&[]),
        total: charges.iter().sum(),
        figures,
        charges,
        hanging: std::sync::Arc::default(),
        cuts: Arc::default(),
    }
}

fn figures(contact: f64, support: f64, overhang: f64) -> Figures {
    Figures {
        height_mm: 40.0,
        contact_area_mm2: contact,
        tip_angle_deg: 40.0,
        support_needed_mm3: support,
        overhang_area_mm2: overhang,
        overhang_charged_mm2: overhang,
        ..Figures::default()
    }
}

/// A pose that tips over but for its support has a tipping angle with it, which is no merit.
#[test]
fn one_that_its_support_holds_up_is_not_said_to_stand_more_steadily() {
    let by_itself = entry(
        -Vector3::z(),
        figures(14.0, 700.0, 360.0),
        &[("tip", 0.0), ("support", 1.0)],
    );
    let held = entry(
        Vector3::z(),
        Figures {
            tip_angle_deg: -2.3,
            tip_with_support_deg: Some(55.0),
            ..figures(14.0, 700.0, 360.0)
        },
        &[("tip", 0.9), ("support", 1.0)],
    );
    let settings = Settings::default();
    let compared = |here: &Scored, there: &Scored, start: &str, end: &str| {
        let said = reasons(here, 1, Some((there, 2)), bulk(1e6), &settings).full;
        let told = said
            .iter()
            .any(|s| s.starts_with(start) && s.ends_with(end));
        assert!(told, "{said:?}");
        said
    };
    let one = "stands by itself, the other only with the help of its support.";
    compared(&by_itself, &held, "Better than", one);
    let other = "stands only with the help of its support, the other by itself.";
    let said = compared(&held, &by_itself, "Worse than", other);
    assert!(
        !said.iter().any(|s| s.contains("tipping angle")),
        "{said:?}"
    );
}

/// Less overhang but more support: each stands on its own side of the account.
#[test]
fn a_figure_that_is_worse_is_never_named_as_a_gain() {
    let a = entry(
        -Vector3::z(),
        figures(2330.0, 68_800.0, 4210.0),
        &[("contact", 1.0), ("overhang", 4.0), ("support", 4.0)],
    );
    let b = entry(
        Vector3::y(),
        figures(113.0, 36_200.0, 5030.0),
        &[("contact", 4.0), ("overhang", 5.0), ("support", 2.5)],
    );
    let all = reasons(&a, 1, Some((&b, 2)), bulk(1e6), &Settings::default());
    let headline = &all.full[all.roles.headline.clone()];
    assert!(headline[0].starts_with("Lies on its −Z side") && headline[1].starts_with("Needs"));
    let cost = all.roles.cost.map(|at| all.full[at].as_str());
    assert!(cost.is_some_and(|s| s.starts_with("Worse than")), "{all:?}");
    let said = all.full;
    let ahead = said
        .iter()
        .find(|s| s.starts_with("Better than"))
        .expect("a gain");
    let costs = said
        .iter()
        .find(|s| s.starts_with("Worse than"))
        .expect("a price");
    // The largest difference first.
    assert!(
        ahead.ends_with(
            "contact 23.3 cm² instead of 1.13 cm²; overhang 42.1 cm² instead of 50.3 cm²."
        ),
        "{ahead}"
    );
    assert!(
        costs.ends_with("support 68.8 cm³ instead of 36.2 cm³."),
        "{costs}"
    );
    // A rival far behind is told of in one sentence.
    let mut far = b.clone();
    far.total += 3.0;
    let said = reasons(&a, 1, Some((&far, 2)), bulk(1e6), &Settings::default()).full;
    // One that hardly touches the bed nobody weighs.
    assert_eq!(
        said.last().map(String::as_str),
        Some(
            "No other pose comes near: pose 2 (+Y side down) has 1.13 cm² on the bed instead of 23.3 cm²."
        )
    );
    far.figures.contact_area_mm2 = 500.0;
    // Where it needs less support that is weighed.
    let said = reasons(&a, 1, Some((&far, 2)), bulk(1e6), &Settings::default()).full;
    assert!(
        said.iter().any(|s| s.starts_with("Worse than pose 2"))
            && said.iter().all(|s| !s.starts_with("No other pose")),
        "{said:?}"
    );
    far.charges.clone_from(&a.charges);
    far.charges[1] += 4.0;
    far.figures.support_needed_mm3 = a.figures.support_needed_mm3;
    let said = reasons(&a, 1, Some((&far, 2)), bulk(1e6), &Settings::default()).full;
    assert!(
        said.iter()
            .any(|s| s.starts_with("No other pose comes near. Against pose 2")),
        "{said:?}"
    );
    assert!(
        said.iter().all(|s| !s.starts_with("Worse than")),
        "{said:?}"
    );
    // From the other end the same, the other way round.
    let said = reasons(&b, 2, Some((&a, 1)), bulk(1e6), &Settings::default());
    assert!(
        said.brief
            .starts_with("Contact 1.13 cm² instead of 23.3 cm²; overhang 50.3 cm²"),
        "{}",
        said.brief
    );
    assert!(
        said.brief
            .ends_with("Better: support 36.2 cm³ instead of 68.8 cm³."),
        "{}",
        said.brief
    );
    assert!(said.roles.has_gain);
}

#[test]
fn equal_poses_are_said_to_be_equal_and_hopeless_ones_get_two_sentences() {
    let settings = Settings::default();
    let a = entry(-Vector3::z(), figures(500.0, 0.0, 0.0), &[]);
    let b = entry(Vector3::z(), figures(500.0, 0.0, 0.0), &[]);
    let said = reasons(&a, 1, Some((&b, 2)), bulk(1e4), &settings).full;
    assert!(
        said.iter()
            .any(|s| s.starts_with("Equal to pose 2 (+Z side down) on every weighted figure")),
        "{said:?}"
    );
    let hopeless = entry(
        Vector3::x(),
        figures(500.0, 6000.0, 900.0),
        &[("support", 3.0)],
    );
    let said = reasons(&hopeless, 2, Some((&a, 1)), bulk(1e4), &settings);
    assert_eq!(said.full.len(), 2);
    assert_eq!(
        said.brief,
        "Needs 6 cm³ of support, 60 % of the part's own volume."
    );
    // The first place is explained however bad it is.
    let said = reasons(&hopeless, 1, Some((&a, 2)), bulk(1e4), &settings);
    assert!(said.full.len() > 2);
}

/// What the columns see below the error of the figures is no support, and small roofs
/// are called what they are.
#[test]
fn crumbs_of_support_are_none_and_small_roofs_are_named() {
    let settings = Settings::default();
    let said = |f: Figures| {
        let needs = needs_support(&f, &settings);
        (
            needs,
            reasons(
                &entry(-Vector3::z(), f, &[]),
                1,
                None,
                bulk(10_000.0),
                &settings,
            )
            .full
            .join(" "),
        )
    };
    let (needs, words) = said(figures(500.0, 3.0, 0.0));
    assert!(
        !needs && words.contains("nothing leans beyond 45°"),
        "{words}"
    );
    let (needs, words) = said(Figures {
        overhang_area_mm2: 30.0,
        overhang_light_mm2: 30.0,
        ..figures(500.0, 0.0, 0.0)
    });
    assert!(
        !needs && words.contains("the 30 mm² beyond 45° are short bridges, roofs of small bores"),
        "{words}"
    );
    let mut hanging = figures(500.0, 3000.0, 200.0);
    hanging.cantilever_longest_mm = 9.0;
    let (needs, words) = said(hanging);
    assert!(needs && words.contains("Needs 3 cm³ of support"), "{words}");
}

/// A pose that cannot be printed is no alternative: nothing is said of what it would
/// offer, or when to take it.
#[test]
fn a_pose_that_falls_over_is_not_offered() {
    let settings = Settings::default();
    // 100 mm² are little for 40 mm of height.
    let a = entry(-Vector3::z(), figures(100.0, 0.0, 0.0), &[("contact", 1.0)]);
    for gate in [
        FailedGate::Tips,
        FailedGate::NoContact,
        FailedGate::DoesNotFit,
    ] {
        let tall = Figures {
            height_mm: 60.0,
            ..figures(900.0, 0.0, 0.0)
        };
        let mut b = entry(Vector3::x(), tall, &[("height", 1.2)]);
        let said = |b: &Scored| reasons(&a, 1, Some((b, 2)), bulk(1e4), &settings).full;
        let printable = said(&b);
        for start in ["Better than pose 2", "Worse than pose 2: "] {
            assert!(
                printable.iter().any(|s| s.starts_with(start)),
                "{printable:?}"
            );
        }
        b.candidate.gates.push(gate);
        let full = said(&b);
        assert_eq!(
            full,
            reasons(&a, 1, None, bulk(1e4), &settings).full,
            "{full:?}"
        );
    }
}

/// 40 cm² hold a part of 40 mm no better than 38 cm²: the difference is told only where the
/// smaller one is short.
#[test]
fn contact_beyond_need_is_no_reason() {
    let settings = Settings::default();
    let pair = |contact: [f64; 2], more: &[(&str, f64)]| {
        let a = entry(-Vector3::z(), figures(contact[0], 0.0, 0.0), &[]);
        let mut charged = vec![("contact", 1.6)];
        charged.extend_from_slice(more);
        let coarse = Figures {
            layer_steps_mean_um: 100.0 * more.len() as f64,
            ..figures(contact[1], 0.0, 0.0)
        };
        let b = entry(Vector3::y(), coarse, &charged);
        let first = reasons(&a, 1, Some((&b, 2)), bulk(1e5), &settings)
            .full
            .join(" ");
        (
            first,
            reasons(&b, 2, Some((&a, 1)), bulk(1e5), &settings).brief,
        )
    };
    let (first, second) = pair([4000.0, 2000.0], &[("stairs", 1.0)]);
    assert!(
        first.contains("Better than pose 2") && !first.contains("contact"),
        "{first}"
    );
    assert!(!second.contains("ontact"), "{second}");
    // Where the rest is a trifle beside it, it is the reason all the same.
    let (first, _) = pair([4000.0, 2000.0], &[("stairs", 0.5)]);
    assert!(
        first.contains("Better than pose 2 (+Y side down): contact 40 cm² instead of 20 cm²"),
        "{first}"
    );
    // Nothing else sets them apart: it is said once, with what it is worth.
    let (first, second) = pair([4000.0, 2000.0], &[]);
    assert!(
        first.contains(
            "Little but contact sets it apart from pose 2 (+Y side down): 40 cm² instead of 20 cm², and both have enough."
        ),
        "{first}"
    );
    assert_eq!(
        second,
        "Worse than pose 1 by contact alone (20 cm² instead of 40 cm²), and both have enough."
    );
    // 60 mm² under 40 mm of height are short.
    let (first, second) = pair([4000.0, 60.0], &[]);
    assert!(
        first.contains("contact 40 cm² instead of 0.6 cm²"),
        "{first}"
    );
    assert!(
        second.contains("Contact 0.6 cm² instead of 40 cm²"),
        "{second}"
    );
}
