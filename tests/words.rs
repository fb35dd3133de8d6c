//! One word for each thing: no text that a person reads has one of the words given up for it.
//!
//! Read are the help, the JSON Schema, the text of `src/` (string literals outside tests, tables, pages,
//! the desk) and the documents. What was given up stands in [`NEVER`] with what is said now.

use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// What is not said, and what is said in its place. A star stands for any ending.
const NEVER: &[(&str, &str)] = &[
    // One label for each figure.
    ("laid on air", "overhang"),
    ("ceiling that bridges", "bridge"),
    ("ceilings bridge", "bridges"),
    ("middling", "bridge"),
    ("broad ceiling", "bridge"),
    ("ledge", "cantilever"),
    ("ledges", "cantilever"),
    ("floating start*", "island"),
    ("begin in the air", "start with nothing below"),
    ("begins in the air", "starts with nothing below"),
    ("room for support", "space that support fills"),
    ("room that support", "space that support fills"),
    ("columns to be filled", "support"),
    ("paid for", "support"),
    ("shut in for good", "trapped support"),
    ("for good", "trapped support"),
    ("stay shut in", "trapped support"),
    ("scar", "support marks"),
    ("scars", "support marks"),
    ("slimmest free", "slenderness"),
    ("wobbl*", "sway"),
    ("yielding", "sway"),
    ("softest tip", "sway"),
    ("thin thing*", "slenderness"),
    ("° too far", "tipping angle"),
    ("stair step*", "layer steps"),
    ("stairs", "layer steps"),
    ("shrink pull", "base shrinkage"),
    ("story", "layer profile"),
    ("way it can lie", "pose"),
    ("ways it can lie", "poses"),
    ("as loaded", "as stored"),
    ("lies poorly", "stored in a poor pose"),
    ("lie poorly", "stored in a poor pose"),
    ("undominated", "Pareto-optimal"),
    ("betters", "is better than"),
    ("bettered", "at least as good"),
    ("a hair", "practically equal, slightly"),
    ("carries a pull", "load"),
    ("pull along", "load along"),
    ("pull on the part", "load on the part"),
    ("pull that the part", "load on the part"),
    ("side to be shown", "cosmetic side"),
    ("sides to be shown", "cosmetic sides"),
    ("must come out clean", "cosmetic side"),
    ("centroid over", "centre of mass"),
    ("under the centroid", "centre of mass"),
    // Sentences found wanting.
    ("words of the command", "command line"),
    ("goes before", "takes precedence over"),
    ("decides nothing", "leaves the requirement undecided"),
    ("beats the earlier", "override"),
    ("beats both", "override"),
    ("told apart by content", "recognised by content"),
    ("passed over", "skipped"),
    ("known from before", "unchanged"),
    ("views of a drawing stand", "projection method"),
    ("in place of its own", "override"),
    ("wishes", "priorities"),
    ("no area at all", "only at a point or an edge"),
    ("in no area", "only at a point or an edge"),
    ("with no area", "only at a point or an edge"),
    ("support worth setting", "no support needed"),
    ("bore walls that lie", "walls of horizontal bores"),
    ("lying bore*", "horizontal bores"),
    ("got out", "removed"),
    ("keep draught off", "keep it out of draughts"),
    ("and with it time", "so layer time"),
    ("presses it narrower", "squeezes it narrower"),
    ("print two at once", "print two copies"),
    ("let the machine slow down", "set a minimum layer time"),
    ("in all that weighs", "on every weighted figure"),
    ("each its own way", "when every weight varies"),
    ("low is good", "lower is better"),
    ("facets found", "faces of the convex hull"),
    ("turned while reading", "corrected while reading"),
    ("strands across", "hatching along an arrow"),
    ("axonometr*", "pictorial view"),
    ("is a whole hook", "follows the whole hook"),
    ("is the whole hook", "follows the whole hook"),
    ("what each comes to", "how your choice scores"),
    ("an advice", "advice"),
    ("what to know", "notes"),
    ("lay a part", "drop a part file here"),
    ("come closer", "zoom"),
    ("walk around", "orbit the view"),
    ("take off", "remove"),
    ("measured anew", "measured again"),
    ("mend that place", "fix that line"),
    ("is cut short at", "is truncated"),
    ("or cut short", "is truncated"),
    ("broke off", "was interrupted"),
    ("of a second run nothing comes", "a second run is refused"),
    (
        "a slip is refused",
        "errors are reported before any part is read",
    ),
    // The act of choosing a face.
    ("lay on face", "turn this face down"),
    ("lay it on", "stand it on"),
    ("laying it on", "standing it on"),
    ("lay it flat", "turn this face down"),
    ("lays it flat", "turn this face down"),
    ("lay flat", "turn this face down"),
    ("place on face", "turn this face down"),
    ("lays the part on", "turns this face down"),
    // One per part, not a … a part.
    ("a page a part", "one page per part"),
    ("a case a part", "one case per part"),
    ("a record a part", "one record per part"),
    ("a line a part", "one line per part"),
    ("a row a part", "one row per part"),
    ("a folder a share", "one folder per share"),
    ("seconds a layer", "seconds per layer"),
];

/// Names in the code that keep an old word: penalties, precautions, a key of the desk; and one that
/// is refused.
const CODE: [&str; 5] = ["ledge", "scar", "stairs", "story", "measured_anew"];

/// Where `word` stands in `text` by itself: no letter before it, and none behind it but for a star.
fn stands(text: &str, word: &str) -> bool {
    let (word, any_ending) = match word.strip_suffix('*') {
        Some(word) => (word, true),
        None => (word, false),
    };
    let letter = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
    text.match_indices(word).any(|(at, _)| {
        let behind = text[at + word.len()..].chars().next();
        !letter(text[..at].chars().next_back()) && (any_ending || !letter(behind))
    })
}

/// The words of a text that are not to be there, each with what is said now.
fn given_up(text: &str) -> Vec<String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = text.to_lowercase();
    let found = NEVER.iter().filter(|(never, _)| stands(&text, never));
    found
        .map(|(never, now)| format!("'{never}', say: {now}"))
        .collect()
}

/// String literals of Rust code, without those of tests and comments. A backslash at the end of a
/// line joins it to the next.
fn literals(code: &str) -> Vec<String> {
    let code = code.split("#[cfg(test)]\nmod tests {").next();
    let c: Vec<char> = code.unwrap_or_default().chars().collect();
    let at = |i: usize| c.get(i).copied().unwrap_or(' ');
    let (mut i, mut out) = (0, Vec::new());
    while i < c.len() {
        match (c[i], at(i + 1)) {
            ('/', '/') => {
                while i < c.len() && c[i] != '\n' {
                    i += 1;
                }
            }
            // A character or a lifetime.
            ('\'', '\\') => i += 3,
            ('\'', _) if at(i + 2) == '\'' => i += 3,
            ('"', _) => {
                let mut text = String::new();
                i += 1;
                while i < c.len() && c[i] != '"' {
                    if c[i] == '\\' {
                        i += 1;
                        text.push(if at(i).is_whitespace() { ' ' } else { at(i) });
                        if at(i) == 'n' {
                            text.pop();
                            text.push('\n');
                        }
                    } else {
                        text.push(c[i]);
                    }
                    i += 1;
                }
                out.push(text);
                i += 1;
            }
            _ => i += 1,
        }
    }
    out
}

/// All files below a folder.
fn below(folder: &Path, out: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            below(&path, out);
        } else {
            out.push(path);
        }
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Texts with what to call them, from the files.
fn texts() -> Vec<(String, String)> {
    let mut files = Vec::new();
    for folder in ["src", "examples", "meshes"] {
        below(&root().join(folder), &mut files);
    }
    files.push(root().join("README.md"));
    let mut out = Vec::new();
    for path in files {
        let name = path
            .strip_prefix(root())
            .expect("below")
            .display()
            .to_string();
        let of_tests =
            name.contains("/tests") || name.contains("_tests") || name.contains("fixture");
        if of_tests || name.contains("/three") {
            continue;
        }
        let kind = path
            .extension()
            .and_then(|e| e.to_str())
            .unwrap_or_default();
        let text = || fs::read_to_string(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
        match kind {
            "rs" => out.extend(literals(&text()).into_iter().map(|t| (name.clone(), t))),
            // A comment of a table is no text of the program.
            "toml" => {
                let lines = text().lines().map(String::from).collect::<Vec<_>>();
                let said = lines.into_iter().filter(|l| !l.starts_with('#'));
                out.extend(said.map(|l| (name.clone(), l)));
            }
            "js" | "css" => {
                let lines = text().lines().map(String::from).collect::<Vec<_>>();
                let comment = |l: &String| l.trim_start().starts_with(['/', '*']);
                out.extend(
                    lines
                        .into_iter()
                        .filter(|l| !comment(l))
                        .map(|l| (name.clone(), l)),
                );
            }
            "html" | "md" | "sh" | "yaml" | "py" | "pyi" => {
                let coded = |text: String, code: &&str| text.replace(&format!("`{code}`"), "");
                out.push((name.clone(), CODE.iter().fold(text(), coded)));
            }
            _ => {}
        }
    }
    out
}

#[test]
fn no_text_of_a_file_has_a_word_that_was_given_up() {
    let texts = texts();
    let files: BTreeSet<&str> = texts.iter().map(|(name, _)| name.as_str()).collect();
    for read in [
        "README.md",
        "src/cli/help.rs",
        "src/desk/assets/index.html",
        "src/desk/assets/figures.js",
        "src/report/figures.toml",
        "src/docs/quickstart.md",
        "examples/cluster/share.sh",
        "meshes/README.md",
    ] {
        assert!(files.contains(read), "{read} is not read");
    }
    let mut found = Vec::new();
    for (name, text) in &texts {
        let code = CODE.iter().any(|code| {
            let quoted = text.trim().trim_matches(['"', '\'']) == *code;
            quoted || text.contains(&format!("= \"{code}\"")) || text.contains(&format!("{code}'"))
        });
        if !code {
            found.extend(
                given_up(text)
                    .into_iter()
                    .map(|why| format!("{name}: {why}")),
            );
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// What a schema says of its keys, with the name of each.
fn described(schema: &Value, out: &mut Vec<(String, String)>) {
    match schema {
        Value::Object(entries) => {
            for (key, value) in entries {
                match value.as_str() {
                    Some(says) if key == "description" || key == "title" => {
                        out.push(("schema".into(), says.into()));
                    }
                    _ => described(value, out),
                }
            }
        }
        Value::Array(entries) => entries.iter().for_each(|e| described(e, out)),
        _ => {}
    }
}

#[test]
fn neither_help_nor_schema_has_a_word_that_was_given_up() {
    let mut texts = Vec::new();
    described(&wayup::report::schema::document(), &mut texts);
    assert!(texts.len() > 150, "{}", texts.len());
    let mut command = wayup::cli::args::command();
    texts.push(("help".into(), command.render_long_help().to_string()));
    for sub in command.get_subcommands_mut() {
        let help = sub.render_long_help().to_string();
        texts.push((format!("help of {}", sub.get_name()), help));
    }
    for (name, text) in texts {
        assert_eq!(given_up(&text), Vec::<String>::new(), "{name}");
    }
}

/// A material value cites only what was opened; where nothing was, it says so in these words.
#[test]
fn a_material_value_that_cites_nothing_says_that_it_is_from_memory() {
    for material in wayup::materials::MATERIALS.iter() {
        let source = &material.source;
        assert!(
            source.contains("typical value"),
            "{}: {source}",
            material.name
        );
        for (at, _) in source.match_indices("from memory") {
            let before = source[..at].trim_end_matches([' ', ',']);
            let typical = before.ends_with("typical value") || before.ends_with("typical values");
            assert!(typical, "{}: {source}", material.name);
        }
    }
}

#[test]
fn what_is_given_up_is_found_by_itself_and_across_lines() {
    assert_eq!(given_up("It lies\n  poorly in its file.").len(), 1);
    assert_eq!(given_up("Scars, ledges").len(), 2);
    assert!(given_up("Knowledge of history; a scarf, a sledge").is_empty());
    assert!(given_up("Support marks; a cantilever; sway").is_empty());
    let code = "let a = \"one \\\n   two\"; // \"three\"\nlet b = '\"'; let c = \"fo\\\"ur\";\n#[cfg(test)]\nmod tests { \"five\" }";
    let said: Vec<String> = literals(code);
    assert_eq!(said.len(), 2, "{said:?}");
    assert_eq!(
        said[0].split_whitespace().collect::<Vec<_>>(),
        ["one", "two"]
    );
    assert_eq!(said[1], "fo\"ur");
}
