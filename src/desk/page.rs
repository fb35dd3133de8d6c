//! The files of the page, inside the program.

/// One file of the page.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Name below `assets/`.
    pub name: &'static str,
    /// Media type.
    pub kind: &'static str,
    /// Content.
    pub bytes: &'static [u8],
}

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";
const TEXT: &str = "text/plain; charset=utf-8";

/// An asset of `assets/` with its media type.
macro_rules! asset {
    ($name:literal, $kind:expr) => {
        Asset {
            name: $name,
            kind: $kind,
            bytes: include_bytes!(concat!("assets/", $name)),
        }
    };
}

/// Every file, the page itself first.
pub const ASSETS: &[Asset] = &[
    asset!("index.html", HTML),
    asset!("desk.css", CSS),
    asset!("desk.js", JS),
    asset!("drawing.js", JS),
    asset!("figures.js", JS),
    asset!("hand.js", JS),
    asset!("ink.js", JS),
    asset!("link.js", JS),
    asset!("marks.js", JS),
    asset!("part.js", JS),
    asset!("shelf.js", JS),
    asset!("space.js", JS),
    asset!("strokes.js", JS),
    asset!("telling.js", JS),
    asset!("ways.js", JS),
    asset!("whatif.js", JS),
    asset!("words.js", JS),
    asset!("three.js", JS),
    asset!("three.LICENSE", TEXT),
];

/// The page itself.
pub const INDEX: Asset = ASSETS[0];

/// The file of a name.
pub fn find(name: &str) -> Option<&'static Asset> {
    ASSETS.iter().find(|a| a.name == name)
}
