//! The files of the page, inside the program.

/// One file of the page.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Name below `assets/`.
    pub name: &'static str,
    /// Content.
    pub bytes: &'static [u8],
}

/// The files of `assets/` by their names.
macro_rules! assets {
    ($($name:literal,)*) => {
        &[$(Asset {
            name: $name,
            bytes: include_bytes!(concat!("assets/", $name)),
        },)*]
    };
}

/// Every file, the page itself first.
pub const ASSETS: &[Asset] = assets![
    "index.html",
    "desk.css",
    "desk.js",
    "drawing.js",
    "figures.js",
    "hand.js",
    "ink.js",
    "link.js",
    "marks.js",
    "part.js",
    "shelf.js",
    "space.js",
    "strokes.js",
    "telling.js",
    "ways.js",
    "whatif.js",
    "words.js",
    "three.js",
    "three.LICENSE",
];

impl Asset {
    /// Media type, by the ending of the name.
    pub fn kind(&self) -> &'static str {
        match self.name.rsplit('.').next() {
            Some("html") => "text/html; charset=utf-8",
            Some("css") => "text/css; charset=utf-8",
            Some("js") => "text/javascript; charset=utf-8",
            _ => "text/plain; charset=utf-8",
        }
    }
}

/// The page itself.
pub const INDEX: Asset = ASSETS[0];

/// The file of a name.
pub fn find(name: &str) -> Option<&'static Asset> {
    ASSETS.iter().find(|a| a.name == name)
}
