//! HTML by hand: escaping, and the ink-on-paper style that all pages share.

/// Text made safe for an element or a quoted attribute. Control characters, which no
/// page can show, become blanks.
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
         <style>\n{STYLE}\n{}\n{more_css}\n</style>\n</head>\n<body>\n",
        env!("CARGO_PKG_VERSION"),
        escape(title),
        super::draw::picture::CSS
    )
}

/// The end of a page.
pub const TAIL: &str = "</body>\n</html>\n";

/// A list of sentences, or nothing without any.
pub fn list(items: &[String]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let rows: String = items
        .iter()
        .map(|i| format!("<li>{}</li>", escape(i)))
        .collect::<Vec<_>>()
        .concat();
    format!("<ul>{rows}</ul>")
}

/// Ink, paper, lettering and the frame of a sheet (ISO 5457: 20 mm to file it by, 10 mm
/// elsewhere; from memory).
const STYLE: &str = "\
:root{--paper:#fdfcf8;--desk:#e9e6dd;--ink:#16181c;--soft:#4c4f56;--line:#8d8f94;--blue:#1d3f8f;color-scheme:light dark}
@media (prefers-color-scheme:dark){@media screen{:root{--paper:#1d1f22;--desk:#121315;--ink:#ece8dd;--soft:#b9b6ae;--line:#77797e;--blue:#a9c1ff}image.wash{filter:invert(1)}}}
*{box-sizing:border-box}
body{margin:0;background:var(--desk);color:var(--ink);font:15px/1.45 Bahnschrift,\"DIN Alternate\",\"Liberation Sans\",Arial,Helvetica,sans-serif}
a{color:var(--blue)}
:focus-visible{outline:2px solid var(--blue);outline-offset:2px}
.skip{position:absolute;left:-999em}
.skip:focus{left:1em;top:1em;background:var(--paper);padding:.5em 1em;z-index:9}
h1,h2,h3{line-height:1.2;margin:0 0 .35em;font-weight:600}
h1{font-size:1.55em}h2{font-size:1.25em}h3{font-size:1em}
p{margin:0 0 .6em}ul{margin:0 0 .6em;padding-left:1.1em}li{margin:0 0 .2em}
figure{margin:0}figcaption{font-size:.86em;color:var(--soft)}
svg.drawing{width:100%;height:auto}
table{border-collapse:collapse;width:100%}
th,td{padding:.15em .45em;text-align:right;font-variant-numeric:tabular-nums;border-bottom:1px solid var(--line);font-weight:400}
thead th{border-bottom:2px solid var(--ink);vertical-align:bottom}
tbody th,thead th:first-child{text-align:left}
td.best{text-decoration:underline;text-decoration-thickness:.12em;text-underline-offset:.2em;font-weight:600}
.unit{display:block;font-size:.85em;color:var(--soft)}
.scroll{overflow-x:auto}
.sheet{background:var(--paper);max-width:60rem;margin:1rem auto;padding:1rem;border:1px solid var(--line)}
@media (min-width:830px){.sheet{width:210mm;max-width:none}}
@media print{:root{--paper:#fff;--desk:#fff}@page{size:A4;margin:0}body{background:none}.skip{display:none}}";
