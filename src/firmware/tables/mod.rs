//! Everything a firmware needs to draw a screen's live fields itself, as plain tables in no language in particular:
//! backgrounds with holes, fields, faces with only the glyphs in use, texts, flow.
//!
//! Not for writing them down; the targets do that. What the small C reference cannot draw (charts, gauges) is in the
//! tables as [`EntryKind::Own`], with its place, for the firmware's own code.

pub mod condition;
pub mod entry;
pub mod faces;
pub mod flow;
pub mod overlay;

use super::order::Order;
use crate::frame::Frame;
use crate::frame::pack::pack;
use crate::refresh::windows::Window;
use crate::screen::draw::draw;
use crate::screen::operation::Operation;
use crate::screen::{Item, ScreenId};
use crate::source::fault::Fault;
use condition::Check;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use entry::Run;
use faces::Stock;
use overlay::Overlay;

/// The longest live text, in characters, that the C reference sets.
pub const LONGEST_TEXT: usize = 127;

/// All tables of an order.
#[derive(Debug)]
pub struct Tables {
    /// Faces with the glyphs in use.
    pub faces: Stock,
    /// One sheet for each screen in each locale, in the order of [`Order::pictures`].
    pub sheets: Vec<Sheet>,
    /// What keys, timers and events do.
    pub steps: Vec<flow::FlowStep>,
}

/// One screen in one locale.
#[derive(Debug)]
pub struct Sheet {
    /// An identifier of its own.
    pub name: String,
    /// The screen.
    pub screen: ScreenId,
    /// The locale.
    pub locale: usize,
    /// What never changes, upright, paper where live fields stand.
    pub background: Frame,
    /// The same, packed as one plane.
    pub bytes: Vec<u8>,
    /// What is drawn over it, in order.
    pub entries: Vec<Entry>,
    /// Texts that the entries speak of.
    pub texts: Vec<String>,
}

/// Something drawn over the background.
#[derive(Debug)]
pub struct Entry {
    /// Its name in the project; may be empty.
    pub name: String,
    /// Its area on the upright screen; nothing outside is drawn.
    pub area: Rectangle,
    /// The window of the panel that holds the area, in the controller's pixels as it counts them, aligned to bytes.
    pub window: Window,
    /// Drawn only while all of these hold.
    pub checks: Vec<Check>,
    /// What it is.
    pub kind: EntryKind,
}

/// What an entry is.
#[derive(Debug)]
pub enum EntryKind {
    /// A run of live text.
    Run(Run),
    /// Set pixels of a bitmap of the area's size that become ink, or paper where reversed.
    Bitmap {
        /// The bitmap.
        bits: Frame,
        /// They become paper.
        reversed: bool,
    },
    /// The area becomes ink.
    Fill,
    /// Something that only the firmware's own code can draw; the positions of its fields in the device.
    Own(Vec<usize>),
}

impl Tables {
    /// Gathers the tables.
    ///
    /// # Errors
    /// When the packing does not suit the panel's size.
    pub fn of(order: &Order<'_>) -> Result<Self, Fault> {
        let mut faces = Stock::default();
        let mut sheets = Vec::new();
        for picture in order.pictures()? {
            let items = &order.device.screens[picture.screen.0].pictures[picture.locale];
            let mut sheet = Sheet {
                name: picture.name,
                screen: picture.screen,
                locale: picture.locale,
                background: Frame::new(picture.frame.width(), picture.frame.height()),
                bytes: Vec::new(),
                entries: Vec::new(),
                texts: Vec::new(),
            };
            for item in items {
                sheet.take(order, item, &mut faces);
            }
            let packed = pack(&sheet.background, &order.packing.plane());
            sheet.bytes = packed.map_err(|why| Fault::plain(format!("cannot pack the screens: {why}")))?;
            sheets.push(sheet);
        }
        faces.close();
        Ok(Self { faces, sheets, steps: flow::steps(order.device, &order.screens) })
    }
}

impl Sheet {
    fn take(&mut self, order: &Order<'_>, item: &Item, faces: &mut Stock) {
        let moves = !item.fields().is_empty();
        let covers = self.entries.iter().any(|entry| !entry.area.intersection(&item.area).is_zero_sized());
        if !moves && !covers {
            draw(&item.operations, &order.values, &mut self.background);
            return;
        }
        let checks: Vec<Check> = item.when.iter().map(|condition| Check::of(order.device, condition)).collect();
        let size = self.background.size();
        let entry = |area: Rectangle, kind: EntryKind| Entry {
            name: item.name.clone(),
            area,
            window: window(order, &area, size),
            checks: checks.clone(),
            kind,
        };
        let bitmaps = |operations: &[Operation]| -> Vec<Entry> {
            let overlays = overlay::of(operations, &order.values, size).into_iter();
            let bitmap = |Overlay { area, bits, reversed }| entry(area, EntryKind::Bitmap { bits, reversed });
            overlays.map(bitmap).collect()
        };
        let own = item.shown();
        if own.is_empty() {
            self.entries.extend(bitmaps(&item.operations));
            return;
        }
        // One operation that firmware cannot draw leaves the whole element to its own code.
        let serves = |operation: &Operation| entry::serves(operation) || operation.fields().is_empty();
        if !item.operations.iter().all(serves) {
            self.entries.push(entry(item.area, EntryKind::Own(own.iter().map(|field| field.0).collect())));
            return;
        }
        for operation in &item.operations {
            if entry::serves(operation) {
                let drawn = entry::drawn(operation, &order.values, &mut self.texts, faces);
                self.entries.extend(drawn.into_iter().map(|kind| entry(operation.area, kind)));
            } else {
                self.entries.extend(bitmaps(std::slice::from_ref(operation)));
            }
        }
    }
}

/// The smallest window of the controller, aligned to its bytes, that holds an upright area. Empty where the area lies
/// outside the screen.
fn window(order: &Order<'_>, area: &Rectangle, size: Size) -> Window {
    let panel = &order.device.panel;
    let whole = Rectangle::new(Point::zero(), size);
    let seen = area.intersection(&whole);
    let (Some(last), turn) = (seen.bottom_right(), order.packing.turn()) else {
        return Window { x: 0, y: 0, w: 0, h: 0 };
    };
    let place = |x: i32, y: i32| turn.place(x.max(0) as u32, y.max(0) as u32, size.width, size.height);
    let (a, b) = (place(seen.top_left.x, seen.top_left.y), place(last.x, last.y));
    let (left, right) = (a.0.min(b.0) / 8 * 8, (a.0.max(b.0) / 8 + 1) * 8);
    let (w, h) = (right - left, a.1.abs_diff(b.1) + 1);
    let [x, y] = order.packing.address([left, a.1.min(b.1)], [w, h], [panel.native.width, panel.native.height]);
    Window { x, y, w, h }
}
