use crate::gauge::readings::*;

fn said(read: [f64; 3], nominal: [f64; 3]) -> ReadingAnalysis {
    compare(read, nominal, &Settings::default())
}

/// Worked by hand; the rule is the one stated at the top.
#[test]
fn every_verdict_has_its_case() {
    let n = [110.0, 60.0, 22.0];
    for (read, verdict, axis) in [
        ([110.2, 59.8, 22.1], Verdict::InTolerance, None),
        // The tolerance itself is still within.
        ([110.25, 59.75, 22.25], Verdict::InTolerance, None),
        ([110.0, 60.6, 22.0], Verdict::OneAxis, Some('Y')),
        ([111.3, 60.1, 22.1], Verdict::OneAxis, Some('X')),
        ([110.0, 60.0, 21.6], Verdict::OneAxis, Some('Z')),
        // 2 % on everything: 112.2, 61.2, 22.44.
        ([112.2, 61.2, 22.44], Verdict::AllScaled, None),
        ([107.8, 58.8, 21.6], Verdict::AllScaled, None),
        ([115.0, 65.0, 27.0], Verdict::SameOffset, None),
        ([109.3, 59.3, 21.3], Verdict::SameOffset, None),
        ([110.7, 60.7, 22.0], Verdict::PlanOffset, None),
        ([2794.0, 1524.0, 558.8], Verdict::WrongUnits, None),
        ([4.33, 2.36, 0.87], Verdict::WrongUnits, None),
        ([1100.0, 600.0, 220.0], Verdict::WrongUnits, None),
        ([11.0, 6.0, 2.2], Verdict::WrongUnits, None),
        ([110_000.0, 60_000.0, 22_000.0], Verdict::WrongUnits, None),
        ([0.11, 0.06, 0.022], Verdict::WrongUnits, None),
        ([112.0, 58.0, 22.0], Verdict::Mixed, None),
        ([115.0, 60.0, 27.0], Verdict::Mixed, None),
    ] {
        let f = said(read, n);
        assert_eq!((f.verdict, f.axis), (verdict, axis), "{read:?}: {f:?}");
        assert!(!f.says.is_empty());
    }
}

#[test]
fn factor_and_amount_are_those_put_in() {
    let n = [110.0, 60.0, 22.0];
    let f = said(n.map(|v| v * 0.98), n);
    assert!((f.factor.expect("a factor") - 0.98).abs() < 1e-12);
    let f = said(n.map(|v| v + 5.0), n);
    assert!((f.offset_mm.expect("an amount") - 5.0).abs() < 1e-12);
    assert!(f.says[0].starts_with("Zero the calliper"), "{:?}", f.says);
    assert!(f.says[0].contains("measuring tool"), "{:?}", f.says);
    // One axis: the amount is all of the difference, the factor goes with it.
    let f = said([110.0, 60.6, 22.0], n);
    assert!((f.factor.expect("a factor") - 1.01).abs() < 1e-12);
    assert!((f.difference_percent[1] - 1.0).abs() < 1e-12);
}

/// Equal sides: a factor and an amount leave the same readings.
#[test]
fn a_cube_cannot_tell_a_factor_from_an_amount() {
    let f = said([21.0; 3], [20.0; 3]);
    assert_eq!(f.verdict, Verdict::CannotTell);
    assert!(f.alternatives.contains(&Verdict::AllScaled));
    assert!(f.alternatives.contains(&Verdict::SameOffset));
    let want = "Sides of 20 mm are too much alike to tell a factor from an amount. Measure a much shorter length along X or Y as well: a wall of 5 mm would read 5.25 by the factor, 6.00 by the amount.";
    assert_eq!(f.says[1], want);
    // The causes ask for the same readings: nothing to compare.
    assert_eq!(f.says.len(), 2, "{:?}", f.says);
    // Sides of 20, 21 and 22 off by a millimetre: scaled would leave ± 0.05.
    assert_eq!(
        said([21.0, 22.0, 23.0], [20.0, 21.0, 22.0]).verdict,
        Verdict::CannotTell
    );
    // Sides of 20, 40 and 60 tell them apart.
    assert_eq!(
        said([21.0, 41.0, 61.0], [20.0, 40.0, 60.0]).verdict,
        Verdict::SameOffset
    );
    assert_eq!(
        said([21.0, 42.0, 63.0], [20.0, 40.0, 60.0]).verdict,
        Verdict::AllScaled
    );
}

/// 1 % on sides of 100, 20 and 10: the short ones are within the tolerance
/// anyway, so X alone may be off (chi-square 3.2 against 0) or all of them.
#[test]
fn a_long_side_alone_does_not_prove_a_scale() {
    let f = said([101.0, 20.2, 10.1], [100.0, 20.0, 10.0]);
    assert_eq!(f.verdict, Verdict::CannotTell);
    assert_eq!(f.alternatives, [Verdict::AllScaled, Verdict::OneAxis]);
    let want = "Should read Y 20.20 and Z 10.10 if all axes are 1 % too long; Y 20.00 and Z 10.00 if X alone is 1.00 mm too long.";
    assert_eq!(
        f.says.last().map(String::as_str),
        Some(want),
        "{:?}",
        f.says
    );
    // 1.2 %: 4.6 against 0, and it is the scale.
    let f = said([101.2, 20.24, 10.12], [100.0, 20.0, 10.0]);
    assert_eq!(f.verdict, Verdict::AllScaled);
    // With both short sides right it is X.
    let f = said([101.5, 20.0, 10.0], [100.0, 20.0, 10.0]);
    assert_eq!((f.verdict, f.axis), (Verdict::OneAxis, Some('X')));
}

#[test]
fn a_tighter_tolerance_finds_more() {
    let tight = Settings {
        tolerance_mm: 0.05,
        ..Settings::default()
    };
    let n = [110.0, 60.0, 22.0];
    let f = compare([110.0, 60.2, 22.0], n, &tight);
    assert_eq!((f.verdict, f.axis), (Verdict::OneAxis, Some('Y')));
}

/// PLA shrinks 0.238 % freely; ABS 0.72 %.
#[test]
fn shrinkage_is_named_only_where_the_material_can_do_it() {
    let abs = Settings {
        material: crate::materials::Material::find("ABS").expect("a row"),
        ..Settings::default()
    };
    let n = [180.0, 90.0, 60.0];
    let f = compare(n.map(|v| v * 0.9928), n, &abs);
    assert_eq!(f.verdict, Verdict::AllScaled);
    assert!(f.says[0].contains("print it at 100.73 %"), "{:?}", f.says);
    let f = compare(n.map(|v| v * 0.95), n, &abs);
    assert!(f.says[0].contains("less than this"), "{:?}", f.says);
}

#[test]
fn a_pressed_first_layer_is_told_from_a_wrong_drive() {
    let n = [110.0, 60.0, 22.0];
    assert!(said([110.0, 60.0, 21.65], n).says[1].contains("pressed too hard"));
    let tall = said([110.0, 60.0, 119.0], [110.0, 60.0, 120.0]);
    assert!(tall.says[1].contains("Z drive's steps"), "{:?}", tall.says);
}

/// Each reading is the size of the axis named; worked by hand.
#[test]
fn exchanged_readings_are_named() {
    let n = [110.0, 60.0, 22.0];
    for (read, sizes_of, starts) in [
        (
            [60.0, 110.0, 22.0],
            ['Y', 'X', 'Z'],
            "X and Y were exchanged: read X as 110.00, Y as 60.00, and every reading is within its tolerance.",
        ),
        (
            [22.2, 60.0, 109.8],
            ['Z', 'Y', 'X'],
            "X and Z were exchanged: read X as 109.80, Z as 22.20, ",
        ),
        (
            [110.25, 21.75, 60.0],
            ['X', 'Z', 'Y'],
            "Y and Z were exchanged: read Y as 60.00, Z as 21.75, ",
        ),
        (
            [60.0, 22.0, 110.0],
            ['Y', 'Z', 'X'],
            "X, Y and Z were exchanged: read X as 110.00, Y as 60.00, Z as 22.00, ",
        ),
        (
            [22.0, 110.0, 60.0],
            ['Z', 'X', 'Y'],
            "X, Y and Z were exchanged: ",
        ),
    ] {
        let f = said(read, n);
        assert_eq!(
            (f.verdict, f.sizes_of),
            (Verdict::Exchanged, Some(sizes_of)),
            "{f:?}"
        );
        assert!(
            f.says.len() == 1 && f.says[0].starts_with(starts),
            "{:?}",
            f.says
        );
    }
    // One reading past the tolerance, and it explains nothing.
    for read in [
        [60.3, 110.0, 22.0],
        [60.0, 110.0, 22.3],
        // 0.25 + 0.002 · (110 − 50), in steps of 0.05: 0.35.
        [60.0, 22.0, 110.4],
    ] {
        let f = said(read, n);
        assert_eq!((f.verdict, f.sizes_of), (Verdict::Mixed, None), "{f:?}");
    }
}

#[test]
fn no_exchange_is_claimed_that_nothing_shows() {
    // X and Y are equal: exchanged or not, the readings are the same.
    let f = said([20.1, 19.9, 10.0], [20.0, 20.0, 10.0]);
    assert_eq!(f.verdict, Verdict::InTolerance);
    // One of the equal ones was taken for Z: that one which was read short, not both.
    let f = said([20.0, 10.0, 20.0], [20.0, 20.0, 10.0]);
    assert_eq!(f.sizes_of, Some(['X', 'Z', 'Y']), "{f:?}");
    // A cube read wrong has no exchange, nor have sizes that differ less than readings may.
    assert_eq!(said([20.0, 21.0, 19.0], [20.0; 3]).verdict, Verdict::Mixed);
    let f = said([20.4, 19.8, 30.0], [20.0, 20.2, 30.0]);
    assert_eq!((f.verdict, f.sizes_of), (Verdict::Mixed, None), "{f:?}");
    // Causes without an exchange explain it as well.
    let f = said([30.26, 30.2, 10.0], [30.0, 30.26, 10.0]);
    assert_eq!(
        (f.verdict, f.sizes_of),
        (Verdict::CannotTell, None),
        "{f:?}"
    );
}

/// One short axis: no drive is blamed before a second, longer length.
#[test]
fn a_short_axis_is_read_again_before_the_drive_is_blamed() {
    let f = said([110.0, 60.6, 22.0], [110.0, 60.0, 22.0]);
    let want = [
        "Only Y is off: 0.60 mm too long, 1 %. Read it again, in a second place.",
        "Take a second, longer length along Y before you blame the drive: over 60 mm an offset and a wrong scale look the same.",
        "If all axes were scaled by as much, they would read X 111.10 and Z 22.22; if Y alone is off, X 110.00 and Z 22.00.",
    ];
    assert_eq!(f.says, want);
    let long = said([111.3, 60.1, 22.1], [110.0, 60.0, 22.0]);
    assert!(
        long.says[1].starts_with("If it stays, look at the steps"),
        "{:?}",
        long.says
    );
    let settings = Settings::default();
    let turned = compare_turned(
        [111.3, 60.1, 22.1],
        [110.0, 60.0, 22.0],
        Some(38.0),
        &settings,
    );
    assert!(
        turned.says[1].contains("stands at 38° to X"),
        "{:?}",
        turned.says
    );
}

#[test]
fn the_same_offset_is_the_callipers_zero_first() {
    let f = said([109.3, 59.3, 21.3], [110.0, 60.0, 22.0]);
    assert_eq!(f.verdict, Verdict::SameOffset);
    assert!(
        f.says[0].starts_with("Zero the calliper with its jaws shut"),
        "{:?}",
        f.says
    );
    assert!(f.says[0].contains("0.70 mm too short"), "{:?}", f.says);
}

#[test]
fn outlines_off_with_a_right_height_are_flow_or_the_first_layer() {
    let f = said([110.7, 60.7, 22.0], [110.0, 60.0, 22.0]);
    let want = "X and Y are both 0.70 mm too long, Z is right: too much flow, or a first layer that bulges (elephant's foot). Read again a few millimetres above the bed. If that reads right, it is the first layer: set it higher or compensate it. If not, lower the flow: a single wall should measure 0.45 mm.";
    assert_eq!(f.says, [want]);
    let f = said([109.3, 59.3, 22.0], [110.0, 60.0, 22.0]);
    assert_eq!(f.verdict, Verdict::PlanOffset);
    assert!(
        !f.says[0].contains("bulges") && f.says[0].contains("raise the flow"),
        "{:?}",
        f.says
    );
}

/// 55.63 read, 56.03 nominal: 0.40, though the numbers behind them differ by 0.404.
#[test]
fn the_difference_printed_is_that_of_the_numbers_printed() {
    for (read, nominal, want) in [
        (55.63, 56.034, -0.4),
        (55.626, 56.034, -0.4),
        (20.005, 20.0, 0.01),
        (30.004, 30.0, 0.0),
    ] {
        let got = shown_mm(read, nominal);
        assert!((got - want).abs() < 1e-12, "{read} {nominal}: {got}");
    }
    let f = said([55.626, 30.0, 20.0], [56.034, 30.0, 20.0]);
    assert!(f.says[0].contains("0.40 mm too short"), "{:?}", f.says);
}
