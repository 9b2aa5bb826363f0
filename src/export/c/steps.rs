//! The flow as a table of steps in C.

use crate::firmware::tables::flow::{FlowStep, FlowTrigger};
use crate::refresh::update::Mode;

/// The steps' type, for the header.
pub fn declaration(name: &str) -> String {
    let upper = name.to_uppercase();
    format!(
        "\n/* One way on from a screen. */\nenum {{ {upper}_KEY, {upper}_AFTER_MS, {upper}_EVENT }};\n\
         struct {name}_step {{\n    uint16_t screen; /* position in the flow */\n    uint16_t target;\n\
         \x20   uint8_t trigger;\n    uint8_t full;    /* drawn with a full refresh whatever went before */\n\
         \x20   uint32_t which;  /* key from 0 on, milliseconds without a press, or event */\n\
         \x20   int16_t field;   /* changed by it; -1 for none */\n    uint8_t added;   /* the amount is added, else set */\n\
         \x20   int32_t amount, min, max;\n}};\n\n"
    )
}

/// The table, for the source file.
pub fn table(name: &str, steps: &[FlowStep]) -> String {
    let mut text = format!("const INK_FLASH struct {name}_step {name}_steps[] = {{\n");
    steps.iter().for_each(|step| text += &row(step));
    if steps.is_empty() {
        text += "    { 0, 0, 0, 0, 0, -1, 0, 0, 0, 0 },\n";
    }
    text + "};\n"
}

fn row(step: &FlowStep) -> String {
    let (trigger, which) = match step.trigger {
        FlowTrigger::Key(key) => (0, key as u32),
        FlowTrigger::After(wait) => (1, wait),
        FlowTrigger::Event(event) => (2, event as u32),
    };
    let change = match &step.change {
        None => "-1, 0, 0, 0, 0".to_owned(),
        Some(change) => format!(
            "{}, {}, {}, {}, {}",
            change.field,
            u8::from(change.added),
            change.amount,
            change.range[0],
            change.range[1]
        ),
    };
    format!(
        "    {{ {}, {}, {trigger}, {}, {which}u, {change} }},\n",
        step.screen,
        step.target,
        u8::from(step.mode == Mode::Full)
    )
}
