//! Ink on paper: strokes, fills and lettering in mm, y downwards, and their SVG.

use super::wash::Wash;
use crate::report::html::{DRAWING, escape};
use base64::Engine as _;

/// What a stroke is drawn with, in the order they are laid down. Widths keep to the two of ISO 128, 0.5 and 0.25 mm, and
/// their halves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pen {
    /// The ground line.
    Ground,
    /// Room that support would fill.
    Prop,
    /// Surface that needs holding up.
    Hatch,
    /// Surface that bridges carry.
    Bridge,
    /// Hidden edges, dashed.
    Hidden,
    /// Edges within the outline.
    Edge,
    /// Outlines.
    Outline,
    /// Dimension lines and helping lines.
    Thin,
    /// Bridges, jumps, slender pieces: what is said of the print.
    Mark,
}

impl Pen {
    /// Class in the SVG, to which pages give a colour, and width in mm.
    pub fn class_and_width_mm(self) -> (&'static str, f64) {
        match self {
            Self::Ground => ("g", 0.5),
            Self::Prop => ("p", 0.13),
            Self::Hatch => ("h", 0.16),
            Self::Bridge => ("b", 0.16),
            Self::Hidden => ("d", 0.16),
            Self::Edge => ("e", 0.25),
            Self::Outline => ("o", 0.42),
            Self::Thin => ("t", 0.13),
            Self::Mark => ("m", 0.25),
        }
    }

    /// Lengths of dash and gap, mm.
    pub fn dashes(self) -> Option<[f64; 2]> {
        (self == Self::Hidden).then_some([1.6, 0.6])
    }
}

/// Where lettering stands relative to its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Begins there.
    Start,
    /// Is centred there.
    Middle,
    /// Ends there.
    End,
}

/// A piece of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// On the base line, mm.
    pub at: [f64; 2],
    /// What it says.
    pub text: String,
    /// Height of the capitals, about 0.7 of this, mm.
    pub size_mm: f64,
    /// How it stands to its place.
    pub anchor: Anchor,
    /// Reads upwards, as beside an upright dimension line.
    pub upright: bool,
    /// Stands on a rim of paper, since it may lie on solid ink.
    pub mark: bool,
}

/// A washed picture for views too dense for lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Image {
    /// Upper left corner and size, mm.
    pub place: [f64; 4],
    /// The ink.
    pub wash: Wash,
}

/// A drawing on paper.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Picture {
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Dense views.
    pub images: Vec<Image>,
    /// Areas of solid ink by the even-odd rule: one entry an area with its rings.
    pub fills: Vec<Vec<Vec<[f64; 2]>>>,
    /// Polylines.
    pub strokes: Vec<(Pen, Vec<[f64; 2]>)>,
    /// Lettering.
    pub labels: Vec<Label>,
}

impl Picture {
    /// An empty sheet.
    pub fn new(width_mm: f64, height_mm: f64) -> Self {
        Self {
            width_mm,
            height_mm,
            ..Self::default()
        }
    }

    /// Adds one polyline.
    pub fn stroke(&mut self, pen: Pen, points: &[[f64; 2]]) {
        if points.len() > 1 {
            self.strokes.push((pen, points.to_vec()));
        }
    }

    /// Adds an area of solid ink.
    pub fn fill(&mut self, ring: &[[f64; 2]]) {
        self.fills.push(vec![ring.to_vec()]);
    }

    /// Adds plain lettering.
    pub fn label(&mut self, at: [f64; 2], text: impl Into<String>, size_mm: f64, anchor: Anchor) {
        self.labels.push(Label {
            at,
            text: text.into(),
            size_mm,
            anchor,
            upright: false,
            mark: false,
        });
    }

    /// Moves everything and puts it on this sheet.
    pub fn place(&mut self, mut other: Self, dx: f64, dy: f64) {
        let shift = |p: &mut [f64; 2]| *p = [p[0] + dx, p[1] + dy];
        for image in &mut other.images {
            image.place[0] += dx;
            image.place[1] += dy;
        }
        other.fills.iter_mut().flatten().flatten().for_each(shift);
        let strokes = other.strokes.iter_mut();
        strokes.flat_map(|s| &mut s.1).for_each(shift);
        other.labels.iter_mut().for_each(|l| shift(&mut l.at));
        self.images.append(&mut other.images);
        self.fills.append(&mut other.fills);
        self.strokes.append(&mut other.strokes);
        self.labels.append(&mut other.labels);
    }

    /// The picture as inline SVG. `alt` says in words what is to be seen.
    pub fn svg(&self, alt: &str) -> String {
        let (w, h) = (number(self.width_mm), number(self.height_mm));
        let mut out = format!(
            r#"<svg class="drawing" role="img" aria-label="{}" viewBox="0 0 {w} {h}">"#,
            escape(alt)
        );
        self.body(&mut out);
        out.push_str("</svg>");
        out
    }

    /// The picture as an SVG on its own, to be shown as an image on a page: without paper,
    /// in light ink where the reader wants the page dark.
    pub fn svg_image(&self, alt: &str) -> String {
        let dark = "@media(prefers-color-scheme:dark){:root{--ink:#ece8dd;--paper:#1d1f22}}";
        self.alone(alt, dark, "", "")
    }

    /// The picture as an SVG file of its own.
    pub fn svg_file(&self, alt: &str) -> String {
        let (w, h) = (number(self.width_mm), number(self.height_mm));
        let paper = format!("<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n");
        self.alone(alt, "", "\n", &paper)
    }

    /// An SVG with its own style; `gap` stands between its elements.
    fn alone(&self, alt: &str, more_css: &str, gap: &str, paper: &str) -> String {
        let (w, h) = (number(self.width_mm), number(self.height_mm));
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">{gap}\
             <title>{}</title>{gap}<style>:root{{--ink:#16181c}}{more_css}{DRAWING}</style>{gap}{paper}",
            escape(alt)
        );
        self.body(&mut out);
        out + gap + "</svg>" + gap
    }

    fn body(&self, out: &mut String) {
        for image in &self.images {
            let [x, y, w, h] = image.place.map(number);
            let data = base64::engine::general_purpose::STANDARD.encode(image.wash.png());
            out.push_str(&format!(
                r#"<image class="wash" x="{x}" y="{y}" width="{w}" height="{h}" href="data:image/png;base64,{data}"/>"#
            ));
        }
        for rings in &self.fills {
            let d: String = rings.iter().map(|r| path(r) + "z").collect();
            out.push_str(&format!(r#"<path class="f" d="{d}"/>"#));
        }
        let mut strokes: Vec<_> = self.strokes.iter().collect();
        strokes.sort_by_key(|s| s.0);
        for of_pen in strokes.chunk_by(|a, b| a.0 == b.0) {
            let (class, _) = of_pen[0].0.class_and_width_mm();
            let d: String = of_pen.iter().map(|s| path(&s.1)).collect();
            out.push_str(&format!(r#"<path class="{class}" d="{d}"/>"#));
        }
        for l in &self.labels {
            let [x, y] = l.at.map(number);
            let anchor = match l.anchor {
                Anchor::Start => "",
                Anchor::Middle => r#" text-anchor="middle""#,
                Anchor::End => r#" text-anchor="end""#,
            };
            let turn = format!(r#" transform="rotate(-90 {x} {y})""#);
            let turn = if l.upright { &turn } else { "" };
            let class = if l.mark { r#" class="m""# } else { "" };
            let (size, text) = (number(l.size_mm), escape(&l.text));
            out.push_str(&format!(
                r#"<text x="{x}" y="{y}" font-size="{size}"{anchor}{turn}{class}>{text}</text>"#
            ));
        }
    }
}

/// A ring of `sides` sides, closed.
pub fn circle(middle: [f64; 2], radius: f64, sides: u32) -> Vec<[f64; 2]> {
    (0..=sides)
        .map(|i| std::f64::consts::TAU * f64::from(i) / f64::from(sides))
        .map(|t| [libm::cos(t), libm::sin(t)])
        .map(|[x, y]| [middle[0] + radius * x, middle[1] + radius * y])
        .collect()
}

/// Two decimals, trailing zeros left out.
pub fn number(v: f64) -> String {
    let text = format!("{v:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".into()
    } else {
        text.into()
    }
}

/// Path data in steps of a hundredth of a mm, relative after the first point.
fn path(points: &[[f64; 2]]) -> String {
    let whole = |p: &[f64; 2]| p.map(|x| (x * 100.0).round() as i64);
    let short = |v: i64| number(v as f64 / 100.0);
    let Some(first) = points.first().map(whole) else {
        return String::new();
    };
    let mut out = format!("M{} {}", short(first[0]), short(first[1]));
    let mut at = first;
    let mut open = true;
    for p in points[1..].iter().map(whole) {
        let step = [p[0] - at[0], p[1] - at[1]];
        if step == [0, 0] {
            continue;
        }
        out.push_str(if open { "l" } else { " " });
        open = false;
        out.push_str(&format!("{} {}", short(step[0]), short(step[1])));
        at = p;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_ends_where_its_line_ends_whatever_the_rounding() {
        let points: Vec<[f64; 2]> = (0..1000).map(|i| [0.0049 * f64::from(i), 1.0]).collect();
        let d = path(&points);
        let sum: f64 = d
            .trim_start_matches("M0 1l")
            .split(' ')
            .step_by(2)
            .filter_map(|s| s.parse::<f64>().ok())
            .sum();
        assert!((sum - 4.9).abs() < 0.006, "{sum}");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(12.50), "12.5");
    }

    #[test]
    fn words_from_a_file_name_cannot_leave_their_place() {
        let mut p = Picture::new(10.0, 5.0);
        p.label([1.0, 2.0], "<script>\"&", 2.0, Anchor::Middle);
        let svg = p.svg("a \"part\" <b>");
        assert!(!svg.contains("<script>") && !svg.contains("<b>"));
        assert!(svg.contains("&lt;script&gt;&quot;&amp;"));
    }
}
