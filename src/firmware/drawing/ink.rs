//! From a screen's drawing operations to those of the interpreter in C: the same kinds, in whole numbers, fixed pixels as
//! areas and bitmaps.
//!
//! What cannot be said in whole numbers of 32 bits, or needs a text too long for the interpreter, makes its element one
//! that the firmware draws itself; see [`super::Own`].

use super::contents;
use super::guard::Tests;
use super::op::{BITMAP, FILL, Op, PAPER, TEXT, TILE, VALUE};
use super::shapes::{WIDEST, bitmaps, pieces};
use super::whole::{Units, units};
use super::why::{Drawn, Why};
use super::words::{self, Words};
use crate::device::Device;
use crate::firmware::packed::{packed, pattern};
use crate::firmware::tables::condition::decimals;
use crate::firmware::tables::overlay;
use crate::frame::{Frame, Packing, Paint};
use crate::screen::Item;
use crate::screen::face::Face;
use crate::screen::guard::{Guard, Level};
use crate::screen::operation::{Bitmap, Label, Operation, Outline, Shape, Text, Value};
use crate::screen::pattern::tiled;
use crate::screen::template::Template;
use crate::screen::typeset::{Overflow, Setting, Stand};
use crate::screen::values::Values;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// Vertical place of a line whose baseline is stated.
const BASELINE: u8 = 3;
const WRAP: u8 = 16;
const ELLIPSIS: u8 = 32;
const SPACED: u8 = 64;
const SMALLER: u8 = 128;

/// Rows from the top of an operation's area, or of a list's row: to the first baseline, or to the top of the room.
#[derive(Clone, Copy, Debug)]
pub(super) enum FirstRow {
    Baseline(i32),
    Room(i32),
}

/// Faces, bitmaps and operations as they are gathered.
pub(super) struct Ink<'d> {
    pub device: &'d Device,
    pub values: &'d Values,
    pub packing: &'d Packing,
    /// Faces with the characters in use.
    pub faces: Vec<(Arc<Face>, BTreeSet<char>)>,
    /// Bitmaps, turned as they are packed.
    pub bitmaps: Vec<Frame>,
    places: HashMap<Frame, usize>,
    /// Parts of the interpreter that some operation needs.
    pub used: BTreeSet<&'static str>,
}

impl<'d> Ink<'d> {
    pub fn new(device: &'d Device, values: &'d Values, packing: &'d Packing) -> Self {
        Self {
            device,
            values,
            packing,
            faces: Vec::new(),
            bitmaps: Vec::new(),
            places: HashMap::new(),
            used: BTreeSet::new(),
        }
    }

    /// What draws an element.
    ///
    /// # Errors
    /// Why that is left to the firmware.
    pub fn item(&mut self, item: &Item) -> Drawn<Vec<Op>> {
        let when = Tests::of(self.device, &item.when);
        let mut ops = Vec::new();
        for operation in &item.operations {
            let tests = when.and(self.device, &operation.guard).ok_or(Why::Choice)?;
            if tests.never {
                continue;
            }
            if tests.compares {
                self.used.insert("INK_COMPARED");
            }
            for mut op in self.operation(operation, &tests)? {
                if op.tests.is_empty() {
                    op.tests = tests.all().to_vec();
                }
                ops.push(op);
            }
        }
        Ok(ops)
    }

    /// The part of an area that is on the screen; `None` where there is none.
    pub fn seen(&self, area: Rectangle) -> Option<Rectangle> {
        let seen = area.intersection(&Rectangle::new(Point::zero(), self.device.panel.size()));
        (!seen.is_zero_sized()).then_some(seen)
    }

    fn operation(&mut self, operation: &Operation, tests: &Tests) -> Drawn<Vec<Op>> {
        let Some(area) = self.seen(operation.area) else { return Ok(Vec::new()) };
        match &operation.shape {
            Shape::Fill { ink } => Ok(vec![Op::new(FILL | paper(!ink), area)]),
            Shape::Tile { radius, tile } => Ok(self.tile(*radius, tile, operation.area, area)),
            Shape::Bitmap(bitmap) => self.bitmap(bitmap, area),
            Shape::BitmapBy { field, bitmaps } => {
                let own = 10i64.pow(decimals(self.device, field.0));
                // A picture is shown from half a step below its number on; halves are rounded away from zero.
                let low = |index: usize| {
                    i32::try_from((index as i64 * 2 - 1) * own).map(|twice| (twice + 1) / 2).map_err(|_| Why::Choice)
                };
                let mut ops = Vec::new();
                for (index, bitmap) in bitmaps.iter().enumerate() {
                    let next = if index + 1 < bitmaps.len() { Some(low(index + 1)?) } else { None };
                    let from = if index > 0 { Some(low(index)?) } else { None };
                    let mut tests = tests.clone();
                    tests.range(field.0, from, next.map(|next| next - 1), true);
                    let own = self.bitmap(bitmap, area)?.into_iter();
                    ops.extend(own.map(|op| Op { tests: tests.all().to_vec(), ..op }));
                }
                Ok(ops)
            }
            Shape::Label(label) => self.label(label, area),
            Shape::Text(text) => self.text(text, area),
            Shape::Value(value) => self.value(value, area),
            Shape::Bar(bar) => self.bar(bar, area),
            Shape::Marker(marker) if marker.threshold.limit.field().is_some() => self.marker(marker, area),
            Shape::Arc(arc) => self.arc(arc, operation.area, area),
            Shape::RingMarker(marker) if marker.threshold.limit.field().is_some() => {
                self.ring_marker(marker, operation.area, area)
            }
            Shape::History(history) => self.history(history, operation.area, area),
            Shape::Rows(rows) => self.rows(rows, operation.area, area),
            Shape::Outline(_) | Shape::Dashes { .. } | Shape::Line { .. } | Shape::Marker(_) | Shape::RingMarker(_) => {
                Ok(self.fixed(operation))
            }
        }
    }

    /// What no value changes, as pixels.
    fn fixed(&mut self, operation: &Operation) -> Vec<Op> {
        let plain = Operation { guard: Guard::Always, ..operation.clone() };
        let both = overlay::of(&[plain], self.values, self.device.panel.size());
        let (papers, inks): (Vec<_>, Vec<_>) = both.into_iter().partition(|one| one.reversed);
        let all = papers.into_iter().chain(inks);
        all.flat_map(|one| self.pixels(&one.bits, one.area.top_left, one.reversed)).collect()
    }

    /// Pixels that become ink or paper, in whichever form is smaller.
    pub fn pixels(&mut self, bits: &Frame, corner: Point, reversed: bool) -> Vec<Op> {
        let cut = pieces(bits, corner);
        let whole = bitmaps(bits, corner);
        let size = |bitmaps: &[(Point, Frame)]| {
            bitmaps.iter().map(|(_, frame)| 8 + super::bits::bitmap(&packed(frame, self.packing)).len()).sum::<usize>()
        };
        // Rectangles are worth a few bytes, as they are drawn much faster.
        let parts =
            if size(&cut.bitmaps) + cut.rectangles.len() * 7 <= size(&whole) + 16 { cut.bitmaps } else { whole };
        let rectangles = if parts.len() == whole_count(bits, &parts) { Vec::new() } else { cut.rectangles };
        let fills = rectangles.into_iter().map(|area| Op::new(FILL | paper(reversed), area));
        let mut ops: Vec<Op> = fills.collect();
        for (at, frame) in parts {
            ops.push(self.picture(frame, at, reversed));
        }
        ops
    }

    /// A bitmap's position.
    pub fn keep(&mut self, frame: &Frame) -> usize {
        let frame = packed(frame, self.packing);
        let next = self.bitmaps.len();
        let place = *self.places.entry(frame.clone()).or_insert(next);
        if place == next {
            self.bitmaps.push(frame);
        }
        place
    }

    fn picture(&mut self, frame: Frame, at: Point, reversed: bool) -> Op {
        let area = Rectangle::new(at, frame.size());
        let place = self.keep(&frame);
        Op::new(BITMAP | paper(reversed), area).bitmap(place)
    }

    fn bitmap(&mut self, bitmap: &Bitmap, area: Rectangle) -> Drawn<Vec<Op>> {
        let place = bitmap.place();
        let Some(seen) = self.seen(place.intersection(&area)) else { return Ok(Vec::new()) };
        if bitmap.paint == Paint::Invert {
            return Err(Why::Inverted);
        }
        let reversed = bitmap.paint == Paint::Paper;
        let clear = (bitmap.paint == Paint::Opaque).then(|| Op::new(FILL | PAPER, seen));
        let mut ops: Vec<Op> = clear.into_iter().collect();
        if (2..=255).contains(&bitmap.scale)
            && seen == place
            && bitmap.picture.width().max(bitmap.picture.height()) <= WIDEST
        {
            let position = self.keep(&bitmap.picture);
            let op = Op::new(BITMAP | paper(reversed) | super::op::EXTRA, place).bitmap(position);
            ops.push(op.number(bitmap.scale));
            return Ok(ops);
        }
        let mut pixels = Frame::new(seen.size.width, seen.size.height);
        let moved = Bitmap { at: bitmap.at - seen.top_left, paint: Paint::Ink, ..bitmap.clone() };
        let all = Rectangle::new(Point::zero(), pixels.size());
        let shown = Operation::new(all, Shape::Bitmap(moved));
        shown.draw(self.values, &mut pixels);
        for (at, frame) in bitmaps(&pixels, seen.top_left) {
            ops.push(self.picture(frame, at, reversed));
        }
        Ok(ops)
    }

    /// A pattern: rectangles of it, and bitmaps in rounded corners.
    fn tile(&mut self, radius: u32, tile: &Frame, area: Rectangle, seen: Rectangle) -> Vec<Op> {
        let eight = tile.width() == 8 && tile.height() == 8;
        let size = self.device.panel.size();
        let bytes = if eight { pattern(tile, self.packing, size.width, size.height) } else { [0; 8] };
        let tiled_op = |area: Rectangle| Op::new(TILE, area).raw(&bytes);
        if radius == 0 && eight {
            return vec![tiled_op(seen)];
        }
        let full = Outline { width: 0, radius, fill: Some(true) };
        let mut shape = Frame::new(seen.size.width, seen.size.height);
        let moved = Rectangle::new(area.top_left - seen.top_left, area.size);
        Operation::new(moved, Shape::Outline(full)).draw(self.values, &mut shape);
        let cut = pieces(&shape, seen.top_left);
        let mut ops: Vec<Op> = cut.rectangles.into_iter().filter(|_| eight).map(tiled_op).collect();
        let rest = if eight { cut.bitmaps } else { vec![(seen.top_left, shape)] };
        for (at, bits) in rest {
            let ink = crate::screen::pattern::within(&tiled(tile, Rectangle::new(at, bits.size())), &bits);
            ops.extend(
                bitmaps(&bits, at).into_iter().map(|(at, frame)| self.picture(frame, at, true)).collect::<Vec<_>>(),
            );
            ops.extend(
                bitmaps(&ink, at).into_iter().map(|(at, frame)| self.picture(frame, at, false)).collect::<Vec<_>>(),
            );
        }
        ops
    }

    /// The position of a face.
    pub fn face(&mut self, face: &Arc<Face>) -> Drawn<u32> {
        if face.glyphs().iter().any(|(_, glyph)| glyph.ink.width().max(glyph.ink.height()) > WIDEST) {
            return Err(Why::Glyph);
        }
        let same = |known: &Arc<Face>| Arc::ptr_eq(known, face) || known.name == face.name;
        let found = self.faces.iter().position(|(known, _)| same(known));
        Ok(found.unwrap_or_else(|| {
            self.faces.push((face.clone(), BTreeSet::new()));
            self.faces.len() - 1
        }) as u32)
    }

    /// A face's position, and the characters that it must have.
    pub fn set_in(&mut self, face: &Arc<Face>, words: &Words) -> Drawn<u32> {
        let position = self.face(face)?;
        words::characters(words, &mut self.faces[position as usize].1);
        Ok(position)
    }

    pub fn words(&self, template: &Template) -> Drawn<Words> {
        words::template(template, |field| decimals(self.device, field))
    }

    fn label(&mut self, label: &Label, area: Rectangle) -> Drawn<Vec<Op>> {
        let words = words::fixed(&label.text);
        if words.is_empty() {
            return Ok(Vec::new());
        }
        let room = Rectangle::new(label.origin, Size::new(0, 0));
        self.line(words, &Setting::plain(label.face.clone()), room, label.origin.y, area)
    }

    /// A line whose baseline is known, as one operation; nothing where it is empty or off the screen.
    pub fn line(
        &mut self,
        words: Words,
        setting: &Setting,
        room: Rectangle,
        baseline: i32,
        area: Rectangle,
    ) -> Drawn<Vec<Op>> {
        let [above, below] = setting.face.reach();
        let rows = Rectangle::new(
            Point::new(area.top_left.x, baseline - above),
            Size::new(area.size.width, (above + below).max(0) as u32),
        );
        let area = rows.intersection(&area);
        if words.len() > words::LONGEST {
            return Err(Why::LongText);
        }
        if words.is_empty() || area.is_zero_sized() {
            return Ok(Vec::new());
        }
        let same = room.top_left.x == area.top_left.x && room.size.width == area.size.width;
        let op = Op::new(TEXT | paper(setting.reversed) | if same { 0 } else { super::op::EXTRA }, area);
        let op = self.setting(op, setting, &words, FirstRow::Baseline(baseline - area.top_left.y))?;
        let op = if same { op } else { op.signed(room.top_left.x - area.top_left.x).number(room.size.width) };
        Ok(vec![op.text(words)])
    }

    /// A setting: the face, how text stands in it, and how far below the top its first baseline or its room is.
    pub fn setting(&mut self, op: Op, setting: &Setting, words: &Words, down: FirstRow) -> Drawn<Op> {
        let face = self.set_in(&setting.face, words)?;
        let ellipsis = setting.overflow == Overflow::Ellipsis;
        if ellipsis {
            self.faces[face as usize].1.insert('…');
        }
        let smaller = setting.smaller.as_ref().filter(|_| setting.overflow == Overflow::Shrink);
        let flag = |set: bool, bit: u8| if set { bit } else { 0 };
        let flags = stand(setting.align)
            | if matches!(down, FirstRow::Baseline(_)) { BASELINE } else { stand(setting.vertical) } << 2
            | flag(setting.wrap, WRAP)
            | flag(ellipsis, ELLIPSIS)
            | flag(setting.spacing != 0, SPACED)
            | flag(smaller.is_some(), SMALLER);
        let parts = [("INK_WRAPS", WRAP), ("INK_ELLIPSES", ELLIPSIS), ("INK_SMALLER", SMALLER), ("INK_SPACED", SPACED)];
        self.used.extend(parts.into_iter().filter(|(_, bit)| flags & bit != 0).map(|(part, _)| part));
        self.used.extend(matches!(down, FirstRow::Room(_)).then_some("INK_STANDS"));
        let op = op.number(face).byte(flags);
        let op = if setting.spacing != 0 { op.signed(setting.spacing) } else { op };
        let op = match smaller {
            Some(smaller) => op.number(self.set_in(smaller, words)?),
            None => op,
        };
        let (FirstRow::Baseline(rows) | FirstRow::Room(rows)) = down;
        Ok(op.signed(rows))
    }

    fn text(&mut self, text: &Text, area: Rectangle) -> Drawn<Vec<Op>> {
        let Text { template, setting, room, .. } = text;
        let words = self.words(template)?;
        if words.is_empty() {
            return Ok(Vec::new());
        }
        // A text without values is broken into lines here rather than each time it is drawn.
        let fixed = template.fields().is_empty() && setting.wrap && setting.overflow != Overflow::Shrink;
        let lines = || setting.lines(&template.extremes().concat(), room.size.width as i32).join("\n");
        let words = if fixed { words::fixed(&lines()) } else { words };
        let setting = &Setting { wrap: setting.wrap && !fixed, ..setting.clone() };
        let baseline = first_baseline(setting, room.size.height as i32, &words);
        if let (Some(baseline), false) = (baseline, fixed || contents::breaks(&words)) {
            return self.line(words, setting, *room, room.top_left.y + baseline, area);
        }
        let from = room.top_left - area.top_left;
        let same = from.x == 0 && room.size.width == area.size.width;
        let op = Op::new(TEXT | paper(setting.reversed) | if same { 0 } else { super::op::EXTRA }, area);
        let op = match baseline {
            Some(baseline) => self.setting(op, setting, &words, FirstRow::Baseline(from.y + baseline))?,
            None => self.setting(op, setting, &words, FirstRow::Room(from.y))?.number(room.size.height),
        };
        let op = if same { op } else { op.signed(from.x).number(room.size.width) };
        Ok(vec![op.text(words)])
    }

    fn value(&mut self, value: &Value, area: Rectangle) -> Drawn<Vec<Op>> {
        let reversed = match value.paint {
            Paint::Ink => false,
            Paint::Paper => true,
            Paint::Opaque | Paint::Invert => return Err(Why::Inverted),
        };
        let number = self.words(&value.number)?;
        let unit = self.words(&value.unit)?;
        let unitless = unit.is_empty();
        let setting = |face: &Arc<Face>, align| Setting { align, reversed, ..Setting::plain(face.clone()) };
        if !value.fixed_width {
            let op = Op::new(VALUE | paper(reversed), area);
            let op = op.number(self.set_in(&value.face, &number)?).number(self.set_in(&value.unit_face, &unit)?);
            let from = value.room.top_left.x - area.top_left.x;
            let op = op.byte(stand(value.align)).signed(from).number(value.room.size.width);
            let op = op.signed(value.baseline - area.top_left.y).signed(value.raise).signed(value.gap);
            return Ok(vec![op.text(number).text(unit)]);
        }
        let block = value.widest + value.gap + value.unit_width;
        let left = value.room.top_left.x + value.align.offset(value.room.size.width as i32, block);
        let align = if value.align == Stand::Start && unitless { Stand::Start } else { Stand::End };
        let room = |x: i32, width: i32| Rectangle::new(Point::new(x, 0), Size::new(width.max(0) as u32, 0));
        let digits = setting(&value.face, align);
        let mut ops = self.line(number, &digits, room(left, value.widest), value.baseline, area)?;
        let beside = setting(&value.unit_face, Stand::Start);
        let at = room(left + value.widest + value.gap, 0);
        ops.extend(self.line(unit, &beside, at, value.baseline - value.raise, area)?);
        Ok(ops)
    }

    /// A level as an operation has it: the field, its factor, and the ends of its scale.
    pub fn level(&self, op: Op, level: &Level) -> Drawn<Op> {
        let own = decimals(self.device, level.field.0);
        let Units { factor, numbers, .. } = units(&level.scale, own).ok_or(Why::Ends)?;
        let op = op.number(level.field.0 as u32).number(factor as u32);
        Ok(op.signed(numbers[0]).number((numbers[1] - numbers[0]) as u32))
    }
}

/// The first baseline in a room of some height; `None` where lines depend on values.
pub(super) fn first_baseline(setting: &Setting, height: i32, words: &Words) -> Option<i32> {
    let face = &setting.face;
    let lines = contents::lines(words).filter(|_| !setting.wrap && setting.overflow != Overflow::Shrink)?;
    let below = (lines as i32 - 1) * face.line_height();
    Some(match setting.vertical {
        Stand::Start => face.ascent,
        Stand::Center => (height - below - face.cap_height).div_euclid(2) + face.cap_height,
        Stand::End => height - face.descent - below,
    })
}

/// How many bitmaps there are where nothing was cut into rectangles.
fn whole_count(bits: &Frame, parts: &[(Point, Frame)]) -> usize {
    let inked: u64 = parts.iter().map(|(_, frame)| frame.ink_count()).sum();
    if inked == bits.ink_count() { parts.len() } else { usize::MAX }
}

pub(super) fn paper(reversed: bool) -> u8 {
    if reversed { PAPER } else { 0 }
}

pub(super) fn stand(stand: Stand) -> u8 {
    match stand {
        Stand::Start => 0,
        Stand::Center => 1,
        Stand::End => 2,
    }
}
