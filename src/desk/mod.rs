//! `wayup desk`: a local page in the browser, on which a part is looked at and turned.
//!
//! - [`engine`]: parts on the table, what is known of them, and answers about them
//! - [`server`]: the address, who may ask, uploads and sockets
//! - [`page`]: the files of the page, inside the program
//!
//! Everything stays on this machine and in memory: no account, no other host, no file
//! written but the one that leads the browser to the address.

pub mod engine;
pub mod page;
pub mod server;
