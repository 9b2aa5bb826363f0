//! `rust-live`: a `no_std` crate that runs the design: the C of `c-live`, and types of Rust around it.
//!
//! The rules stay in the C. How C lays its state out is not written in Rust a second time, where it could differ by target
//! and by switch: the crate keeps as many bytes as [`Rules`] counts, C works in them, and does not compile where they are too
//! few. Numbers cross, and one structure of numbers of 16 bits, by functions of one file (`store.c`) that one private module
//! (`ffi.rs`) calls; all else that is exported is safe Rust.
//!
//! Most files are templates, so that they can be read as what they are: `@NAME@` stands for a text of the design, and what
//! lies between `@IF:KEYS@` and `@END@` is left out where the design has no keys.

mod lists;
mod template;

use super::c::live;
use super::facts::{self, Fact};
use super::{Files, Order, program};
use crate::behaviour::field::Field;
use crate::device::Device;
use crate::firmware::drawing::{Drawing, Own};
use crate::firmware::packed::coefficients;
use crate::firmware::rules::Rules;
use crate::frame::{Bit, BitOrder};
use crate::refresh::strips::strip_lines;
use crate::source::fault::Fault;
use crate::visible::one_line;
use lists::{Item, Lists, doc};
use std::fmt::Write;
use template::Template;

/// The crate.
///
/// # Errors
/// Where `c-live` cannot be exported, or only a part of the design is wanted.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let (drawing, rules) = live::tables(order)?;
    let rules = rules.ok_or_else(program::not_whole)?;
    let code = live::files(order, &drawing, Some(&rules))?;
    let lists = Lists::of(order);
    let sources = code.iter().filter(|(name, _)| name.ends_with(".c"));
    let sources = sources.map(|(name, _)| format!("        .file(\"c/{name}\")\n"));
    let template = numbers(order, &rules, &lists)
        .with("TITLE", title(order.device))
        .with("DESIGN", design(order, &drawing, &lists))
        .with("FILES", sources.collect::<String>())
        .with("SAMPLES", samples(order, &lists))
        .with("PAST", past(order, &lists))
        .with("BEGIN", program::begin(order.device))
        .with("FULL", program::milliseconds(order.device, Some(&order.device.panel.full)))
        .with("PARTIAL", program::milliseconds(order.device, order.device.panel.partial.as_ref()));
    let own = [
        ("Cargo.toml", include_str!("crate/Cargo.toml.in")),
        ("build.rs", include_str!("crate/build.rs")),
        ("src/lib.rs", include_str!("crate/lib.rs")),
        ("src/device.rs", include_str!("crate/device.rs")),
        ("src/task.rs", include_str!("crate/task.rs")),
        ("src/ffi.rs", include_str!("crate/ffi.rs")),
        ("src/store.c", include_str!("crate/store.c")),
        ("examples/host.rs", include_str!("crate/host.rs")),
    ];
    let own = own.into_iter().map(|(name, text)| (name.to_owned(), template.fill(text).into_bytes()));
    let code = code.into_iter().map(|(name, bytes)| (format!("c/{name}"), bytes));
    Ok(own.chain(code).collect())
}

/// What the crate is of, as the first lines of its documentation.
fn title(device: &Device) -> String {
    let note = if device.note.is_empty() { String::new() } else { format!("//!\n//! {}\n", doc(&device.note)) };
    format!("//! {}.\n{note}", doc(&device.name))
}

/// Names and sizes of an order, and which parts of the crate it needs.
fn numbers(order: &Order<'_>, rules: &Rules, lists: &Lists) -> Template {
    let device = order.device;
    let name = live::name(order);
    let size = device.panel.size();
    let memo = device.policy.memo.unwrap_or(0);
    // As `struct ink_rust_state` in `store.c` adds up: structures, cells, the memo.
    let cells = 4 * (rules.cells[0] + rules.panel_cells[0]) + 2 * memo as usize;
    let [narrow, wide] = rules.structures.map(|structures| (structures + cells).next_multiple_of(8));
    let packing = &order.packing;
    let ([ax, ay, a0, bx, by, b0], [a_step, b_step]) = coefficients(packing, size.width, size.height);
    let first_bit = if packing.bits == BitOrder::MsbFirst { 7 } else { 0 };
    let chooses = device.language.is_none() && lists.locales.len() > 1;
    let [fields, keys, events] = [&lists.fields, &lists.keys, &lists.events].map(|list| !list.is_empty());
    Template::default()
        .with("UPPER", name.to_uppercase())
        .with("NAME", name)
        .with("WIDTH", size.width)
        .with("HEIGHT", size.height)
        .with("STRIDE", live::stride(order))
        .with("LINES", live::lines(order))
        .with("FULL_PLANES", rules.fact("PLANES"))
        .with("PARTIAL_PLANES", rules.fact("PARTIAL_PLANES"))
        .with("STRIP", strip_lines(device))
        .with("MEMO", memo)
        .with("STATE32", narrow)
        .with("STATE64", wide)
        .with("INK", packing.pixel_polarity == Bit::One)
        .with("PACKING", format!("[[{ax}, {ay}, {a0}], [{bx}, {by}, {b0}], [{a_step}, {b_step}, {first_bit}]]"))
        .part("FIELDS", fields)
        .part("NO_FIELDS", !fields)
        .part("KEYS", keys)
        .part("EVENTS", events)
        .part("TOLD", fields || events)
        .part("INPUTS", fields || keys || events)
        .part("NO_INPUTS", !(fields || keys || events))
        .part("LOCALES", chooses)
}

/// What the design has: its facts, areas that its machine does not draw, and its enumerations.
fn design(order: &Order<'_>, drawing: &Drawing, lists: &Lists) -> String {
    let (mut text, mut screens) = (String::new(), String::new());
    for group in facts::groups(order) {
        let about = group.about.replace('\n', "\n/// ");
        let stop = if about.ends_with('.') { "" } else { "." };
        for (name, fact) in group.facts {
            let line = match fact {
                Fact::Screen(place) => {
                    let screen = &lists.screens[place].name;
                    let _ = write!(screens, "\n    /// {about}{stop}\n    pub const {name}: Self = Self::{screen};\n");
                    continue;
                }
                Fact::Flag(so) => format!("{name}: bool = {so}"),
                Fact::Count(count) => format!("{name}: u32 = {count}"),
                Fact::Number(number) => format!("{name}: i32 = {number}"),
                Fact::List(all) => format!("{name}: [i32; {}] = {all:?}", all.len()),
            };
            let _ = write!(text, "\n/// {about}{stop}\npub const {line};\n");
        }
    }
    text += &own_areas(order, &drawing.own, lists);
    text += &lists.text(order);
    text + &format!("\nimpl Screen {{{}}}\n", screens.trim_start_matches('\n').replacen("    ///", "\n    ///", 1))
}

/// Areas that the firmware draws itself, into the lines before it sends them.
fn own_areas(order: &Order<'_>, own: &[Own], lists: &Lists) -> String {
    if own.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "\n/// An area that is drawn by your own code, in pixels of the upright image: change the lines that are sent\n\
         /// ([`Lines::rows_mut`]), at [`place_of`].\n\
         #[derive(Clone, Copy, Debug, PartialEq, Eq)]\npub struct OwnArea {{\n    /// Where it is.\n    pub screen: Screen,\n    \
         /// Its left edge.\n    pub x: i32,\n    /// Its upper edge.\n    pub y: i32,\n    /// How wide it is.\n    \
         pub width: u32,\n    /// How high it is.\n    pub height: u32,\n}}\n\n\
         /// Areas that are drawn by your own code.\npub const OWN_AREAS: [OwnArea; {}] = [\n",
        own.len()
    );
    for area in own {
        let (corner, size) = (area.area.top_left, area.area.size);
        let screen = order.screens.iter().position(|screen| *screen == area.screen).unwrap_or(0);
        let _ = writeln!(
            text,
            "    // {}.\n    OwnArea {{ screen: Screen::{}, x: {}, y: {}, width: {}, height: {} }},",
            one_line(&area.about(order.device)),
            lists.screens[screen].name,
            corner.x,
            corner.y,
            size.width,
            size.height
        );
    }
    text + "];\n"
}

/// A value as Rust writes what may be unknown.
fn number(device: &Device, field: usize, value: f64) -> String {
    program::number(device, field, value).map_or("None".into(), |number| format!("Some({number})"))
}

fn samples(order: &Order<'_>, lists: &Lists) -> String {
    let fields = lists.fields.iter().zip(&order.device.fields).enumerate();
    let line = |(index, (item, field)): (usize, (&Item, &Field))| {
        format!("    (Field::{}, {}),\n", item.name, number(order.device, index, field.sample))
    };
    fields.map(line).collect()
}

fn past(order: &Order<'_>, lists: &Lists) -> String {
    let fields = lists.fields.iter().zip(order.values.past.iter()).enumerate();
    let line = |(index, (item, past)): (usize, (&Item, &Vec<f64>))| {
        let numbers: Vec<String> = past.iter().map(|value| number(order.device, index, *value)).collect();
        format!("    (Field::{}, &[{}]),\n", item.name, numbers.join(", "))
    };
    fields.filter(|(_, (_, past))| !past.is_empty()).map(line).collect()
}
