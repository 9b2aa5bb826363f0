//! `rust`: a module for `no_std` firmware. Each screen is there twice: upright as an `ImageRaw` to draw, and packed as
//! the panel wants it; what a program does not use, its linker leaves out.

use super::{Files, Order, ScreenPicture};
use crate::firmware::names::{Names, identifier};
use crate::source::fault::Fault;
use crate::visible::one_line;
use std::fmt::Write;

/// One `.rs` file.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let pictures = order.pictures()?;
    let size = order.device.panel.size();
    let stride = order.packing.stride_of(size.width, size.height).unwrap_or(1);
    let mut given = Names::default();
    let named: Vec<(String, &ScreenPicture)> =
        pictures.iter().map(|picture| (given.take_camel(&picture.name), picture)).collect();
    let mut text = format!(
        "//! {}: screens, written by inkjoule. Changes here are lost with the next export.\n",
        one_line(&order.device.name)
    );
    if !order.device.note.is_empty() {
        text += &format!("//!\n//! {}\n", one_line(&order.device.note));
    }
    text += &format!(
        "\nuse embedded_graphics::image::ImageRaw;\nuse embedded_graphics::pixelcolor::BinaryColor;\n\n\
         /// Pixels across the upright image.\npub const WIDTH: u32 = {};\n\
         /// Pixels down the upright image.\npub const HEIGHT: u32 = {};\n\n\
         /// A screen.\n#[derive(Clone, Copy, Debug, PartialEq, Eq)]\npub enum Screen {{\n",
        size.width, size.height
    );
    for (name, picture) in &named {
        text += &format!("    /// {}\n    {name},\n", about(order, picture));
    }
    text +=
        &format!("}}\n\nimpl Screen {{\n    /// Every screen.\n    pub const ALL: [Self; {}] = [\n", pictures.len());
    for (name, _) in &named {
        text += &format!("        Self::{name},\n");
    }
    text += "    ];\n\n    /// The upright image; black is `BinaryColor::On`.\n\
             \x20   pub const fn image(self) -> ImageRaw<'static, BinaryColor> {\n        match self {\n";
    for (name, picture) in &named {
        text += &format!("            Self::{name} => ImageRaw::new(&{}, WIDTH),\n", upper(picture));
    }
    text += &format!(
        "        }}\n    }}\n\n    /// The bytes for the panel: {}.\n\
         \x20   pub const fn packed(self) -> &'static [u8; packed::SIZE] {{\n        match self {{\n",
        crate::frame::packing_words::describe(&order.packing)
    );
    for (name, picture) in &named {
        text += &format!("            Self::{name} => &packed::{},\n", upper(picture));
    }
    text += "        }\n    }\n}\n\n";
    for picture in &pictures {
        array(&mut text, "", picture, &picture.frame.to_rows_msb(), picture.frame.row_bytes());
    }
    let bytes = pictures.first().map_or(0, |picture| picture.bytes.len());
    text += &format!(
        "/// Bytes for the panel.\npub mod packed {{\n    /// Bytes from line to line.\n    pub const STRIDE: usize = {stride};\n\
         \x20   /// Bytes of one screen.\n    pub const SIZE: usize = {bytes};\n\n"
    );
    for picture in &pictures {
        array(&mut text, "    ", picture, &picture.bytes, stride as usize);
    }
    text += "}\n";
    Ok(vec![(format!("{}.rs", identifier(&order.prefix)), text.into_bytes())])
}

fn about(order: &Order<'_>, picture: &ScreenPicture) -> String {
    let screen = &order.device.screens[picture.screen.0];
    let title = match screen.titles[picture.locale].as_str() {
        "" => &screen.id,
        title => title,
    };
    match order.device.locales[picture.locale].as_str() {
        "" => format!("{}.", one_line(title)),
        locale => format!("{} ({locale}).", one_line(title)),
    }
}

fn upper(picture: &ScreenPicture) -> String {
    let name = picture.name.to_uppercase();
    // Constants of the file; no identifier ends with an underscore of its own.
    if ["WIDTH", "HEIGHT", "STRIDE", "SIZE"].contains(&name.as_str()) { name + "_" } else { name }
}

fn array(text: &mut String, indent: &str, picture: &ScreenPicture, bytes: &[u8], stride: usize) {
    // Writing to a string cannot fail.
    let _ =
        writeln!(text, "{indent}#[rustfmt::skip]\n{indent}pub static {}: [u8; {}] = [", upper(picture), bytes.len());
    for line in bytes.chunks(stride.max(1)).flat_map(|line| line.chunks(32)) {
        text.push_str(indent);
        text.push_str("   ");
        for byte in line {
            let _ = write!(text, " 0x{byte:02x},");
        }
        text.push('\n');
    }
    let _ = writeln!(text, "{indent}];\n");
}
