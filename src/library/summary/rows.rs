//! One part on the page: a row of the table, the same row as data, an item of the list.

use super::words::{PLACES, aligned, saved};
use crate::library::columns::{self, GROUPS};
use crate::library::outline::BOX;
use crate::library::record::Record;
use crate::report::figures::{FigureKey, figure as row};
use crate::report::html::escape;
use crate::words::{joined, side_down};
use nalgebra::{Unit, Vector3};
use serde_json::{Value, json};

/// A column of numbers.
pub struct NumberColumn {
    /// What stands at the top.
    pub label: &'static str,
    /// Unit below it.
    pub unit: &'static str,
    /// Decimals; none for a time, which is hours and minutes.
    pub places: Option<usize>,
    /// The value of a record in that unit.
    value: fn(&PartRow) -> Option<f64>,
}

/// How many columns of numbers there are.
pub const NUMBERS: usize = 6;

/// The columns of numbers, in reading order.
pub fn numbers() -> [NumberColumn; NUMBERS] {
    let label = |key| row(key).label.as_str();
    let of = |label, unit, places, value: fn(&PartRow) -> Option<f64>| NumberColumn {
        label,
        unit,
        places,
        value,
    };
    [
        of("support saved", "cm³", Some(2), |r| {
            Some(r.number("support_saved_mm3")? / 1e3)
        }),
        of(label(FigureKey::Support), "cm³", Some(2), |r| {
            Some(columns::support_mm3(&r.record.cells)? / 1e3)
        }),
        of(label(FigureKey::Height), "mm", Some(1), |r| {
            r.figure(FigureKey::Height)
        }),
        of(label(FigureKey::Slenderness), ": 1", Some(1), |r| {
            r.figure(FigureKey::Slenderness)
        }),
        of(label(FigureKey::Sway), "mm/N", Some(2), |r| {
            r.figure(FigureKey::Sway)
        }),
        of(label(FigureKey::Printing), "h:min", None, |r| {
            r.figure(FigureKey::Printing)
        }),
    ]
}

/// Letters of a path, or of the words about a part, that are shown at most.
const MOST_LETTERS: usize = 200;

/// A record as the page shows it.
pub struct PartRow<'a> {
    /// The record.
    pub record: &'a Record,
    /// How many bytes of its path all parts share.
    pub below: usize,
    /// Where its sheet is.
    pub sheet: Option<String>,
}

impl<'a> PartRow<'a> {
    /// A record without more.
    pub fn new(record: &'a Record) -> Self {
        Self {
            record,
            below: 0,
            sheet: None,
        }
    }

    fn cell(&self, name: &str) -> &Value {
        columns::named(&self.record.cells, name)
    }

    fn text(&self, name: &str) -> &str {
        self.cell(name).as_str().unwrap_or_default()
    }

    fn number(&self, name: &str) -> Option<f64> {
        self.cell(name).as_f64()
    }

    fn figure(&self, key: FigureKey) -> Option<f64> {
        self.number(key.name())
    }

    fn is(&self, name: &str) -> bool {
        self.cell(name) == true
    }

    /// The path as it is.
    pub fn path(&self) -> &str {
        self.text("path")
    }

    /// The path below what all share.
    fn name(&self) -> String {
        let path = self.path();
        cut(path.get(self.below..).unwrap_or(path))
    }

    /// The same as HTML: it may break after a stroke, and leads to the sheet.
    fn named(&self) -> String {
        let name = escape(&self.name()).replace('/', "/<wbr>");
        match &self.sheet {
            Some(to) => format!("<a href=\"{}\">{name}</a>", escape(to)),
            None => name,
        }
    }

    fn side(&self) -> String {
        let down = ["down_x", "down_y", "down_z"].map(|n| self.number(n));
        match down {
            [Some(x), Some(y), Some(z)] => side_down(&Unit::new_normalize(Vector3::new(x, y, z))),
            _ => String::new(),
        }
    }

    /// Letters of the kinds that the part is of.
    fn kinds(&self) -> String {
        let of = GROUPS.iter().filter(|g| self.is(&g.column));
        of.map(|g| g.letter.as_str()).collect()
    }

    /// The numbers as the table prints them: rounded to the decimals of their columns.
    pub fn numbers(&self) -> [Option<f64>; NUMBERS] {
        numbers().map(|column| {
            let value = (column.value)(self).filter(|v| v.is_finite())?;
            let shift = PLACES[column.places.unwrap_or(0)];
            // Without a minus before a zero.
            Some((value * shift).round() / shift + 0.0)
        })
    }

    /// The row of the table with its line break; columns that are not `kept` are left out.
    pub fn row(&self, kept: [bool; NUMBERS]) -> String {
        let cells = numbers().into_iter().zip(self.numbers()).zip(kept);
        let cells = cells.filter(|(_, kept)| *kept).map(|((column, value), _)| {
            let text = value.map_or("–".into(), |v| aligned(v, column.places));
            format!("<td>{text}</td>")
        });
        format!(
            "<tr><td>{}</td><th scope=\"row\">{}</th><td>{}</td>{}<td>{}</td></tr>\n",
            outline(&self.record.outlines.best),
            self.named(),
            escape(&self.side()),
            joined(cells, ""),
            escape(&self.words()),
        )
    }

    /// The row as data for the script: kinds, path, side, numbers, notes, address of the sheet, and
    /// the outline if that is `drawn`.
    pub fn data(&self, drawn: bool) -> Value {
        let outline = if drawn {
            self.record.outlines.best.as_str()
        } else {
            ""
        };
        json!([
            self.kinds(),
            self.name(),
            self.side(),
            self.numbers(),
            self.words(),
            self.sheet.as_deref().unwrap_or_default(),
            outline
        ])
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
        more(self.is("sways"), "a feature sways");
        more(self.is("stored_poor"), "stored in a poor pose");
        more(self.is("broken"), "open surface");
        more(self.is("no_good_pose"), "no good pose");
        more(self.is("cut_short"), "stopped by the time limit");
        match self.text("confidence") {
            "tied" => says.push("first two poses tied".into()),
            "close" => says.push("first two poses close".into()),
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
            outline(&self.record.outlines.stored),
            outline(&self.record.outlines.best),
            self.named(),
            escape(&self.side()),
            escape(&saved(
                self.number("stored_support_needed_mm3").unwrap_or(0.0),
                columns::support_mm3(&self.record.cells).unwrap_or(0.0)
            ))
        )
    }
}

/// The part from the front; the words beside it say what it shows.
fn outline(path: &str) -> String {
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

    fn unread(path: &str, defect: &str) -> Record {
        let file = PartFile {
            path: path.into(),
            bytes: 0,
        };
        let why = Failure::new(Exit::Unreadable, "", defect, "h");
        Record::refused(&file, &why, Basis::default()).expect("plain")
    }

    #[test]
    fn a_hostile_name_is_text_and_of_bounded_length() {
        let name = format!("{}<script>alert(1)</script>.stl", "x/".repeat(2000));
        let record = unread(&name, "is <b>empty</b>");
        let row = PartRow::new(&record);
        let html = row.row([true; NUMBERS]);
        assert!(
            !html.contains("<script>") && !html.contains("<b>"),
            "{html}"
        );
        assert!(
            html.contains("&lt;script&gt;") && html.len() < 1700,
            "{html}"
        );
        assert!(html.contains("unread: is &lt;b&gt;empty"));
        assert_eq!(
            html.matches("<td").count() + html.matches("<th").count(),
            NUMBERS + 4
        );
        let data = row.data(true);
        assert_eq!(data[0], "b");
        assert!(
            data[1]
                .as_str()
                .is_some_and(|n| n.chars().count() <= MOST_LETTERS + 1)
        );
    }

    #[test]
    fn numbers_are_those_of_their_columns_in_row_and_data() {
        let mut record = unread("a.stl", "d");
        for (name, value) in [
            ("support_saved_mm3", 12_345.6),
            ("height_mm", 28.04),
            ("slender_ratio", 2.65),
            ("sway_mm_per_n", -0.001),
            ("print_min", 107.6),
        ] {
            record.cells[columns::place(name).expect(name)] = value.into();
        }
        let row = PartRow {
            sheet: Some("sheets/a.1.html".into()),
            ..PartRow::new(&record)
        };
        let wanted = [
            Some(12.35),
            None,
            Some(28.0),
            Some(2.7),
            Some(0.0),
            Some(108.0),
        ];
        assert_eq!(row.numbers(), wanted);
        assert_eq!(
            row.data(false)[3],
            json!([12.35, null, 28.0, 2.7, 0.0, 108.0])
        );
        let html = row.row([true, false, true, false, false, true]);
        assert!(
            html.contains("<td>12.35</td><td>28.0</td><td>1:48</td>"),
            "{html}"
        );
        assert!(
            html.contains("<a href=\"sheets/a.1.html\">a.stl</a>"),
            "{html}"
        );
    }
}
