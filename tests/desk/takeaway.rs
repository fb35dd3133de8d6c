//! What is taken away is what the command lines beside it write.

use super::client::{Client, Running};
use super::what_if::Shell;
use super::{close, demo};
use serde_json::{Value, json};

fn ranked(desk: &Running, part: &Value) -> (Client, Value) {
    let mut page = Client::connect(desk).expect("a socket");
    page.say(&json!({"do": "open", "part": part}))
        .expect("sent");
    let ranking = page
        .wait(|m| m["say"] == "ranking" && m["final"] == true)
        .expect("a ranking");
    (page, ranking)
}

/// A demo part that is ranked on a desk, and lies where the commands are run.
fn beside_the_terminal(name: &str) -> (Running, Value, Shell) {
    let bytes = demo(name);
    let desk = Running::start();
    let part = desk.upload(name, &bytes).expect("a good part")["part"].clone();
    ranked(&desk, &part);
    (desk, part, Shell::with(name, &bytes))
}

fn down_of(pose: &Value) -> String {
    let down: Vec<String> = (pose["down"].as_array().expect("three").iter())
        .map(ToString::to_string)
        .collect();
    down.join(",")
}

#[test]
fn turned_files_are_those_of_the_command() {
    // A name that a shell would take apart; and a part that fits the bed only aslant.
    for (name, label, sent) in [
        (
            "cable-saddle.3mf",
            "it's a $part.3mf",
            "it%27s%20a%20%24part.3mf",
        ),
        ("stand-foot.stl", "stand-foot.stl", "stand-foot.stl"),
    ] {
        let bytes = demo(name);
        let shell = Shell::with(label, &bytes);
        let desk = Running::start();
        let part = desk.upload(sent, &bytes).expect("a good part")["part"].clone();
        let (mut page, ranking) = ranked(&desk, &part);
        let pose = &ranking["advice"]["poses"][0];
        page.say(&json!({"do": "turn", "part": part, "seq": 1, "down": pose["down"]}))
            .expect("sent");
        let figures = page.wait(|m| m["say"] == "figures").expect("figures");
        let command = figures["command"].as_str().expect("a command");
        let stem = label.rsplit_once('.').expect("an ending").0;
        for ending in ["stl", "3mf", "obj", "ply"] {
            let (head, _) = command.split_once(" -o ").expect("an output");
            shell.run(&format!(
                "{head} -o out.{ending} \"{}\"",
                label.replace('$', "\\$")
            ));
            let (status, head, body) = desk
                .get(&format!(
                    "/part/{part}/turned.{ending}?down={}",
                    down_of(pose)
                ))
                .expect("an answer");
            assert_eq!(status, 200);
            assert!(
                body == shell.read(&format!("out.{ending}")),
                "{label} {ending}"
            );
            assert!(head.contains("attachment; filename="), "{head}");
        }
        // The command itself, as it is printed, writes the file that it names.
        shell.run(command);
        let own = name.rsplit_once('.').expect("an ending").1;
        assert!(!shell.read(&format!("{stem}-turned.{own}")).is_empty());
    }
}

#[test]
fn the_json_is_that_of_the_terminal_to_the_byte() {
    let name = "mute-cradle.off";
    let bytes = demo(name);
    let desk = Running::start();
    let part = desk.upload(name, &bytes).expect("a good part")["part"].clone();
    let (mut page, _) = ranked(&desk, &part);
    let values = json!({"limit_deg": 40, "weights": {"time": 1.25}, "show": ["+x"]});
    page.say(&json!({"do": "settings", "part": part, "values": values}))
        .expect("sent");
    let ranking = page
        .wait(|m| m["say"] == "ranking" && m["final"] == true)
        .expect("a ranking");
    let command = ranking["command"].as_str().expect("a command");
    assert_eq!(
        command,
        "wayup advise --limit 40 --show 1,0,0 --weight time=1.25 mute-cradle.off"
    );
    let (status, _, body) = desk
        .get(&format!("/part/{part}/advice.json"))
        .expect("an answer");
    assert_eq!(status, 200);
    let ours = String::from_utf8(body).expect("text");
    let theirs = Shell::with(name, &bytes).run(&format!("{command} --json"));
    let before = |text: &str| text.split(",\"seconds\":").next().map(str::to_string);
    assert!(ours.contains(",\"seconds\":"));
    assert_eq!(before(&ours), before(&theirs));
    let weight = |text: &str| -> Value {
        let all: Value = serde_json::from_str(text).expect("JSON");
        let rows = all["settings"]["penalties"]
            .as_array()
            .expect("rows")
            .clone();
        rows.iter().find(|r| r["name"] == "time").expect("the row")["weight"].clone()
    };
    assert_eq!(weight(&ours), json!(1.25));
}

#[test]
fn the_sheet_is_that_of_the_terminal_and_may_begin_with_a_chosen_pose() {
    let (desk, part, shell) = beside_the_terminal("wall-hanger.stl");
    shell.run("SOURCE_DATE_EPOCH= ; unset SOURCE_DATE_EPOCH; wayup advise --sheet out.html wall-hanger.stl");
    let (status, _, body) = desk
        .get(&format!("/part/{part}/sheet.html"))
        .expect("an answer");
    assert_eq!(status, 200);
    assert!(body == shell.read("out.html"));
    let (status, _, chosen) = desk
        .get(&format!("/part/{part}/sheet.html?down=0.3,0.1,1"))
        .expect("an answer");
    assert_eq!(status, 200);
    let chosen = String::from_utf8(chosen).expect("text");
    assert!(
        chosen.contains("Chosen by hand, the "),
        "{}",
        &chosen[..2000]
    );
}

#[test]
fn the_map_is_that_of_the_terminal() {
    let (desk, part, shell) = beside_the_terminal("stand-clip.stl");
    shell.run("wayup advise --map out.svg stand-clip.stl");
    let (status, head, body) = desk
        .get(&format!("/part/{part}/map.svg"))
        .expect("an answer");
    assert_eq!(status, 200);
    assert!(head.contains("image/svg+xml"), "{head}");
    assert!(body == shell.read("out.svg"));
}

#[test]
fn what_is_not_there_is_said_so() {
    let desk = Running::start();
    let bytes = demo("wall-hanger.stl");
    let part = desk.upload("hook.stl", &bytes).expect("a good part")["part"].clone();
    for (rest, wanted) in [
        ("turned.stl", 400),
        ("turned.stl?down=0,0,0", 400),
        ("turned.stl?down=up", 400),
        ("turned.off?down=0,0,1", 404),
        ("turned.exe?down=0,0,1", 404),
        ("else.stl?down=0,0,1", 404),
        ("picture.svg?down=0,1,0", 200),
    ] {
        let (status, _, _) = desk
            .get(&format!("/part/{part}/{rest}"))
            .expect("an answer");
        assert_eq!(status, wanted, "{rest}");
    }
    let table: Value =
        serde_json::from_slice(&desk.get("/table").expect("an answer").2).expect("JSON");
    assert_eq!(table["parts"][0]["part"], part);
    assert_eq!(table["materials"][0], "PLA");
    assert_eq!(table["aims"], json!(["sound", "clean", "quick", "strong"]));
    assert_eq!(close(&desk, &part), 204);
    assert_eq!(close(&desk, &part), 404);
}
