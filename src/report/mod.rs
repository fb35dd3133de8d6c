//! Showing results: words, tables and JSON.
//!
//! - [`advise`], [`measure`], [`inspect`], [`turn`]: what each command says in words
//! - [`table`]: the ranked poses side by side
//! - [`layout`]: wrapping, aligning and emphasis for a width in columns
//! - [`json`]: the same results as data, [`number`]: how numbers are rounded there,
//!   [`schema`]: the JSON Schema of all of it

pub mod advise;
pub mod inspect;
pub mod json;
pub mod layout;
pub mod measure;
pub mod number;
pub mod schema;
pub mod table;
pub mod turn;
