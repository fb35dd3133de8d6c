//! One part on the page.

use super::saved;
use crate::library::columns::{self, Cell};
use crate::library::outline::BOX;
use crate::library::record::Record;
use crate::report::figures::{HEIGHT, PRINTING, SLENDERNESS, SUPPORT, SWAY};
use crate::report::html::escape;
use crate::words::{decimal, side_down, three};
use nalgebra::{Unit, Vector3};

/// Kinds of parts that the table can be cut down to: letter, words, column.
pub const KINDS: [(&str, &str, &str); 5] = [
    ("s", "need support", "needs_support"),
    ("w", "sway", "sways"),
    ("f", "do not fit the bed", "does_not_fit"),
    ("l", "lie poorly in their file", "loaded_poor"),
    ("b", "have a broken file", "broken"),
];

/// Columns of the table after the figure: name and unit.
pub const HEADS: [(&str, &str); 9] = [
    ("Part", ""),
    ("Which way up", ""),
    (HEIGHT.label, "mm"),
    (SUPPORT.label, "cm³"),
    ("support saved", "cm³"),
    (SLENDERNESS.label, ": 1"),
    (SWAY.label, "mm/N"),
    (PRINTING.label, "min"),
    ("notes", ""),
];

/// Letters of a path, or of the words about a part, that are shown at most.
const MOST_LETTERS: usize = 200;

/// A record as the page shows it, and how many bytes of its path all parts share.
pub struct PartRow<'a>(pub &'a Record, pub usize);

impl PartRow<'_> {
    fn cell(&self, name: &str) -> Option<&Cell> {
        columns::place(name).and_then(|i| self.0.cells.get(i))
    }

    fn text(&self, name: &str) -> &str {
        match self.cell(name) {
            Some(Cell::Text(text)) => text,
            _ => "",
        }
    }

    fn number(&self, name: &str) -> Option<f64> {
        match self.cell(name) {
            Some(Cell::Number(x)) => Some(*x),
            _ => None,
        }
    }

    fn is(&self, name: &str) -> bool {
        self.cell(name) == Some(&Cell::Truth(true))
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
        let kinds: String = KINDS
            .iter()
            .filter(|(_, _, column)| self.is(column))
            .map(|(letter, _, _)| *letter)
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
            number(self.number(HEIGHT.key), 1.0),
            number(columns::support_mm3(&self.0.cells), 1e3),
            number(self.number("support_saved_mm3"), 1e3),
            number(self.number(SLENDERNESS.key), 1.0),
            number(self.number(SWAY.key), 1.0),
            number(self.number(PRINTING.key), 1.0),
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
        if let Some(Cell::Whole(n)) = self.cell("remarks") {
            if *n > 0 {
                says.push(format!(
                    "{} on the file",
                    crate::words::count(*n as usize, "remark", "remarks")
                ));
            }
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
    use crate::library::record::{Basis, Origin, Refused};

    #[test]
    fn a_hostile_name_is_text_and_of_bounded_length() {
        let name = format!("{}<script>alert(1)</script>.stl", "x/".repeat(2000));
        let origin = Origin {
            key: name.clone(),
            shown: name,
            bytes: 0,
        };
        let refused = Refused {
            exit: 3,
            defect: "is <b>empty</b>".into(),
            hint: "h".into(),
            late: false,
        };
        let record = Record::refused(&origin, &refused, Basis::default()).expect("plain");
        let row = PartRow(&record, 0).row();
        assert!(!row.contains("<script>") && !row.contains("<b>"), "{row}");
        assert!(row.contains("&lt;script&gt;") && row.len() < 1700, "{row}");
        assert!(row.contains("unread: is &lt;b&gt;empty"));
        assert!(row.starts_with("<tr data-k=\"b\">"));
        assert_eq!(
            row.matches("<td").count() + row.matches("<th").count(),
            HEADS.len() + 1
        );
    }
}
