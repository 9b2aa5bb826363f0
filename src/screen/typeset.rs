//! Puts text into an area: alignment, wrapping, what happens when it does not fit.

use super::face::Face;
use crate::frame::Frame;
use crate::frame::blit::Paint;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Where text stands in its area along one axis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Stand {
    /// At the left or upper edge.
    #[default]
    Start,
    /// In the middle.
    Center,
    /// At the right or lower edge.
    End,
}

impl Stand {
    /// The offset of something `size` long in a space `room` long.
    pub fn offset(self, room: i32, size: i32) -> i32 {
        match self {
            Self::Start => 0,
            Self::Center => (room - size).div_euclid(2),
            Self::End => room - size,
        }
    }
}

/// What happens to a line that is wider than its area.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Overflow {
    /// Cut off at the area's edge; `check` reports it.
    #[default]
    Clip,
    /// Shortened to end in an ellipsis.
    Ellipsis,
    /// Set in the smaller font that the element names; cut off if that is too wide as well.
    Shrink,
}

/// How a text is set.
#[derive(Clone, Debug)]
pub struct Setting {
    /// The font.
    pub face: Arc<Face>,
    /// Across the area.
    pub align: Stand,
    /// Down the area; the middle is that of the cap height.
    pub vertical: Stand,
    /// White on black rather than black on white.
    pub reversed: bool,
    /// Broken into lines at spaces.
    pub wrap: bool,
    /// What happens to a line that is too wide.
    pub overflow: Overflow,
    /// Pixels added between characters.
    pub spacing: i32,
    /// The font that `Overflow::Shrink` falls back to.
    pub smaller: Option<Arc<Face>>,
}

impl Setting {
    /// Black text at the left, in the middle of its height, clipped.
    pub fn plain(face: Arc<Face>) -> Self {
        Self {
            face,
            align: Stand::Start,
            vertical: Stand::Center,
            reversed: false,
            wrap: false,
            overflow: Overflow::Clip,
            spacing: 0,
            smaller: None,
        }
    }

    /// Width of a line from the first origin to the last advance in pixels, letter spacing included.
    pub fn width(&self, line: &str) -> i32 {
        let gaps = line.chars().count().saturating_sub(1) as i32;
        self.face.width(line).saturating_add(gaps.saturating_mul(self.spacing))
    }

    /// Draws a line with its first origin on the baseline at `origin`.
    fn line(&self, line: &str, origin: Point, area: Rectangle, paint: Paint, frame: &mut Frame) {
        if self.spacing == 0 {
            return self.face.draw(line, origin, area, paint, frame);
        }
        let mut x = origin.x;
        let mut before = None;
        for character in line.chars() {
            x = x.saturating_add(before.map_or(0, |left| self.face.kern(left, character) + self.spacing));
            self.face.draw(character.encode_utf8(&mut [0; 4]), Point::new(x, origin.y), area, paint, frame);
            x = x.saturating_add(self.face.glyph(character).advance);
            before = Some(character);
        }
    }

    /// The setting in the smaller font, where the text does not fit and that is asked for.
    fn shrunk(&self, text: &str, area: Size) -> Option<Self> {
        let smaller = self.smaller.as_ref().filter(|_| self.overflow == Overflow::Shrink)?;
        let needs = self.measure(text, Some(area.width));
        let fits = needs.width <= area.width && (!self.wrap || needs.height <= area.height);
        (!fits).then(|| Self { face: smaller.clone(), overflow: Overflow::Clip, ..self.clone() })
    }

    /// Pixels that a text takes once it is shrunk where that is asked for and needed.
    pub fn settled(&self, text: &str, area: Size) -> Size {
        let shrunk = self.shrunk(text, area);
        shrunk.as_ref().unwrap_or(self).measure(text, Some(area.width))
    }

    /// The lines that a text is broken into for a width in pixels.
    pub fn lines<'a>(&self, text: &'a str, width: i32) -> Vec<&'a str> {
        text.split('\n').flat_map(|part| if self.wrap { self.broken(part, width) } else { vec![part] }).collect()
    }

    /// Breaks at spaces, as few lines as possible from the start on; a word wider than the width keeps its own line.
    fn broken<'a>(&self, text: &'a str, width: i32) -> Vec<&'a str> {
        let mut lines = Vec::new();
        let mut start = 0;
        let mut fits = None;
        for (at, _) in text.match_indices(' ').chain([(text.len(), "")]) {
            if let Some(last) = fits
                && self.width(&text[start..at]) > width
            {
                lines.push(&text[start..last]);
                start = last + 1;
            }
            fits = Some(at);
        }
        lines.push(&text[start..]);
        lines
    }

    /// Pixels that a text needs, given the width it may use.
    pub fn measure(&self, text: &str, width: Option<u32>) -> Size {
        let room = width.map_or(i32::MAX, |width| width.min(i32::MAX as u32) as i32);
        let lines = self.lines(text, room);
        let widest = lines.iter().map(|line| self.width(line)).max().unwrap_or(0);
        Size::new(widest.max(0) as u32, (self.face.line_height() * lines.len() as i32).max(0) as u32)
    }

    /// Draws a text into an area; ink stays inside.
    pub fn draw(&self, text: &str, area: Rectangle, frame: &mut Frame) {
        self.draw_within(text, area, area, frame);
    }

    /// Draws a text set into an area; ink that does not fit may go beyond it, as far as `clip`.
    pub fn draw_within(&self, text: &str, area: Rectangle, clip: Rectangle, frame: &mut Frame) {
        if let Some(smaller) = self.shrunk(text, area.size) {
            return smaller.draw_within(text, area, clip, frame);
        }
        let (width, height) = (area.size.width as i32, area.size.height as i32);
        let paint = if self.reversed { Paint::Paper } else { Paint::Ink };
        let (whole, broken);
        // Most texts are one line.
        let lines: &[&str] = if self.wrap || text.contains('\n') {
            broken = self.lines(text, width);
            &broken
        } else {
            whole = [text];
            &whole
        };
        let pitch = self.face.line_height();
        let block = pitch * (lines.len() as i32 - 1);
        let first = match self.vertical {
            Stand::Start => self.face.ascent,
            Stand::Center => (height - block - self.face.cap_height).div_euclid(2) + self.face.cap_height,
            Stand::End => height - self.face.descent - block,
        };
        for (index, line) in lines.iter().enumerate() {
            let shortened = self.fitted(line, width);
            let line = shortened.as_deref().unwrap_or(line);
            let x = if self.align == Stand::Start { 0 } else { self.align.offset(width, self.width(line)) };
            let origin = area.top_left + Point::new(x, first + pitch * index as i32);
            self.line(line, origin, clip, paint, frame);
        }
    }

    /// The line with an ellipsis, where it is asked for and needed.
    fn fitted(&self, line: &str, width: i32) -> Option<String> {
        if self.overflow != Overflow::Ellipsis || self.width(line) <= width {
            return None;
        }
        let mut kept: Vec<char> = line.chars().collect();
        loop {
            let text: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
            if kept.is_empty() || self.width(&text) <= width {
                return Some(text);
            }
            kept.pop();
        }
    }
}
