//! `c`: a header and a source file in C99 that is also C++17. Names and numbers only: no function, no library call.

mod text;

use super::names::identifier;
use super::{Files, Order, Picture};
use crate::design::fault::Fault;
use crate::frame::{Axis, Bit, BitOrder, Packing, Scan};
use text::{bytes, comment, guarded};

/// A header and a source file.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let pictures = order.pictures()?;
    let name = identifier(&order.prefix);
    Ok(vec![
        (format!("{name}.h"), header(order, &name, &pictures).into_bytes()),
        (format!("{name}.c"), source(order, &name, &pictures).into_bytes()),
    ])
}

/// Bytes of one line in the stream.
fn stride(order: &Order<'_>) -> usize {
    let size = order.device.panel.size();
    order.packing.stride_of(size.width, size.height).unwrap_or(1).max(1) as usize
}

fn header(order: &Order<'_>, name: &str, pictures: &[Picture]) -> String {
    let upper = name.to_uppercase();
    let size = order.device.panel.size();
    let total = order.packing.size(size.width, size.height).unwrap_or(0);
    let mut body = String::from("#include <stdint.h>\n\n");
    body += &format!("/* The upright picture, in pixels. */\n#define {upper}_WIDTH {}\n#define {upper}_HEIGHT {}\n\n", size.width, size.height);
    body += &format!("/* The packed picture: {}. */\n", describe(&order.packing));
    body += &format!("#define {upper}_STRIDE {}\n#define {upper}_FRAME_SIZE {total}\n", stride(order));
    body += &format!("#define {upper}_INK {}\n\n", u8::from(order.packing.ink_is));
    body += "/* The screens. */\nenum {\n";
    for (index, picture) in pictures.iter().enumerate() {
        body += &format!("  {upper}_SCREEN_{} = {index},\n", picture.name.to_uppercase());
    }
    body += &format!("  {upper}_SCREENS = {}\n}};\n\n", pictures.len());
    for picture in pictures {
        body += &format!("extern const uint8_t {name}_frame_{}[{upper}_FRAME_SIZE];\n", picture.name);
    }
    body += &format!("\n/* All of them, in the order above. */\nextern const uint8_t *const {name}_frames[{upper}_SCREENS];\n");
    format!("{}{}", opening(order), guarded(&upper, &body))
}

fn source(order: &Order<'_>, name: &str, pictures: &[Picture]) -> String {
    let upper = name.to_uppercase();
    let mut file = format!("{}#include \"{name}.h\"\n\n", opening(order));
    let place = text::section(&upper, order.section.as_deref());
    file += &place;
    for picture in pictures {
        let screen = &order.device.screens[picture.screen.0];
        let about = match (order.device.locales[picture.locale].as_str(), screen.titles[picture.locale].as_str()) {
            ("", "") => screen.id.clone(),
            ("", title) => format!("{}: {title}", screen.id),
            (locale, "") => format!("{}, {locale}", screen.id),
            (locale, title) => format!("{}, {locale}: {title}", screen.id),
        };
        file += &format!("/* {} */\n", comment(&about));
        file += &format!("{upper}_PLACED const uint8_t {name}_frame_{}[{upper}_FRAME_SIZE] = {{\n", picture.name);
        file += &bytes(&picture.bytes, stride(order));
        file += "};\n\n";
    }
    file += &format!("const uint8_t *const {name}_frames[{upper}_SCREENS] = {{\n");
    for picture in pictures {
        file += &format!("  {name}_frame_{},\n", picture.name);
    }
    file + "};\n"
}

/// The first lines of a file: what it is and where it comes from.
fn opening(order: &Order<'_>) -> String {
    let note = match order.device.note.as_str() {
        "" => String::new(),
        note => format!("   {}\n", comment(note)),
    };
    format!("/* {}: screens, written by inkjoule. Changes here are lost with the next export.\n{note}*/\n", comment(&order.device.name))
}

/// A packing in words.
pub fn describe(packing: &Packing) -> String {
    let mut words = Vec::new();
    if packing.mirror {
        words.push("mirrored left-right".to_owned());
    }
    if packing.rotation.degrees() != 0 {
        words.push(format!("turned {} degrees clockwise", packing.rotation.degrees()));
    }
    words.push(match packing.scan {
        Scan::Rows => "bytes run along rows".to_owned(),
        Scan::Columns => "bytes run down columns".to_owned(),
    });
    words.push(match (packing.along, packing.bits) {
        (Axis::X, BitOrder::MsbFirst) => "eight pixels side by side, the left one in bit 7".to_owned(),
        (Axis::X, BitOrder::LsbFirst) => "eight pixels side by side, the left one in bit 0".to_owned(),
        (Axis::Y, BitOrder::MsbFirst) => "eight pixels one above the other, the top one in bit 7".to_owned(),
        (Axis::Y, BitOrder::LsbFirst) => "eight pixels one above the other, the top one in bit 0".to_owned(),
    });
    words.push(format!("ink is {}", u8::from(packing.ink_is)));
    if packing.padding != Bit::Zero {
        words.push("unused bits are 1".to_owned());
    }
    words.join(", ")
}
