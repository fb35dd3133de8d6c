//! `measure`: readings of a calliper, the card, the rules.

use crate::bench::Bench;

/// A box of 30 × 20 × 10 mm, read along X, Y and Z.
#[test]
fn readings_say_what_the_readings_mean() {
    let bench = Bench::new();
    bench.block("box.stl", [30.0, 20.0, 10.0]);
    let found = |read: &str, more: &[&str]| {
        let mut words = vec!["measure", "box.stl", "--json", "--readings", read];
        words.extend_from_slice(more);
        bench.run(&words).json()["readings"].clone()
    };
    for (read, verdict) in [
        ("30.1,19.9,10", "in_tolerance"),
        ("30,20.6,10", "one_axis"),
        ("31.5,21,10.5", "all_scaled"),
        ("35,25,15", "same_offset"),
        ("1.18,0.79,0.39", "wrong_units"),
        ("31,19,10", "mixed"),
        ("20,30,10", "exchanged"),
        ("20.1,10,29.9", "exchanged"),
    ] {
        assert_eq!(found(read, &[])["verdict"], verdict, "{read}");
    }
    assert_eq!(found("30,20.6,10", &[])["axis"], "Y");
    let turned = serde_json::json!(["Y", "Z", "X"]);
    assert_eq!(found("20.1,10,29.9", &[])["sizes_of"], turned);
    let said = bench.run(&["measure", "box.stl", "--readings", "20,30,10"]);
    assert!(
        said.out
            .contains("X and Y were exchanged: read X as 30.00, Y as 20.00,"),
        "{}",
        said.out
    );
    assert_eq!(
        found("30.1,19.9,10", &["--tolerance", "0.05"])["verdict"],
        "mixed"
    );
    // Standing on its end, X is the box's long side no more.
    let turned = found("20,10,30", &["--down", "-x"]);
    assert_eq!(turned["verdict"], "in_tolerance");
    assert_eq!(turned["nominal_mm"], serde_json::json!([20.0, 10.0, 30.0]));
    let said = bench.run(&["measure", "box.stl", "--readings", "35,25,15"]);
    assert_eq!(said.code, 0);
    assert!(
        said.out
            .contains("X: read 35.00, nominal 30.00: +5.00 mm (+16.7 %;"),
        "{}",
        said.out
    );
    bench
        .run(&["measure", "box.stl", "--readings", "30,-20,10"])
        .refuses(2, "three lengths above zero", "--readings 110.2");
    let said = bench.run(&["measure", "box.stl", "--readings", "30,20"]);
    assert_eq!(said.code, 2);
    assert!(said.err.contains("three numbers"), "{}", said.err);
}

#[test]
fn the_card_and_the_rules_are_in_the_json() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    let reply = bench
        .run(&["measure", "gate.stl", "--tolerance", "0.1", "--json"])
        .json();
    let lines = reply["pose"]["card"]["lines"]
        .as_array()
        .expect("lines")
        .clone();
    let extents: Vec<(&str, f64)> = lines
        .iter()
        .take(3)
        .map(|l| {
            (
                l["along"].as_str().expect("an axis"),
                l["nominal_mm"].as_f64().expect("a length"),
            )
        })
        .collect();
    assert_eq!(extents, [("X", 30.0), ("Y", 10.0), ("Z", 20.0)]);
    assert!(lines.iter().all(|l| l["tolerance_mm"] == 0.1));
    // The gap between the legs.
    assert!(
        lines
            .iter()
            .any(|l| l["kind"] == "slot" && l["nominal_mm"] == 20.0 && l["along"] == "X"),
        "{lines:?}"
    );
    let keys: Vec<&str> = reply["settings"]["precaution_rules"]
        .as_array()
        .expect("rules")
        .iter()
        .filter_map(|r| r["key"].as_str())
        .collect();
    let notes = reply["pose"]["precautions_detail"]
        .as_array()
        .expect("notes");
    assert!(!notes.is_empty());
    for (note, says) in notes
        .iter()
        .zip(reply["pose"]["precautions"].as_array().expect("words"))
    {
        assert!(
            keys.contains(&note["key"].as_str().expect("a key")),
            "{note}"
        );
        assert_eq!(&note["says"], says);
    }
    let jumps = reply["pose"]["layer_profile"]["jumps"]
        .as_array()
        .expect("jumps");
    // Two legs of 50 mm² become a slab of 300 at z = 15.
    assert_eq!(jumps.len(), 1, "{jumps:?}");
    assert_eq!(jumps[0]["z_mm"], 15.0);
    assert_eq!(
        (jumps[0]["from_mm2"].clone(), jumps[0]["to_mm2"].clone()),
        (100.0.into(), 300.0.into())
    );
    // It needs 3 cm³ of support, as much as the part: that comes off easily, yet a rib spares it.
    assert_eq!(reply["pose"]["faults"], serde_json::json!([]));
    assert_eq!(reply["pose"]["design"][0]["change"], "rib");
}
