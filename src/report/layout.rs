//! Laying text out for a width in columns: wrapping, aligning, emphasis.

use crate::words::printable;

/// How a text is to look where it goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Columns to fill at most.
    pub width: usize,
    /// Whether escape codes for bold and underline may be written.
    pub colour: bool,
}

/// Narrowest width that is laid out for; a narrower terminal wraps by itself.
pub const NARROWEST: usize = 40;

/// Widest text column: longer lines are hard to read.
pub const WIDEST_TEXT: usize = 92;

impl Look {
    /// A plain look, no escape codes.
    pub fn plain(width: usize) -> Self {
        Self {
            width: width.max(NARROWEST),
            colour: false,
        }
    }

    /// Width for running text.
    pub fn text_width(&self) -> usize {
        self.width.clamp(NARROWEST, WIDEST_TEXT)
    }

    /// A text by itself, in lines.
    pub fn paragraph(&self, text: &str) -> String {
        wrap(text, self.text_width(), "", "")
    }

    /// The text in bold, or as it is.
    pub fn bold(&self, text: &str) -> String {
        self.styled(text, anstyle::Style::new().bold())
    }

    /// The text underlined, or as it is.
    pub fn underlined(&self, text: &str) -> String {
        self.styled(text, anstyle::Style::new().underline())
    }

    /// A cell of `width` columns with room for a star on its right, so that digits stand
    /// under digits; the best of its list is underlined and has the star.
    pub fn marked(&self, text: &str, best: bool, width: usize) -> String {
        let pad = " ".repeat(width.saturating_sub(text.chars().count() + 1));
        if best {
            format!("{pad}{}*", self.underlined(text))
        } else {
            format!("{pad}{text} ")
        }
    }

    /// A label in bold with its text beside it, in a list of such.
    pub fn field(&self, label: &str, columns: usize, text: &str) -> String {
        let (first, rest) = (format!("{label:columns$}"), " ".repeat(columns));
        wrap(text, self.text_width(), &first, &rest).replacen(label, &self.bold(label), 1)
    }

    fn styled(&self, text: &str, style: anstyle::Style) -> String {
        if self.colour {
            format!("{style}{text}{style:#}")
        } else {
            text.to_string()
        }
    }
}

/// Wraps words to `width` columns, the first line after `first` and the others
/// after `rest` (both printed). A word longer than a line stands alone.
///
/// Every sign used here is one column wide, so columns are counted in `char`s.
pub fn wrap(text: &str, width: usize, first: &str, rest: &str) -> String {
    let mut out = String::from(first);
    let mut column = first.chars().count();
    let mut empty = true;
    // A no-break space is no place to break.
    for word in text.split_ascii_whitespace() {
        let letters = word.chars().count();
        if !empty && column + 1 + letters > width {
            out.push('\n');
            out.push_str(rest);
            column = rest.chars().count();
            empty = true;
        }
        if !empty {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += letters;
        empty = false;
    }
    let mut out = out.trim_end().to_string();
    out.push('\n');
    out
}

/// Adds a headed list of sentences, or nothing without sentences.
pub fn list(out: &mut String, look: Look, heading: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    out.push('\n');
    let lines = wrap(heading, look.text_width(), "", "");
    for line in lines.lines() {
        out.push_str(&look.bold(line));
        out.push('\n');
    }
    for item in items {
        out.push_str(&wrap(
            &printable(item),
            look.text_width(),
            "  \u{2022} ",
            "    ",
        ));
    }
}

/// A text in a URI: `safe` letters of ASCII as they are, other bytes as %XX (RFC 3986).
pub fn percent_encoded(text: &str, safe: impl Fn(char) -> bool) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match char::from(byte) {
            c if safe(c) => out.push(c),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

/// Columns of the longest of some texts; 0 without any.
pub fn widest<'a>(texts: impl Iterator<Item = &'a str>) -> usize {
    texts.map(|t| t.chars().count()).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_keep_to_the_width() {
        let text =
            "The groove's 4.2 mm ceiling bridges; an−unbreakable−word−of−some−length stands alone.";
        let out = wrap(text, 24, "- ", "  ");
        for line in out.lines() {
            assert!(
                line.chars().count() <= 24 || line.trim().chars().count() > 22,
                "{line:?}"
            );
        }
        assert_eq!(
            out.split_whitespace().skip(1).collect::<Vec<_>>(),
            text.split_whitespace().collect::<Vec<_>>()
        );
        assert_eq!(wrap("", 20, "", ""), "\n");
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(printable("a\x1b[31m\nb"), "a\\u{1b}[31m\\nb");
        // "gpj.stl" would be read as "lts.jpg"; joiners within letters stay.
        assert_eq!(printable("a\u{202e}gpj.stl"), "a\\u{202e}gpj.stl");
        assert_eq!(
            printable("\u{2067}x\u{2028}\u{feff}"),
            "\\u{2067}x\\u{2028}\\u{feff}"
        );
        assert_eq!(printable("می\u{200c}خواهم"), "می\u{200c}خواهم");
        assert_eq!(
            crate::report::html::escape("a\u{202e}<b"),
            "a\\u{202e}&lt;b"
        );
    }
}
