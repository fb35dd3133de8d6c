//! `advise --certify`: how much better than the first pose any direction could be.

use crate::bench::Bench;
use serde_json::Value;

fn gap(bench: &Bench, words: &[&str]) -> Value {
    let said = bench.run(&[&["advise", "gate.stl", "--json"], words].concat());
    assert_eq!(said.code, 0, "{}", said.err);
    let report: Value = serde_json::from_str(&said.out).expect("one object");
    report["certified_gap"].clone()
}

#[test]
fn the_gap_is_in_the_json_and_in_words_only_where_it_is_asked_for() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    assert!(gap(&bench, &[]).is_null());
    let one = gap(&bench, &["--certify"]).as_f64().expect("a number");
    assert!((0.0..1.0).contains(&one), "{one}");
    assert_eq!(gap(&bench, &["--certify=1", "--threads", "1"]), one);
    // Less is asked for: it may end sooner, and is no sharper.
    let wide = gap(&bench, &["--certify=90"]).as_f64().expect("a number");
    assert!((one..=0.9).contains(&wide), "{wide}");

    let said = bench.run(&["advise", "gate.stl", "--certify"]);
    let words = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let percent = (one * 1000.0).ceil() / 10.0;
    let told = format!("can have a total more than {percent} % lower than pose 1.");
    assert!(words.contains(&told), "{words}");
}

#[test]
fn a_share_that_is_none_is_refused() {
    let bench = Bench::new();
    bench.gate("gate.stl");
    for word in [
        "--certify=0",
        "--certify=100",
        "--certify=few",
        "--certify=-2",
    ] {
        let said = bench.run(&["advise", "gate.stl", word]);
        assert_eq!(said.code, 2, "{word}");
        assert!(said.err.contains("above 0 and below 100"), "{}", said.err);
    }
}

#[test]
fn nothing_is_certain_of_an_open_surface_and_that_is_said() {
    let bench = Bench::new();
    let clip = concat!(env!("CARGO_MANIFEST_DIR"), "/meshes/broken-clip.stl");
    let said = bench.run(&["advise", clip, "--certify", "--json"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let report: Value = serde_json::from_str(&said.out).expect("one object");
    assert!(report["certified_gap"].is_null());
    assert!(said.err.contains("the mesh is not closed"), "{}", said.err);
}
