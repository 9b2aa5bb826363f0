//! Files for the firmware: screens as packed bits in the language or format that a build wants.
//!
//! What is exported is gathered once, in [`Order`]; each target is one file here and one line in [`TARGETS`]. Not for
//! writing to the disk (see [`crate::output`]), nor for how pixels lie in bytes (see [`crate::frame::pack`]).

pub mod c;
pub mod explain;
mod facts;
mod manifest;
mod pbm;
mod png;
mod program;
mod raw;
mod rust;
mod rust_live;
mod xbm;

pub use crate::firmware::order::{Order, ScreenPicture, design_hash};
use crate::source::fault::Fault;

/// Files by their path relative to the output folder.
pub type Files = Vec<(String, Vec<u8>)>;

/// A language or format.
pub struct Target {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it writes, for the help text.
    pub about: &'static str,
    /// Whether firmware draws with what it writes, so that areas may be left to code of its own.
    pub draws: bool,
    /// Writes its files.
    pub write: fn(&Order<'_>) -> Result<Files, Fault>,
}

/// Every target.
pub const TARGETS: &[Target] = &[
    Target { name: "c", about: "C99 header and source, also valid C++17", draws: false, write: c::write },
    Target {
        name: "c-live",
        about: "C99 tables of every screen in every locale, and the code that draws them",
        draws: true,
        write: c::live::write,
    },
    Target {
        name: "c-main",
        about: "C99 program to start from, for the files of c-live; also runs on a computer",
        draws: false,
        write: c::main_file::write,
    },
    Target {
        name: "rust-live",
        about: "crate for no_std Rust that runs the design: the C of c-live behind safe types",
        draws: true,
        write: rust_live::write,
    },
    Target { name: "rust", about: "module for no_std Rust with embedded-graphics", draws: false, write: rust::write },
    Target {
        name: "raw",
        about: "one binary file a screen, nothing but the packed bytes",
        draws: false,
        write: raw::write,
    },
    Target { name: "pbm", about: "Netpbm P4, upright", draws: false, write: pbm::write },
    Target { name: "xbm", about: "X Window System bitmap, upright", draws: false, write: xbm::write },
    Target { name: "png", about: "Portable Network Graphics, upright", draws: false, write: png::write },
    Target {
        name: "json",
        about: "manifest: geometry, checksums, fields, flow, refresh plan",
        draws: false,
        write: manifest::write,
    },
];

/// The target of a name.
pub fn target(name: &str) -> Option<&'static Target> {
    TARGETS.iter().find(|target| target.name == name)
}
