//! `c`: a header and a source file in C99 that is also C++17. Names and numbers only: no function, no library call.

pub mod live;
mod machine;
pub mod main_file;
pub mod rows;
mod steps;
mod text;

use super::{Files, Order, ScreenPicture};
use crate::firmware::names::identifier;
use crate::frame::packing_words::describe;
use crate::frame::{Packing, Planes};
use crate::source::fault::Fault;
use embedded_graphics::prelude::Size;
use text::{bytes, comment, guarded};

/// A header and a source file.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let shown = |picture: ScreenPicture| NamedPicture {
        about: about(order, &picture),
        name: picture.name,
        bytes: picture.bytes,
    };
    let device = order.device;
    Ok(gallery(&Gallery {
        title: format!("{}: screens", device.name),
        note: device.note.clone(),
        prefix: order.prefix.clone(),
        section: order.section.clone(),
        size: device.panel.size(),
        packing: order.packing.clone(),
        pictures: order.pictures()?.into_iter().map(shown).collect(),
    }))
}

/// Pictures of one size to be written as C.
#[derive(Debug)]
pub struct Gallery {
    /// What they are.
    pub title: String,
    /// A second line; may be empty.
    pub note: String,
    /// First part of every name, and the files' own name.
    pub prefix: String,
    /// Section that the arrays are placed in.
    pub section: Option<String>,
    /// Size of the upright picture.
    pub size: Size,
    /// How the bytes were packed.
    pub packing: Packing,
    /// The pictures.
    pub pictures: Vec<NamedPicture>,
}

/// One picture.
#[derive(Debug)]
pub struct NamedPicture {
    /// An identifier of its own.
    pub name: String,
    /// What it shows.
    pub about: String,
    /// The packed bytes.
    pub bytes: Vec<u8>,
}

/// Header and source file of pictures.
pub fn gallery(gallery: &Gallery) -> Files {
    let name = identifier(&gallery.prefix);
    vec![
        (format!("{name}.h"), header(gallery, &name).into_bytes()),
        (format!("{name}.c"), source(gallery, &name).into_bytes()),
    ]
}

/// Bytes of one line in the stream.
fn stride(gallery: &Gallery) -> usize {
    gallery.packing.stride_of(gallery.size.width, gallery.size.height).unwrap_or(1).max(1) as usize
}

/// What a header says of all pictures: size, packing, their names.
fn shape(gallery: &Gallery, upper: &str) -> String {
    let size = gallery.size;
    let total = gallery.packing.size(size.width, size.height).unwrap_or(0);
    let mut body = String::from("#include <stdint.h>\n\n");
    body += &format!(
        "/* The upright image, in pixels. */\n#define {upper}_WIDTH {}\n#define {upper}_HEIGHT {}\n\n",
        size.width, size.height
    );
    body += &format!("/* The packed image: {}. */\n", describe(&gallery.packing));
    if gallery.packing.planes != Planes::New {
        body += &format!(
            "/* Planes in it, and bytes of one of them. The image before is all paper here. */\n\
             #define {upper}_PLANES {}\n#define {upper}_PLANE_SIZE {}\n",
            gallery.packing.planes.count(),
            gallery.packing.plane().size(size.width, size.height).unwrap_or(0)
        );
    }
    body += &format!("#define {upper}_STRIDE {}\n#define {upper}_FRAME_SIZE {total}\n", stride(gallery));
    body += &format!("#define {upper}_INK {}\n\n", u8::from(gallery.packing.pixel_polarity));
    body += "/* The images. */\nenum {\n";
    for (index, picture) in gallery.pictures.iter().enumerate() {
        body += &format!("    {upper}_SCREEN_{} = {index},\n", picture.name.to_uppercase());
    }
    body + &format!("    {upper}_SCREENS = {}\n}};\n\n", gallery.pictures.len())
}

fn header(gallery: &Gallery, name: &str) -> String {
    let upper = name.to_uppercase();
    let mut body = shape(gallery, &upper);
    for picture in &gallery.pictures {
        body += &format!("extern const uint8_t {name}_frame_{}[{upper}_FRAME_SIZE];\n", picture.name);
    }
    body += &format!(
        "\n/* All of them, in the order above. */\nextern const uint8_t *const {name}_frames[{upper}_SCREENS];\n"
    );
    format!("{}{}", opening(&gallery.title, &gallery.note), guarded(&upper, &body))
}

fn source(gallery: &Gallery, name: &str) -> String {
    let upper = name.to_uppercase();
    let mut file = format!("{}#include \"{name}.h\"\n\n", opening(&gallery.title, &gallery.note));
    file += &text::section(&upper, gallery.section.as_deref());
    for picture in &gallery.pictures {
        file += &format!("/* {} */\n", comment(&picture.about));
        file += &format!("{upper}_PLACED const uint8_t {name}_frame_{}[{upper}_FRAME_SIZE] = {{\n", picture.name);
        file += &bytes(&picture.bytes, stride(gallery));
        file += "};\n\n";
    }
    file += &format!("const uint8_t *const {name}_frames[{upper}_SCREENS] = {{\n");
    for picture in &gallery.pictures {
        file += &format!("    {name}_frame_{},\n", picture.name);
    }
    file + "};\n"
}

fn about(order: &Order<'_>, picture: &ScreenPicture) -> String {
    let screen = &order.device.screens[picture.screen.0];
    match (order.device.locales[picture.locale].as_str(), screen.titles[picture.locale].as_str()) {
        ("", "") => screen.id.clone(),
        ("", title) => format!("{}: {title}", screen.id),
        (locale, "") => format!("{}, {locale}", screen.id),
        (locale, title) => format!("{}, {locale}: {title}", screen.id),
    }
}

/// The first lines of a file: what it is and where it comes from.
fn opening(title: &str, note: &str) -> String {
    let note = if note.is_empty() { String::new() } else { format!("   {}\n", comment(note)) };
    format!("/* {}, written by inkjoule. Changes here are lost with the next export.\n{note}*/\n", comment(title))
}
