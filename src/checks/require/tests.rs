//! Reading, printing and judging requirements.

use crate::checks::require::quantity::{UNITS, ValueKind};
use crate::checks::require::*;
use proptest::prelude::*;
use serde_json::json;

fn advice() -> Value {
    json!({
        "part": {"path": "a.stl", "closed": true, "volume_mm3": null, "triangles": 12},
        "settings": {"bridge_limit_mm": 10.0, "layer_change_s": 2.0, "aim": "sound"},
        "confidence": "clear", "no_good_pose": false,
        "poses": [{"total": 2.5, "gates": [], "down": [0.0, 0.0, -1.0], "axes": "XYZ",
            "penalties": {"contact": 1.25},
            "figures": {"height_mm": 28.0, "footprint_mm": [110.0, 30.0], "layer_steps_mean_um": 12.5,
                "support_after_bridges_mm3": 500.0, "support_marks_mm2": {"below": 3.0, "above": 4.0},
                "bridges": [{}, {}], "bridge_longest_mm": 1.75, "layers": 140, "print_min": 90.0,
                "sway_mm_per_n": null, "slender": null, "tip_angle_deg": 45.0, "filament_g": 20.0}}],
        "as_stored": {"total": 7.0, "gates": ["tips"], "figures": {"height_mm": 110.0}}
    })
}

fn met(text: &str) -> Option<bool> {
    let requirement: Requirement = text.parse().unwrap_or_else(|e| panic!("{text}: {e}"));
    requirement.judge(&advice(), Subject::Winner).met
}

#[test]
fn conditions_on_one_part() {
    for text in [
        "support_after_bridges_mm3 <= 500",
        "support_after_bridges_mm3 == 0.5 cm3",
        "height_mm < 3 cm and height_mm > 1in",
        "10 <= height_mm < 28.5 <= footprint_mm.x",
        "layer_steps_mean_um < 20 and layer_steps_mean_um == 0.0125 mm",
        "footprint_mm.x * footprint_mm.y == 33 cm2",
        "height_mm * 2 + 4 == 60",
        "2 * (height_mm - 8) / 4 == 1 cm",
        "print_min == 1.5 h and print_min == 5400s",
        "height_mm / layers == 0.2",
        "1 / height_mm > 1 / (3 cm)",
        "bridges == 2 and gates == 0 and islands == 0",
        "bridge_longest_mm < settings.bridge_limit_mm",
        "settings.layer_change_s == 2 and settings.layer_change_s <= 2 s",
        "part.closed and not no_good_pose",
        "confidence == \"clear\" and axes != 'XZY'",
        "down.z == -1 and --1 == 1",
        "penalties.contact + 1.25 == total",
        "support_marks_mm2.below + support_marks_mm2.above < 0.1 cm2",
        "no_good_pose or part.closed and no_good_pose or layers == 140",
        "tip_angle_deg >= 45 deg and filament_g < 0.1 kg",
        "not (height_mm < 5 or height_mm > 50)",
    ] {
        assert_eq!(met(text), Some(true), "{text}");
        assert_eq!(met(&format!("not ({text})")), Some(false), "{text}");
    }
}

#[test]
fn what_is_not_there_decides_nothing() {
    for text in [
        "sway_mm_per_n < 1",
        "slender.width_mm > 2",
        "part.volume_mm3 > 0 or sway_mm_per_n < 1",
        "load_across_layers < 0.5",
        "height_mm / (layers - 140) > 1",
        "not sway_mm_per_n < 1",
        "1 < sway_mm_per_n < 2 and part.closed",
        "undominated",
        "origin == \"resting\"",
    ] {
        assert_eq!(met(text), None, "{text}");
    }
    assert_eq!(met("sway_mm_per_n < 1 or part.closed"), Some(true));
    assert_eq!(met("sway_mm_per_n < 1 and no_good_pose"), Some(false));
    assert_eq!(met("200 < height_mm < slender.width_mm"), Some(false));
    assert_eq!(met("slender.width_mm < height_mm < 20"), Some(false));
}

#[test]
fn the_pose_as_stored_is_another() {
    let requirement: Requirement = "height_mm < 50 and gates == 0".parse().expect("good");
    let at = |subject| requirement.judge(&advice(), subject);
    assert_eq!(at(Subject::Winner).met, Some(true));
    let stored = at(Subject::AsStored);
    assert_eq!(stored.met, Some(false));
    assert_eq!(stored.says, "height_mm is 110.0, gates is 1");
}

#[test]
fn what_is_wrong_is_said_with_its_place() {
    for (text, at, says, hint) in [
        ("", 1, "the end where a value", "write it like"),
        ("height_mm", 1, "a length is no condition", "compare it"),
        (
            "layers < 5 and suport_volume_mm3 < 5",
            16,
            "'suport_volume_mm3' is no key",
            "'support_volume_mm3'",
        ),
        (
            "height_mm < 5 cm2",
            11,
            "a length on the left does not go with an area",
            "like with like",
        ),
        (
            "height_mm < 5 mm + 3 g",
            18,
            "a length on the left does not go with a mass",
            "",
        ),
        (
            "height_mm < 5 furlong",
            15,
            "'furlong' is no unit",
            "um, mm, cm",
        ),
        ("height_mm = 5", 11, "'=' means nothing", "write =="),
        (
            "layers < 5 && layers > 1",
            12,
            "'&&' means nothing",
            "write and",
        ),
        ("!part.closed", 1, "'!' means nothing", "write not"),
        ("layers ≤ 5", 8, "'≤' means nothing", "write <="),
        ("(layers < 5", 12, "the end where a closing", "close it"),
        ("layers < 5)", 11, "')' is not expected", ""),
        ("layers < 5 6", 12, "the number 6 is not expected", ""),
        ("layers < and", 10, "'and' where a value is due", ""),
        ("layers and part.closed", 1, "'and' joins conditions", ""),
        ("part.closed and 5", 13, "'and' joins conditions", ""),
        ("not layers", 1, "'not' joins conditions", ""),
        ("part.closed == no_good_pose", 13, "stands by itself", ""),
        ("confidence < \"clear\"", 12, "texts are compared", ""),
        ("confidence == 5", 12, "a text on the left", ""),
        ("confidence == \"clear", 15, "without its closing quote", ""),
        ("-confidence == \"clear\"", 1, "has no sign", ""),
        ("confidence * 2 == 5", 12, "cannot be multiplied", ""),
        ("layers < 1.2.3", 13, "the number 0.3 is not expected", ""),
        ("layers < .", 10, "'.' is no number", ""),
        ("layers < 1e999", 10, "'1e999' is no number", ""),
        ("layers # 5", 8, "'#' means nothing", ""),
    ] {
        let flaw = parse::parse(text).expect_err(text);
        assert_eq!(flaw.at, at, "{text}: {flaw}");
        assert!(flaw.says.contains(says), "{text}: {flaw}");
        assert!(flaw.hint.contains(hint), "{text}: {}", flaw.hint);
        assert!(!flaw.hint.is_empty());
    }
    let deep = format!("{}layers < 5{}", "(".repeat(60), ")".repeat(60));
    assert!(
        parse::parse(&deep)
            .expect_err("deep")
            .says
            .contains("nested")
    );
    let long = format!("layers < 5{}", " or layers < 5".repeat(100));
    assert!(
        parse::parse(&long)
            .expect_err("long")
            .says
            .contains("longer")
    );
    let wide = format!("layers < 1{}", "+1".repeat(490));
    assert_eq!(met(&wide), Some(true));
}

/// Trees whose units fit: truths over lengths, counts, texts.
fn truths() -> impl Strategy<Value = Expr> {
    let key = |name: &'static str| Expr::Key(keys::find(name).expect(name));
    let number =
        || (0.0..1e4f64, 0u8..3).prop_map(|(v, coarse)| if coarse == 0 { v } else { v.floor() });
    let length = prop_oneof![
        Just(key("height_mm")),
        Just(key("footprint_mm.x")),
        Just(key("settings.bridge_limit_mm")),
        number().prop_map(|v| Expr::Number(v, None)),
        (number(), 0..5usize).prop_map(|(v, unit)| Expr::Number(v, Some(unit))),
    ];
    let length = length.prop_recursive(3, 12, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|a| Expr::Negative(a.into())),
            (inner.clone(), inner.clone(), any::<bool>()).prop_map(|(a, b, plus)| {
                Expr::Binary(
                    if plus {
                        Operator::Plus
                    } else {
                        Operator::Minus
                    },
                    a.into(),
                    b.into(),
                )
            }),
            (inner, 1u8..9, any::<bool>()).prop_map(|(a, n, times)| {
                let n = Expr::Number(f64::from(n), None);
                if times {
                    Expr::Binary(Operator::Times, n.into(), a.into())
                } else {
                    Expr::Binary(Operator::Over, a.into(), n.into())
                }
            }),
        ]
    });
    let how = prop_oneof![
        Just(Operator::Less),
        Just(Operator::AtMost),
        Just(Operator::More),
        Just(Operator::AtLeast),
        Just(Operator::Equal),
        Just(Operator::Unequal),
    ];
    let compare = (length.clone(), prop::collection::vec((how, length), 1..3))
        .prop_map(|(first, rest)| Expr::Compare(first.into(), rest));
    let leaf = prop_oneof![
        4 => compare,
        1 => Just(key("part.closed")),
        1 => "[a-z ']{0,5}".prop_map(move |t| {
            Expr::Compare(key("confidence").into(), vec![(Operator::Equal, Expr::Text(t))])
        }),
    ];
    leaf.prop_recursive(4, 16, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|a| Expr::Not(a.into())),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Expr::Binary(
                Operator::And,
                a.into(),
                b.into()
            )),
            (inner.clone(), inner).prop_map(|(a, b)| Expr::Binary(
                Operator::Or,
                a.into(),
                b.into()
            )),
        ]
    })
}

proptest! {
    #[test]
    fn what_is_printed_reads_back_the_same(expr in truths()) {
        let text = expr.to_string();
        prop_assume!(text.chars().count() <= 1000);
        prop_assert_eq!(parse::parse(&text), Ok(expr), "{}", text);
    }

    #[test]
    fn a_unit_is_only_a_way_of_writing(v in 0.0..1e4f64, key in 0..2usize) {
        let (name, unit) = [("height_mm", "mm"), ("print_min", "min")][key];
        prop_assert_eq!(met(&format!("{name} < {v}")), met(&format!("{name} < {v} {unit}")));
    }

    #[test]
    fn no_text_is_a_panic(text in "[a-z0-9_.<>=!()+*/ \"'é≤-]{0,60}") {
        if let Err(flaw) = parse::parse(&text) {
            prop_assert!(flaw.at >= 1 && flaw.at <= text.chars().count() + 1, "{}", flaw);
        }
    }
}

#[test]
fn units_of_one_kind_stand_in_the_ratios_of_the_si() {
    // BIPM, The International System of Units (SI), 9th edition; the inch of 25.4 mm since 1959.
    for (one, n, other) in [
        ("m", 1000.0, "mm"),
        ("cm", 10.0, "mm"),
        ("mm", 1000.0, "um"),
        ("in", 25.4, "mm"),
        ("cm2", 100.0, "mm2"),
        ("cm3", 1000.0, "mm3"),
        ("h", 60.0, "min"),
        ("min", 60.0, "s"),
        ("kg", 1000.0, "g"),
    ] {
        let of = |name| match quantity::unit(name) {
            Some(m) => ValueKind::Number(m),
            None => panic!("{name}"),
        };
        let (ValueKind::Number(a), ValueKind::Number(b)) = (of(one), of(other)) else {
            panic!("{one}")
        };
        assert_eq!(a.dimension, b.dimension, "{one} {other}");
        assert!(
            (a.scale - n * b.scale).abs() < 1e-12 * a.scale,
            "{one} {other}"
        );
    }
    assert_eq!(UNITS.len(), 15);
}
