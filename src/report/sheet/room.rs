//! How much of the page each piece may take, reckoned before it is laid out: the words
//! come first, the drawing gets the rest, and no page runs over.

/// Height inside the frame, mm.
const PAGE_MM: f64 = 274.0;

/// Heading, the key of the drawing and the bar of the winner; a line of the verdict and its letters; small figures
/// without their captions, a line of these and its letters; head of the table; title block.
const HEAD_MM: f64 = 19.0;
const VERDICT_LINE_MM: f64 = 4.25;
const VERDICT_LETTERS: usize = 84;
const ACT_LETTERS: usize = 58;
const SMALL_MM: f64 = 20.4;
const CAPTION_LINE_MM: f64 = 2.94;
const CAPTION_LETTERS: usize = 27;
const TABLE_HEAD_MM: f64 = 13.5;
const TABLE_ROW_MM: f64 = 4.1;
const BLOCK_MM: f64 = 35.0;
/// Letters on a line of small print across the page, and the height of one beyond the first, mm.
const SMALL_LETTERS: usize = 140;
const SMALL_LINE_MM: f64 = 2.7;

/// Least and most height of the drawing, mm.
const DRAWING_MM: (f64, f64) = (52.0, 120.0);

/// The column of plots and card without the card's rows, and a row of it, mm.
const PLOTS_MM: f64 = 48.0;
const CARD_ROW_MM: f64 = 4.1;

/// Letters on a line of the text column, a cautious figure for wide fonts.
const LETTERS: usize = 61;

/// Height of a line, mm.
pub const LINE_MM: f64 = 3.55;
/// Height of a heading, mm.
const HEADING_MM: f64 = 5.5;

/// Lines that a list takes in the text column.
fn lines(list: &[String]) -> usize {
    list.iter()
        .map(|t| t.chars().count().div_ceil(LETTERS))
        .sum()
}

/// Height that headed lists take in the text column, mm.
pub fn words_mm(lists: &[Vec<String>]) -> f64 {
    lists
        .iter()
        .filter(|l| !l.is_empty())
        .map(|l| HEADING_MM + LINE_MM * lines(l) as f64)
        .sum()
}

/// What every page carries whatever its words: it leaves the rest to words and drawing.
#[derive(Debug, Clone)]
pub struct Fixed<'a> {
    /// The answer under the heading.
    pub verdict: &'a str,
    /// What the words mean, under the table.
    pub terms: &'a str,
    /// Rows of the table of figures.
    pub rows: usize,
    /// What stands under each of the small figures, above and below its bar.
    pub captions: Vec<[String; 2]>,
}

impl Fixed<'_> {
    /// What is left for the words where the drawing is as small as it may be, mm.
    pub fn most_words_mm(&self) -> f64 {
        self.rest_mm() - DRAWING_MM.0
    }

    /// Lines that the measuring card may take.
    pub fn most_card_lines(&self) -> usize {
        ((self.most_words_mm() - PLOTS_MM) / CARD_ROW_MM) as usize
    }

    /// Height for the drawing over words of this height and a card of so many lines, mm.
    pub fn drawing_mm(&self, words_mm: f64, card_lines: usize) -> f64 {
        let plots_mm = PLOTS_MM + CARD_ROW_MM * card_lines as f64;
        (self.rest_mm() - words_mm.max(plots_mm)).clamp(DRAWING_MM.0, DRAWING_MM.1)
    }

    fn rest_mm(&self) -> f64 {
        // With what to do to the part of the file.
        let verdict = (self.verdict.chars().count() + ACT_LETTERS).div_ceil(VERDICT_LETTERS);
        let fixed = HEAD_MM
            + VERDICT_LINE_MM * verdict as f64
            + TABLE_HEAD_MM
            + TABLE_ROW_MM * self.rows as f64
            + SMALL_LINE_MM * (self.terms.chars().count() / SMALL_LETTERS) as f64
            + BLOCK_MM;
        PAGE_MM - fixed - self.small_mm()
    }

    /// The row of small figures is as high as the longest of its captions asks.
    fn small_mm(&self) -> f64 {
        let lines = |text: &String| text.chars().count().div_ceil(CAPTION_LETTERS);
        let most = self.captions.iter().map(|c| c.iter().map(lines).sum());
        let most: Option<usize> = most.max();
        most.map_or(0.0, |lines| SMALL_MM + CAPTION_LINE_MM * lines as f64)
    }
}

/// Shortens lists from their ends, the longest first, until they take no more than
/// `most_mm`; at least one entry of each stays, cut short if it must be. Says how many
/// entries went.
pub fn fit(lists: &mut [Vec<String>], most_mm: f64) -> usize {
    let mut gone = 0;
    loop {
        // Where something goes, that is said on a line of its own.
        let said_mm = if gone > 0 { LINE_MM } else { 0.0 };
        if words_mm(lists) + said_mm <= most_mm {
            return gone;
        }
        let several = lists.iter_mut().filter(|l| l.len() > 1);
        let longest = several.max_by_key(|l| lines(l));
        if let Some(list) = longest {
            list.pop();
            gone += 1;
            continue;
        }
        for text in lists.iter_mut().flatten() {
            if text.chars().count() > 4 * LETTERS {
                *text = text.chars().take(4 * LETTERS - 1).collect::<String>() + "…";
            }
        }
        return gone;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_are_cut_until_they_fit_and_short_ones_stay() {
        let line = "x".repeat(LETTERS);
        let mut lists = vec![vec![line.clone(); 3], vec![line.clone(); 40]];
        let gone = fit(&mut lists, 100.0);
        assert_eq!(lists[0].len(), 3);
        assert_eq!(lists[1].len() + gone, 40);
        assert!(words_mm(&lists) <= 100.0);
        assert_eq!(fit(&mut lists, 100.0), 0);
        let fixed = |verdict| Fixed {
            verdict,
            terms: "",
            rows: 5,
            captions: vec![[String::new(), String::new()]],
        };
        let (short, long) = ("x".repeat(60), "x".repeat(260));
        let less = fixed(&short).most_words_mm() - fixed(&long).most_words_mm();
        assert!((less - 2.0 * VERDICT_LINE_MM).abs() < 1e-9, "{less}");
        let wordy = |letters| Fixed {
            captions: vec![[String::new(), "x".repeat(letters)]],
            ..fixed("")
        };
        let less = wordy(27).most_words_mm() - wordy(28).most_words_mm();
        assert!((less - CAPTION_LINE_MM).abs() < 1e-9, "{less}");
        let room = fixed(&short);
        let card = room.most_card_lines();
        assert!(card > 3, "{card}");
        assert!(room.drawing_mm(0.0, card) >= DRAWING_MM.0);
        let short_of_room = room.most_words_mm() - PLOTS_MM - CARD_ROW_MM * card as f64;
        assert!(
            (0.0..CARD_ROW_MM).contains(&short_of_room),
            "{short_of_room}"
        );
        let mut endless = vec![vec!["y".repeat(10_000)]];
        assert_eq!(fit(&mut endless, 50.0), 0);
        assert!(endless[0][0].chars().count() <= 4 * LETTERS);
    }
}
