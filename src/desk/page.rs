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
    "away.js",
    "bar.js",
    "desk.css",
    "desk.js",
    "drawing.js",
    "essentials.js",
    "example.svg",
    "faces.js",
    "figures.js",
    "glide.js",
    "hand.js",
    "helpers.js",
    "ink.js",
    "link.js",
    "map.js",
    "marks.js",
    "page.js",
    "part.js",
    "purposes.js",
    "shelf.js",
    "shown.js",
    "space.js",
    "strokes.js",
    "telling.js",
    "ways.js",
    "whatif.js",
    "words.js",
    "three.js",
    "three.LICENSE",
];

/// A part of the demo to try the desk with.
pub const DEMO: Asset = Asset {
    name: "page-holder.stl",
    bytes: include_bytes!("../../meshes/page-holder.stl"),
};

impl Asset {
    /// Media type, by the ending of the name.
    pub fn kind(&self) -> &'static str {
        match self.name.rsplit('.').next() {
            Some("html") => "text/html; charset=utf-8",
            Some("css") => "text/css; charset=utf-8",
            Some("js") => "text/javascript; charset=utf-8",
            Some("svg") => "image/svg+xml; charset=utf-8",
            Some("stl") => "model/stl",
            _ => "text/plain; charset=utf-8",
        }
    }
}

/// The page itself.
pub const INDEX: Asset = ASSETS[0];

/// The file of a name.
pub fn find(name: &str) -> Option<&'static Asset> {
    ASSETS.iter().chain([&DEMO]).find(|a| a.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice;
    use crate::rank::search::{Search, Silent, Wanted};
    use crate::report::draw::model::DrawingModel;
    use crate::report::draw::surface::MarkedSurface;
    use crate::report::draw::view::Angle;
    use crate::report::draw::views;
    use crate::session::config::Resolved;
    use crate::session::intake;

    /// `WAYUP_GOLDEN=write` draws it anew: look at it.
    #[test]
    fn the_example_on_the_empty_page_is_what_the_program_draws_of_the_demo_part() {
        let intake = intake::take(DEMO.name.as_ref(), DEMO.bytes.to_vec(), None, None);
        let intake = intake.expect("a part");
        let settings = Resolved::default().settings;
        let bench = intake.bench(&settings).expect("a hull");
        let advice = advice::advise_on(&bench, &Search::new(&bench), &Wanted::first(2), &Silent);
        let advice = advice.expect("not stopped");
        let first = &advice.poses[0];
        let sliced = first.sliced(&bench, first.pose.clone());
        let (model, surface) = (DrawingModel::new(&intake.part), MarkedSurface::of(&sliced));
        let size = [150.0, 70.0];
        let name = "page-holder";
        let drawing = views::drawing(&model, &surface, &first.figures, Angle::First, size, name);
        let svg = drawing.picture.svg_image(&drawing.alt);
        if std::env::var("WAYUP_GOLDEN").is_ok_and(|v| v == "write") {
            let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/desk/assets/example.svg");
            std::fs::write(path, &svg).expect("written");
            return;
        }
        let kept = find("example.svg").expect("an asset").bytes;
        assert!(
            kept == svg.as_bytes(),
            "draw it anew with WAYUP_GOLDEN=write, and look at it"
        );
    }
}
