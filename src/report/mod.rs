//! Showing results: words, tables and JSON.
//!
//! - [`advise`], [`measure`], [`inspect`], [`turn`]: what each command says in words
//! - [`table`]: the ranked poses side by side; [`sum`]: what each total is made of;
//!   [`act`]: a pose as what to do to the part of the file
//! - [`sheet`]: a page a part to print and file; [`compare`]: poses side by side;
//!   [`lesson`]: why this way up, to teach with; [`draw`]: poses as drawings;
//!   [`html`]: what the pages share
//! - [`figures`]: what each figure is called and means, [`quantity`]: how it is written,
//!   [`series`]: one of them for several poses
//! - [`purposes`]: what a part is for, on the pages
//! - [`cautions`]: what all of it has to be read with
//! - [`layout`]: wrapping, aligning and emphasis for a width in columns
//! - [`json`]: the same results as data, [`map`]: every direction as data, [`number`]: how numbers are rounded there,
//!   [`schema`]: the JSON Schema of all of it

pub mod act;
pub mod advise;
pub mod cautions;
pub mod compare;
pub mod draw;
pub mod figures;
pub mod first;
pub mod html;
pub mod inspect;
pub mod json;
pub mod layout;
pub mod lesson;
pub mod map;
pub mod measure;
pub mod number;
pub mod plot;
pub mod purposes;
pub mod quantity;
pub mod schema;
pub mod series;
pub mod sheet;
pub mod sphere;
pub mod sum;
pub mod table;
pub mod terms;
pub mod turn;
