//! What every advice has to be read with: in short once per output, in full on the lesson.

/// In short.
pub const CAUTIONS: [&str; 3] = [
    "All of this is worked out from the shape; nothing has been printed or tested.",
    "Where a part carries a person or a load, holds pressure, gets hot, or touches food or the mouth, the rules of your place apply and a qualified person decides.",
    "Nozzle and bed burn skin. Keep your hands out of the machine while it moves, and air the room. Clamp the part and protect your eyes when you break off support or drill.",
];

/// In full: what about, and what to do.
const IN_FULL: [(&str, &str); 8] = [
    (
        "What this page knows",
        "All of it is worked out from the shape; nothing has been printed or tested.",
    ),
    (
        "Parts that people rely on",
        "Does the part carry a person or a load, hold pressure, get hot, or touch food or the mouth? Then the rules of your school, workshop or country apply, and a qualified person decides. A print holds less across its layers than along them.",
    ),
    (
        "Heat in use",
        "A print softens long before it melts, PLA at about 60 °C (typical value, from memory); a car in the sun can get that hot.",
    ),
    (
        "Food and mouth",
        "Dirt stays in the grooves between the layers, and washing does not get it out.",
    ),
    (
        "Burns",
        "Nozzle and bed burn skin. Let both cool down before you touch them or the print.",
    ),
    (
        "The moving machine",
        "It starts by itself and does not feel a finger. Keep hands, hair, cords and sleeves out while it moves.",
    ),
    (
        "Air",
        "Hot plastic gives off fumes and fine dust. Air the room, and keep your head out of the machine.",
    ),
    (
        "After the print",
        "Clamp the part before you break off support, cut or drill; never hold it in your hand. Protect your eyes: support flies off in sharp pieces.",
    ),
];

/// In full, for those who learn: a sentence or two for each danger.
pub fn in_full() -> Vec<String> {
    let line = |(about, says): &(&str, &str)| format!("{about}: {says}");
    IN_FULL.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What must not be missing, in short and in full.
    #[test]
    fn every_danger_is_named_in_short_and_in_full() {
        let short = CAUTIONS.join(" ").to_lowercase();
        let full = in_full().join(" ").to_lowercase();
        for danger in [
            "carry|carries",
            "pressure",
            "hot",
            "food",
            "mouth",
            "rules",
            "qualified person",
            "nozzle and bed burn",
            "while it moves",
            "air the room",
            "clamp the part",
            "protect your eyes",
            "break off support",
            "drill",
        ] {
            for text in [&short, &full] {
                assert!(
                    danger.split('|').any(|d| text.contains(d)),
                    "{danger}: {text}"
                );
            }
        }
    }
}
