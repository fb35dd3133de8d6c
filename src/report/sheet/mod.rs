//! The sheet: one A4 page a part, to look at, print and file with the job.
//!
//! - `page`: one part
//! - [`plots`]: its two plots
//! - [`block`]: the title block (ISO 7200, from memory) and the measuring card
//! - [`room`]: how much of the page each piece may take
//!
//! A sheet holds no time of day: the date is the one that is given, else a line to
//! fill in by hand, so that the same part gives the same bytes.

pub mod block;
mod job;
pub mod page;
pub mod plots;
pub mod room;

use super::html::{TAIL, escape, head};
pub use job::{Job, Page, name};

pub use page::page;

/// All pages in one file, an index first where they are several.
pub fn document(pages: &[Page]) -> String {
    let title = match pages {
        [one] => format!("Print sheet: {}", one.name),
        several => format!("Print sheets of {} parts", several.len()),
    };
    let mut out = head(&title, STYLE);
    if pages.len() > 1 {
        out.push_str("<a class=\"skip\" href=\"#part-1\">Skip the index</a>\n");
        out.push_str(&format!(
            "<header class=\"sheet index\"><h1>Which way up: {} parts</h1>\n<nav aria-label=\"Parts\"><ol>",
            pages.len()
        ));
        for p in pages {
            out.push_str(&format!(
                "<li><a href=\"#{}\">{}</a><br>{}</li>",
                p.id,
                escape(&p.name),
                escape(&p.verdict)
            ));
        }
        out.push_str("</ol></nav></header>\n");
    }
    out.push_str("<main>\n");
    for p in pages {
        out.push_str(&p.html);
    }
    out.push_str("</main>\n");
    out.push_str(TAIL);
    out
}

/// The style of a sheet: a stack of rows on a phone, one A4 page on paper and on a wide
/// screen.
pub const STYLE: &str = "\
.verdict{font-size:1.06em}
.poses{display:grid;grid-template-columns:repeat(auto-fit,minmax(8.5rem,1fr));gap:.6rem;margin:0 0 .6rem;padding:0;list-style:none}
.poses figcaption b{font-weight:600;color:var(--ink)}
.side-by-side{display:grid;grid-template-columns:repeat(auto-fit,minmax(9rem,1fr));gap:1rem;margin:0 0 .8rem}
.side-by-side figcaption b{color:var(--ink)}
.plots{display:grid;grid-template-columns:1fr 1fr;gap:.6rem}
.main{overflow-x:auto;margin:0 0 .6rem}.main svg{min-width:36rem}
.figures tbody th{min-width:7em}.figures{margin:0 0 .8rem}
.card td,.card th{border-bottom:1px dotted var(--line)}
.card td:last-child{min-width:4.5em;border-bottom:1px solid var(--ink)}
.block{display:grid;grid-template-columns:1fr 1fr;margin:.8rem 0 0;border:1px solid var(--ink)}
.block div{padding:.1em .45em;border:1px solid var(--line);margin:-.5px;min-width:0}
.block dt{font-size:.72em;color:var(--soft)}.block dd{margin:0;min-height:1.3em;overflow-wrap:anywhere}
.block svg{height:1.6em;width:auto}
.cautions{font-size:.82em;color:var(--soft)}
.plain{list-style:none;padding:0}
@media (min-width:830px),print{
.sheet{position:relative;width:210mm;height:297mm;padding:13mm 13mm 10mm 23mm;margin:1rem auto;font-size:2.72mm;line-height:1.28;display:flex;flex-direction:column;overflow:hidden}
.sheet::before{content:'';position:absolute;left:20mm;top:10mm;right:10mm;bottom:10mm;border:.5mm solid var(--ink);pointer-events:none}
.sheet h1,.sheet>header h2{font-size:5mm}
.sheet h3{font-size:2.9mm;margin:1.4mm 0 .5mm}
.sheet .verdict{font-size:3.3mm;margin:0 0 1.5mm}
.sheet p{margin:0 0 .8mm}.sheet ul{margin:0;padding-left:3.2mm}.sheet li{margin:0 0 .35mm}
.sheet .main{margin:0 0 1mm;overflow:visible}.sheet .main svg{min-width:0}
.sheet .poses{display:flex;gap:3mm;margin:0 0 1.5mm}.sheet .poses li{width:40.7mm;margin:0}
.sheet figcaption{font-size:2.45mm;line-height:1.2}
.sheet .figures{margin:0 0 1mm}.sheet th,.sheet td{padding:.25mm 1mm}
.sheet .figures tbody th{white-space:nowrap}
.sheet .scroll{overflow:visible}
.sheet .side-by-side{display:flex;gap:3mm;margin:0 0 1.5mm}.sheet .side-by-side figure{flex:1}
.sheet .columns{display:grid;grid-template-columns:1fr 76mm;gap:4mm}
.sheet .plots{gap:2mm}
.sheet .foot{margin:auto 0 0}.sheet .block{grid-template-columns:repeat(12,1fr);margin:0 -3mm;border:0;border-top:.5mm solid var(--ink);font-size:2.5mm}
.sheet .block dt{font-size:1.9mm}.sheet .block dd{min-height:3.2mm}
.sheet .cautions{font-size:2.2mm;margin:.8mm 0}
.w2{grid-column:span 2}.w3{grid-column:span 3}.w4{grid-column:span 4}.w6{grid-column:span 6}
.index{height:auto;min-height:297mm}
}
@media print{.sheet{margin:0;border:0;break-after:page;break-inside:avoid}main .sheet:last-child{break-after:auto}}";
