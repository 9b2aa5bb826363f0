//! The rules that the machine in C runs, as a table of `c-live`. Not for what they mean: see [`crate::firmware::rules`].

use super::text::bytes;
use crate::export::Order;
use crate::firmware::rules::Rules;
use crate::screen::ScreenId;
use crate::source::fault::Fault;

/// The rules of an order that has every screen, and every locale where a field chooses one: rules must not lead to what
/// is not there. A fault where the panel takes several windows at once. `None` for a part of the design, which can be drawn but not run.
pub fn rules(order: &Order<'_>, past: usize) -> Result<Option<Rules>, Fault> {
    let device = order.device;
    let screens = order.screens.iter().copied().eq((0..device.screens.len()).map(ScreenId));
    let locales = device.language.is_none() || order.locales.iter().copied().eq(0..device.locales.len());
    if !(screens && locales) {
        return Ok(None);
    }
    let windows = device.panel.max_windows;
    if windows > 1 {
        return Err(Fault::plain(format!(
            "the machine in C sends one window at a time, and this panel takes {windows}: write `max-windows = 1` in \
             `[panel]` and see with `budget` what that costs, or export only some screens, which your own code then runs"
        )));
    }
    Rules::of(device, &order.packing, past).map(Some)
}

/// What the header says of them.
pub fn declaration(name: &str, rules: Option<&Rules>) -> String {
    let Some(rules) = rules else {
        return "\n/* Only a part of the design was exported, so there are no rules to run it by. */\n".into();
    };
    let upper = name.to_uppercase();
    let lines = |[machine, panel]: [usize; 2]| {
        format!("#define {upper}_CELLS {machine}\n#define {upper}_PANEL_CELLS {panel}\n")
    };
    let [own, any] = [0, 1].map(|which| lines([rules.cells[which], rules.panel_cells[which]]));
    format!(
        "\n/* What the design does, for ink_init; cells of 32 bits for the machine's state and for the panel's. */\n\
         #if INK_STATED\n{own}#else\n{any}#endif\nextern const INK_FLASH struct ink_rules {name}_rules;\n"
    )
}

/// Where values are kept, for the code that draws and for the machine.
pub fn places(rules: &Rules) -> String {
    let Some(widths) = &rules.widths else { return String::new() };
    let places: Vec<String> = widths.places.iter().map(|place| place.to_string()).collect();
    let ([one, two], [from, to]) = (widths.ends, widths.fresh);
    format!(
        "/* Where values are kept, in bytes by field: one byte each up to an end, then two, then four. */\n\
         #define INK_PLACES_STATED\n#define INK_FIELD_PLACE uint{}_t\n#define INK_FIELD_PLACES {}\n\
         #define INK_ONE_BYTE {one}\n#define INK_TWO_BYTES {two}\n#define INK_STATED_VALUE_BYTES {}u\n\
         /* Where fields stand of which what was measured is kept. */\n\
         #define INK_STATED_FRESH_FROM {from}u\n#define INK_STATED_FRESH_TO {to}u\n",
        8 * widths.place_bytes(),
        places.join(", "),
        widths.bytes
    )
}

/// What the machine's compiler is told, so that it leaves out what other designs need.
pub fn stated(rules: &Rules) -> String {
    let facts = rules.facts.iter().map(|(name, fact)| format!("#define INK_STATED_{name} {fact}u\n"));
    let size = format!("#define INK_STATED_SIZE {}u\n#define INK_STATED_BACK {}\n", rules.body().len(), rules.back);
    let facts: String = facts.chain([size]).collect();
    format!("/* The design that the code is for. */\n#define INK_RULES_STATED\n{facts}")
}

/// The table.
pub fn table(name: &str, rules: Option<&Rules>) -> String {
    let Some(rules) = rules else { return String::new() };
    let (front, body) = rules.bytes.split_at(rules.bytes.len() - rules.body().len());
    format!(
        "\n/* Rules: {} bytes. */\n{}_PLACED static const INK_FLASH uint8_t rules[] = {{\n\
         #if !INK_STATED\n{}#endif\n{}}};\n\
         const INK_FLASH struct ink_rules {name}_rules = {{ rules, sizeof rules }};\n",
        body.len(),
        name.to_uppercase(),
        bytes(front, 24),
        bytes(body, 24)
    )
}
