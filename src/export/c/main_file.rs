//! `c-main`: a program to start from. Its first part is what the firmware must fill in, each function with a comment; built
//! with `INK_HOST` it runs on a computer from a script of keys and writes a picture for each refresh.
//!
//! It goes with the files of [`super::live`], under the same prefix.

use super::{live, opening};
use crate::behaviour::policy::Buffer;
use crate::device::Device;
use crate::export::{Files, Order, program};
use crate::firmware::names::identifier;
use crate::refresh::strips::strip_lines;
use crate::source::fault::Fault;

/// The program.
pub fn write(order: &Order<'_>) -> Result<Files, Fault> {
    let device = order.device;
    let whole = order.screens.len() == device.screens.len() && order.locales.len() == device.locales.len();
    if !whole {
        return Err(program::not_whole());
    }
    let name = live::name(order);
    let memo = |line: fn(u32) -> String| device.policy.memo.map(line).unwrap_or_default();
    let external = u8::from(matches!(device.policy.buffer, Buffer::External(_)));
    let text = include_str!("ink_main.c")
        .replace("@NAME@", &name)
        .replace("@UPPER@", &name.to_uppercase())
        .replace("@START@", &device.usage.start.date().to_string())
        .replace("@BEGIN@", &program::begin(device))
        .replace("@FULL@", &program::milliseconds(device, Some(&device.panel.full)).to_string())
        .replace("@PARTIAL@", &program::milliseconds(device, device.panel.partial.as_ref()).to_string())
        .replace(
            "@MEMO@",
            &memo(|cells| {
                format!("#if INK_MEMO\nstatic uint16_t memo[{cells}]; /* what is drawn is noted here */\n#endif\n")
            }),
        )
        .replace(
            "@REMEMBER@",
            &memo(|cells| format!("#if INK_MEMO\n    ink_panel_memo(&panel, memo, {cells});\n#endif\n")),
        )
        .replace("@EXTERNAL@", &external.to_string())
        .replace("@STRIP@", &strip_lines(device).to_string())
        .replace("@SAMPLE@", &samples(device))
        .replace("@PAST@", &past(order, &name));
    let about = format!(
        "{}: a program to start from, for the files of c-live. On a computer: cc -DINK_HOST *.c -o demo && ./demo FOLDER < SCRIPT",
        device.name
    );
    Ok(vec![(format!("{}_main.c", identifier(&order.prefix)), (opening(&about, &device.note) + &text).into_bytes())])
}

/// As C writes it.
fn in_c(device: &Device, field: usize, value: f64) -> String {
    program::number(device, field, value).map_or("INK_UNKNOWN".into(), |number| number.to_string())
}

fn samples(device: &Device) -> String {
    let line = |(index, field): (usize, &crate::behaviour::field::Field)| {
        format!("    {}, /* {} */\n", in_c(device, index, field.sample), super::text::comment(&field.name))
    };
    let lines: String = device.fields.iter().enumerate().map(line).collect();
    if lines.is_empty() { "    0\n".into() } else { lines }
}

/// Fills the histories with what sample pictures show.
fn past(order: &Order<'_>, name: &str) -> String {
    let device = order.device;
    let mut text = String::new();
    for (field, past) in order.values.past.iter().enumerate().filter(|(_, past)| !past.is_empty()) {
        let numbers: Vec<String> = past.iter().map(|value| in_c(device, field, *value)).collect();
        text += &format!(
            "    {{\n        static const int32_t past[] = {{ {} }};\n        for (at = 0; at < {}; at++) {{\n\
             \x20           ink_past_add(&{name}_design, ink_past(machine), {field}, past[at]);\n\
             \x20       }}\n    }}\n",
            numbers.join(", "),
            past.len()
        );
    }
    text
}
