//! A face ready to draw: glyphs as small frames, their metrics, kerning.
//!
//! Where glyphs come from is [`bdf`] and [`truetype`]; what text stands where is the elements' business.

pub mod bdf;
pub mod builtin;
pub mod fault;
mod font_file;
pub mod hinted;
mod outlines;
mod pen;
pub mod truetype;

pub use fault::FontFault;

use crate::frame::Frame;
use crate::frame::blit::Paint;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;
use std::collections::BTreeSet;
use std::collections::HashMap;
use std::sync::Arc;

/// One character's picture.
#[derive(Clone, Debug)]
pub struct Glyph {
    /// Distance to the next character's origin in pixels.
    pub advance: i32,
    /// From the origin to the picture's left edge in pixels.
    pub left: i32,
    /// From the baseline up to the picture's upper edge in pixels.
    pub top: i32,
    /// The picture.
    pub ink: Frame,
}

/// Characters below this code (Latin and its accented letters) are found without a search.
const COMMON: u32 = 0x180;

/// A face at one size.
#[derive(Clone, Debug)]
pub struct Face {
    /// Its name in the project.
    pub name: String,
    /// Pixels above the baseline.
    pub ascent: i32,
    /// Pixels below the baseline.
    pub descent: i32,
    /// Height of a capital H in pixels.
    pub cap_height: i32,
    /// Height of a small x in pixels.
    pub x_height: i32,
    /// In order of their characters.
    glyphs: Vec<(char, Glyph)>,
    /// Position in `glyphs` of each character below [`COMMON`]; one past the end where there is none.
    common: Vec<u16>,
    missing: Glyph,
    kerning: HashMap<(char, char), i32>,
    /// Pixels that the ink of any glyph reaches above and below the baseline.
    reach: [i32; 2],
}

impl Face {
    /// Makes a face of its glyphs. The glyph of U+FFFD stands for missing ones; without it, an empty box does.
    pub fn new(name: &str, ascent: i32, descent: i32, glyphs: HashMap<char, Glyph>) -> Self {
        let height = |c: char| glyphs.get(&c).map(|glyph| glyph.top);
        let cap_height = height('H').or_else(|| height('0')).unwrap_or(ascent);
        let x_height = height('x').unwrap_or(cap_height);
        let missing = glyphs.get(&'\u{fffd}').cloned().unwrap_or_else(|| hollow(cap_height));
        let mut glyphs: Vec<(char, Glyph)> = glyphs.into_iter().collect();
        glyphs.sort_by_key(|(character, _)| *character);
        let find = |code: u32| glyphs.binary_search_by_key(&code, |(character, _)| u32::from(*character)).ok();
        let common =
            (0..COMMON).map(|code| find(code).and_then(|at| u16::try_from(at).ok()).unwrap_or(u16::MAX)).collect();
        let every = || glyphs.iter().map(|(_, glyph)| glyph).chain([&missing]);
        let above = every().map(|glyph| glyph.top).max().unwrap_or(0);
        let below = every().map(|glyph| glyph.ink.height() as i32 - glyph.top).max().unwrap_or(0);
        Self {
            name: name.to_owned(),
            ascent,
            descent,
            cap_height,
            x_height,
            reach: [above, below],
            glyphs,
            common,
            missing,
            kerning: HashMap::new(),
        }
    }

    /// Adds distances between pairs of characters, in pixels.
    pub fn with_kerning(mut self, kerning: HashMap<(char, char), i32>) -> Self {
        self.kerning = kerning;
        self
    }

    /// Draws one character as another; without glyphs of their own for both, nothing changes.
    pub fn with(mut self, character: char, other: char) -> Self {
        let glyph = self.find(other).cloned();
        let slot = self.glyphs.iter_mut().find(|(known, _)| *known == character);
        if let (Some((_, old)), Some(new)) = (slot, glyph) {
            *old = new;
        }
        self
    }

    /// Whether the face has a glyph of its own for a character.
    pub fn has(&self, character: char) -> bool {
        self.find(character).is_some()
    }

    /// A character's glyph, or the one that stands for missing ones.
    pub fn glyph(&self, character: char) -> &Glyph {
        self.find(character).unwrap_or(&self.missing)
    }

    fn find(&self, character: char) -> Option<&Glyph> {
        let at = match self.common.get(character as usize) {
            Some(at) => usize::from(*at),
            None => self.glyphs.binary_search_by_key(&character, |(known, _)| *known).ok()?,
        };
        self.glyphs.get(at).map(|(_, glyph)| glyph)
    }

    /// Every character of the face with its glyph, in order.
    pub fn glyphs(&self) -> &[(char, Glyph)] {
        &self.glyphs
    }

    /// Height of a line in pixels.
    pub fn line_height(&self) -> i32 {
        self.ascent + self.descent
    }

    /// Pixels that ink reaches above and below the baseline, whatever the text.
    pub fn reach(&self) -> [i32; 2] {
        self.reach
    }

    /// Distance between two characters' usual positions, in pixels.
    pub fn kern(&self, left: char, right: char) -> i32 {
        if self.kerning.is_empty() { 0 } else { self.kerning.get(&(left, right)).copied().unwrap_or(0) }
    }

    /// Each character with its origin, from 0 on.
    fn set<'a>(&'a self, text: &'a str) -> impl Iterator<Item = (i32, &'a Glyph)> {
        let mut x = 0;
        let mut before = None;
        text.chars().map(move |character| {
            x += before.map_or(0, |left| self.kern(left, character));
            before = Some(character);
            let glyph = self.glyph(character);
            let here = x;
            x += glyph.advance;
            (here, glyph)
        })
    }

    /// Width of a text from the first origin to the last advance, in pixels.
    pub fn width(&self, text: &str) -> i32 {
        self.set(text).last().map_or(0, |(x, glyph)| x + glyph.advance)
    }

    /// Draws a text with its first origin at `origin` on the baseline; ink outside `clip` is left out.
    pub fn draw(&self, text: &str, origin: Point, clip: Rectangle, paint: Paint, frame: &mut Frame) {
        let placed = |(x, glyph): (i32, &'_ Glyph)| {
            Point::new(origin.x.saturating_add(x + glyph.left), origin.y.saturating_sub(glyph.top))
        };
        frame.blit_all(self.set(text).map(|set| (placed(set), &set.1.ink)), clip, paint);
    }

    /// Bytes of flash that a set of characters takes: packed rows of each glyph and eight bytes of metrics.
    pub fn flash_bytes(&self, characters: impl Iterator<Item = char>) -> usize {
        characters
            .map(|c| self.glyph(c))
            .map(|g| g.ink.width().div_ceil(8) as usize * g.ink.height() as usize + 8)
            .sum()
    }
}

/// A hollow box as tall as a capital.
fn hollow(height: i32) -> Glyph {
    let (h, w) = (height.clamp(3, 64) as u32, (height * 2 / 3).clamp(3, 64) as u32);
    let mut ink = Frame::new(w, h);
    for y in 0..h {
        for x in 0..w {
            ink.set(x, y, y == 0 || y == h - 1 || x == 0 || x == w - 1);
        }
    }
    Glyph { advance: w as i32 + 1, left: 0, top: h as i32, ink }
}

/// A face and what is needed of it.
#[derive(Clone, Debug)]
pub struct FaceUse {
    /// The face.
    pub face: Arc<Face>,
    /// The characters that the screens need in all locales.
    pub characters: BTreeSet<char>,
}
