//! What drawing comes to for a processor that reads operations one by one: characters set, glyphs unpacked, bytes written.
//!
//! Amounts only, whatever the processor; what each costs is [`crate::hardware::core`]. Not for drawing itself.

use super::Item;
use super::chart::History;
use super::chart::series::Columns;
use super::face::Face;
use super::operation::{Bitmap, Operation, Shape};
use super::typeset::{Overflow, Setting, Stand};
use super::values::Values;
use crate::frame::{Axis, Frame, Packing};
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// How the packed frame lies in the upright picture.
#[derive(Clone, Copy, Debug)]
pub struct Lie {
    /// The direction of the eight pixels of a byte.
    pub along: Axis,
    /// The direction in which one line follows the other.
    pub lines: Axis,
    /// Pixels of a line in that direction: 8 where a byte lies across it.
    pub pixels: f64,
}

impl Lie {
    /// As a packing says it.
    pub fn of(packing: &Packing) -> Self {
        let turned = packing.line_turn().is_transposed();
        let (across, down) = if turned { (Axis::Y, Axis::X) } else { (Axis::X, Axis::Y) };
        match packing.strips_lie_in_lines() {
            true => Self { along: across, lines: down, pixels: 1.0 },
            false => Self { along: down, lines: down, pixels: 8.0 },
        }
    }

    /// Lines that an area touches.
    fn depth(&self, size: Size) -> f64 {
        (Self::side(size, self.lines) + self.pixels - 1.0) / self.pixels
    }

    /// Of an area, its pixels in a direction.
    fn side(size: Size, axis: Axis) -> f64 {
        f64::from(if axis == Axis::X { size.width } else { size.height })
    }

    /// Bytes that an area touches, in the middle of all the places where it may begin.
    fn bytes(&self, size: Size) -> f64 {
        let across = if self.along == Axis::X { Axis::Y } else { Axis::X };
        (Self::side(size, self.along) + 7.0) / 8.0 * Self::side(size, across)
    }
}

/// What one operation comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effort {
    /// Lines that it may reach over; 0 where it is not shown.
    pub extent: f64,
    /// Whether it sets texts, shown or not.
    pub words: f64,
    /// Texts that are composed and set.
    pub texts: f64,
    /// Their characters.
    pub characters: f64,
    /// Characters whose widths are asked for to find the lines of a text, each time.
    pub measured: f64,
    /// The same to place a line and to set it.
    pub placed: f64,
    /// Lines of the frame that each of these reaches over, together.
    pub height: f64,
    /// Glyphs and pictures that have ink.
    pub glyphs: f64,
    /// Of these, pictures.
    pub pictures: f64,
    /// Lines that glyphs and pictures reach over, together.
    pub breadth: f64,
    /// Codes from which glyphs and pictures are unpacked.
    pub codes: f64,
    /// The rows of theirs that lie along bytes.
    pub rows: f64,
    /// Areas that are filled.
    pub fills: f64,
    /// Of these, areas in a chart's plot, which a memo holds as samples.
    pub plotted: f64,
    /// Cells of a memo that a chart takes for its scale and samples.
    pub plot: f64,
    /// Lines that areas reach over, together.
    pub stretch: f64,
    /// Bytes that are written.
    pub bytes: f64,
    /// Pixels of rings, each of which is asked for.
    pub asked: f64,
    /// Past values that are read.
    pub samples: f64,
    /// Whether each strip that it reaches into reads all past values: a chart across the lines.
    pub anew: bool,
}

/// Cells of a memo that a chart takes beside its samples.
const PLOT: f64 = 54.0;

/// What the elements of a screen come to with these values, operation by operation.
pub fn efforts(items: &[Item], values: &Values, screen: Size, lie: Lie) -> Vec<Effort> {
    let seen = Rectangle::new(Point::zero(), screen);
    let every = items.iter().flat_map(|item| {
        let shown = item.shows(values);
        item.operations.iter().map(move |operation| (shown && operation.guard.holds(values), operation))
    });
    let effort = |(is_drawn, operation): (bool, &Operation)| {
        let effort = if is_drawn { operation.effort(values, seen, lie) } else { Effort::default() };
        let words = matches!(operation.shape, Shape::Label(_) | Shape::Text(_) | Shape::Value(_) | Shape::Rows(_));
        Effort { words: f64::from(u8::from(words)), ..effort }
    };
    every.map(effort).collect()
}

impl Operation {
    fn effort(&self, values: &Values, seen: Rectangle, lie: Lie) -> Effort {
        let area = self.area.intersection(&seen);
        let mut effort = Effort { extent: lie.depth(area.size), ..Effort::default() };
        match &self.shape {
            Shape::Fill { .. } => effort.fill(area.size, lie),
            Shape::Tile { radius, .. } => {
                effort.fill(area.size, lie);
                effort.bytes += lie.bytes(area.size);
                effort.corners(*radius, lie);
            }
            Shape::Outline(outline) => {
                let width = outline.width.min(area.size.width.min(area.size.height));
                let sides = [Size::new(area.size.width, width), Size::new(width, area.size.height)];
                sides.iter().chain(&sides).filter(|_| width > 0).for_each(|side| effort.fill(*side, lie));
                outline.fill.into_iter().for_each(|_| effort.fill(area.size, lie));
                effort.corners(outline.radius, lie);
            }
            Shape::Dashes { ink_gap: [ink, gap], upright } => {
                let (length, thick) = match upright {
                    true => (area.size.height, area.size.width),
                    false => (area.size.width, area.size.height),
                };
                let dash = if *upright { Size::new(thick, *ink) } else { Size::new(*ink, thick) };
                let count = length.div_ceil(ink.saturating_add(*gap).max(1));
                effort.fill_all(count as usize, dash, lie);
            }
            Shape::Line { ends: [from, to] } => {
                let size = Rectangle::with_corners(*from, *to).size;
                if size.width == 1 || size.height == 1 { effort.fill(size, lie) } else { effort.strokes(size, lie) }
            }
            Shape::Bitmap(bitmap) => effort.bitmap(bitmap, lie),
            Shape::BitmapBy { field, bitmaps } => {
                let value = values.of(*field).round();
                // The cast of a negative number is 0.
                let shown = bitmaps.get((value as usize).min(bitmaps.len().saturating_sub(1)));
                shown.filter(|_| !value.is_nan()).into_iter().for_each(|bitmap| effort.bitmap(bitmap, lie));
            }
            Shape::Label(label) => effort.text(&label.face, &label.text, 1, lie),
            Shape::Text(text) => effort.set(&text.setting, &text.template.text(values), text.room.size, lie),
            Shape::Value(value) => {
                let number = value.number.text(values);
                // Composed to be measured, and once more to be set.
                effort.characters += number.chars().count() as f64;
                effort.text(&value.face, &number, 2, lie);
                effort.text(&value.unit_face, &value.unit.text(values), 2, lie);
            }
            Shape::Bar(bar) => {
                let share = bar.level.share(values).clamp(0.0, 1.0);
                let part = |side: u32| (f64::from(side) * share).round() as u32;
                let Size { width, height } = bar.full.size;
                let size = if bar.rising { Size::new(width, part(height)) } else { Size::new(part(width), height) };
                effort.fill(size, lie);
            }
            Shape::Marker(_) => (0..3).for_each(|row| effort.fill(Size::new(5 - 2 * row, 1), lie)),
            Shape::Arc(_) | Shape::RingMarker(_) => effort.asked += f64::from(area.size.width * area.size.height),
            Shape::History(history) => effort.history(history, self.area, values, lie),
            Shape::Rows(rows) => {
                effort.fill(rows.row(self.area, 0).size, lie);
                for (text, room, setting) in rows.cells(self.area, values) {
                    effort.set(setting, &text, room.size, lie);
                }
            }
        }
        effort
    }
}

impl Effort {
    /// Cells of 16 bits that a memo of what it draws takes; 0 where it can only be noted as it is.
    pub fn cells(&self) -> f64 {
        if self.asked > 0.0 {
            0.0
        } else {
            self.plot + 8.0 * self.texts + self.characters + 20.0 * self.pictures + 5.0 * (self.fills - self.plotted)
        }
    }

    fn fill(&mut self, size: Size, lie: Lie) {
        self.fill_all(1, size, lie);
    }

    /// So many areas of a size.
    fn fill_all(&mut self, count: usize, size: Size, lie: Lie) {
        self.fills += count as f64;
        self.stretch += count as f64 * lie.depth(size);
        self.bytes += count as f64 * lie.bytes(size);
    }

    /// Rounded corners, which are stored as pictures.
    fn corners(&mut self, radius: u32, lie: Lie) {
        (0..if radius > 1 { 4 } else { 0 }).for_each(|_| self.strokes(Size::new_equal(radius), lie));
    }

    /// A slanted line, which is stored as a picture.
    fn strokes(&mut self, size: Size, lie: Lie) {
        self.glyphs += 1.0;
        self.pictures += 1.0;
        self.breadth += lie.depth(size);
        self.codes += f64::from(size.width.max(size.height));
        self.rows += Lie::side(size, if lie.along == Axis::X { Axis::Y } else { Axis::X });
    }

    /// A text set into a room.
    fn set(&mut self, setting: &Setting, text: &str, room: Size, lie: Lie) {
        let lines = setting.lines(text, room.width as i32);
        let twice = setting.align != Stand::Start || setting.overflow == Overflow::Ellipsis;
        self.text(&setting.face, text, if twice { 2 } else { 1 }, lie);
        if setting.wrap {
            // Once for the height and once to set it: up to each space again, and one word beyond the line.
            self.measured += 2.0 * lines.iter().map(|line| prefixes(line)).sum::<usize>() as f64;
        }
        if lie.lines == Axis::X {
            // Each line reaches as far as the room.
            let all = text.chars().count() as f64 * if twice { 2.0 } else { 1.0 };
            self.height +=
                all * (lie.depth(room) - lie.depth(Size::new(setting.face.width(text).max(0) as u32, 1))).max(0.0);
        }
    }

    /// A line of text whose characters are placed so many times.
    fn text(&mut self, face: &Face, text: &str, times: usize, lie: Lie) {
        let placed = (times * text.chars().count()) as f64;
        let [above, below] = face.reach();
        let size = Size::new(face.width(text).max(0) as u32, (above + below).max(0) as u32);
        self.texts += 1.0;
        self.placed += placed;
        self.height += placed * lie.depth(size);
        let mut codes = [0.0; 2];
        for character in text.chars() {
            self.characters += 1.0;
            let ink = &face.glyph(character).ink;
            if let Some(found) = self.picture(ink, lie) {
                codes = [0, 1].map(|way| codes[way] + found[way]);
            }
        }
        // Each face is stored in the way that takes fewer.
        self.codes += codes[0].min(codes[1]);
    }

    /// A glyph or picture; gives its codes in both ways of storing it, where it has ink.
    fn picture(&mut self, ink: &Frame, lie: Lie) -> Option<[f64; 2]> {
        let pixels: u32 = ink.words().iter().map(|word| word.count_ones()).sum();
        if pixels == 0 {
            return None;
        }
        self.glyphs += 1.0;
        self.breadth += lie.depth(ink.size());
        self.rows += Lie::side(ink.size(), if lie.along == Axis::X { Axis::Y } else { Axis::X });
        Some([f64::from(pixels), f64::from(edges(ink, lie.along))])
    }

    fn bitmap(&mut self, bitmap: &Bitmap, lie: Lie) {
        let Some([plain, compared]) = self.picture(&bitmap.picture, lie) else { return };
        self.pictures += 1.0;
        self.codes += plain.min(compared);
        let scale = bitmap.scale.max(1);
        if scale > 1 {
            self.breadth += f64::from(scale - 1) * lie.depth(bitmap.picture.size());
            let runs = edges(&bitmap.picture, if lie.along == Axis::X { Axis::Y } else { Axis::X }) / 2;
            self.fill_all(runs.max(1) as usize, Size::new_equal(scale), lie);
        }
    }

    fn history(&mut self, history: &History, area: Rectangle, values: &Values, lie: Lie) {
        self.samples += history.samples as f64;
        // Time runs across the strips, each of which needs only its part; or along them, and each asks all.
        self.anew = lie.lines == Axis::Y;
        let plot = history.plot.size;
        let columns = Columns { plot: history.plot, samples: history.samples, style: history.style };
        if plot.width > 1 && plot.height > 1 {
            let seen = history.seen(values);
            columns.areas(&seen.past, history.stroke, &seen.scaled).into_iter().for_each(|area| self.fill(area, lie));
            self.plotted = self.fills;
            self.plot = PLOT + history.samples as f64;
        }
        history.axis.lines(history.plot).iter().for_each(|line| self.fill(line.size, lie));
        if history.axis.wanted != Some(0) {
            let number = history.axis.widest().unwrap_or_default();
            (0..history.axis.ticks(history.plot)).for_each(|_| self.text(&history.axis.face, &number, 2, lie));
        }
        if history.grid {
            let dots = plot.width / 4 * history.axis.ticks(history.plot) as u32;
            self.fill_all(dots as usize, Size::new(1, 1), lie);
        }
        if history.threshold.is_some() {
            self.fill_all(plot.width as usize / 8, Size::new(5, 1), lie);
        }
        if let Some(hours) = &history.hours {
            for mark in hours.marks(&columns, area, values) {
                self.fill(mark.tick.size, lie);
                self.text(&hours.face, &mark.text, 2, lie);
            }
        }
    }
}

/// Characters of all beginnings of a line that end before a space, and of the line.
fn prefixes(line: &str) -> usize {
    let ends = line.chars().enumerate().filter(|(_, character)| *character == ' ').map(|(at, _)| at);
    ends.sum::<usize>() + 2 * line.chars().count()
}

/// Pixels that differ from those of the line before, lines lying along an axis.
fn edges(ink: &Frame, along: Axis) -> u32 {
    match along {
        Axis::X => {
            let mut above: Option<&[u64]> = None;
            let mut count = 0;
            for row in ink.rows() {
                let before = |at: usize| above.map_or(0, |above| above[at]);
                count += row.iter().enumerate().map(|(at, word)| (word ^ before(at)).count_ones()).sum::<u32>();
                above = Some(row);
            }
            count
        }
        Axis::Y => {
            let differs = |x: u32, y: u32| ink.ink(x, y) != (x > 0 && ink.ink(x - 1, y));
            (0..ink.height())
                .flat_map(|y| (0..ink.width()).map(move |x| (x, y)))
                .filter(|(x, y)| differs(*x, *y))
                .count() as u32
        }
    }
}
