//! Every screen in every locale as tables that the interpreter in C draws: operations, texts, faces and bitmaps, each
//! stored once. In no language in particular.
//!
//! Not for writing them down; the targets do that. How the bytes are read is written beside the interpreter, in
//! `ink_draw.c`.

mod bits;
mod clock;
mod contents;
mod faces;
mod gauges;
mod guard;
mod history;
mod ink;
mod marks;
mod numbers;
mod op;
mod pairs;
mod rows;
mod sequence;
mod shapes;
mod spare;
mod stock;
mod whole;
mod why;
mod words;
mod writer;

pub use why::Why;

use super::order::Order;
use super::tables::condition::decimals;
use crate::device::Device;
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use ink::Ink;
use op::{FILL, Op, PAPER};
use stock::Stock;
use writer::{Fields, Writer};

/// The tables of an order.
#[derive(Debug)]
pub struct Drawing {
    /// For each screen: where its operations begin in `code`.
    pub screens: Vec<u8>,
    /// Operations: how many bytes a screen's take, then each, how many bytes it takes, then these, in codes for pairs.
    pub code: Vec<u8>,
    /// The pairs of operations and of texts.
    pub pairs: [Vec<u8>; 2],
    /// Texts.
    pub texts: Vec<u8>,
    /// Faces and bitmaps.
    pub bits: Vec<u8>,
    /// Bytes of a place in `code` and `texts`: 2 or 3.
    pub place: usize,
    /// Rings of past values.
    pub rings: Vec<Ring>,
    /// What the interpreter leaves to the firmware.
    pub own: Vec<Own>,
    /// How `bits` is shared out, for people.
    pub shares: Vec<(String, usize)>,
    /// Parts of the interpreter that no operation needs, by the names that its header gives them.
    pub spare: Vec<&'static str>,
    /// What the design takes at most, by such names: characters of a text, pixels of a picture's line.
    pub sizes: Vec<(&'static str, usize)>,
    /// The day from which clocks count, in days after 1970-01-01.
    pub epoch: i64,
}

/// Past values of a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ring {
    /// The field.
    pub field: usize,
    /// How many.
    pub samples: usize,
    /// The first byte of its RAM.
    pub first: usize,
    /// Four bytes a sample instead of two.
    pub wide: bool,
}

/// An element that only the firmware's own code can draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Own {
    /// The screen.
    pub screen: ScreenId,
    /// The element's name; may be empty.
    pub name: String,
    /// Its kind.
    pub kind: &'static str,
    /// The fields that it shows.
    pub fields: Vec<usize>,
    /// Its area on the upright screen.
    pub area: Rectangle,
    /// Why it is left.
    pub why: Why,
}

impl Own {
    /// The element, as `screen: kind` and its name where it has one.
    pub fn title(&self, device: &Device) -> String {
        let name = if self.name.is_empty() { String::new() } else { format!(" `{}`", self.name) };
        format!("{}: {}{name}", device.screens[self.screen.0].id, self.kind)
    }

    /// The element, what it shows, and why it is left.
    pub fn about(&self, device: &Device) -> String {
        let fields: Vec<&str> = self.fields.iter().map(|field| device.fields[*field].name.as_str()).collect();
        let shows = if fields.is_empty() { String::new() } else { format!(", fields {}", fields.join(", ")) };
        format!("{}{shows}: {}", self.title(device), self.why)
    }
}

impl Drawing {
    /// Gathers the tables.
    ///
    /// # Errors
    /// When the design has more characters or bytes than places can name.
    pub fn of(order: &Order<'_>) -> Result<Self, Fault> {
        let mut ink = Ink::new(order.device, &order.values, &order.packing);
        let mut own = Vec::new();
        let mut lists = Vec::new();
        for screen in &order.screens {
            let each = order.locales.iter().map(|locale| list(&mut ink, order, *screen, *locale, &mut own));
            lists.push(each.collect::<Vec<_>>());
        }
        let marks = marks::by_locale(&mut lists);
        let rings = rings(order);
        let mut spare = spare::spare(&ink, lists.iter().flatten().flatten());
        if !rings.iter().any(|ring| ring.wide) {
            spare.push("INK_WIDE_RINGS");
        }
        let sizes = spare::sizes(&ink, lists.iter().flatten().flatten());
        let stock = Stock::of(&ink)?;
        if !stock.tall {
            spare.push("INK_TALL_FONTS");
        }
        let whole = (0..order.device.fields.len()).map(|field| decimals(order.device, field) == 0).collect();
        let fields = Fields { whole, marks };
        let writer = Writer::least(&stock, &lists, &fields)?;
        if writer.code.bytes.len() <= usize::from(u16::MAX) {
            spare.push("INK_FAR");
        }
        let epoch = order.values.start.date().since(jiff::civil::date(1970, 1, 1));
        Ok(Self {
            screens: writer.screens,
            pairs: [writer.pairs.table(), writer.pool.pairs.table()],
            code: writer.code.bytes,
            texts: writer.pool.bytes,
            bits: stock.bits.clone(),
            place: writer.place,
            rings,
            own,
            shares: stock.shares.clone(),
            spare,
            sizes,
            epoch: epoch.map_or(0, |span| i64::from(span.get_days())),
        })
    }

    /// Bytes of the tables.
    pub fn bytes(&self) -> usize {
        [&self.screens, &self.code, &self.texts, &self.bits, &self.pairs[0], &self.pairs[1]]
            .iter()
            .map(|table| table.len())
            .sum()
    }

    /// What the design takes at most of something, by the name that the interpreter's header gives it.
    pub fn size(&self, name: &str) -> usize {
        self.sizes.iter().find(|(of, _)| *of == name).map_or(0, |(_, size)| *size)
    }

    /// Bytes of RAM for past values.
    pub fn past_bytes(&self) -> usize {
        self.rings.last().map_or(0, |ring| ring.first + ring.bytes())
    }
}

impl Ring {
    /// Bytes of RAM: the place of the oldest sample in two bytes, then the samples.
    pub fn bytes(&self) -> usize {
        2 + self.samples * if self.wide { 4 } else { 2 }
    }
}

/// A screen's operations in a locale. What lies below is cleared first.
fn list(ink: &mut Ink<'_>, order: &Order<'_>, screen: ScreenId, locale: usize, own: &mut Vec<Own>) -> Vec<Op> {
    let settled = &order.device.screens[screen.0];
    let whole = Rectangle::new(Point::zero(), order.device.panel.size());
    let cleared = settled.over.as_ref().map_or(whole, |over| over.area.intersection(&whole));
    let mut ops = vec![Op::new(FILL | PAPER, cleared)];
    for item in &settled.pictures[locale] {
        let why = match ink.item(item) {
            Ok(drawn) => {
                ops.extend(drawn);
                continue;
            }
            Err(why) => why,
        };
        let fields = item.shown().iter().map(|field| field.0).collect();
        let one = Own { screen, name: item.name.clone(), kind: item.kind, fields, area: item.area, why };
        if !own.contains(&one) {
            own.push(one);
        }
    }
    ops
}

fn rings(order: &Order<'_>) -> Vec<Ring> {
    let mut first = 0;
    let mut rings = Vec::new();
    for (field, settled) in order.device.fields.iter().enumerate().filter(|(_, field)| field.history > 0) {
        let scale = 10f64.powi(super::tables::condition::decimals(order.device, field) as i32);
        let wide = settled.range.iter().any(|end| (end * scale).abs() > 32_767.0);
        let ring = Ring { field, samples: settled.history, first, wide };
        first += ring.bytes();
        rings.push(ring);
    }
    rings
}
