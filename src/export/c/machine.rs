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
    format!(
        "\n/* What the design does, for ink_init; cells of 32 bits for the machine's state and for the panel's. */\n\
         #define {upper}_CELLS {}\n#define {upper}_PANEL_CELLS {}\n\
         extern const INK_FLASH struct ink_rules {name}_rules;\n",
        rules.cells, rules.panel_cells
    )
}

/// The table.
pub fn table(name: &str, rules: Option<&Rules>) -> String {
    let Some(rules) = rules else { return String::new() };
    format!(
        "\n/* Rules: {} bytes. */\n{}_PLACED static const INK_FLASH uint8_t rules[] = {{\n{}}};\n\
         const INK_FLASH struct ink_rules {name}_rules = {{ rules, {} }};\n",
        rules.bytes.len(),
        name.to_uppercase(),
        bytes(&rules.bytes, 24),
        rules.bytes.len()
    )
}
