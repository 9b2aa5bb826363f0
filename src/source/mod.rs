//! Text with places: the files of a project in memory, spans, faults, quantities as written, and the reader that finds
//! every fault at once. Not for what the text means.

pub mod absent;
pub mod amount;
pub mod basis;
pub mod fault;
pub mod files;
pub mod levels;
pub mod messages;
pub mod read;
pub mod spans;
pub mod syntax;
pub mod tree;
pub mod typed;
