//! One part on the page.

use super::words::saved;
use crate::library::columns::{self, GROUPS};
use crate::library::outline::BOX;
use crate::library::record::Record;
use crate::report::figures::{FigureKey, figure as row};
use crate::report::html::escape;
use crate::words::{decimal, side_down, three};
use nalgebra::{Unit, Vector3};
use serde_json::Value;

/// Columns of the table after the figure: name and unit.
pub fn heads() -> [(&'static str, &'static str); 9] {
    let label = |key| row(key).label.as_str();
    [
        ("Part", ""),
        ("Which way up", ""),
        (label(FigureKey::Height), "mm"),
        (label(FigureKey::Support), "cm³"),
        ("support saved", "cm³"),
        (label(FigureKey::Slenderness), ": 1"),
        (label(FigureKey::Sway), "mm/N"),
        (label(FigureKey::Printing), "min"),
        ("notes", ""),
    ]
}

/// Letters of a path, or of the words about a part, that are shown at most.
const MOST_LETTERS: usize = 200;

/// A record as the page shows it, and how many bytes of its path all parts share.
pub struct PartRow<'a>(pub &'a Record, pub usize);

impl PartRow<'_> {
    fn cell(&self, name: &str) -> &Value {
        columns::named(&self.0.cells, name)
    }

    fn text(&self, name: &str) -> &str {
        self.cell(name).as_str().unwrap_or_default()
    }

    fn number(&self, name: &str) -> Option<f64> {
        self.cell(name).as_f64()
    }

    fn is(&self, name: &str) -> bool {
        self.cell(name) == true
    }

    /// The path as it is.
    pub fn path(&self) -> &str {
        self.text("path")
    }

    /// The path below what all share, which may break after a stroke.
    fn name(&self) -> String {
        let path = self.path();
        escape(&cut(path.get(self.1..).unwrap_or(path))).replace('/', "/<wbr>")
    }

    fn side(&self) -> String {
        let down = ["down_x", "down_y", "down_z"].map(|n| self.number(n));
        match down {
            [Some(x), Some(y), Some(z)] => side_down(&Unit::new_normalize(Vector3::new(x, y, z))),
            _ => String::new(),
        }
    }

    /// The row of the table with its line break.
    pub fn row(&self) -> String {
        let kinds: String = (GROUPS.iter())
            .filter(|g| self.is(&g.column))
            .map(|g| g.letter.as_str())
            .collect();
        let number = |value: Option<f64>, per: f64| match value {
            Some(x) => format!("<td data-v=\"{}\">{}</td>", x / per, shown(x / per)),
            None => "<td>–</td>".into(),
        };
        format!(
            "<tr data-k=\"{kinds}\"><td>{}</td><th scope=\"row\">{}</th><td>{}</td>{}{}{}{}{}{}<td>{}</td></tr>\n",
            figure(&self.0.outlines.best),
            self.name(),
            escape(&self.side()),
            number(self.number(FigureKey::Height.name()), 1.0),
            number(columns::support_mm3(&self.0.cells), 1e3),
            number(self.number("support_saved_mm3"), 1e3),
            number(self.number(FigureKey::Slenderness.name()), 1.0),
            number(self.number(FigureKey::Sway.name()), 1.0),
            number(self.number(FigureKey::Printing.name()), 1.0),
            escape(&self.words()),
        )
    }

    /// What to know of the part, in a few words.
    fn words(&self) -> String {
        if self.text("status") == "unread" {
            return cut(&format!("unread: {}", self.text("error")));
        }
        let mut says = Vec::new();
        let mut more = |yes: bool, what: &str| {
            if yes {
                says.push(what.to_string());
            }
        };
        more(self.is("does_not_fit"), "fits the bed in no pose");
        more(self.is("needs_support"), "needs support");
        more(self.is("sways"), "a piece sways");
        more(self.is("loaded_poor"), "lies poorly in its file");
        more(self.is("broken"), "open surface");
        more(self.is("no_good_pose"), "no pose is a good one");
        more(self.is("cut_short"), "search cut short");
        match self.text("confidence") {
            "tied" => says.push("a toss-up".into()),
            "close" => says.push("a close call".into()),
            _ => {}
        }
        let remarks = self.cell("remarks").as_u64().unwrap_or(0) as usize;
        if remarks > 0 {
            let remarks = crate::words::count(remarks, "remark", "remarks");
            says.push(format!("{remarks} on the file"));
        }
        says.join("; ")
    }

    /// The item of the list of those that turning helps most.
    pub fn helped(&self) -> String {
        format!(
            "<li>{}{}<div><b>{}</b><br>{}: {}</div></li>\n",
            figure(&self.0.outlines.loaded),
            figure(&self.0.outlines.best),
            self.name(),
            escape(&self.side()),
            escape(&saved(
                self.number("loaded_support_needed_mm3").unwrap_or(0.0),
                columns::support_mm3(&self.0.cells).unwrap_or(0.0)
            ))
        )
    }
}

/// Three digits, and no more than three decimals.
fn shown(x: f64) -> String {
    if x.abs() < 1.0 {
        decimal(x, 3)
    } else {
        three(x)
    }
}

/// A figure; the words beside it say what it shows.
fn figure(path: &str) -> String {
    if path.is_empty() {
        return String::new();
    }
    format!(
        "<svg class=\"f\" viewBox=\"0 0 {BOX} {BOX}\" aria-hidden=\"true\"><path d=\"{path}\"/></svg>"
    )
}

/// The end of a text that is too long: of a path the telling part.
fn cut(text: &str) -> String {
    let letters = text.chars().count();
    if letters <= MOST_LETTERS {
        return text.to_string();
    }
    let rest: String = text.chars().skip(letters - MOST_LETTERS).collect();
    format!("…{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::record::Basis;
    use crate::library::walk::PartFile;
    use crate::session::exit::{Exit, Failure};

    #[test]
    fn a_hostile_name_is_text_and_of_bounded_length() {
        let name = format!("{}<script>alert(1)</script>.stl", "x/".repeat(2000));
        let file = PartFile {
            path: name.into(),
            bytes: 0,
        };
        let why = Failure::new(Exit::Unreadable, "", "is <b>empty</b>", "h");
        let record = Record::refused(&file, &why, Basis::default()).expect("plain");
        let row = PartRow(&record, 0).row();
        assert!(!row.contains("<script>") && !row.contains("<b>"), "{row}");
        assert!(row.contains("&lt;script&gt;") && row.len() < 1700, "{row}");
        assert!(row.contains("unread: is &lt;b&gt;empty"));
        assert!(row.starts_with("<tr data-k=\"b\">"));
        assert_eq!(
            row.matches("<td").count() + row.matches("<th").count(),
            heads().len() + 1
        );
    }
}
