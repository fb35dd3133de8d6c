//! The documents: the page of the figures is made from the tables, links lead somewhere, and the README
//! begins with what it is for.
//!
//! `WAYUP_GOLDEN=write cargo test --test docs` writes `src/docs/figures.md` anew.

use std::fs;
use std::path::Path;
use wayup::rank::penalties::ROWS;
use wayup::report::figures::{TABLE, charged};
use wayup::settings::Settings;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read(name: &str) -> String {
    fs::read_to_string(root().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// The page of the figures, from the tables that the program itself prints from.
fn figures_page() -> String {
    let settings = Settings::default();
    let mut out = String::from(
        "# Figures\n\nWhat each figure of a pose measures, what it means, and what to do about it, with the default\nsettings. The terminal, the sheet, the lesson, the library and the desk use the same labels. The key is\nthe one of the JSON; `wayup schema` has all of them.\n\n![Twelve sections through simple parts on the bed, each marked where a figure is measured: height, contact, overhang, support, bridge, cantilever, islands, trapped support, slenderness, tipping angle, layer steps, support marks](../../examples/pictures/figures.svg)\n",
    );
    for figure in TABLE.iter() {
        let unit = match figure.quantity.small.0.trim() {
            "" => String::new(),
            unit => format!(", in {unit}"),
        };
        out += &format!(
            "\n## {}\n\n`{}`{unit}. {} {} **{}**\n",
            figure.label,
            figure.key.name(),
            figure.measured(&settings),
            figure.means,
            figure.todo
        );
    }
    out += "\n# What a pose costs\n\nThe total of a pose is the sum of weight × scale over these rows; lower is better. `--weight ROW=VALUE`\noverrides a weight. `surface` is the area of the whole surface.\n\n| about | row | weight | scale | why |\n|---|---|---|---|---|\n";
    for row in ROWS.iter() {
        out += &format!(
            "| {} | `{}` | {} | {} | {} |\n",
            charged(row.penalty).label,
            row.name(),
            row.weight,
            row.scale,
            row.why
        );
    }
    out
}

#[test]
fn the_page_of_the_figures_is_that_of_the_tables() {
    let made = figures_page();
    if std::env::var_os("WAYUP_GOLDEN").is_some_and(|v| v == "write") {
        fs::write(root().join("src/docs/figures.md"), &made).expect("written");
    }
    assert_eq!(read("src/docs/figures.md"), made);
}

#[test]
fn links_of_the_documents_lead_to_files() {
    let mut links = 0;
    for page in [
        "README.md",
        "src/docs/quickstart.md",
        "src/docs/library.md",
        "src/docs/requirements.md",
        "src/docs/evidence.md",
        "examples/cluster/README.md",
        "src/python/README.md",
    ] {
        let folder = root().join(page).parent().expect("a folder").to_path_buf();
        let text = read(page);
        for link in text.split("](").skip(1) {
            let to = link.split(')').next().expect("an end");
            if !to.starts_with("http") {
                links += 1;
                assert!(folder.join(to).exists(), "{page} leads to {to}");
            }
        }
    }
    assert!(links > 12, "{links}");
}

#[test]
fn the_readme_begins_with_the_job_and_its_two_commands() {
    let text = read("README.md");
    let at = |piece: &str| text.find(piece).unwrap_or_else(|| panic!("no {piece}"));
    let places = [
        "# wayup\n",
        "which way up it goes",
        "```sh\ncargo run --release -- advise meshes/page-holder.stl\ntests/run\n```",
        "](examples/pictures/sheet.png)",
        "## Commands",
        "## How good is the advice",
        "## How far to trust it",
    ];
    assert!(places.map(at).is_sorted());
    // Nothing between the title and the job; every command of the program is in the table.
    assert_eq!(
        text.lines().nth(2).map(|l| l.starts_with("Before a part")),
        Some(true)
    );
    for command in wayup::cli::args::command().get_subcommands() {
        at(&format!("`wayup {}", command.get_name()));
    }
}
