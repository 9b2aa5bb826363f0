//! Every screen in every locale as tables that the interpreter in C draws: operations, texts, faces and bitmaps, each
//! stored once. In no language in particular.
//!
//! Not for writing them down; the targets do that. How the bytes are read is written beside the interpreter, in
//! `ink_draw.c`.

mod bits;
mod clock;
mod faces;
mod gauges;
mod guard;
mod history;
mod ink;
mod op;
mod pairs;
mod rows;
mod sequence;
mod shapes;
mod spare;
mod stock;
mod whole;
mod words;

use super::order::Order;
use super::tables::condition::decimals;
use crate::behaviour::units::{Ratio, Unit};
use crate::device::Device;
use crate::screen::{Item, ScreenId};
use crate::source::fault::Fault;
use bits::number;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use ink::Ink;
use op::{FILL, Op, OpPart, PAPER};
use pairs::Pairs;
use sequence::{Plain, Sequences};
use std::collections::HashMap;
use stock::Stock;
use words::{Pool, Words};

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
    /// For each text that differs by locale: where it begins in each.
    pub slots: Vec<u8>,
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
    pub why: &'static str,
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
        let rings = rings(order);
        let mut spare = spare::spare(&ink, lists.iter().flatten().flatten());
        if !rings.iter().any(|ring| ring.wide) {
            spare.push("INK_WIDE_RINGS");
        }
        let sizes = spare::sizes(&ink, lists.iter().flatten().flatten());
        let count = order.locales.len();
        let stock = Stock::of(&ink)?;
        let writer = Writer::least(&stock, &lists, count)?;
        let epoch = order.values.start.date().since(jiff::civil::date(1970, 1, 1));
        Ok(Self {
            screens: writer.screens,
            pairs: [writer.pairs.table(), writer.pool.pairs.table()],
            code: writer.code.bytes,
            texts: writer.pool.bytes,
            slots: writer.slots,
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
        [&self.screens, &self.code, &self.texts, &self.slots, &self.bits, &self.pairs[0], &self.pairs[1]]
            .iter()
            .map(|table| table.len())
            .sum()
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
        if let Some(drawn) = ink.item(item) {
            ops.extend(drawn);
            continue;
        }
        let fields = item.shown().iter().map(|field| field.0).collect();
        let one = Own {
            screen,
            name: item.name.clone(),
            kind: item.kind,
            fields,
            area: item.area,
            why: why(order.device, item),
        };
        if !own.contains(&one) {
            own.push(one);
        }
    }
    ops
}

/// Why an element is left to the firmware.
fn why(device: &Device, item: &Item) -> &'static str {
    let long = |field: usize| {
        let units = device.fields.get(field).and_then(|field| field.units.as_ref());
        units.is_some_and(|units| {
            let ratio = |unit: &Unit| Ratio::of(unit.scale, decimals(device, field), unit.decimals as u32);
            units.units.iter().any(|unit| ratio(unit).for_firmware().is_none())
        })
    };
    if item.shown().iter().any(|field| long(field.0)) {
        return "a unit's factor takes too many digits for its values: round it";
    }
    "a text of more than 127 characters, a clock pattern beyond dates and times, or an image that inverts"
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

/// Turns operations into bytes.
struct Writer<'s> {
    stock: &'s Stock,
    pool: Pool<'s>,
    place: usize,
    screens: Vec<u8>,
    code: Sequences,
    pairs: Pairs,
    slots: Vec<u8>,
    known_slots: HashMap<Vec<usize>, usize>,
}

/// How many operations have a test in common at least, where it stands before all of them.
const LEAST: [usize; 4] = [2, 3, 5, usize::MAX];

impl<'s> Writer<'s> {
    /// The tables that take fewest bytes.
    fn least(stock: &'s Stock, lists: &[Vec<Vec<Op>>], locales: usize) -> Result<Self, Fault> {
        let plain = || [Pairs::default(), Pairs::default()];
        let tried = LEAST.into_iter().map(|least| (Self::write(stock, lists, locales, 2, plain(), least), least));
        let best = tried.min_by_key(|(writer, _)| writer.code.bytes.len());
        let Some((mut writer, least)) = best else {
            return Err(Fault::plain("the screens have more operations than the tables can hold"));
        };
        // Pairs change places, and places pairs.
        for _ in 0..2 {
            let all = [&writer.code.plain, &writer.pool.sequences];
            let pairs = all.map(|all| Pairs::of(all.iter().map(Vec::as_slice)));
            let short = Self::write(stock, lists, locales, 2, pairs.clone(), least);
            let fits = short.code.bytes.len().max(short.pool.bytes.len()) <= usize::from(u16::MAX);
            writer = if fits { short } else { Self::write(stock, lists, locales, 3, pairs, least) };
        }
        Ok(writer)
    }

    fn write(
        stock: &'s Stock,
        lists: &[Vec<Vec<Op>>],
        locales: usize,
        place: usize,
        pairs: [Pairs; 2],
        least: usize,
    ) -> Self {
        let [pairs, text_pairs] = pairs;
        let mut writer = Self {
            stock,
            pool: Pool::new(&stock.codes, place, text_pairs),
            place,
            screens: Vec::new(),
            code: Sequences::new(place),
            pairs,
            slots: Vec::new(),
            known_slots: HashMap::new(),
        };
        for screen in lists {
            let ops = writer.screen(screen, locales);
            let at = writer.code.row(&ops, least, &writer.pairs);
            writer.screens.extend(writer.pool.place_bytes(at));
        }
        writer
    }

    /// A screen's operations in all locales; those that differ are tested for theirs.
    fn screen(&mut self, each: &[Vec<Op>], locales: usize) -> Vec<Plain> {
        let same_length = each.windows(2).all(|pair| pair[0].len() == pair[1].len());
        let alike = |at: usize| {
            let ops: Option<Vec<&Op>> = each.iter().map(|list| list.get(at)).collect();
            ops.filter(|ops| ops.windows(2).all(|pair| pair[0].alike(pair[1])))
        };
        let mut all = Vec::new();
        if !same_length {
            for (position, own) in each.iter().enumerate() {
                for op in own {
                    let mut op = self.op(&[op]);
                    op.tests.insert(0, guard::locale(position));
                    all.push(op);
                }
            }
            return all;
        }
        for at in 0..each.iter().map(Vec::len).max().unwrap_or(0) {
            if let Some(ops) = alike(at) {
                all.push(self.op(&ops));
                continue;
            }
            for (position, own) in each.iter().enumerate() {
                let mut op = self.op(&own.get(at).into_iter().collect::<Vec<_>>());
                if locales > 1 {
                    op.tests.push(guard::locale(position));
                }
                all.push(op);
            }
        }
        all
    }

    /// An operation that is alike in every locale, but for its texts.
    fn op(&mut self, each: &[&Op]) -> Plain {
        let Some(op) = each.first() else {
            return Plain { area: Rectangle::zero(), tests: Vec::new(), head: vec![0; 5], rest: Vec::new() };
        };
        let mut rest = Vec::new();
        for (index, part) in op.parts.iter().enumerate() {
            match part {
                OpPart::Bytes(more) => rest.extend(more),
                OpPart::Signs(signs) => rest.extend(self.pool.sign_bytes(&Some(*signs))),
                OpPart::Bitmap(position) => number(self.stock.bitmaps[*position] as u32, &mut rest),
                OpPart::Text(None) => number(0, &mut rest),
                OpPart::Text(Some(_)) => {
                    let texts = each.iter().filter_map(|op| match op.parts.get(index) {
                        Some(OpPart::Text(Some(words))) => Some(words),
                        _ => None,
                    });
                    let reference = self.text(texts.collect());
                    number(reference + 1, &mut rest);
                }
            }
        }
        Plain { area: op.area, tests: op.tests.clone(), head: sequence::head(op.head, op.area), rest }
    }

    /// What an operation says of a text: twice its place, or one more than twice its slot.
    fn text(&mut self, each: Vec<&Words>) -> u32 {
        let places: Vec<usize> = each.into_iter().map(|words| self.pool.place_of(words)).collect();
        if places.windows(2).all(|pair| pair[0] == pair[1]) {
            return 2 * places.first().copied().unwrap_or(0) as u32;
        }
        let next = self.known_slots.len();
        let slot = *self.known_slots.entry(places.clone()).or_insert(next);
        if slot == next {
            for place in places {
                self.slots.extend(self.pool.place_bytes(place));
            }
        }
        2 * slot as u32 + 1
    }
}
