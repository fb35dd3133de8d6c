//! The parts library of a volunteer bench that mends and equips the instruments
//! of a town band. Every part has a different lesson about which way up to print.

mod clips;
mod file;
mod racks;
mod solid;
mod stands;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use wayup::mesh::{Mesh, Units};

/// One demo part: what it is, what it teaches, and the mesh.
#[derive(Debug, Clone, Copy)]
pub struct DemoPart {
    /// File name in the folder; its ending is the format.
    pub file: &'static str,
    /// What it is.
    pub what: &'static str,
    /// Key dimensions, mm unless said.
    pub dimensions: &'static str,
    /// What it teaches.
    pub lesson: &'static str,
    /// Directions, part frame, of which a practitioner turns one to the bed.
    pub down: &'static [[f64; 3]],
    /// Why.
    pub why: &'static str,
    /// Units of the file's numbers.
    pub units: Units,
    /// Makes the mesh, mm.
    pub make: fn() -> Mesh,
}

impl DemoPart {
    /// The bytes of the part's file.
    ///
    /// # Errors
    /// What the format's writer reports.
    pub fn bytes(&self) -> std::io::Result<Vec<u8>> {
        file::bytes(self.file, &(self.make)(), self.units)
    }
}

const PLUS_Y: [f64; 3] = [0.0, 1.0, 0.0];
const MINUS_Y: [f64; 3] = [0.0, -1.0, 0.0];
const MINUS_Z: [f64; 3] = [0.0, 0.0, -1.0];

/// The name in the table of a side, a direction along one axis.
fn side_name(direction: [f64; 3]) -> String {
    let mut name = String::new();
    for (axis, d) in ["X", "Y", "Z"].iter().zip(direction) {
        if d != 0.0 {
            name.push(if d > 0.0 { '+' } else { '−' });
            name.push_str(axis);
        }
    }
    name
}

/// Every demo part, in the order of the table.
pub const PARTS: [DemoPart; 13] = [
    DemoPart {
        file: "page-holder.stl",
        what: "Foot plate with two tall prongs that hold a page against the music desk",
        dimensions: "110 × 28 × 114; plate 4 thick, prongs 8 × 3.6 and 110 tall, 76 apart, 45° braces of 6 at their roots, two countersunk Ø 4.2 holes",
        lesson: "Two free tall tines: no support, a sure stand, and they sway all the same. Height over width is about 30.",
        down: &[MINUS_Y],
        why: "On its back, foot edge and both prongs lie flat on the bed, nothing hangs over but the roofs of the screw holes, and the layers run along the prongs. To print it standing, tie the prongs together near the top.",
        units: Units::Millimeter,
        make: stands::page_holder,
    },
    DemoPart {
        file: "stand-clip.stl",
        what: "Clip for a 16 mm stand tube with a smaller clip for a pencil",
        dimensions: "28.5 × 14 × 22.4; bores Ø 16.4 and Ø 8.0, walls 3.0 and 2.4, mouths 104° and 110° wide with rounded lips",
        lesson: "A spring bends across its profile: layers must follow the profile, or it snaps between them.",
        down: &[PLUS_Y, MINUS_Y],
        why: "Either end face: no support inside the rings, round bores, layers along the arms. As stored it lies on the curve of its ring.",
        units: Units::Millimeter,
        make: clips::stand_clip,
    },
    DemoPart {
        file: "mouthpiece-tray.stl",
        what: "Tray with six drained round pockets for brass mouthpieces",
        dimensions: "108 × 74 × 22; pockets Ø 30, 18 deep, pitch 34, floor 4, drains Ø 5, lead-in chamfers of 1",
        lesson: "Both big faces are flat, but only one leaves the pockets open to the top; the other turns six floors into 30 mm ceilings.",
        down: &[MINUS_Z],
        why: "Pockets up: no overhang at all. On a long side the pockets become lying holes with roofs.",
        units: Units::Millimeter,
        make: racks::mouthpiece_tray,
    },
    DemoPart {
        file: "valve-oil-rack.stl",
        what: "Rack for three bottles of valve oil, with a slot for a strap right through its floor",
        dimensions: "100 × 36 × 34; wells Ø 27, 24 deep, pitch 31, walls at least 4.5; slot 8 wide, 4 high, 3 mm under the wells",
        lesson: "The slot's ceiling faces straight down and still needs no support: it bridges 8 mm. Counted as overhang it would charge the right way up for 800 mm² that nothing has to hold.",
        down: &[MINUS_Z],
        why: "Wells up: the only ceiling is the 8 mm bridge.",
        units: Units::Millimeter,
        make: racks::valve_oil_rack,
    },
    DemoPart {
        file: "wall-hanger.stl",
        what: "Hook that carries a horn on the wall",
        dimensions: "58 × 18 × 110; plate 6 thick, arm 10 high, reach 43 clear, tip up 24, fillets 4 to 10, two countersunk Ø 4.5 holes",
        lesson: "The load decides: the horn pulls along −Z. The largest flat is the back, but printed on it the layers of the arm peel apart at its root; standing, those of the plate do, between arm and screws (and upside down the tip starts in the air).",
        down: &[PLUS_Y, MINUS_Y],
        why: "Lying on a side, every layer follows the whole hook, the screw holes are small enough to close over, no support.",
        units: Units::Millimeter,
        make: stands::wall_hanger,
    },
    DemoPart {
        file: "reed-case.stl",
        what: "Case for four reeds over four sealed air chambers that keep it light",
        dimensions: "78 × 66 × 16; beds 70 × 13.5 × 3.6; chambers 70 × 11.5, 2 up to the eaves, then a 45° gable; floor 2.4, skin over the ridge 2.25",
        lesson: "Support in a closed cavity can never be taken out. The 45° gables make the chambers print empty with the beds up; the other way up their floors become ceilings too wide to bridge.",
        down: &[MINUS_Z],
        why: "Beds up: the gables close by themselves and the beds show. Upside down four flat ceilings 11.5 mm wide trap their support.",
        units: Units::Millimeter,
        make: racks::reed_case,
    },
    DemoPart {
        file: "mute-cradle.off",
        what: "Cradle with two V ribs for a brass mute",
        dimensions: "90 × 70 × 54; foot 6 thick, ribs 10 thick and 50 apart, V at 90°, flares at 45°, two countersunk Ø 4.5 holes",
        lesson: "Every flare is at exactly 45° from the vertical: at the limit, not over it. With a limit of 40° the same part needs support.",
        down: &[MINUS_Z],
        why: "Foot on the bed: wide stand, no support. On its side the second rib hangs in the air.",
        units: Units::Millimeter,
        make: racks::mute_cradle,
    },
    DemoPart {
        file: "tuning-key-tag.stl",
        what: "Tag for a drum's tuning key, with the raised letters KEY 7",
        dimensions: "62 × 24 × 3.8; plate 3 thick with 0.6 chamfers, letters 12 tall, strokes 2 wide, 0.8 raised and 0.4 sunk, hole Ø 5",
        lesson: "The side with fine detail goes up. The letters are bodies of their own that overlap the plate: what lies in both counts once.",
        down: &[MINUS_Z],
        why: "Letters up: a whole flat face on the bed. Letters down it would stand on a few strokes with the plate hanging between them.",
        units: Units::Millimeter,
        make: clips::tuning_key_tag,
    },
    DemoPart {
        file: "drum-rim-comb.obj",
        what: "Comb on an arc of a 14-inch drum's rim that keeps the snare cords apart",
        dimensions: "157 × 6 × 59.5; back 14 wide on a radius of 179, 13 tines 3 wide, 34 long, one every 4°, two Ø 5 holes",
        lesson: "Symmetry: both broad faces are alike, so they are one answer with a count of two. Tines up is the many-fold form of the page holder's sway.",
        down: &[PLUS_Y, MINUS_Y],
        why: "Either broad face: 6 mm high, all tines flat on the bed. As stored it rocks on its curved back.",
        units: Units::Millimeter,
        make: clips::drum_rim_comb,
    },
    DemoPart {
        file: "bell-spout.ply",
        what: "Bell-shaped spout for rinsing tubing",
        dimensions: "Ø 68.4 × 77.4; wall 2.4, throat Ø 11.6 inside, rims rolled to a radius of 1.2",
        lesson: "Not one flat: contact has to be read from the section of the first layer, and near the rim the flare leans past the limit either way up.",
        down: &[MINUS_Z],
        why: "On the bell's rim: a wide ring to stand on, and the leaning part of the flare lies within 7 mm of the bed. On the throat the same flare hangs 70 mm up, over a small ring.",
        units: Units::Millimeter,
        make: clips::bell_spout,
    },
    DemoPart {
        file: "stand-foot.stl",
        what: "Cross bar with a hub for a 16 mm stand tube",
        dimensions: "270 × 34 × 26; bar 12 thick, 20 wide at its round ends; hub Ø 32, bore Ø 16.4, clamp hole Ø 4.5, recesses Ø 9.5 × 1.2 for rubber dots",
        lesson: "Longer than a bed of 220 × 220 × 250 in every direction, and yet it fits: lying, turned 45° about the vertical. A long base also pulls most as it shrinks.",
        down: &[MINUS_Z],
        why: "Along the bed's diagonal: bore upright and round, the dot recesses bridge 9.5 mm; a brim against lifting ends.",
        units: Units::Millimeter,
        make: stands::stand_foot,
    },
    DemoPart {
        file: "cable-saddle.3mf",
        what: "Saddle over a quarter-inch cable, modelled in inches",
        dimensions: "1.7 × 0.5 × 0.405 in = 43.18 × 12.7 × 10.29 mm; feet and arch 0.125 in thick, channel 0.28 in wide, two 0.177 in holes",
        lesson: "A file has a unit: read as mm this would be a crumb. The figures must equal those of the same part in mm.",
        down: &[MINUS_Z, PLUS_Y, MINUS_Y],
        why: "Feet on the bed: a wide stand, and only the last 5 mm of the channel's arch lean past the limit, which so small a vault forgives. On an end it needs no bridge but stands on a small face.",
        units: Units::Inch,
        make: stands::cable_saddle,
    },
    DemoPart {
        file: "broken-clip.stl",
        what: "The stand clip as a careless export leaves it",
        dimensions: "as the stand clip; on the end face at +Y the pencil clip's part is missing and the tube clip's part points inward",
        lesson: "Look before you trust: a surface with holes has no volume, and flipped faces swap up and down.",
        down: &[MINUS_Y],
        why: "Mend it first, then as the stand clip; until then on the good end face.",
        units: Units::Millimeter,
        make: clips::broken_clip,
    },
];

/// The table of the parts, as Markdown.
pub fn readme() -> String {
    let mut out = String::from(
        "# Demo parts\n\n\
         The parts library of a volunteer bench that mends and equips the instruments of a town\n\
         band. Each part has its own lesson about which way up to print it. Dimensions are mm\n\
         unless said; sides are named in the file's own frame.\n\n\
         All of it is made by `cargo run --release --example demo_parts -- meshes`, this page too.\n\n\
         | file | what it is | key dimensions | lesson | to the bed | why |\n\
         |---|---|---|---|---|---|\n",
    );
    for p in PARTS {
        let sides: Vec<String> = p.down.iter().map(|d| side_name(*d)).collect();
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | {} | {} | {} |",
            p.file,
            p.what,
            p.dimensions,
            p.lesson,
            sides.join(" or "),
            p.why
        );
    }
    out
}

/// Writes every part and the table into `folder`, made if missing; the files written.
///
/// # Errors
/// Whatever the file system reports.
pub fn write_all(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    std::fs::create_dir_all(folder)?;
    let mut written = Vec::new();
    for part in PARTS {
        let path = folder.join(part.file);
        std::fs::write(&path, part.bytes()?)?;
        written.push(path);
    }
    let path = folder.join("README.md");
    std::fs::write(&path, readme())?;
    written.push(path);
    Ok(written)
}
