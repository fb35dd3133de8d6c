//! What the words on a page mean, for those who read them for the first time.

use super::figures::{COLUMNS, Figure, TABLE};
use crate::words::{capital, joined};

/// The figures that need a word: those of the table of poses, and those that a text names.
fn named(text: &str) -> impl Iterator<Item = (&'static Figure, &'static str)> {
    let text = text.to_lowercase();
    TABLE.iter().filter_map(move |figure| {
        let said = COLUMNS.contains(&figure.key) || text.contains(&figure.label);
        Some((figure, figure.term.as_deref()?)).filter(|_| said)
    })
}

/// "Contact: what touches the bed. Overhang: …" for the figures of the table of poses and those
/// that `text` names, in the order of the table of figures.
pub fn terms(text: &str) -> String {
    let each = named(text).map(|(figure, term)| format!("{}: {term}.", capital(&figure.label)));
    joined(each, " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_columns_and_what_is_named_are_explained_and_nothing_else() {
        let plain = terms("Print it with the −Y side down.");
        assert!(plain.contains("Contact: what touches the bed."), "{plain}");
        assert!(!plain.contains("Islands"), "{plain}");
        let more = terms("Support holds 3 islands.");
        assert!(
            more.contains("Islands: pieces that start with nothing below."),
            "{more}"
        );
    }
}
