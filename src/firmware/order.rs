//! What a firmware is to get: which screens in which locales, how pixels lie in bytes, and their packed pictures.

use super::names::Names;
use crate::device::Device;
use crate::frame::pack::pack;
use crate::frame::{Frame, Packing};
use crate::screen::ScreenId;
use crate::screen::values::Values;
use crate::source::fault::Fault;

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
pub struct ScreenPicture {
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
    pub fn pictures(&self) -> Result<Vec<ScreenPicture>, Fault> {
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
                pictures.push(ScreenPicture { name, path, screen: *screen, locale: *locale, frame, bytes });
            }
        }
        Ok(pictures)
    }
}
