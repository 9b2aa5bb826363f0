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
mod shapes;
mod whole;
mod words;

use super::order::Order;
use crate::screen::ScreenId;
use crate::source::fault::Fault;
use bits::number;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use ink::Ink;
use op::{FILL, Op, PAPER, Part};
use pairs::Pairs;
use std::collections::HashMap;
use words::{Pool, Words};

/// The tables of an order.
#[derive(Debug)]
pub struct Drawing {
    /// For each screen, for each locale: where its list begins, in three bytes, the lowest first.
    pub screens: Vec<u8>,
    /// Lists: how many runs of operations that follow one another, then of each the place of the first and how many.
    pub lists: Vec<u8>,
    /// Operations: how many bytes each takes, then these, in codes for pairs.
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
        let spare = spare(&ink, lists.iter().flatten().flatten());
        let count = order.locales.len();
        let plain = Writer::write(&ink, &lists, count, 2, [Pairs::default(), Pairs::default()])?;
        let pairs = [&plain.sequences, &plain.pool.sequences].map(|all| Pairs::of(all.iter().map(Vec::as_slice)));
        let short = Writer::write(&ink, &lists, count, 2, pairs.clone())?;
        let long = || Writer::write(&ink, &lists, count, 3, pairs.clone());
        let fits = |writer: &Writer| writer.code.len().max(writer.pool.bytes.len()) <= usize::from(u16::MAX);
        let writer = if fits(&short) { short } else { long()? };
        let epoch = order.values.start.date().since(jiff::civil::date(1970, 1, 1));
        Ok(Self {
            screens: writer.screens,
            lists: writer.lists,
            pairs: [writer.pairs.table(), writer.pool.pairs.table()],
            code: writer.code,
            texts: writer.pool.bytes,
            slots: writer.slots,
            bits: writer.bits,
            place: writer.place,
            rings,
            own,
            shares: writer.shares,
            spare,
            epoch: epoch.map_or(0, |span| i64::from(span.get_days())),
        })
    }

    /// Bytes of the tables.
    pub fn bytes(&self) -> usize {
        [&self.screens, &self.lists, &self.code, &self.texts, &self.slots, &self.bits, &self.pairs[0], &self.pairs[1]]
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
        let one = Own { screen, name: item.name.clone(), kind: item.kind, fields, area: item.area };
        if !own.contains(&one) {
            own.push(one);
        }
    }
    ops
}

/// Parts of the interpreter that no operation needs.
fn spare<'o>(ink: &Ink<'_>, ops: impl Iterator<Item = &'o Op> + Clone) -> Vec<&'static str> {
    let kind = |kind: u8| ops.clone().any(|op| op.head & 31 == kind);
    let text = |is: fn(&[words::Token]) -> bool| ops.clone().flat_map(Op::texts).any(|words| is(words));
    let signs = |op: &Op| op.parts.iter().any(|part| matches!(part, op::Part::Signs(_)));
    let parts = [
        ("INK_TILES", kind(op::TILE)),
        ("INK_VALUES", kind(op::VALUE)),
        ("INK_BARS", kind(op::BAR)),
        ("INK_MARKERS", kind(op::MARKER)),
        ("INK_ARCS", kind(op::ARC)),
        ("INK_RING_MARKERS", kind(op::RING_MARKER)),
        ("INK_HISTORIES", kind(op::HISTORY)),
        ("INK_KERNS", ink.faces.iter().any(|(face, used)| faces::has_kerns(face, used))),
        ("INK_CURSORS", ops.clone().any(history::has_cursor)),
        ("INK_HOURS", ops.clone().any(history::has_hours)),
        ("INK_ROWS", kind(op::ROWS)),
        ("INK_CLOCKS", text(words::has_clock)),
        ("INK_MARKS", text(words::has_marks) || ops.clone().any(signs)),
        ("INK_PIECES", text(words::has_pieces)),
        ("INK_PASTS", text(words::has_past)),
        ("INK_UNITS", text(words::has_units) || ink.device.fields.iter().any(|field| field.units.is_some())),
    ];
    parts.into_iter().filter(|(_, needed)| !needed).map(|(part, _)| part).collect()
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
struct Writer {
    pool: Pool,
    place: usize,
    screens: Vec<u8>,
    lists: Vec<u8>,
    code: Vec<u8>,
    pairs: Pairs,
    /// Operations as they are, and how many bytes each takes as it is written.
    sequences: Vec<Vec<u8>>,
    sizes: HashMap<usize, usize>,
    slots: Vec<u8>,
    bits: Vec<u8>,
    shares: Vec<(String, usize)>,
    /// Where each bitmap begins in `bits`.
    bitmaps: Vec<usize>,
    known_lists: HashMap<Vec<usize>, usize>,
    known_code: HashMap<Vec<u8>, usize>,
    known_slots: HashMap<Vec<usize>, usize>,
}

impl Writer {
    fn write(
        ink: &Ink<'_>,
        lists: &[Vec<Vec<Op>>],
        locales: usize,
        place: usize,
        pairs: [Pairs; 2],
    ) -> Result<Self, Fault> {
        let [pairs, text_pairs] = pairs;
        let mut counts: HashMap<char, usize> = HashMap::new();
        for (_, characters) in &ink.faces {
            characters.iter().for_each(|one| *counts.entry(*one).or_default() += 1);
        }
        let Some(pool) = Pool::new(&counts, place, text_pairs) else {
            return Err(Fault::plain("the screens have more different characters than the tables can number"));
        };
        let mut writer = Self {
            pool,
            place,
            screens: Vec::new(),
            lists: Vec::new(),
            code: Vec::new(),
            pairs,
            sequences: Vec::new(),
            sizes: HashMap::new(),
            slots: Vec::new(),
            bits: Vec::new(),
            shares: Vec::new(),
            bitmaps: Vec::new(),
            known_lists: HashMap::new(),
            known_code: HashMap::new(),
            known_slots: HashMap::new(),
        };
        writer.faces_and_bitmaps(ink);
        for screen in lists {
            for list in writer.screen(screen, locales) {
                let place = writer.list(list);
                writer.screens.extend((place as u32).to_le_bytes().into_iter().take(3));
            }
        }
        Ok(writer)
    }

    fn faces_and_bitmaps(&mut self, ink: &Ink<'_>) {
        let faces: Vec<Vec<u8>> =
            ink.faces.iter().map(|(face, used)| faces::face(face, used, &self.pool, ink.packing)).collect();
        let mut place = faces.len() * 3;
        for ((face, used), bytes) in ink.faces.iter().zip(&faces) {
            self.bits.extend((place as u32).to_le_bytes().into_iter().take(3));
            self.shares.push((format!("font {}, {} characters", face.name, used.len()), bytes.len()));
            place += bytes.len();
        }
        self.bits.extend(faces.concat());
        for frame in &ink.bitmaps {
            let bytes = bits::bitmap(frame);
            let found = self.bitmaps.iter().copied().find(|at| self.bits[*at..].starts_with(&bytes));
            self.bitmaps.push(found.unwrap_or(self.bits.len()));
            if found.is_none() {
                self.bits.extend(bytes);
            }
        }
        // Bits are read four bytes at a time, also where none is left.
        self.bits.extend([0; 4]);
        self.shares.push((format!("{} bitmaps", ink.bitmaps.len()), self.bits.len() - place));
    }

    /// One list of places for each locale.
    fn screen(&mut self, each: &[Vec<Op>], locales: usize) -> Vec<Vec<usize>> {
        let alike = |at: usize| {
            let ops: Option<Vec<&Op>> = each.iter().map(|list| list.get(at)).collect();
            ops.filter(|ops| ops.windows(2).all(|pair| pair[0].alike(pair[1])))
        };
        let same_length = each.windows(2).all(|pair| pair[0].len() == pair[1].len());
        let mut lists = vec![Vec::new(); locales];
        for at in 0..each.iter().map(Vec::len).max().unwrap_or(0) {
            if let Some(ops) = alike(at).filter(|_| same_length) {
                let place = self.op(&ops);
                lists.iter_mut().for_each(|list| list.push(place));
                continue;
            }
            for (list, own) in lists.iter_mut().zip(each) {
                if let Some(op) = own.get(at) {
                    let place = self.op(&[op]);
                    list.push(place);
                }
            }
        }
        lists
    }

    fn list(&mut self, ops: Vec<usize>) -> usize {
        if let Some(place) = self.known_lists.get(&ops) {
            return *place;
        }
        let place = self.lists.len();
        let mut runs: Vec<(usize, u8)> = Vec::new();
        let mut next = None;
        for op in &ops {
            match runs.last_mut().filter(|(_, count)| next == Some(*op) && *count < u8::MAX) {
                Some((_, count)) => *count += 1,
                None => runs.push((*op, 1)),
            }
            next = self.sizes.get(op).map(|size| op + size);
        }
        number(runs.len() as u32, &mut self.lists);
        for (first, count) in runs {
            self.lists.extend(self.pool.place_bytes(first));
            self.lists.push(count);
        }
        self.known_lists.insert(ops, place);
        place
    }

    /// An operation that is alike in every locale, but for its texts.
    fn op(&mut self, each: &[&Op]) -> usize {
        let Some(op) = each.first() else { return 0 };
        let mut bytes = vec![op.head];
        let Rectangle { top_left, size } = op.area;
        for edge in [top_left.y as u32, size.height, top_left.x as u32, size.width] {
            number(edge, &mut bytes);
        }
        bytes.extend(&op.tests);
        for (index, part) in op.parts.iter().enumerate() {
            match part {
                Part::Bytes(more) => bytes.extend(more),
                Part::Signs(signs) => bytes.extend(self.pool.sign_bytes(&Some(*signs))),
                Part::Bitmap(position) => number(self.bitmaps[*position] as u32, &mut bytes),
                Part::Text(None) => number(0, &mut bytes),
                Part::Text(Some(_)) => {
                    let texts = each.iter().filter_map(|op| match op.parts.get(index) {
                        Some(Part::Text(Some(words))) => Some(words),
                        _ => None,
                    });
                    let reference = self.text(texts.collect());
                    number(reference + 1, &mut bytes);
                }
            }
        }
        let found = self.known_code.get(&bytes).copied();
        let place = found.unwrap_or(self.code.len());
        if found.is_none() {
            let coded = self.pairs.coded(&bytes);
            number(coded.len() as u32, &mut self.code);
            self.code.extend(coded);
            self.sizes.insert(place, self.code.len() - place);
            self.sequences.push(bytes.clone());
            self.known_code.insert(bytes, place);
        }
        place
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
