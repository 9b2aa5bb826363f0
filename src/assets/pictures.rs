//! Icons and images of a project, decoded within limits and turned to black and white once.

use super::svg;
use crate::frame::{Frame, Gray, Method, dither};
use crate::limits;
use crate::screen::icons;
use crate::source::amount::At;
use crate::source::fault::{Fault, nearest};
use crate::source::files::Files;
use crate::source::files::no_file;
use image::ImageReader;
use image::imageops::FilterType;
use std::collections::BTreeMap;
use std::io::Cursor;
use std::sync::Arc;

/// The pictures of a project.
#[derive(Debug)]
pub struct Pictures {
    files: Files,
    made: BTreeMap<String, Option<Arc<Frame>>>,
}

/// The size that a picture is brought to, in pixels.
#[derive(Clone, Copy, Debug)]
pub enum Scale {
    /// This width and height.
    Exactly([u32; 2]),
    /// As large as fits into this width and height; proportions stay.
    Within([u32; 2]),
}

impl Scale {
    /// The size of a picture that has `width` by `height` pixels of its own.
    fn of(self, width: u32, height: u32) -> [u32; 2] {
        match self {
            Self::Exactly(size) => size,
            Self::Within(room) => within(room, width, height),
        }
    }
}

/// How a picture file becomes black and white.
#[derive(Clone, Debug)]
pub struct PictureLook {
    /// The size; `None` for the file's.
    pub scale: Option<Scale>,
    /// How grey becomes ink and paper.
    pub method: Method,
    /// As for [`Gray::adjust`].
    pub contrast: f64,
    /// As for [`Gray::adjust`].
    pub gamma: f64,
}

impl Pictures {
    /// Pictures from these files.
    pub fn new(files: Files) -> Self {
        Self { files, made: BTreeMap::new() }
    }

    /// A picture scaled and turned to black and white; faults are noted the first time.
    pub fn find(&mut self, file: &At<String>, look: &PictureLook, faults: &mut Vec<Fault>) -> Option<Arc<Frame>> {
        let key = format!("{}|{look:?}", file.value);
        if let Some(picture) = self.made.get(&key) {
            return picture.clone();
        }
        let picture = match self.files.bytes(&file.value) {
            None => Err(no_file(file, &self.files)),
            Some(bytes) => decode(&file.value, bytes, look.scale)
                .map(|gray| Arc::new(dither(&gray.adjust(look.contrast, look.gamma), look.method)))
                .map_err(|why| Fault::at(file.span.clone(), format!("cannot use {}: {}", file.value, why.message))),
        };
        let picture = picture.map_err(|fault| faults.push(fault)).ok();
        self.made.insert(key, picture.clone());
        picture
    }

    /// A built-in icon; faults are noted the first time.
    pub fn icon(&mut self, name: &At<String>, size: u32, faults: &mut Vec<Fault>) -> Option<Arc<Frame>> {
        let key = format!("{}|{size}", name.value);
        if let Some(picture) = self.made.get(&key) {
            return picture.clone();
        }
        let picture = icons::icon(&name.value, size).map(Arc::new);
        if picture.is_none() {
            let fault = Fault::at(name.span.clone(), format!("there is no built-in icon `{}`", name.value));
            let near = nearest(&name.value, icons::names()).filter(|help| help.starts_with("did you"));
            let all = "`inkjoule fonts --out FOLDER` draws all of them; a file has an extension, such as .png";
            faults.push(fault.help(near.unwrap_or_else(|| all.to_owned())));
        }
        self.made.insert(key, picture.clone());
        picture
    }

    /// The files that elements asked for.
    pub fn asked(&self) -> impl Iterator<Item = &str> {
        self.made.keys().filter_map(|key| Some(key.rsplit_once('|')?.0))
    }

    /// Bytes of flash that the pictures take, rows padded to bytes.
    pub fn flash_bytes(&self) -> u64 {
        let bytes = |frame: &Frame| u64::from(frame.width().div_ceil(8)) * u64::from(frame.height());
        self.made.values().flatten().map(|frame| bytes(frame)).sum()
    }
}

/// Decodes a picture over white, within limits.
fn decode(name: &str, bytes: &[u8], scale: Option<Scale>) -> Result<Gray, Fault> {
    if svg::is_svg(name, bytes) {
        return svg::draw(bytes, |width, height| scale.map_or([width, height], |scale| scale.of(width, height)));
    }
    let reader =
        || ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|why| Fault::plain(why.to_string()));
    let (width, height) = reader()?.into_dimensions().map_err(|why| Fault::plain(why.to_string()))?;
    if width > limits::IMAGE_SIDE
        || height > limits::IMAGE_SIDE
        || u64::from(width) * u64::from(height) > limits::IMAGE_PIXELS
    {
        return Err(Fault::plain(format!(
            "it has {width} x {height} pixels; at most {} along a side and {} in all are read",
            limits::IMAGE_SIDE,
            limits::IMAGE_PIXELS
        )));
    }
    let mut reader = reader()?;
    let mut bounds = image::Limits::default();
    bounds.max_alloc = Some(limits::IMAGE_PIXELS * 16);
    reader.limits(bounds);
    let picture = reader.decode().map_err(|why| Fault::plain(why.to_string()))?.to_luma_alpha8();
    let scale = scale.map(|scale| scale.of(width, height));
    let picture = match scale {
        Some([w, h]) if w == 0 || h == 0 || w > limits::PANEL_SIDE || h > limits::PANEL_SIDE => {
            return Err(Fault::plain(format!("it cannot be scaled to {w} x {h} pixels")));
        }
        Some([w, h]) => image::imageops::resize(&picture, w, h, FilterType::Triangle),
        None => picture,
    };
    let over_white = |pixel: &image::LumaA<u8>| {
        let [gray, alpha] = pixel.0.map(u32::from);
        ((gray * alpha + 255 * (255 - alpha) + 127) / 255) as u8
    };
    Ok(Gray { width: picture.width(), height: picture.height(), pixels: picture.pixels().map(over_white).collect() })
}

/// The largest size inside `room` with the proportions of `width` by `height`; at least one pixel each way.
fn within(room: [u32; 2], width: u32, height: u32) -> [u32; 2] {
    let [w, h] = room.map(u64::from);
    let (width, height) = (u64::from(width.max(1)), u64::from(height.max(1)));
    let size =
        if w * height <= h * width { [w, (w * height / width).max(1)] } else { [(h * width / height).max(1), h] };
    size.map(|side| side.min(u64::from(u32::MAX)) as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_fit_into_their_room_and_keep_their_proportions() {
        assert_eq!(within([100, 100], 40, 20), [100, 50]);
        assert_eq!(within([100, 30], 40, 20), [60, 30]);
        assert_eq!(within([10, 10], 4_000, 1), [10, 1]);
    }
}
