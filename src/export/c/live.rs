//! `c-live`: the design as tables, and the C code that draws every screen from them.

use super::machine;
use super::opening;
use super::steps;
use super::text::{bytes, comment, guarded, section};
use crate::export::facts::{self, Fact};
use crate::export::{Files, Order};
use crate::firmware::drawing::{Drawing, Own, Ring};
use crate::firmware::names::{Names, identifier};
use crate::firmware::packed::coefficients;
use crate::firmware::rules::Rules;
use crate::firmware::tables::condition::decimals;
use crate::firmware::tables::flow;
use crate::frame::{Bit, BitOrder};
use crate::source::fault::Fault;
use std::fmt::Write;

/// The C code that goes with every export.
pub const CODE: &[(&str, &str)] = &[
    ("ink_draw.h", include_str!("ink_draw.h")),
    ("ink_draw.c", include_str!("ink_draw.c")),
    ("ink_draw_values.h", include_str!("ink_draw_values.h")),
    ("ink_machine.h", include_str!("ink_machine.h")),
    ("ink_machine.c", include_str!("ink_machine.c")),
    ("ink_machine_rules.h", include_str!("ink_machine_rules.h")),
    ("ink_machine_state.h", include_str!("ink_machine_state.h")),
    ("ink_machine_run.h", include_str!("ink_machine_run.h")),
    ("ink_machine_panel.h", include_str!("ink_machine_panel.h")),
    ("ink_panel.h", include_str!("ink_panel.h")),
    ("ink_seal.c", include_str!("ink_seal.c")),
    ("ink_draw_pixels.h", include_str!("ink_draw_pixels.h")),
    ("ink_draw_text.h", include_str!("ink_draw_text.h")),
    ("ink_draw_gauges.h", include_str!("ink_draw_gauges.h")),
    ("ink_draw_lists.h", include_str!("ink_draw_lists.h")),
    ("ink_draw_charts.h", include_str!("ink_draw_charts.h")),
];

/// Tables, their header, and the code.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let (drawing, rules) = tables(order)?;
    files(order, &drawing, rules.as_ref())
}

/// The tables that draw, and those that run the design where all of it is wanted.
pub fn tables(order: &Order<'_>) -> Result<(Drawing, Option<Rules>), Fault> {
    let drawing = Drawing::of(order)?;
    let rules = machine::rules(order, drawing.past_bytes())?;
    Ok((drawing, rules))
}

/// First part of every name, and the files' own name.
pub fn name(order: &Order<'_>) -> String {
    format!("{}_live", identifier(&order.prefix))
}

/// The files of tables.
pub fn files(order: &Order<'_>, drawing: &Drawing, rules: Option<&Rules>) -> Result<Files, Fault> {
    let name = name(order);
    let places = rules.map(machine::places).unwrap_or_default();
    let stated = format!("#include <stdint.h>\n\n{}{places}", stated_packing(order));
    let spare: Vec<&str> = drawing.spare.iter().chain(rules.iter().flat_map(|rules| &rules.spare)).copied().collect();
    let memo = order.device.policy.memo.map(|_| ("INK_MEMO", 1));
    let sizes: Vec<(&str, usize)> = drawing.sizes.iter().copied().chain(memo).collect();
    let code = |(file, text): &(&str, &str)| {
        let text = sized(without(text, &spare), &sizes);
        let text = match (*file, rules) {
            ("ink_draw.h", _) => text.replacen("#include <stdint.h>\n", &stated, 1),
            ("ink_machine.h", Some(rules)) => {
                let design = format!("#include \"ink_draw.h\"\n\n{}", machine::stated(rules));
                text.replacen("#include \"ink_draw.h\"\n", &design, 1)
            }
            _ => text,
        };
        (file.to_string(), text.into_bytes())
    };
    let mut files: Files = CODE.iter().map(code).collect();
    files.push((format!("{name}.h"), header(order, &name, drawing, rules).into_bytes()));
    files.push((format!("{name}.c"), source(order, &name, drawing, rules)?.into_bytes()));
    Ok(files)
}

/// How the pictures of an order are packed, so that the compiler leaves out what other packings need.
fn stated_packing(order: &Order<'_>) -> String {
    let size = order.device.panel.size();
    let packing = &order.packing;
    let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(packing, size.width, size.height);
    let names = [
        ("stride", stride(order) as i32),
        ("ax", ax),
        ("ay", ay),
        ("a0", a0),
        ("bx", bx),
        ("by", by),
        ("b0", b0),
        ("a_step", a_step as i32),
        ("b_step", b_step as i32),
        ("first_bit", if packing.bits == BitOrder::MsbFirst { 7 } else { 0 }),
        ("ink", i32::from(packing.pixel_polarity == Bit::One)),
        ("padding", if packing.padding == Bit::One { 255 } else { 0 }),
    ];
    let lines = names.map(|(name, value)| format!("#define INK_PACKED_{name} ({value})\n"));
    format!("/* How the frames of this design are packed. */\n#define INK_PACKING_STATED\n{}", lines.concat())
}

/// The code with parts that are not needed left out, as far as their switches stand in it.
fn without(text: &str, spare: &[&str]) -> String {
    let off = |text: String, part: &&str| text.replace(&format!("#define {part} 1\n"), &format!("#define {part} 0\n"));
    spare.iter().fold(text.to_owned(), off)
}

/// The code with what the design takes at most.
fn sized(text: String, sizes: &[(&str, usize)]) -> String {
    let state = |text: String, (name, size): &(&str, usize)| {
        let line = format!("#define {name} ");
        match text.split_once(&line).and_then(|(before, rest)| Some((before, rest.split_once('\n')?.1))) {
            Some((before, after)) => format!("{before}{line}{size}\n{after}"),
            None => text,
        }
    };
    sizes.iter().fold(text, state)
}

/// An enumeration of names from 0 on, the last one being how many there are.
fn enumeration(about: &str, upper: &str, kind: &str, names: facts::Listed) -> String {
    let mut given = Names::default();
    let mut text = format!("/* {about} */\nenum {{\n");
    let mut count = 0;
    for (name, about) in names {
        let about = if about.is_empty() { String::new() } else { format!(" /* {} */", comment(&about)) };
        let _ = writeln!(text, "    {upper}_{kind}_{} = {count},{about}", given.take(&name).to_uppercase());
        count += 1;
    }
    text + &format!("    {upper}_{kind}S = {count}\n}};\n\n")
}

fn header(order: &Order<'_>, name: &str, drawing: &Drawing, rules: Option<&Rules>) -> String {
    let upper = name.to_uppercase();
    let device = order.device;
    let mut body = String::from("#include \"ink_draw.h\"\n#include \"ink_panel.h\"\n\n");
    let lists = [
        ("Live values, in this order.", "FIELD", facts::fields(order, "ink_arrived")),
        ("Screens and boxes.", "SCREEN", facts::screens(order)),
        ("Locales.", "LOCALE", facts::locales(order)),
    ];
    for (about, kind, list) in lists {
        body += &enumeration(about, &upper, kind, list);
    }
    if !device.events.is_empty() {
        body += &enumeration("Events.", &upper, "EVENT", facts::events(order));
    }
    let size = device.panel.size();
    let stride = stride(order);
    let _ = write!(
        body,
        "/* The upright image in pixels; bytes of a line of the packed image, lines of it; bytes of RAM for histories. */\n\
         #define {upper}_WIDTH {}\n#define {upper}_HEIGHT {}\n#define {upper}_STRIDE {stride}\n#define {upper}_LINES {}\n\
         #define {upper}_PAST {}\n\n",
        size.width,
        size.height,
        lines(order),
        drawing.past_bytes()
    );
    body += &own_areas(order, &upper, &drawing.own);
    body += &facts(order, &upper);
    let _ = write!(
        body,
        "extern const INK_FLASH struct ink_design {name}_design;\nextern const INK_FLASH struct ink_seal {name}_seal;\n\n",
    );
    // What the rules say, the machine does; a part of a design is run by the firmware's own code.
    if rules.is_none() {
        body += &steps::declaration(name);
        let count = flow::steps(device, &order.screens).len();
        let _ = write!(
            body,
            "#define {upper}_STEPS {count}\nextern const INK_FLASH struct {name}_step {name}_steps[];\n\n"
        );
    }
    body += &machine::declaration(name, rules);
    format!("{}{}", opening(&order.device.name, &order.device.note), guarded(&upper, &body))
}

/// Facts as the header has them, and the ends of fields.
fn facts(order: &Order<'_>, upper: &str) -> String {
    let device = order.device;
    let mut text = String::new();
    for facts::Group { about, facts } in facts::groups(order) {
        let stop = if about.ends_with('.') { "" } else { "." };
        let _ = writeln!(text, "/* {}{stop} */", about.replace('\n', "\n   "));
        for (name, fact) in facts {
            let fact = match fact {
                Fact::Screen(place) => place.to_string(),
                Fact::Flag(so) => u8::from(so).to_string(),
                Fact::Count(count) => count.to_string(),
                Fact::Number(number) => format!("({number})"),
                Fact::List(all) => {
                    format!("{{ {} }}", all.iter().map(|one| one.to_string()).collect::<Vec<_>>().join(", "))
                }
            };
            let _ = writeln!(text, "#define {upper}_{name} {fact}");
        }
        text.push('\n');
    }
    text += "/* The ends of fields, in units of their last decimal. */\n";
    let mut given = Names::default();
    for (index, field) in device.fields.iter().enumerate() {
        let name = given.take(&field.name).to_uppercase();
        if let Some((low, high)) = facts::range(device, index) {
            let about = decimals(device, index);
            let _ = writeln!(
                text,
                "#define {upper}_MIN_OF_{name} ({low}L) /* {about} decimals */\n#define {upper}_MAX_OF_{name} ({high}L)"
            );
        }
    }
    text + "\n"
}

/// What the tables are, as `ink_seal.c` finds it.
struct Seal {
    sizes: Vec<usize>,
    /// The check sum of Ethernet (IEEE 802.3, clause 3.2.9) before its bits are turned over at the end.
    sum: u32,
}

impl Default for Seal {
    fn default() -> Self {
        Self { sizes: Vec::new(), sum: u32::MAX }
    }
}

impl Seal {
    fn table(&mut self, bytes: &[u8]) {
        self.sizes.push(bytes.len());
        self.bytes(bytes);
    }

    fn ring(&mut self, ring: &Ring) {
        for number in [ring.field, ring.samples, ring.first] {
            self.bytes(&(number as u16).to_le_bytes());
        }
        self.bytes(&[u8::from(ring.wide)]);
    }

    fn bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.sum ^= u32::from(*byte);
            for _ in 0..8 {
                self.sum = self.sum >> 1 ^ if self.sum & 1 == 1 { 0xEDB8_8320 } else { 0 };
            }
        }
    }
}

/// What the firmware draws itself, as comments that name it and an area each.
fn own_areas(order: &Order<'_>, upper: &str, own: &[Own]) -> String {
    let mut text = format!("/* Areas that are drawn by your own code. */\n#define {upper}_OWN_AREAS {}\n", own.len());
    for (index, area) in own.iter().enumerate() {
        let (corner, size) = (area.area.top_left, area.area.size);
        let screen = order.screens.iter().position(|screen| *screen == area.screen).unwrap_or(0);
        let _ = writeln!(
            text,
            "/* {} */\n#define {upper}_OWN_{index}_SCREEN {screen}\n#define {upper}_OWN_{index}_X {}\n\
             #define {upper}_OWN_{index}_Y {}\n#define {upper}_OWN_{index}_WIDTH {}\n#define {upper}_OWN_{index}_HEIGHT {}",
            comment(&area.about(order.device)),
            corner.x,
            corner.y,
            size.width,
            size.height
        );
    }
    text + "\n"
}

fn source(order: &Order<'_>, name: &str, drawing: &Drawing, rules: Option<&Rules>) -> Result<String, Fault> {
    let upper = name.to_uppercase();
    let mut file = format!(
        "{}#include \"{name}.h\"\n\n{}",
        opening(&order.device.name, &order.device.note),
        section(&upper, order.section.as_deref())
    );
    let mut sealed = Seal::default();
    for (part, about, table) in [
        ("screens", "where each screen's operations begin", &drawing.screens),
        ("code", "operations", &drawing.code),
        ("code_pairs", "pairs in operations", &drawing.pairs[0]),
        ("texts", "texts", &drawing.texts),
        ("text_pairs", "pairs in texts", &drawing.pairs[1]),
        ("bits", "fonts and bitmaps", &drawing.bits),
    ] {
        let all = if table.is_empty() { &vec![0, 0] } else { table };
        sealed.table(all);
        let _ = write!(
            file,
            "/* {}: {} bytes. */\n{upper}_PLACED static const INK_FLASH uint8_t {part}[] = {{\n{}}};\n\n",
            about,
            table.len(),
            bytes(all, 24)
        );
    }
    file += "static const INK_FLASH struct ink_ring rings[] = {\n";
    for ring in &drawing.rings {
        sealed.ring(ring);
        let _ = writeln!(file, "    {{ {}, {}, {}, {} }},", ring.field, ring.samples, ring.first, u8::from(ring.wide));
    }
    if drawing.rings.is_empty() {
        file += "    { 0, 0, 0, 0 },\n";
    }
    let size = order.device.panel.size();
    let packing = packing(order)?;
    let _ = write!(
        file,
        "}};\n\nconst INK_FLASH struct ink_design {name}_design = {{\n    screens, code, code_pairs, texts, text_pairs, bits, rings,\n\
         \x20   /* {} */\n    {{ {packing} }},\n    {}, {},\n    {}, {}, {}, {},\n    {}, {}, {}\n}};\n\n",
        crate::frame::packing_words::describe(&order.packing),
        size.width,
        size.height,
        order.screens.len(),
        order.device.fields.len(),
        drawing.rings.len(),
        drawing.past_bytes(),
        order.locales.len(),
        drawing.place,
        drawing.epoch
    );
    let sizes: Vec<String> = sealed.sizes.iter().map(|size| size.to_string()).collect();
    let _ = write!(
        file,
        "const INK_FLASH struct ink_seal {name}_seal = {{ &{name}_design, {{ {} }}, 0x{:08X}u }};\n\n",
        sizes.join(", "),
        !sealed.sum
    );
    let flow = match rules {
        Some(_) => String::new(),
        None => steps::table(name, &flow::steps(order.device, &order.screens)),
    };
    Ok(file + &flow + &machine::table(name, rules))
}

/// Bytes from one line of the packed frame to the next.
pub fn stride(order: &Order<'_>) -> u32 {
    let size = order.device.panel.size();
    order.packing.stride_of(size.width, size.height).unwrap_or(1).max(1)
}

/// Lines of one packed plane; firmware keeps the plane before, where the controller wants both.
pub fn lines(order: &Order<'_>) -> usize {
    let size = order.device.panel.size();
    order.packing.plane().size(size.width, size.height).unwrap_or(0) / stride(order) as usize
}

fn packing(order: &Order<'_>) -> Result<String, Fault> {
    let size = order.device.panel.size();
    let fits = order.packing.size(size.width, size.height);
    fits.map_err(|why| Fault::plain(format!("cannot pack the screens: {why}")))?;
    let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(&order.packing, size.width, size.height);
    Ok(format!(
        "{}, {}, {ax}, {ay}, {a0}, {bx}, {by}, {b0}, {a_step}, {b_step}, {}, {}, {}",
        lines(order),
        stride(order),
        if order.packing.bits == BitOrder::MsbFirst { 7 } else { 0 },
        u8::from(order.packing.pixel_polarity == Bit::One),
        if order.packing.padding == Bit::One { 255 } else { 0 },
    ))
}
