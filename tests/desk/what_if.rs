//! Rankings, other settings, and turns by hand.

use super::client::{Client, Running};
use super::{close, demo};
use serde_json::{Value, json};
use std::io::Write;
use std::net::TcpStream;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// A folder with a part in it, and the program run there as the page's command says.
pub struct Shell {
    folder: tempfile::TempDir,
}

impl Shell {
    pub fn with(name: &str, bytes: &[u8]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join(name), bytes).expect("written");
        Self { folder }
    }

    /// Runs a command line in a POSIX shell; what it prints.
    pub fn run(&self, line: &str) -> String {
        let script = format!(
            "wayup() {{ {} \"$@\"; }}\n{line}",
            env!("CARGO_BIN_EXE_wayup")
        );
        let done = Command::new("sh")
            .args(["-c", &script])
            .current_dir(self.folder.path())
            .env("XDG_CONFIG_HOME", self.folder.path().join("none"))
            .output()
            .expect("a shell");
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(done.status.success(), "{line}\n{said}");
        String::from_utf8(done.stdout).expect("text")
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.folder.path().join(name)).expect("the file")
    }

    /// What the program prints as JSON, less the times.
    pub fn json(&self, command: &str) -> Value {
        let mut out: Value = serde_json::from_str(&self.run(&format!("{command} --json")))
            .expect("one line of JSON");
        out.as_object_mut().expect("an object").remove("seconds");
        out
    }
}

fn last(page: &mut Client) -> Value {
    page.wait(|m| m["say"] == "ranking" && m["final"] == true)
        .expect("a ranking")
}

/// The advice of a ranking, less the times.
fn advice(ranking: &Value) -> Value {
    let mut out = ranking["advice"].clone();
    out.as_object_mut().expect("an object").remove("seconds");
    out
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().expect("text").to_string()
}

fn opened(desk: &Running, name: &str, bytes: &[u8]) -> (Client, Value) {
    let part = desk.upload(name, bytes).expect("a good part")["part"].clone();
    let mut page = Client::connect(desk).expect("a socket");
    page.say(&json!({"do": "open", "part": part}))
        .expect("sent");
    (page, part)
}

#[test]
fn a_quick_answer_comes_first_and_the_last_is_that_of_the_terminal() {
    let bytes = demo("page-holder.stl");
    let desk = Running::start();
    let (mut page, part) = opened(&desk, "page-holder.stl", &bytes);
    let ranking = last(&mut page);
    let first = page
        .heard
        .iter()
        .find(|m| m["say"] == "ranking")
        .expect("one");
    assert_eq!(first["stage"], "quick");
    assert_eq!(first["part"], part);
    // What is not known yet is absent, and what is there does not change.
    let full = &ranking["advice"]["poses"];
    let mut compared = 0;
    for quick in first["advice"]["poses"].as_array().expect("poses") {
        let figures = quick["figures"].as_object().expect("figures");
        assert!(figures.contains_key("contact_area_mm2"));
        assert!(!figures.contains_key("support_volume_mm3"));
        assert!(
            !quick["penalties"]
                .as_object()
                .expect("rows")
                .contains_key("support")
        );
        let same =
            |p: &&Value| p["down"] == quick["down"] && p["equivalent"] == quick["equivalent"];
        if let Some(pose) = full.as_array().expect("poses").iter().find(same) {
            for (key, value) in figures {
                assert_eq!(&pose["figures"][key], value, "{key}");
                compared += 1;
            }
            for (row, value) in quick["penalties"].as_object().expect("rows") {
                assert_eq!(&pose["penalties"][row], value, "{row}");
            }
            assert!(quick["total"].as_f64() <= pose["total"].as_f64());
        }
    }
    assert!(compared >= 20, "{compared} figures compared");
    assert_eq!(
        ranking["pictures"].as_array().expect("pictures").len(),
        full.as_array().expect("poses").len()
    );
    assert!(text(&json!({"p": ranking["pictures"][0]}), "p").starts_with("<svg xmlns="));

    let shell = Shell::with("page-holder.stl", &bytes);
    assert_eq!(ranking["command"], "wayup advise page-holder.stl");
    assert_eq!(advice(&ranking), shell.json("wayup advise page-holder.stl"));
    assert!(page.heard.iter().any(|m| m["say"] == "progress"));
}

/// Other settings on the same part: what they do not change is not measured again, and the
/// answer is the one that a run from nothing gives.
#[test]
fn other_settings_measure_only_what_they_change() {
    let name = "valve-oil-rack.stl";
    let bytes = demo(name);
    let shell = Shell::with(name, &bytes);
    let desk = Running::start();
    let (mut page, part) = opened(&desk, name, &bytes);
    let first = last(&mut page);
    let scored = |r: &Value| {
        r["advice"]["candidates"]["fully_scored"]
            .as_u64()
            .expect("a count")
    };
    let anew = |r: &Value| r["measured_anew"].as_u64().expect("a count");
    assert_eq!(anew(&first), scored(&first));

    // What moves no section and no overhang: poses measured before count again.
    for values in [
        json!({"weights": {"height": 0.2}}),
        json!({"weights": {"support": 3, "contact": 1.5, "show": 0}}),
        json!({"weights": null, "aim": "quick"}),
        json!({"aim": "clean", "material": "ABS"}),
        json!({"aim": null, "load": [0, 1, 0.5]}),
        json!({"load": null, "show": [[0, 0, 1], "-y"]}),
        json!({"show": null, "bed_mm": [120, 120, 120], "tolerance_mm": 0.1}),
        json!({"material": null, "bed_mm": null, "tolerance_mm": null}),
    ] {
        page.say(&json!({"do": "settings", "part": part, "values": values}))
            .expect("sent");
        let at = page.heard.len();
        let ranking = last(&mut page);
        assert!(
            anew(&ranking) < scored(&ranking),
            "{values}: {}",
            anew(&ranking)
        );
        // The first answer rests on what is known; it is there before the search begins.
        let early = page.heard[at..]
            .iter()
            .find(|m| m["say"] == "ranking")
            .expect("one");
        assert_eq!(
            (&early["stage"], &early["measured_anew"]),
            (&json!("full"), &json!(0))
        );
        assert_eq!(
            advice(&ranking),
            shell.json(&text(&ranking, "command")),
            "{values}"
        );
        // No answer says less than the one before.
        let poses: Vec<usize> = page.heard[at..]
            .iter()
            .filter(|m| m["say"] == "ranking")
            .map(|m| m["advice"]["poses"].as_array().expect("poses").len())
            .collect();
        assert!(poses.is_sorted(), "{poses:?}");
    }
    page.say(&json!({"do": "settings", "part": part, "values": {}}))
        .expect("sent");
    let again = last(&mut page);
    assert_eq!(anew(&again), 0);
    assert_eq!(advice(&again), advice(&first));

    // What moves them: all poses anew, and none when it is moved back.
    for values in [
        json!({"limit_deg": 55}),
        json!({"limit_deg": null, "bridge_limit_mm": 4}),
        json!({"bridge_limit_mm": null, "layer_mm": 0.3, "first_layer_mm": 0.25}),
        json!({"layer_mm": null, "first_layer_mm": null, "line_mm": 0.6}),
    ] {
        page.say(&json!({"do": "settings", "part": part, "values": values}))
            .expect("sent");
        let ranking = last(&mut page);
        assert_eq!(anew(&ranking), scored(&ranking), "{values}");
        assert_eq!(
            advice(&ranking),
            shell.json(&text(&ranking, "command")),
            "{values}"
        );
    }
    page.say(&json!({"do": "settings", "part": part, "values": {"line_mm": null}}))
        .expect("sent");
    let back = last(&mut page);
    assert_eq!(anew(&back), 0);
    assert_eq!(advice(&back), advice(&first));
}

#[test]
fn layers_too_thin_for_a_large_part_are_refused() {
    // An ASCII tetrahedron 2 m high.
    let facet = |a: &str, b: &str, c: &str| {
        format!(
            "facet normal 0 0 0\nouter loop\nvertex {a}\nvertex {b}\nvertex {c}\nendloop\nendfacet\n"
        )
    };
    let [o, x, y, z] = ["0 0 0", "90 0 0", "0 90 0", "0 0 2000"];
    let facets = [
        facet(o, y, x),
        facet(o, x, z),
        facet(o, z, y),
        facet(x, y, z),
    ]
    .concat();
    let solid = format!("solid tall\n{facets}endsolid tall\n");
    let desk = Running::start();
    let (mut page, part) = opened(&desk, "tall.stl", solid.as_bytes());
    let set = |layer: f64| json!({"do": "settings", "part": part, "values": {"layer_mm": layer}});
    page.say(&set(0.01)).expect("sent");
    let no = page.wait(|m| m["say"] == "refused").expect("a refusal");
    assert_eq!(no["field"], "layer_mm");
    assert!(
        text(&no, "text").contains("no more than 131072 layers of 0.01 mm"),
        "{no}"
    );
    page.say(&set(1.0)).expect("sent");
    let settings = |m: &Value| m["advice"]["settings"]["layer_mm"].clone();
    page.wait(|m| m["say"] == "ranking" && settings(m) == 1.0)
        .expect("a ranking");
}

#[test]
fn a_value_that_is_off_is_refused_and_changes_nothing() {
    let name = "wall-hanger.stl";
    let desk = Running::start();
    let (mut page, part) = opened(&desk, name, &demo(name));
    let before = last(&mut page);
    for (values, field, said) in [
        (
            json!({"limit_deg": 95}),
            "limit_deg",
            "limit = 95 is outside 0 to 89°",
        ),
        (
            json!({"layer_mm": 0}),
            "layer_mm",
            "layer = 0 is outside 0.01 to 10 mm",
        ),
        (
            json!({"aim": "strong", "material": "cheese"}),
            "material",
            "not a known material",
        ),
        (
            json!({"weights": {"hight": 1}}),
            "weights",
            "no row of the penalty table",
        ),
        (
            json!({"weights": {"height": -1}}),
            "weights",
            "outside 0 to 1000",
        ),
        (json!({"load": [0, 0, 0]}), "load", "points nowhere"),
        (json!({"bed_mm": "large"}), "bed_mm", "is not X,Y,Z"),
        (json!({"colour": 1}), "colour", "is no setting"),
    ] {
        page.say(&json!({"do": "settings", "part": part, "values": values}))
            .expect("sent");
        let no = page.wait(|m| m["say"] == "refused").expect("a refusal");
        assert_eq!(no["field"], field);
        assert!(text(&no, "text").contains(said), "{no}");
    }
    page.say(&json!({"do": "dance"})).expect("sent");
    page.wait(|m| m["say"] == "refused").expect("a refusal");
    page.say(&json!({"do": "open", "part": part}))
        .expect("sent");
    assert_eq!(advice(&last(&mut page)), advice(&before));
}

#[test]
fn two_pages_have_their_own_settings() {
    let name = "wall-hanger.stl";
    let bytes = demo(name);
    let shell = Shell::with(name, &bytes);
    let desk = Running::start();
    let (mut one, part) = opened(&desk, name, &bytes);
    let mut other = Client::connect(&desk).expect("a socket");
    let values = json!({"limit_deg": 30, "aim": "strong"});
    other
        .say(&json!({"do": "settings", "part": part, "values": values}))
        .expect("sent");
    let (a, b) = (last(&mut one), last(&mut other));
    assert_eq!(a["command"], "wayup advise wall-hanger.stl");
    assert_eq!(
        b["command"],
        "wayup advise --limit 30 --aim strong wall-hanger.stl"
    );
    assert_eq!(advice(&a), shell.json(&text(&a, "command")));
    assert_eq!(advice(&b), shell.json(&text(&b, "command")));
}

#[test]
fn the_next_part_ends_the_work_on_the_last() {
    let desk = Running::start();
    let slow = desk
        .upload("bell.ply", &demo("bell-spout.ply"))
        .expect("good")["part"]
        .clone();
    let next = desk
        .upload("hook.stl", &demo("wall-hanger.stl"))
        .expect("good")["part"]
        .clone();
    let mut page = Client::connect(&desk).expect("a socket");
    page.say(&json!({"do": "open", "part": slow}))
        .expect("sent");
    page.wait(|m| m["say"] == "ranking" && m["part"] == slow)
        .expect("a quick one");
    page.say(&json!({"do": "open", "part": next}))
        .expect("sent");
    let ranking = last(&mut page);
    assert_eq!(ranking["part"], next);
    let of_slow = |m: &&Value| m["say"] == "ranking" && m["part"] == slow && m["final"] == true;
    assert_eq!(page.heard.iter().filter(of_slow).count(), 0);
    // Fewer poses were measured than the whole search measures: it was really stopped.
    page.say(&json!({"do": "open", "part": slow}))
        .expect("sent");
    let whole = last(&mut page);
    assert!(
        whole["measured_anew"].as_u64() > Some(0),
        "{}",
        whole["measured_anew"]
    );
}

#[test]
fn a_turn_by_hand_is_followed_and_measured_when_it_rests() {
    let name = "page-holder.stl";
    let bytes = demo(name);
    let shell = Shell::with(name, &bytes);
    let desk = Running::start();
    let (mut page, part) = opened(&desk, name, &bytes);
    let ranking = last(&mut page);

    page.say(&json!({"do": "turn", "part": part, "seq": 7, "down": [0.1, 0.2, -1], "rest": false}))
        .expect("sent");
    let quick = page.wait(|m| m["say"] == "figures").expect("figures");
    assert_eq!(
        (&quick["seq"], &quick["stage"]),
        (&json!(7), &json!("quick"))
    );
    assert!(quick["pose"]["figures"]["support_volume_mm3"].is_null());
    assert!(quick["pose"].get("rank").is_none());
    // The nearest resting pose is the one as stored, 12.6° away: tan² is 0.1² + 0.2².
    let near = &quick["near"];
    let deg = libm::atan(0.05_f64.sqrt()).to_degrees();
    assert!(
        (near["deg"].as_f64().expect("an angle") - deg).abs() < 1e-4,
        "{near}"
    );
    assert_eq!(near["down"], json!([0.0, 0.0, -1.0]));

    page.say(&json!({"do": "turn", "part": part, "seq": 8, "down": [0.1, 0.2, -1], "rest": true}))
        .expect("sent");
    let full = page
        .wait(|m| m["say"] == "figures" && m["stage"] == "full")
        .expect("figures");
    assert_eq!(full["seq"], 8);
    let down = text(&full, "command");
    // A hand's direction is printed in few digits.
    assert!(down.contains("--down 0.09759,0.19518,-0.9759 "), "{down}");
    let down = down
        .split("--down ")
        .nth(1)
        .and_then(|w| w.split(' ').next())
        .expect("it");
    let measured = shell.json(&format!("wayup measure --down {down} {name}"));
    assert_eq!(full["pose"], measured["pose"]);
    for (key, value) in quick["pose"]["figures"].as_object().expect("figures") {
        assert_eq!(&full["pose"]["figures"][key], value, "{key}");
    }
    let triangles = ranking["advice"]["part"]["triangles"]
        .as_u64()
        .expect("a count");
    let coded = text(&full, "meaning");
    assert_eq!(coded.len() as u64, triangles.div_ceil(3) * 4);

    // A ranked pose is known already, and has its place.
    let second = &ranking["advice"]["poses"][1];
    page.say(&json!({"do": "turn", "part": part, "seq": 9, "down": second["down"], "rest": true}))
        .expect("sent");
    let full = page
        .wait(|m| m["say"] == "figures" && m["stage"] == "full")
        .expect("figures");
    assert_eq!(full["near"]["rank"], 2);
    assert!(full["near"]["deg"].as_f64() < Some(1e-6));
    assert_eq!(full["pose"]["figures"], second["figures"]);
}

#[test]
fn a_face_is_laid_on_the_bed() {
    let name = "wall-hanger.stl";
    let bytes = demo(name);
    let desk = Running::start();
    let (mut page, part) = opened(&desk, name, &bytes);
    last(&mut page);
    let mesh = wayup::mesh::read_bytes(name, &bytes, &wayup::mesh::ReadOptions::default())
        .expect("a mesh")
        .mesh;
    // The largest triangle lies in a face of the hull: it comes to lie on the bed.
    let area = |t: &usize| {
        let [a, b, c] = mesh.corners(*t);
        (b - a).cross(&(c - a)).norm()
    };
    let largest = (0..mesh.triangles.len())
        .max_by(|a, b| area(a).total_cmp(&area(b)))
        .expect("a triangle");
    let [a, b, c] = mesh.corners(largest);
    let normal = (b - a).cross(&(c - a)).normalize();
    page.say(&json!({"do": "face", "part": part, "seq": 3, "triangle": largest}))
        .expect("sent");
    let figures = page
        .wait(|m| m["say"] == "figures" && m["stage"] == "full")
        .expect("figures");
    let down: Vec<f64> = serde_json::from_value(figures["pose"]["down"].clone()).expect("three");
    let along = down[0] * normal.x + down[1] * normal.y + down[2] * normal.z;
    assert!(along > 1.0 - 1e-9, "{along}");
    let contact = figures["pose"]["figures"]["contact_area_mm2"]
        .as_f64()
        .expect("an area");
    assert!(contact >= area(&largest) / 2.0, "{contact}");

    page.say(&json!({"do": "face", "part": part, "seq": 4, "triangle": 99_999_999}))
        .expect("sent");
    let no = page.wait(|m| m["say"] == "refused").expect("a refusal");
    assert_eq!(no["field"], "triangle");
}

#[test]
fn a_turn_is_followed_under_new_settings() {
    let name = "wall-hanger.stl";
    let desk = Running::start();
    let (mut page, part) = opened(&desk, name, &demo(name));
    last(&mut page);
    page.say(&json!({"do": "turn", "part": part, "seq": 5, "down": [1, 0.3, 0], "rest": true}))
        .expect("sent");
    let full = |m: &Value| m["say"] == "figures" && m["stage"] == "full";
    let before = page.wait(full).expect("figures");
    page.say(&json!({"do": "settings", "part": part, "values": {"limit_deg": 20}}))
        .expect("sent");
    let after = page.wait(full).expect("figures");
    assert_eq!(after["seq"], 5);
    let overhang = |m: &Value| m["pose"]["figures"]["overhang_area_mm2"].as_f64();
    assert!(overhang(&after) > overhang(&before));
}

/// A round body with many dents: minutes of search where nobody stops it.
fn dented() -> Vec<u8> {
    const N: u32 = 200;
    let circle = |angle: f64| [libm::sin(angle), libm::cos(angle)];
    let at = |i: u32, j: u32| {
        let a = std::f64::consts::PI * f64::from(i) / f64::from(N);
        let b = 2.0 * std::f64::consts::PI * f64::from(j % N) / f64::from(N);
        let ([sin_a, cos_a], [sin_b, cos_b]) = (circle(a), circle(b));
        let r = 40.0 * (1.0 + 0.1 * libm::sin(9.0 * a) * libm::sin(7.0 * b));
        [sin_a * cos_b, sin_a * sin_b, cos_a].map(|c| (r * c) as f32)
    };
    let mut faces = Vec::new();
    for (i, j) in (0..N).flat_map(|i| (0..N).map(move |j| (i, j))) {
        let [a, b, c, d] = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| at(i, j));
        if i + 1 < N {
            faces.push([a, b, c]);
        }
        if i > 0 {
            faces.push([a, c, d]);
        }
    }
    let mut bytes = vec![b' '; 80];
    bytes.extend((faces.len() as u32).to_le_bytes());
    for face in faces {
        bytes.extend([0; 12]);
        bytes.extend(face.as_flattened().iter().flat_map(|c| c.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

/// Searches on pages that stay, a turn, a sheet: nothing goes on for a part that was closed.
#[test]
fn closing_a_part_ends_all_work_on_it() {
    let desk = Running::start();
    let bytes = dented();
    let mut pages = Vec::new();
    for turned in [false, true] {
        let part = desk.upload("dented.stl", &bytes).expect("good")["part"].clone();
        let kept = desk
            .desk
            .table
            .find(part.as_u64().expect("a number"))
            .expect("open");
        let mut page = Client::connect(&desk).expect("a socket");
        page.say(&json!({"do": "open", "part": part}))
            .expect("sent");
        page.wait(|m| m["say"] == "ranking").expect("a quick one");
        if turned {
            let turn = json!({"do": "turn", "part": part, "seq": 1, "down": [0.3, 0.4, 0.5], "rest": true});
            page.say(&turn).expect("sent");
        }
        pages.push((page, part, kept));
    }
    // Its answer is not waited for.
    let mut sheet = TcpStream::connect(desk.host()).expect("connected");
    let path = desk.path(&format!("/part/{}/sheet.html", pages[0].1));
    let head = format!("GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", desk.host());
    sheet.write_all(head.as_bytes()).expect("sent");
    std::thread::sleep(Duration::from_millis(300));
    for (_, part, kept) in &pages {
        assert!(Arc::strong_count(kept) > 2, "no work to be ended");
        assert_eq!(close(&desk, part), 204);
    }
    let began = Instant::now();
    while pages.iter().any(|(_, _, kept)| Arc::strong_count(kept) > 1) {
        assert!(began.elapsed() < Duration::from_secs(5), "still at work");
        std::thread::sleep(Duration::from_millis(20));
    }
    // And the next one is answered.
    let (mut page, _) = opened(&desk, "hook.stl", &demo("wall-hanger.stl"));
    last(&mut page);
}
