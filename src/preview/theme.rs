//! The colours of the preview, in one place. Paper and ink are near those of e-paper in daylight.

/// A colour as 0x00RRGGBB.
pub type Color = u32;

/// Behind the device.
pub const DESK: Color = 0xD6D3CB;
/// Behind the strip's text.
pub const STRIP: Color = 0xF5F3EE;
/// Fine lines of the strip.
pub const RULE: Color = 0xD0CCC2;
/// Text that is read.
pub const TEXT: Color = 0x23221F;
/// Text that names what is read.
pub const LABEL: Color = 0x6B675F;
/// Text that needs attention, and the mark of a message.
pub const ALERT: Color = 0xA8321C;
/// The device's body.
pub const BODY: Color = 0x3A3D41;
/// The edge of the body, lit from above.
pub const BODY_EDGE: Color = 0x4A4E53;
/// A key at rest.
pub const KEY: Color = 0x53575D;
/// A key that is held.
pub const KEY_HELD: Color = 0x2A2C2F;
/// A key that does nothing on this screen.
pub const KEY_IDLE: Color = 0x43464A;
/// The number on a key.
pub const KEY_TEXT: Color = 0xE9E6DF;
/// The number on a key that does nothing.
pub const KEY_TEXT_IDLE: Color = 0x7E8287;
/// The rim of the glass around its active area.
pub const GLASS: Color = 0xCFCCC1;
/// Paper.
pub const PAPER: Color = 0xE8E5DB;
/// Ink.
pub const INK: Color = 0x25252A;
/// A pixel on its way.
pub const SETTLING: Color = 0x8B8A85;
/// Outlines of elements.
pub const BOXES: Color = 0x1F6FB2;
/// Outlines of update windows.
pub const WINDOWS: Color = 0xC8401F;
/// The part of the activity map that is driven most.
pub const ACTIVITY: Color = 0xE08A00;

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
