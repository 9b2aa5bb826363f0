//! The colours of the preview, taken from the program's palette: the desk is in daylight, so its theme is the light one.

use crate::plot::palette::{Colour, Theme, device, packed};

/// A colour as 0x00RRGGBB.
pub type Color = u32;

/// Behind the device.
pub const DESK: Color = packed(device::DESK);
/// Behind the strip's text.
pub const STRIP: Color = packed(Colour::Paper.rgb(Theme::Light));
/// Fine lines of the strip.
pub const RULE: Color = packed(Colour::Grid.rgb(Theme::Light));
/// Text that is read.
pub const TEXT: Color = packed(Colour::Ink.rgb(Theme::Light));
/// Text that names what is read.
pub const LABEL: Color = packed(Colour::Grey.rgb(Theme::Light));
/// Text that needs attention, and the mark of a message.
pub const ALERT: Color = packed(Colour::Alert.rgb(Theme::Light));
/// The device's body.
pub const BODY: Color = packed(device::BODY);
/// The edge of the body, lit from above.
pub const BODY_EDGE: Color = packed(device::BODY_EDGE);
/// A key at rest.
pub const KEY: Color = packed(device::KEY);
/// A key that is held.
pub const KEY_HELD: Color = packed(device::KEY_HELD);
/// A key that does nothing on this screen.
pub const KEY_IDLE: Color = packed(device::KEY_IDLE);
/// The number on a key.
pub const KEY_TEXT: Color = packed(device::KEY_TEXT);
/// The number on a key that does nothing.
pub const KEY_TEXT_IDLE: Color = packed(device::KEY_TEXT_IDLE);
/// The rim of the panel around its active area.
pub const GLASS: Color = packed(device::RIM);
/// Paper.
pub const PAPER: Color = packed(device::PAPER);
/// Ink.
pub const INK: Color = packed(device::INK);
/// A pixel on its way.
pub const SETTLING: Color = packed(device::SETTLING);
/// Outlines of elements.
pub const BOXES: Color = packed(Colour::Kind(0).rgb(Theme::Light));
/// Outlines of update windows.
pub const WINDOWS: Color = packed(Colour::Kind(1).rgb(Theme::Light));
/// The part of the activity map that is driven most.
pub const ACTIVITY: Color = packed(Colour::Heat.rgb(Theme::Light));

/// Red, green and blue of a colour.
pub fn parts(color: Color) -> [u8; 3] {
    let [_, red, green, blue] = color.to_be_bytes();
    [red, green, blue]
}

/// `share` (0 to 1) of `over` on the rest of `under`.
pub fn mix(under: Color, over: Color, share: f32) -> Color {
    let share = share.clamp(0.0, 1.0);
    let (under, over) = (parts(under), parts(over));
    let part = |n: usize| (f32::from(under[n]) * (1.0 - share) + f32::from(over[n]) * share).round() as u8;
    u32::from_be_bytes([0, part(0), part(1), part(2)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::palette::contrast;

    #[test]
    fn every_text_stands_out_from_what_it_stands_on() {
        // WCAG 2.2, 1.4.3: 4.5 to 1. Hints below the device stand on the desk.
        let pairs = [
            (TEXT, STRIP),
            (LABEL, STRIP),
            (ALERT, STRIP),
            (TEXT, DESK),
            (LABEL, DESK),
            (ALERT, DESK),
            (KEY_TEXT, KEY),
            (KEY_TEXT, KEY_HELD),
            (KEY_TEXT_IDLE, KEY_IDLE),
        ];
        for (text, under) in pairs {
            let ratio = contrast(parts(text), parts(under));
            assert!(ratio >= 4.5, "{text:06x} on {under:06x}: {ratio:.2}");
        }
    }
}
