//! The shape of `src/`: which room may import from which, no circle between files, one meaning a name.
//!
//! The one list of arrows is the table of DEVELOPERS.md; it is held to the imports in both directions.
//! Test modules are left out, comments and strings too. A declaration (`mod`, `pub use`) of a parent
//! is no import unless its own code uses the name.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

type Names = Vec<String>;

/// A file with the tokens of its code.
struct File {
    path: PathBuf,
    module: Names,
    /// Words and single signs; `::` is one token.
    tokens: Names,
    children: BTreeSet<String>,
    items: BTreeSet<String>,
    /// Types with any `pub`.
    types: BTreeSet<String>,
    /// What each name that a `use` brings stands for; whether it is passed on.
    bindings: BTreeMap<String, (Names, bool)>,
    globs: Vec<Names>,
    /// Tokens that belong to `use` declarations.
    declared: Vec<bool>,
}

/// Words, signs and `::` of Rust code, without comments, strings and lifetimes.
fn tokens(text: &str) -> Names {
    let c: Vec<char> = text.chars().collect();
    let at = |i: usize| c.get(i).copied().unwrap_or(' ');
    let word = |x: char| x.is_alphanumeric() || x == '_';
    let (mut i, mut out) = (0, Vec::new());
    while i < c.len() {
        if c[i] == '/' && at(i + 1) == '/' {
            while i < c.len() && c[i] != '\n' {
                i += 1;
            }
        } else if c[i] == '/' && at(i + 1) == '*' {
            let mut depth = 0;
            while i < c.len() {
                match (c[i], at(i + 1)) {
                    ('/', '*') => depth += 1,
                    ('*', '/') => depth -= 1,
                    _ => {
                        i += 1;
                        continue;
                    }
                }
                i += 2;
                if depth == 0 {
                    break;
                }
            }
        } else if c[i] == '"' {
            i += 1;
            while i < c.len() && c[i] != '"' {
                i += if c[i] == '\\' { 2 } else { 1 };
            }
            i += 1;
        } else if c[i] == '\'' {
            if at(i + 1) == '\\' {
                i += 3;
                while i < c.len() && c[i] != '\'' {
                    i += 1;
                }
                i += 1;
            } else if at(i + 2) == '\'' {
                i += 3;
            } else {
                i += 1;
                while word(at(i)) {
                    i += 1;
                }
            }
        } else if word(c[i]) {
            let start = i;
            while word(at(i)) {
                i += 1;
            }
            let name: String = c[start..i].iter().collect();
            let raw = matches!(name.as_str(), "r" | "br" | "cr");
            let hashes = (i..c.len()).take_while(|&k| at(k) == '#').count();
            if raw && at(i + hashes) == '"' {
                let end: String = format!("\"{}", "#".repeat(hashes));
                i += hashes + 1;
                while i < c.len() && !c[i..].iter().copied().take(hashes + 1).eq(end.chars()) {
                    i += 1;
                }
                i += hashes + 1;
            } else {
                out.push(name);
            }
        } else if c[i] == ':' && at(i + 1) == ':' {
            out.push("::".into());
            i += 2;
        } else {
            if !c[i].is_whitespace() {
                out.push(c[i].to_string());
            }
            i += 1;
        }
    }
    out
}

/// The end of the bracket that opens at `i`, one past it.
fn closed(t: &[String], mut i: usize) -> usize {
    let mut depth = 0;
    while i < t.len() {
        match t[i].as_str() {
            "(" | "[" | "{" => depth += 1,
            ")" | "]" | "}" => depth -= 1,
            _ => {}
        }
        i += 1;
        if depth == 0 {
            break;
        }
    }
    i
}

/// Without the items that stand under `#[cfg(test)]`.
fn without_tests(t: &[String]) -> Names {
    let marks = ["#", "[", "cfg", "(", "test", ")", "]"];
    let (mut i, mut out) = (0, Vec::new());
    while i < t.len() {
        if t[i..].iter().take(marks.len()).eq(marks.iter()) {
            while t.get(i).is_some_and(|x| x == "#") {
                i = closed(t, i + 1);
            }
            while i < t.len() {
                match t[i].as_str() {
                    ";" => {
                        i += 1;
                        break;
                    }
                    "{" => {
                        let use_list = t[i - 1] == "::";
                        i = closed(t, i);
                        if !use_list {
                            break;
                        }
                    }
                    "(" | "[" => i = closed(t, i),
                    _ => i += 1,
                }
            }
        } else {
            out.push(t[i].clone());
            i += 1;
        }
    }
    out
}

/// The names that a `use` tree from `i` on brings: (name or `*`, path). Stops before `;`, `,` or `}`.
fn use_tree(t: &[String], i: &mut usize, prefix: &[String], out: &mut Vec<(String, Names)>) {
    let mut path = prefix.to_vec();
    while *i < t.len() {
        match t[*i].as_str() {
            "::" => *i += 1,
            "{" => {
                *i += 1;
                while t[*i] != "}" {
                    use_tree(t, i, &path, out);
                    if t[*i] == "," {
                        *i += 1;
                    }
                }
                *i += 1;
                return;
            }
            "*" => {
                out.push(("*".into(), path));
                *i += 1;
                return;
            }
            "as" => {
                out.push((t[*i + 1].clone(), path));
                *i += 2;
                return;
            }
            "," | ";" | "}" => break,
            name => {
                if name != "self" || path.is_empty() {
                    path.push(name.into());
                }
                *i += 1;
            }
        }
    }
    if let Some(last) = path.last().cloned() {
        out.push((last, path));
    }
}

/// Reads a file and, as `mod` names them, those below it.
fn read(path: &Path, module: &[String], files: &mut Vec<File>) {
    let text = fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let t = without_tests(&tokens(&text));
    let mut file = File {
        path: path.to_owned(),
        module: module.to_vec(),
        declared: vec![false; t.len()],
        children: BTreeSet::new(),
        items: BTreeSet::new(),
        types: BTreeSet::new(),
        bindings: BTreeMap::new(),
        globs: Vec::new(),
        tokens: Vec::new(),
    };
    let mut i = 0;
    while i < t.len() {
        let next = t.get(i + 1).cloned().unwrap_or_default();
        match t[i].as_str() {
            "mod" if t.get(i + 2).is_some_and(|x| x == ";") => {
                file.children.insert(next);
            }
            // A `use<>` in a type says what that captures.
            "use" if next != "<" => {
                let passed_on = i > 0 && (t[i - 1] == "pub" || t[i - 1] == ")");
                let (start, mut brought) = (i, Vec::new());
                i += 1;
                use_tree(&t, &mut i, &[], &mut brought);
                file.declared[start..i].fill(true);
                for (name, path) in brought {
                    if name == "*" {
                        file.globs.push(path);
                    } else {
                        file.bindings.insert(name, (path, passed_on));
                    }
                }
                continue;
            }
            kind @ ("struct" | "enum" | "trait" | "type" | "union" | "fn" | "const" | "static")
                if next.starts_with(|x: char| x.is_alphabetic() || x == '_') =>
            {
                let public = i > 0
                    && (t[i - 1] == "pub"
                        || (t[i - 1] == ")" && t[..i].iter().rev().take(5).any(|x| x == "pub")));
                if public && matches!(kind, "struct" | "enum" | "trait" | "type" | "union") {
                    file.types.insert(next.clone());
                }
                file.items.insert(next);
            }
            _ => {}
        }
        i += 1;
    }
    file.tokens = t;
    let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
    let folder = path.parent().unwrap();
    let below = if matches!(stem.as_str(), "lib" | "main" | "mod") {
        folder.to_owned()
    } else {
        folder.join(&stem)
    };
    let children: Vec<String> = file.children.iter().cloned().collect();
    files.push(file);
    for child in children {
        let here = [
            below.join(format!("{child}.rs")),
            below.join(&child).join("mod.rs"),
        ];
        let found = here
            .iter()
            .find(|p| p.is_file())
            .unwrap_or_else(|| panic!("{}: no file of mod {child}", path.display()));
        read(found, &[module, &[child]].concat(), files);
    }
}

/// One import: who, from whom, which name.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Import {
    from: usize,
    to: usize,
    name: String,
}

struct House {
    files: Vec<File>,
    by_module: BTreeMap<Names, usize>,
    imports: BTreeSet<Import>,
}

impl House {
    fn read() -> Self {
        let mut files = Vec::new();
        read(Path::new("src/lib.rs"), &[], &mut files);
        let by_module = files
            .iter()
            .enumerate()
            .map(|(i, f)| (f.module.clone(), i))
            .collect();
        // The program and the Python module stand outside the library and see only its outside.
        read(
            Path::new("src/main.rs"),
            &["cli".into(), "main.rs".into()],
            &mut files,
        );
        read(
            Path::new("src/python/src/lib.rs"),
            &["python".into()],
            &mut files,
        );
        let mut house = Self {
            files,
            by_module,
            imports: BTreeSet::new(),
        };
        for from in 0..house.files.len() {
            house.imports_of(from);
        }
        house
    }

    fn room(&self, file: usize) -> &str {
        self.files[file].module.first().map_or("", String::as_str)
    }

    /// Where a path that is written in `file` leads: the file that has the item, and its name.
    fn resolve(&self, file: usize, path: &[String], depth: u8) -> Option<(usize, String)> {
        let (first, mut rest) = (path.first()?.as_str(), &path[1..]);
        let home = &self.files[file];
        let mut at = match first {
            "crate" | "wayup" => 0,
            "self" => file,
            "super" => *self
                .by_module
                .get(home.module.get(..home.module.len().checked_sub(1)?)?)?,
            _ => {
                rest = path;
                file
            }
        };
        loop {
            let Some(name) = rest.first() else {
                return Some((at, String::new()));
            };
            let here = &self.files[at];
            if name == "super" {
                at = *self
                    .by_module
                    .get(&here.module[..here.module.len().checked_sub(1)?])?;
            } else if here.children.contains(name) {
                let child = [here.module.clone(), vec![name.clone()]].concat();
                at = (0..self.files.len()).find(|&i| self.files[i].module == child)?;
            } else if here.items.contains(name) {
                return Some((at, name.clone()));
            } else if let Some((path, _)) = here.bindings.get(name).filter(|_| depth < 9) {
                if path.first() == Some(name) && !here.children.contains(name) {
                    return None; // A crate from outside.
                }
                let whole = [path.as_slice(), &rest[1..]].concat();
                return self.resolve(at, &whole, depth + 1);
            } else {
                let through = here.globs.iter().filter(|_| depth < 9);
                let mut found = through
                    .filter_map(|g| self.resolve(at, &[g.as_slice(), rest].concat(), depth + 1));
                let found = found.find(|(_, name)| !name.is_empty());
                return found.or((at != file).then(|| (at, name.clone())));
            }
            rest = &rest[1..];
        }
    }

    fn imports_of(&mut self, from: usize) {
        let file = &self.files[from];
        let mut paths: Vec<Names> = Vec::new();
        // What a `use` brings counts for the file that keeps the item; a module alone counts where it is used.
        for (name, (path, passed_on)) in &file.bindings {
            let used =
                || (0..file.tokens.len()).any(|i| !file.declared[i] && &file.tokens[i] == name);
            if !passed_on || used() {
                paths.push(path.clone());
            }
        }
        paths.extend(
            file.globs
                .iter()
                .map(|g| [g.clone(), vec!["*".into()]].concat()),
        );
        let t = &file.tokens;
        let mut i = 0;
        while i + 2 < t.len() {
            let starts = t[i].starts_with(|x: char| x.is_alphabetic() || x == '_');
            let begins = i == 0 || !(t[i - 1] == "::" || t[i - 1] == ".");
            let of_visibility = i > 1 && t[i - 1] == "in" && t[i - 2] == "(";
            if file.declared[i] || !starts || !begins || of_visibility || t[i + 1] != "::" {
                i += 1;
                continue;
            }
            let mut path = vec![t[i].clone()];
            i += 1;
            while i + 1 < t.len()
                && t[i] == "::"
                && t[i + 1].starts_with(|x: char| x.is_alphabetic() || x == '_')
            {
                path.push(t[i + 1].clone());
                i += 2;
            }
            paths.push(path);
        }
        for path in paths {
            if let Some((to, name)) = self.resolve(from, &path, 0) {
                if to != from && to != 0 && !name.is_empty() {
                    self.imports.insert(Import { from, to, name });
                }
            }
        }
    }

    fn shown(&self, file: usize) -> String {
        self.files[file].path.to_string_lossy().replace("src/", "")
    }

    /// Imports from one room by another: who, from whom, and where.
    fn arrows(&self) -> BTreeMap<(String, String), Names> {
        let mut arrows: BTreeMap<_, Names> = BTreeMap::new();
        for i in &self.imports {
            let (from, to) = (self.room(i.from), self.room(i.to));
            if from != to {
                let line = format!(
                    "{} imports {} of {}",
                    self.shown(i.from),
                    i.name,
                    self.shown(i.to)
                );
                arrows
                    .entry((from.into(), to.into()))
                    .or_default()
                    .push(line);
            }
        }
        arrows
    }

    /// Files from which each file can be reached, itself among them only on a circle.
    fn circles(&self) -> Vec<Vec<usize>> {
        let n = self.files.len();
        let mut next = vec![BTreeSet::new(); n];
        for i in &self.imports {
            next[i.from].insert(i.to);
        }
        let reach: Vec<BTreeSet<usize>> = (0..n)
            .map(|start| {
                let (mut seen, mut open) = (BTreeSet::new(), vec![start]);
                while let Some(at) = open.pop() {
                    open.extend(next[at].iter().filter(|&&to| seen.insert(to)));
                }
                seen
            })
            .collect();
        let mut circles: Vec<Vec<usize>> = Vec::new();
        for a in 0..n {
            if reach[a].contains(&a) && !circles.iter().any(|c| c.contains(&a)) {
                circles.push(
                    (0..n)
                        .filter(|&b| reach[a].contains(&b) && reach[b].contains(&a))
                        .collect(),
                );
            }
        }
        circles
    }
}

/// The table of the guide, in its order: room, rooms that it may import.
fn table() -> Vec<(String, BTreeSet<String>)> {
    let guide = fs::read_to_string("DEVELOPERS.md").expect("DEVELOPERS.md");
    let names = |cell: &str| -> Names {
        cell.split('`')
            .skip(1)
            .step_by(2)
            .map(str::to_owned)
            .collect()
    };
    let mut lines = guide
        .lines()
        .skip_while(|l| !l.starts_with("| room | may import |"));
    lines
        .next()
        .expect("DEVELOPERS.md has a table that begins with `| room | may import |`");
    let mut rows: Vec<(String, BTreeSet<String>)> = Vec::new();
    for line in lines.skip(1).take_while(|l| l.starts_with('|')) {
        let cells: Vec<&str> = line.split('|').collect();
        for room in names(cells[1]) {
            let may = names(cells[2]).into_iter().collect();
            rows.push((room, may));
        }
    }
    rows
}

#[test]
fn the_guide_names_every_room_from_the_inside_out() {
    let house = House::read();
    let table = table();
    let named: BTreeSet<&str> = table.iter().map(|(room, _)| room.as_str()).collect();
    let there: BTreeSet<&str> = (0..house.files.len())
        .map(|f| house.room(f))
        .filter(|r| !r.is_empty())
        .collect();
    assert_eq!(
        named, there,
        "rooms of the table in DEVELOPERS.md, and modules of src/lib.rs"
    );
    for (i, (room, may)) in table.iter().enumerate() {
        for other in may {
            assert!(
                table[..i].iter().any(|(above, _)| above == other),
                "DEVELOPERS.md: {room} may import {other}, which is not above it"
            );
        }
    }
}

#[test]
fn rooms_import_what_the_guide_allows_and_nothing_else() {
    let (house, table) = (House::read(), table());
    let arrows = house.arrows();
    let allowed: BTreeSet<(String, String)> = table
        .iter()
        .flat_map(|(room, may)| may.iter().map(move |m| (room.clone(), m.clone())))
        .collect();
    let mut wrong = String::new();
    for ((from, to), lines) in &arrows {
        if !allowed.contains(&(from.clone(), to.clone())) {
            wrong += &format!(
                "{from} → {to} is not in the table:\n  {}\n",
                lines.join("\n  ")
            );
        }
    }
    for (from, to) in allowed.iter().filter(|a| !arrows.contains_key(a)) {
        wrong += &format!("{from} → {to} is in the table, and nothing imports it\n");
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn pictures_draw_arrows_that_are_there() {
    let allowed: BTreeMap<String, BTreeSet<String>> = table().into_iter().collect();
    for path in ["DEVELOPERS.md", "src/lib.rs"] {
        let text = fs::read_to_string(path).unwrap_or_else(|e| panic!("{path}: {e}"));
        let picture = text
            .split("```text")
            .nth(1)
            .and_then(|t| t.split("```").next());
        let picture = picture
            .unwrap_or_else(|| panic!("{path} has no picture"))
            .replace("//!", " ");
        let drawn: Names = picture
            .split("─►")
            .filter_map(|t| t.split_whitespace().next())
            .map(str::to_owned)
            .collect();
        assert!(drawn.len() > 3 && drawn[0] == "file", "{path}: {drawn:?}");
        for pair in drawn[1..].windows(2) {
            let good = allowed
                .get(&pair[1])
                .is_some_and(|may| may.contains(&pair[0]));
            assert!(
                good,
                "{path} draws {} ─► {}, but {} may not import {}",
                pair[0], pair[1], pair[1], pair[0]
            );
        }
    }
}

/// What `tests/house.toml` says is still wrong, under one of its keys. The list may only shrink: what
/// it names and is mended has to leave it.
fn still_wrong(key: &str) -> BTreeSet<String> {
    let text = fs::read_to_string("tests/house.toml").expect("tests/house.toml");
    let file: toml::Table = text.parse().expect("tests/house.toml is TOML");
    let list = file[key].as_array().expect("a list");
    list.iter()
        .map(|v| v.as_str().expect("a text").to_owned())
        .collect()
}

/// Fails where something is wrong that the list does not name, or right that it does.
fn held_to_the_list(key: &str, found: &BTreeSet<String>, detail: &str) {
    let known = still_wrong(key);
    let new: Vec<&String> = found.difference(&known).collect();
    let mended: Vec<&String> = known.difference(found).collect();
    assert!(
        new.is_empty() && mended.is_empty(),
        "{key}\nnew: {new:#?}\nmended, to be taken out of tests/house.toml: {mended:#?}\n{detail}"
    );
}

#[test]
fn no_files_import_each_other() {
    let house = House::read();
    let (mut found, mut detail) = (BTreeSet::new(), String::new());
    for circle in house.circles() {
        for i in house
            .imports
            .iter()
            .filter(|i| circle.contains(&i.from) && circle.contains(&i.to))
        {
            detail += &format!(
                "  {} imports {} of {}\n",
                house.shown(i.from),
                i.name,
                house.shown(i.to)
            );
        }
        found.extend(circle.iter().map(|&f| house.shown(f)));
    }
    held_to_the_list("on_a_circle", &found, &detail);
}

#[test]
fn a_type_name_means_one_thing_in_all_rooms() {
    let house = House::read();
    let mut homes: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, file) in house.files.iter().enumerate() {
        for name in &file.types {
            homes.entry(name).or_default().push(i);
        }
    }
    let (mut found, mut detail) = (BTreeSet::new(), String::new());
    for (name, files) in homes {
        let rooms: BTreeSet<&str> = files.iter().map(|&f| house.room(f)).collect();
        if rooms.len() > 1 {
            let places: Names = files.iter().map(|&f| house.shown(f)).collect();
            detail += &format!("{name}: {}\n", places.join(", "));
            found.insert(name.to_owned());
        }
    }
    held_to_the_list("in_several_rooms", &found, &detail);
}

/// What reads the code is held to code with a known answer.
#[test]
fn the_reader_sees_code_and_nothing_else() {
    let text = "use a::{b::C, d::{self, E as F}, g::*}; // crate::x::y\n/* /* */ crate::z */ let s = \"crate::q\"; let r = r#\"\"crate\"#; let c = '\\''; let d = '\"'; fn f<'a>() {}\nfn g() -> impl H + use<> {}\n#[cfg(test)] mod tests { use crate::hidden; }\nfn tail() {}";
    let t = without_tests(&tokens(text));
    assert!(
        !t.iter()
            .any(|x| ["x", "z", "q", "hidden", "crate", "a'"].contains(&x.as_str())),
        "{t:?}"
    );
    assert_eq!(t.iter().filter(|x| *x == "tail").count(), 1);
    let mut brought = Vec::new();
    use_tree(&t, &mut 1, &[], &mut brought);
    let brought: Names = brought
        .into_iter()
        .map(|(name, path)| format!("{name}={}", path.join(".")))
        .collect();
    assert_eq!(brought, ["C=a.b.C", "d=a.d", "F=a.d.E", "*=a.g"]);
}
