//! Showing results: words, tables and JSON.
