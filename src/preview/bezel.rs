//! Where the device's parts lie in a picture of it: body, display, active area, keys at their physical places.

use super::canvas::{Type, WindowCanvas};
use super::session::Session;
use super::theme;
use crate::device::Device;
use crate::frame::rectangle;
use crate::hardware::display::Side;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Millimetres of display around the active area.
const RIM: f64 = 2.2;
/// Millimetres of body around the display.
const BODY: f64 = 4.5;
/// Millimetres from the display to the keys, and their depth.
const KEY: [f64; 2] = [3.0, 6.5];

/// Where the parts lie, in pixels of the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Bezel {
    /// The device's outline.
    pub body: Rectangle,
    /// The display with its rim.
    pub display: Rectangle,
    /// The panel's pixels.
    pub active: Rectangle,
    /// The keys; those that lie at no side of the display have no size.
    pub keys: Vec<Rectangle>,
    /// Radius of the body's corners.
    pub radius: i32,
}

impl Bezel {
    /// The parts of a device whose panel pixels are `scale` pixels large, the body's corner at the origin.
    pub fn new(device: &Device, scale: f64) -> Self {
        let per_mm = device.panel.pitch.map(|pitch| 1e-3 / pitch.0 * scale);
        let mm = |length: f64| (length * per_mm[0]).round() as i32;
        let size = device.panel.size();
        let (w, h) = ((f64::from(size.width) * scale).round() as i32, (f64::from(size.height) * scale).round() as i32);
        let on_side =
            |side: Side, millimetres: f64| (millimetres * per_mm[if side.is_level() { 0 } else { 1 }]).round() as i32;
        // Room at each side of the active area: left, top, right, bottom.
        let mut room = [mm(RIM + BODY); 4];
        let sides = Side::ALL.into_iter().filter(|side| device.display.keys_at(*side).next().is_some());
        let sides: Vec<Side> = sides.collect();
        for side in &sides {
            let edges = device.display.keys_at(*side).flat_map(|(_, key)| {
                let (centre, half) = (key.centre.0 * 1e3, key.width.0 * 5e2);
                [centre - half, centre + half]
            });
            let (first, last) = edges.fold((0.0f64, 0.0f64), |(a, b), edge| (a.min(edge), b.max(edge)));
            let (start, end, length) = if side.is_level() { (0, 2, w) } else { (1, 3, h) };
            room[start] = room[start].max(mm(BODY) - on_side(*side, first));
            room[end] = room[end].max(mm(BODY) + on_side(*side, last) - length);
        }
        for side in sides {
            let with_keys = match side {
                Side::Left => 0,
                Side::Top => 1,
                Side::Right => 2,
                Side::Bottom => 3,
            };
            room[with_keys] = mm(RIM + KEY[0] + KEY[1] + BODY * 0.8);
        }
        let active = rectangle(room[0], room[1], w, h);
        let display = rectangle(room[0] - mm(RIM), room[1] - mm(RIM), w + 2 * mm(RIM), h + 2 * mm(RIM));
        let keys = device.display.keys.iter().map(|key| {
            let Some(side) = key.side else { return rectangle(0, 0, 0, 0) };
            let from = on_side(side, (key.centre.0 - key.width.0 / 2.0) * 1e3);
            let width = on_side(side, key.width.0 * 1e3).max(4);
            let (near, depth) = (mm(RIM + KEY[0]), mm(KEY[1]).max(4));
            match side {
                Side::Bottom => rectangle(room[0] + from, room[1] + h + near, width, depth),
                Side::Top => rectangle(room[0] + from, room[1] - near - depth, width, depth),
                Side::Left => rectangle(room[0] - near - depth, room[1] + from, depth, width),
                Side::Right => rectangle(room[0] + w + near, room[1] + from, depth, width),
            }
        });
        let body = rectangle(0, 0, room[0] + w + room[2], room[1] + h + room[3]);
        Self { keys: keys.collect(), body, display, active, radius: mm(3.5) }
    }

    /// The same parts moved.
    pub fn moved(mut self, by: Point) -> Self {
        let parts = [&mut self.body, &mut self.display, &mut self.active].into_iter().chain(&mut self.keys);
        parts.for_each(|part| part.top_left += by);
        self
    }

    /// Draws body, rim and keys; the panel's picture is put into [`Self::active`] afterwards.
    pub fn draw(&self, session: &Session, held: Option<usize>, text_scale: u32, canvas: &mut WindowCanvas) {
        canvas.rounded(self.body, self.radius, theme::BODY_EDGE);
        let inner = rectangle(
            self.body.top_left.x,
            self.body.top_left.y + text_scale as i32,
            self.body.size.width as i32,
            self.body.size.height as i32 - text_scale as i32,
        );
        canvas.rounded(inner, self.radius, theme::BODY);
        canvas.rounded(self.display, (self.radius / 4).max(1), theme::GLASS);
        let actions = &session.device().wirings[session.front().0].keys;
        for (index, key) in self.keys.iter().enumerate().filter(|(_, key)| !key.is_zero_sized()) {
            let acts = actions.get(index).is_some_and(|action| action.acts());
            let (face, text) = match acts {
                _ if held == Some(index) => (theme::KEY_HELD, theme::KEY_TEXT),
                true => (theme::KEY, theme::KEY_TEXT),
                false => (theme::KEY_IDLE, theme::KEY_TEXT_IDLE),
            };
            let short = key.size.width.min(key.size.height) as i32;
            canvas.rounded(*key, short / 3, face);
            let name = (index + 1).to_string();
            let kind = if short < 18 * text_scale as i32 { Type::Small } else { Type::Bold };
            let (font, scale) = (kind.face(), text_scale as i32);
            let middle = key.top_left + key.size / 2;
            let corner =
                middle - Point::new(font.width(&name) * scale / 2, (font.ascent - font.cap_height / 2) * scale);
            canvas.text(&name, corner, kind, text_scale, text);
        }
    }

    /// Width and height of the whole.
    pub fn size(&self) -> Size {
        self.body.size
    }
}
