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

/// Every file, the page itself first.
pub const ASSETS: &[Asset] = &[Asset {
    name: "index.html",
    kind: HTML,
    bytes: include_bytes!("assets/index.html"),
}];

/// The page itself.
pub const INDEX: Asset = ASSETS[0];

/// The file of a name.
pub fn find(name: &str) -> Option<&'static Asset> {
    ASSETS.iter().find(|a| a.name == name)
}
