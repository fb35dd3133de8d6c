//! HTML by hand: escaping, and the ink-on-paper style that all pages share.

use crate::words::{is_unseen, joined};

/// Text made safe for an element or a quoted attribute. Control characters, which no
/// page can show, become blanks; marks that turn the direction of writing become escapes.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c if is_unseen(c) => out.extend(c.escape_default()),
            c => out.push(c),
        }
    }
    out
}

/// The head of a page: everything up to and with `<body>`.
pub fn head(title: &str, more_css: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"generator\" content=\"wayup {}\">\n<title>{}</title>\n\
         <style>\n{STYLE}\n{DRAWING}\n{more_css}\n</style>\n</head>\n<body>\n",
        env!("CARGO_PKG_VERSION"),
        escape(title)
    )
}

/// The end of a page.
pub const TAIL: &str = "</body>\n</html>\n";

/// A list of sentences, or nothing without any.
pub fn list(items: &[String]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let rows = items.iter().map(|i| format!("<li>{}</li>", escape(i)));
    format!("<ul>{}</ul>", joined(rows, ""))
}

/// A drawing with words below it, which are HTML.
pub fn figure(svg: &str, caption: &str) -> String {
    format!("<figure>{svg}<figcaption>{caption}</figcaption></figure>")
}

/// A table of figures of a part or pose called `name`, which scrolls sideways where the
/// page is narrow. Heads are HTML; cells are text, the best ones marked, with blanks behind it.
pub fn table(
    name: &str,
    heads: impl IntoIterator<Item = String>,
    rows: impl IntoIterator<Item = (String, Vec<(String, bool, String)>)>,
) -> String {
    let mut out = format!(
        "<div class=\"scroll figures\" role=\"region\" aria-label=\"Figures of {}\" tabindex=\"0\"><table><thead><tr>",
        escape(name)
    );
    for head in heads {
        out.push_str(&format!("<th scope=\"col\">{head}</th>"));
    }
    out.push_str("</tr></thead><tbody>");
    for (head, cells) in rows {
        out.push_str(&format!("<tr><th scope=\"row\">{head}</th>"));
        for (cell, best, blanks) in cells {
            let cell = escape(&cell);
            let cell = if best {
                format!("<b class=\"best\">{cell}</b>")
            } else {
                cell
            };
            out.push_str(&format!("<td>{cell}{blanks}</td>"));
        }
        out.push_str("</tr>");
    }
    out + "</tbody></table></div>\n"
}

/// Widths of the pens of a drawing; pages set `--ink` and `--paper`. What is said of the print stands on
/// a rim of paper, since it may lie on solid ink.
pub const DRAWING: &str = "\
svg.drawing{display:block;overflow:visible}\
svg path{fill:none;stroke:var(--ink);stroke-linecap:round;stroke-linejoin:round}\
svg path.f{fill:var(--ink);stroke:none;fill-rule:evenodd}\
svg path.g{stroke-width:.5}svg path.o{stroke-width:.42}svg path.e{stroke-width:.25}\
svg path.d{stroke-width:.16;stroke-dasharray:1.6 .6;stroke-linecap:butt}\
svg path.h,svg path.b{stroke-width:.16;stroke-linecap:butt}\
svg path.t{stroke-width:.13}svg path.p{stroke-width:.13;stroke-linecap:butt}\
svg path.m{stroke-width:.25}\
svg text{fill:var(--ink);font-family:inherit}svg text.m{paint-order:stroke;stroke:var(--paper,#fff);stroke-width:1;stroke-linejoin:round}";

/// Ink, paper, lettering and the frame of a sheet (ISO 5457: 20 mm to file it by, 10 mm
/// elsewhere; from memory).
const STYLE: &str = include_str!("page.css").trim_ascii_end();
