//! The whole contents of the preview's window as a picture, and what lies where in it.

use super::bezel::Bezel;
use super::canvas::{Type, WindowCanvas};
use super::command::{Command, KEYS, key_name};
use super::facts::facts;
use super::overlay;
use super::panel::PanelPicture;
use super::session::Session;
use super::strip::{self, wrapped};
use super::theme::{self, Color};
use super::view::{Trouble, View, Zoom};
use crate::frame::rectangle;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// Room around the device, before scaling.
const AROUND: u32 = 28;
/// The largest whole scale.
const LARGEST: u32 = 16;

/// A drawn window.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The picture.
    pub canvas: WindowCanvas,
    /// Where the device's parts lie.
    pub bezel: Bezel,
    /// Pixels of the picture for each of the panel's.
    pub scale: f64,
    actions: Vec<(Rectangle, Command)>,
}

impl Scene {
    /// What a click at a place does.
    pub fn command_at(&self, at: Point) -> Option<Command> {
        let key = self.bezel.keys.iter().position(|key| key.contains(at)).map(Command::Press);
        key.or_else(|| self.actions.iter().find(|(place, _)| place.contains(at)).map(|(_, command)| *command))
    }

    /// The pixel of the panel at a place.
    pub fn panel_pixel(&self, at: Point) -> Option<(u32, u32)> {
        let inside = self.bezel.active.contains(at).then_some(at - self.bezel.active.top_left)?;
        let pixel = |offset: i32| (f64::from(offset) / self.scale) as u32;
        Some((pixel(inside.x), pixel(inside.y)))
    }
}

/// The size of a window that shows the panel at a scale, with the strip beside it.
pub fn wanted(session: &Session, view: &View, scale: f64) -> Size {
    let text = view.text_scale.max(1);
    let device = Bezel::new(session.device(), scale).size() + Size::new_equal(2 * AROUND * text);
    // Room for what the next update adds to the facts.
    let strip = (strip::height(&facts(session, view)) + if session.last_update().is_some() { 10 } else { 130 }) * text;
    Size::new(device.width + strip::WIDTH * text, device.height.max(strip))
}

/// The scale at which the panel is shown in a room, in pixels.
fn scale(session: &Session, view: &View, room: Size) -> f64 {
    let fits = |scale: &u32| {
        let size = Bezel::new(session.device(), f64::from(*scale)).size();
        size.width <= room.width && size.height <= room.height
    };
    let largest = (1..=LARGEST).rev().find(fits).unwrap_or(1);
    match view.zoom {
        Zoom::Fit => f64::from(largest),
        Zoom::Times(times) => f64::from(times.clamp(1, largest)),
        Zoom::TrueSize => view.true_scale(session),
    }
}

/// The rooms of device and strip in a window: side by side, above each other where it is narrow, the device alone
/// where it is small.
fn rooms(session: &Session, view: &View, size: Size) -> (Rectangle, Option<Rectangle>) {
    let text = view.text_scale.max(1);
    // At actual size the device may be smaller than its pixels would be.
    let smallest = if view.zoom == Zoom::TrueSize { view.true_scale(session).min(1.0) } else { 1.0 };
    let least = Bezel::new(session.device(), smallest).size() + Size::new_equal(AROUND * text);
    let strip = strip::WIDTH * text;
    let (w, h) = (size.width as i32, size.height as i32);
    if size.width >= least.width + strip {
        let left = w - strip as i32;
        (rectangle(0, 0, left, h), Some(rectangle(left, 0, strip as i32, h)))
    } else if size.height >= least.height + 8 * AROUND * text {
        let above = ((h as f64 * 0.5) as i32).max(least.height as i32);
        (rectangle(0, 0, w, above), Some(rectangle(0, above, w, h - above)))
    } else {
        (rectangle(0, 0, w, h), None)
    }
}

/// Draws the window's contents.
pub fn draw(session: &Session, view: &View, size: Size, panel: &mut PanelPicture) -> Scene {
    let mut canvas = WindowCanvas::new(size, theme::DESK);
    let text = view.text_scale.max(1);
    let (room, strip_room) = rooms(session, view, size);
    let around = (2 * AROUND * text).min(room.size.width / 8 + room.size.height / 8);
    let scale = scale(session, view, room.size.saturating_sub(Size::new_equal(around)));
    let bezel = Bezel::new(session.device(), scale);
    let rest = Point::new(
        room.size.width as i32 - bezel.size().width as i32,
        room.size.height as i32 - bezel.size().height as i32,
    );
    let bezel = bezel.moved(room.top_left + Point::new(rest.x.div_euclid(2), rest.y.div_euclid(2)));
    bezel.draw(session, view.held, text, &mut canvas);
    let picture = panel.picture(&session.seen(), scale);
    canvas.copy_rgb(picture.size.width, &picture.rgb, bezel.active.top_left);
    overlay::draw(session, view, bezel.active.top_left, scale, &mut canvas);
    // The list of keys stands beside the panel where there is room for it.
    let beside = strip_room.filter(|area| view.help && area.size.height >= help_height() * text);
    let actions = match strip_room {
        Some(area) if beside.is_some() => {
            help_beside(area, text, &mut canvas);
            Vec::new()
        }
        Some(area) => strip::draw(&facts(session, view), area, text, &mut canvas),
        None => Vec::new(),
    };
    if view.errors.is_empty() {
        caption(session, view, (scale, bezel.body), room, &mut canvas);
    }
    if view.help && beside.is_none() {
        help(room, text, &mut canvas);
    }
    if !view.errors.is_empty() {
        errors(&view.errors, room, text, &mut canvas);
    }
    Scene { canvas, bezel, scale, actions }
}

/// A line below the device: the last remark, the element under the mouse, or how large the panel is shown.
fn caption(
    session: &Session,
    view: &View,
    (scale, body): (f64, Rectangle),
    room: Rectangle,
    canvas: &mut WindowCanvas,
) {
    let text = view.text_scale.max(1) as i32;
    let panel = session.device().panel.size();
    let size = match view.zoom {
        Zoom::TrueSize => match view.monitor_ppi {
            Some(ppi) => format!("actual size at {ppi} ppi"),
            None => "actual size at 96 ppi; --monitor-ppi sets yours".to_owned(),
        },
        _ => format!("{} x {} at {scale} x, h lists the keys", panel.width, panel.height),
    };
    let (words, color) = match (&view.note, overlay::pointed(session, view)) {
        (Some(note), _) => (note.text.clone(), if note.alert { theme::ALERT } else { theme::TEXT }),
        (None, Some(item)) => {
            let (corner, size) = (item.area.top_left, item.area.size);
            let place = session.sources().place(&item.span);
            let name = if item.name.is_empty() { String::new() } else { format!("{}, ", item.name) };
            (format!("{name}{} x {} at {}, {}, {place}", size.width, size.height, corner.x, corner.y), theme::TEXT)
        }
        (None, None) => (size, theme::LABEL),
    };
    let width = Type::Text.face().width(&words) * text;
    let below = body.top_left.y + body.size.height as i32;
    let foot = room.top_left.y + room.size.height as i32;
    if width > room.size.width as i32 || foot - below < 18 * text {
        return;
    }
    let x = room.top_left.x + (room.size.width as i32 - width) / 2;
    let corner = Point::new(x, below + ((foot - below - 16 * text) / 2).min(14 * text));
    canvas.text(&words, corner, Type::Text, text as u32, color);
}

/// What the keys do, in the order of the list.
fn keys() -> impl Iterator<Item = (String, &'static str)> {
    let first = [("1-9".to_owned(), "soft keys"), ("F1-F12".to_owned(), "events")];
    first.into_iter().chain(KEYS.iter().map(|(key, _, what)| (key_name(*key), *what)))
}

/// Height of the list of keys in one column, before scaling.
fn help_height() -> u32 {
    64 + 19 * (KEYS.len() as u32 + 2)
}

/// The list of keys in the strip's place.
fn help_beside(area: Rectangle, text: u32, canvas: &mut WindowCanvas) {
    let s = text as i32;
    canvas.fill(area, theme::STRIP);
    let corner = area.top_left + Point::new(18 * s, 18 * s);
    canvas.text("Keys", corner, Type::Bold, text, theme::TEXT);
    canvas.fill(rectangle(corner.x, corner.y + 20 * s, area.size.width as i32 - 36 * s, s), theme::RULE);
    for (row, (key, what)) in (0..).zip(keys()) {
        let at = corner + Point::new(0, (30 + 19 * row) * s);
        canvas.text(&key, at, Type::Bold, text, theme::TEXT);
        canvas.text(what, at + Point::new(62 * s, 0), Type::Text, text, theme::TEXT);
    }
}

/// The list of keys over the device, where there is no other place for it.
fn help(room: Rectangle, text: u32, canvas: &mut WindowCanvas) {
    let s = text as i32;
    let rows = (KEYS.len() + 2).div_ceil(2) as i32;
    let (width, height) = (430 * s, (rows * 20 + 34) * s);
    let corner =
        room.top_left + Point::new((room.size.width as i32 - width) / 2, (room.size.height as i32 - height) / 2);
    canvas.rounded(rectangle(corner.x, corner.y, width, height), 4 * s, theme::STRIP);
    for (index, (key, what)) in (0..).zip(keys()) {
        let at = corner + Point::new((20 + index / rows * 210) * s, (18 + index % rows * 20) * s);
        canvas.text(&key, at, Type::Bold, text, theme::TEXT);
        canvas.text(what, at + Point::new(62 * s, 0), Type::Text, text, theme::TEXT);
    }
}

/// What is wrong with the project, over the last good picture.
fn errors(errors: &[Trouble], room: Rectangle, text: u32, canvas: &mut WindowCanvas) {
    const PITCH: i32 = 18;
    let s = text as i32;
    let width = (room.size.width as i32 - 24 * s).max(40 * s);
    let wrap = |color: Color| {
        move |text: &String| wrapped(text, Type::Text, width / s - 36).into_iter().map(move |line| (line, color))
    };
    let mut lines: Vec<(String, Color)> = Vec::new();
    for trouble in errors {
        lines.extend(wrap(theme::TEXT)(&trouble.message));
        lines.extend(trouble.place.iter().chain(&trouble.hint).flat_map(wrap(theme::LABEL)));
    }
    let most = ((room.size.height as i32 / s - 60) / PITCH).clamp(1, 16) as usize;
    if lines.len() > most {
        let more = lines.len() - most + 1;
        lines.truncate(most.saturating_sub(1));
        lines.push((format!("and {more} lines more"), theme::LABEL));
    }
    let height = (lines.len() as i32 * PITCH + 48) * s;
    let corner = room.top_left + Point::new(12 * s, room.size.height as i32 - height - 12 * s);
    canvas.fill(rectangle(corner.x, corner.y, width, height), theme::STRIP);
    canvas.fill(rectangle(corner.x, corner.y, 4 * s, height), theme::ALERT);
    let title = "The project has errors; this is its last good image";
    canvas.text(title, corner + Point::new(18 * s, 12 * s), Type::Bold, text, theme::ALERT);
    for (index, (line, color)) in (0..).zip(&lines) {
        canvas.text(line, corner + Point::new(18 * s, (36 + index * PITCH) * s), Type::Text, text, *color);
    }
}
