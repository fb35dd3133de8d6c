//! The documents, as pages: plain text that is read here and beside the code.
//!
//! - [`quickstart`]: for a designer, a teacher, a print bureau
//! - [`figures`]: what each figure measures and means, and what a pose costs
//! - [`library`]: a folder of parts; [`requirements`]: conditions in a build
//! - [`evidence`]: how good the advice is

#![allow(
    clippy::doc_markdown,
    reason = "the documents are plain text, read beside the code too"
)]

pub mod evidence {
    #![doc = include_str!("evidence.md")]
}

pub mod figures {
    #![doc = include_str!("figures.md")]
}

pub mod library {
    #![doc = include_str!("library.md")]
}

pub mod quickstart {
    #![doc = include_str!("quickstart.md")]
}

pub mod requirements {
    #![doc = include_str!("requirements.md")]
}
