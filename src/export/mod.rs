//! Files for the firmware: screens as packed bits in the language or format that a build wants.
//!
//! What is exported is gathered once, in [`Order`]; each target is one file here and one line in [`TARGETS`]. Not for
//! writing to the disk (see [`crate::output`]), nor for how pixels lie in bytes (see [`crate::frame::pack`]).

pub mod c;
pub mod decode;
pub mod explain;
mod manifest;
pub mod names;
mod pbm;
mod png;
mod raw;
mod rust;
pub mod squeeze;
pub mod tables;
mod xbm;

use crate::device::Device;
use crate::frame::pack::pack;
use crate::frame::{Frame, Packing};
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::source::fault::Fault;
use names::Names;

/// Files by their path relative to the output folder.
pub type Files = Vec<(String, Vec<u8>)>;

/// A language or format.
pub struct Target {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it writes, for the help text.
    pub about: &'static str,
    /// Writes its files.
    pub write: fn(&Order<'_>) -> Result<Files, Fault>,
}

/// Every target.
pub const TARGETS: &[Target] = &[
    Target { name: "c", about: "C99 header and source, also valid C++17", write: c::write },
    Target {
        name: "c-live",
        about: "C99 tables of backgrounds, live fields, faces and flow, and the code that draws them",
        write: c::live::write,
    },
    Target { name: "rust", about: "module for no_std Rust with embedded-graphics", write: rust::write },
    Target { name: "raw", about: "one binary file a screen, nothing but the packed bytes", write: raw::write },
    Target { name: "pbm", about: "Netpbm P4, upright", write: pbm::write },
    Target { name: "xbm", about: "X Window System bitmap, upright", write: xbm::write },
    Target { name: "png", about: "Portable Network Graphics, upright", write: png::write },
    Target { name: "json", about: "manifest: geometry, checksums, fields, flow, refresh plan", write: manifest::write },
];

/// The target of a name.
pub fn target(name: &str) -> Option<&'static Target> {
    TARGETS.iter().find(|target| target.name == name)
}

/// What is to be exported and how.
#[derive(Debug)]
pub struct Order<'d> {
    /// The product.
    pub device: &'d Device,
    /// Screens in the order wanted.
    pub screens: Vec<ScreenId>,
    /// Locales, as positions in [`Device::locales`].
    pub locales: Vec<usize>,
    /// Values of the fields in the pictures.
    pub values: Values,
    /// From an upright frame to bytes.
    pub packing: Packing,
    /// First part of every name in the files, and the files' own name.
    pub prefix: String,
    /// A checksum of the project's text, to tell which design the files belong to.
    pub design: u64,
    /// Section that large arrays are placed in, for compilers that know such a thing.
    pub section: Option<String>,
}

/// CRC-64/XZ over the texts of a project, each behind its length in eight bytes, low byte first.
pub fn design_hash<'t>(texts: impl IntoIterator<Item = &'t str>) -> u64 {
    let crc = crc::Crc::<u64>::new(&crc::CRC_64_XZ);
    let mut digest = crc.digest();
    for text in texts {
        digest.update(&(text.len() as u64).to_le_bytes());
        digest.update(text.as_bytes());
    }
    digest.finalize()
}

/// One screen in one locale.
#[derive(Clone, Debug)]
pub struct Picture {
    /// An identifier of its own: lower case letters, digits and underscores.
    pub name: String,
    /// A path of its own without an ending: `tonight`, or `de/tonight` where there are several locales.
    pub path: String,
    /// The screen.
    pub screen: ScreenId,
    /// The locale.
    pub locale: usize,
    /// The upright pixels.
    pub frame: Frame,
    /// The packed bytes.
    pub bytes: Vec<u8>,
}

impl Order<'_> {
    /// Every screen in every locale that is wanted, packed.
    ///
    /// # Errors
    /// When the packing does not suit the panel's size.
    pub fn pictures(&self) -> Result<Vec<Picture>, Fault> {
        let several = self.locales.len() > 1;
        let mut names = Names::default();
        let mut pictures = Vec::new();
        for locale in &self.locales {
            for screen in &self.screens {
                let id = &self.device.screens[screen.0].id;
                let place = if several { &self.device.locales[*locale] } else { "" };
                let frame = self.device.draw(*screen, *locale, &self.values);
                let bytes = pack(&frame, &self.packing)
                    .map_err(|why| Fault::plain(format!("cannot pack the screens: {why}")))?;
                let name = names.take(&if several { format!("{place}_{id}") } else { id.clone() });
                let path = if several { format!("{place}/{id}") } else { id.clone() };
                pictures.push(Picture { name, path, screen: *screen, locale: *locale, frame, bytes });
            }
        }
        Ok(pictures)
    }
}
