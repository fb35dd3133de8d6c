//! What a part is for, on paper: what was asked for, and what is left to ask the designer.

use super::draw::marker::Marker;
use crate::advice::Advice;

/// Sentences, each with the letter that the drawing marks it by: first what the settings ask for,
/// then the questions whose answer would change the pose, then what no pose does well by.
pub fn sentences(advice: &Advice) -> Vec<String> {
    let asked = advice.asked.iter().map(|a| a.says.clone());
    let open = advice.purposes.iter().map(|p| p.asks.clone());
    let lettered = asked.chain(open).zip('A'..='Z');
    lettered
        .map(|(says, letter)| format!("{letter}: {says}"))
        .collect()
}

/// The same as marks in a drawing, with the same letters.
pub fn markers(advice: &Advice) -> Vec<Marker> {
    let asked = (advice.asked.iter()).map(|a| (a.kind, a.at_mm, a.direction));
    let open = (advice.purposes.iter()).map(|p| (p.kind, Some(p.at_mm), p.direction));
    let lettered = asked.chain(open).zip('A'..='Z');
    lettered
        .map(|((kind, at_mm, direction), letter)| Marker {
            letter,
            kind,
            at_mm,
            direction,
        })
        .collect()
}
