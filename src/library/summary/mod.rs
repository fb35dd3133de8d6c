//! The library as a page to look at: `summary.html`, one file that asks for nothing else.
//!
//! Counts, distributions, the parts that turning helps most, and a table to sort and
//! filter; without scripts the table is a table. Counts and distributions are of all
//! parts; the table holds [`MOST_ROWS`] of them at most, so that the page of a large
//! library stays one that a browser opens, and says how they were chosen.

mod bins;
mod rows;

use super::Trouble;
use super::record::Record;
use super::store::{Counts, Store};
use crate::report::advise::CAUTIONS;
use crate::report::html::{TAIL, escape, head};
use crate::words::{count, volume};
use bins::Bins;
use rows::PartRow;

/// Rows of the table at most: about four megabytes of page.
pub const MOST_ROWS: u64 = 3000;
/// Parts of the list of those that turning helps most.
const MOST_HELPED: u64 = 20;
/// Less support is none.
const NOTHING_MM3: f64 = 1e-6;

/// What the page shows of all parts, gathered record by record.
pub struct Gathered {
    bins: Vec<Bins>,
    /// The folder that all paths begin with, with its last stroke.
    below: Option<String>,
}

impl Default for Gathered {
    /// Nothing yet.
    fn default() -> Self {
        Self {
            bins: bins::all(),
            below: None,
        }
    }
}

impl Gathered {
    /// Looks at a record.
    pub fn take(&mut self, record: &Record) {
        for bins in &mut self.bins {
            bins.take(&record.cells);
        }
        let row = PartRow(record, 0);
        let path = row.path();
        let below = self.below.get_or_insert_with(|| path.to_string());
        let same = below
            .char_indices()
            .zip(path.chars())
            .find(|((_, a), b)| a != b)
            .map_or(below.len().min(path.len()), |((i, _), _)| i);
        let folder = below.get(..same).and_then(|b| b.rfind('/'));
        below.truncate(folder.map_or(0, |i| i + 1));
    }

    /// Writes the page.
    ///
    /// # Errors
    /// What `out` says, or a database that cannot be read.
    pub fn write(
        &self,
        store: &Store,
        mut out: impl FnMut(&str) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        let counts = store.counts()?;
        let title = format!("Parts library: {}", parts(counts.parts));
        out(&head(&title, STYLE))?;
        out("<a class=\"skip\" href=\"#parts\">Skip to the parts</a>\n<main class=\"library\">\n")?;
        out(&opening(&counts))?;
        out(
            "<section aria-labelledby=\"all\"><h2 id=\"all\">All of them</h2>\n<div class=\"plots\">",
        )?;
        for bins in &self.bins {
            out(&bins.table())?;
        }
        out("</div></section>\n")?;
        let below = self.below.as_deref().unwrap_or_default();
        let helped = store.helped(MOST_HELPED)?;
        if !helped.is_empty() {
            out(&format!(
                "<section aria-labelledby=\"helped\"><h2 id=\"helped\">Where turning saves most support</h2>\n<p>The {} that lie worst in their files. The outline shows each as it lies there, the solid figure the best pose, both from the front.</p>\n<ol class=\"helped\">",
                parts(helped.len() as u64)
            ))?;
            for id in helped {
                if let Some(record) = store.record(id)? {
                    out(&PartRow(&record, below.len()).helped())?;
                }
            }
            out("</ol></section>\n")?;
        }
        let shown = store.shown(MOST_ROWS)?;
        out(&table_opening(&counts, shown.len() as u64, below))?;
        for id in shown {
            if let Some(record) = store.record(id)? {
                out(&PartRow(&record, below.len()).row())?;
            }
        }
        out("</tbody></table></div></section>\n<footer class=\"cautions\">")?;
        for caution in CAUTIONS {
            out(&format!("<p>{}</p>", escape(caution)))?;
        }
        out("</footer>\n</main>\n")?;
        out(SCRIPT)?;
        out(TAIL)
    }
}

/// "1 part", "12,000 parts".
fn parts(n: u64) -> String {
    format!("{} {}", grouped(n), if n == 1 { "part" } else { "parts" })
}

/// A whole number with a thin gap at each thousand (ISO 80000-1, from memory).
fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 && digits.len() > 4 {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    out
}

fn opening(c: &Counts) -> String {
    let mut rows = String::new();
    let mut row = |n: u64, says: &str| {
        rows.push_str(&format!(
            "<div><dt>{says}</dt><dd>{}</dd></div>",
            grouped(n)
        ));
    };
    row(c.parts - c.unread, "with an advice");
    row(c.unread, "could not be read");
    row(c.does_not_fit, "fit the bed in no pose");
    row(c.needs_support, "need support in their best pose");
    row(c.sways, "have a piece that sways there");
    row(c.loaded_poor, "lie poorly in their file");
    row(c.broken - c.unread, "have an open surface");
    if c.cut_short > 0 {
        row(c.cut_short, "were cut short by the time limit");
    }
    let gone = if c.gone > 0 {
        format!(
            "<p>{} that the library held before {} not there on the last run and left out.</p>",
            parts(c.gone),
            if c.gone == 1 { "was" } else { "were" }
        )
    } else {
        String::new()
    };
    format!(
        "<header><h1>Which way up: {}</h1>\n<dl class=\"counts\">{rows}</dl>{gone}</header>\n",
        parts(c.parts)
    )
}

/// The table down to its first row.
fn table_opening(c: &Counts, shown: u64, below: &str) -> String {
    let below = if below.is_empty() {
        String::new()
    } else {
        format!(" Paths are below {}.", escape(below))
    };
    let which = if shown < c.parts {
        format!(
            "The table holds {} of {}, so that the page opens: of each kind of trouble those with the most of it, then the first by path. All of them are in parts.csv, parts.parquet and library.sqlite beside this page.",
            grouped(shown),
            parts(c.parts)
        )
    } else {
        "All of them; more columns are in parts.csv, parts.parquet and library.sqlite beside this page.".into()
    };
    let filters: String = rows::KINDS
        .iter()
        .map(|(letter, says, _)| {
            format!("<label><input type=\"checkbox\" value=\"{letter}\"> {says}</label>")
        })
        .collect::<Vec<_>>()
        .concat();
    let heads: String = rows::HEADS
        .iter()
        .map(|(name, unit)| {
            let unit = if unit.is_empty() {
                String::new()
            } else {
                format!(" <span class=\"unit\">{unit}</span>")
            };
            format!("<th scope=\"col\">{name}{unit}</th>")
        })
        .collect::<Vec<_>>()
        .concat();
    format!(
        "<section aria-labelledby=\"parts\"><h2 id=\"parts\">The parts</h2>\n<p>{which}{below}</p>\n<form class=\"filters\" hidden><fieldset><legend>Only those that</legend>{filters}</fieldset><p role=\"status\" id=\"left\"></p></form>\n<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"Table of the parts\"><table id=\"table\"><thead><tr><th scope=\"col\">Figure</th>{heads}</tr></thead><tbody>\n"
    )
}

/// What one part of the list says.
fn saved(from: f64, to: f64) -> String {
    if to < NOTHING_MM3 {
        return format!("no support instead of {}", volume(from));
    }
    format!("{} of support instead of {}", volume(to), volume(from))
}

/// The noun for a distribution: how many parts it is of.
fn of_parts(n: u64) -> String {
    count(n as usize, "part", "parts")
}

const STYLE: &str = "\
.library{max-width:78rem;margin:0 auto;padding:1rem}
.library>header,.library section{background:var(--paper);border:1px solid var(--line);padding:1.1rem 1.3rem;margin:0 0 1rem}
.library p{max-width:48rem}
.counts{display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:.6rem 1rem;margin:0 0 .6rem}
.counts div{display:flex;flex-direction:column-reverse;justify-content:flex-end;border-top:2px solid var(--ink);padding-top:.2rem}
.counts dd{margin:0;font-size:1.5em;font-variant-numeric:tabular-nums;line-height:1.1}.counts dt{color:var(--soft)}
.plots{display:grid;grid-template-columns:repeat(auto-fit,minmax(16rem,1fr));gap:1rem 1.6rem}
.bars caption{text-align:left;font-weight:600;padding:0 0 .25em}
.bars th,.bars td{border:0;padding:.06em .3em;text-align:left;white-space:nowrap}.bars td:last-child{text-align:right}
.bars .bar{width:55%}.bars i{display:block;height:.85em;background:var(--ink);print-color-adjust:exact;-webkit-print-color-adjust:exact}
.f{width:48px;height:50px;flex:none;border-bottom:2px solid var(--line);display:block}.f path{fill:var(--ink);stroke:none}
.helped{display:grid;grid-template-columns:repeat(auto-fit,minmax(17rem,1fr));gap:.7rem 1.4rem;padding:0;margin:0;list-style:none;counter-reset:n}
.helped li{display:flex;gap:.7rem;align-items:center;counter-increment:n}.helped li::before{content:counter(n);color:var(--soft);min-width:1.4em;text-align:right}
.helped .f:first-of-type path{fill:none;stroke:var(--ink);stroke-width:1}
.helped div{min-width:0;overflow-wrap:anywhere}
.filters fieldset{border:1px solid var(--line);display:flex;flex-wrap:wrap;gap:.3rem 1.2rem;margin:0 0 .5rem;padding:.4rem .8rem}
.filters label{padding:.2rem 0}.filters input{accent-color:var(--blue)}
#table tbody th{min-width:9rem;max-width:22rem;overflow-wrap:anywhere}
#table td:nth-child(3),#table td:last-child,#table thead th:nth-child(3),#table thead th:last-child,#table thead th:nth-child(2){text-align:left}
#table td:nth-child(3){min-width:7rem}#table td:last-child{min-width:11rem}
#table tr{content-visibility:auto;contain-intrinsic-size:auto 56px}
#table thead button{font:inherit;color:inherit;background:none;border:0;padding:.2em 0;cursor:pointer;text-align:inherit;text-decoration:underline dotted}
#table th[aria-sort] button{text-decoration:underline}
#table th[aria-sort=ascending] button::after{content:' \u{2191}'}#table th[aria-sort=descending] button::after{content:' \u{2193}'}
.cautions{font-size:.86em;color:var(--soft)}
@media print{@page{margin:12mm}.library{padding:0;max-width:none;font-size:8.5pt}.library>header,.library section{border:0;padding:0;margin:0 0 5mm}.filters{display:none}.bars,.helped li,#table tr{break-inside:avoid}.scroll{overflow:visible}}";

/// Sorts by a column, shows only parts of some kinds.
const SCRIPT: &str = "<script>
(() => {
  const table = document.getElementById('table');
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const form = document.querySelector('.filters');
  const left = document.getElementById('left');
  const boxes = [...form.querySelectorAll('input')];
  form.hidden = false;
  form.addEventListener('submit', (e) => e.preventDefault());
  const filter = () => {
    const on = boxes.filter((b) => b.checked).map((b) => b.value);
    let n = 0;
    for (const row of rows) {
      row.hidden = !on.every((k) => row.dataset.k.includes(k));
      if (!row.hidden) n++;
    }
    left.textContent = `${n} of ${rows.length} rows`;
  };
  boxes.forEach((b) => b.addEventListener('change', filter));
  filter();
  const heads = [...table.tHead.rows[0].cells];
  const value = (row, i) => {
    const cell = row.cells[i];
    return cell.dataset.v === undefined ? cell.textContent : Number(cell.dataset.v);
  };
  const order = (a, b) => {
    if (typeof a === 'string' && typeof b === 'string') return a < b ? -1 : a > b ? 1 : 0;
    // What is not known comes last either way.
    return a - b;
  };
  heads.slice(1).forEach((head, k) => {
    const i = k + 1;
    const button = document.createElement('button');
    button.type = 'button';
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener('click', () => {
      const numbers = rows.some((r) => r.cells[i].dataset.v !== undefined);
      const was = head.getAttribute('aria-sort');
      const up = was ? was === 'descending' : !numbers;
      heads.forEach((h) => h.removeAttribute('aria-sort'));
      head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
      const known = (r) => !numbers || r.cells[i].dataset.v !== undefined;
      rows.sort((a, b) => {
        if (known(a) !== known(b)) return known(a) ? -1 : 1;
        if (!known(a)) return 0;
        const o = order(value(a, i), value(b, i));
        return up ? o : -o;
      });
      body.append(...rows);
    });
  });
})();
</script>
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::record::{Basis, Origin, Refused};

    #[test]
    fn paths_are_shown_below_the_folder_that_they_share() {
        let mut page = Gathered::default();
        for (path, below) in [
            ("lib/ö/a.stl", "lib/ö/"),
            ("lib/ö/b/c.stl", "lib/ö/"),
            ("lib/õ/a.stl", "lib/"),
            ("lid.stl", ""),
        ] {
            let origin = Origin {
                key: path.into(),
                shown: path.into(),
                bytes: 0,
            };
            let refused = Refused {
                exit: 3,
                defect: "d".into(),
                hint: "h".into(),
                late: false,
            };
            let record = Record::refused(&origin, &refused, Basis::default()).expect("plain");
            page.take(&record);
            assert_eq!(page.below.as_deref(), Some(below), "{path}");
        }
    }

    #[test]
    fn thousands_stand_apart_from_five_digits_on() {
        assert_eq!(grouped(9999), "9999");
        assert_eq!(grouped(12_345), "12\u{202f}345");
        assert_eq!(grouped(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(parts(1), "1 part");
    }
}
