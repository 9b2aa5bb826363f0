//! The part of a font that the rasteriser is given: the wanted characters alone, their outlines within bounds.
//!
//! A broken or hostile font can map every number to a glyph, nest outlines in one another, draw them far away or a hair
//! apart; a rasteriser that takes it at its word reads for minutes, fills the memory or writes beside its picture. The
//! parser used here is sound on any bytes; what it finds is taken down by [`super::pen`], measured, and written again by
//! [`super::font_file`]. Not for rasterising: see [`super::truetype`].

use super::pen::{Drawn, Pen};
use super::{FontFault, font_file};
use std::collections::{BTreeMap, BTreeSet};
use ttf_parser::cmap::Format;
use ttf_parser::{Face, GlyphId, Tag};

/// Lines and curves of all wanted glyphs together: so many, and as many for each glyph.
const SEGMENTS: [usize; 2] = [4_000, 600];
/// Their length in ems: so many, and as many for each glyph. Curves are cut into lines by their length.
const EMS: [f32; 2] = [1_000.0, 120.0];
/// Character maps of a font beyond these are not looked at.
const MAPS: usize = 16;
/// Kerning tables of a font beyond these are not looked at.
const KERNS: usize = 16;

/// A font file, parsed, with the glyphs of the wanted characters.
pub struct Outlines<'a> {
    face: Face<'a>,
    ids: BTreeMap<char, GlyphId>,
    glyphs: BTreeMap<char, Drawn>,
}

impl<'a> Outlines<'a> {
    /// Finds the glyphs of characters and measures them.
    ///
    /// # Errors
    /// When the bytes are not a font, it has none of the characters, or its outlines are out of bounds.
    ///
    /// # Panics
    /// Unwinds, without a word on the terminal, from an outline of more segments than all glyphs may have; meant to be
    /// caught where the font is read.
    pub fn of(bytes: &'a [u8], wanted: &BTreeSet<char>) -> Result<Self, FontFault> {
        let face =
            Face::parse(bytes, 0).map_err(|why| format!("this is not a TrueType font that can be read: {why}"))?;
        // OpenType 1.9, head table: unitsPerEm is from 16 to 16384.
        let em = face.units_per_em();
        if !(16..=16_384).contains(&em) {
            return Err(FontFault::from(format!(
                "this is not a TrueType font that can be read: it has {em} units per em"
            )));
        }
        if ![b"glyf", b"CFF ", b"CFF2"].into_iter().any(|tag| face.raw_face().table(Tag::from_bytes(tag)).is_some()) {
            return Err("the font has no outlines, only images of its characters".into());
        }
        let ids: BTreeMap<char, GlyphId> = wanted.iter().filter_map(|c| Some((*c, glyph(&face, *c)?))).collect();
        if ids.is_empty() {
            return Err("the font has none of the characters that the project uses".into());
        }
        if ids.len() >= usize::from(u16::MAX) {
            return Err(FontFault::from(format!(
                "{} characters are wanted of it, more than a font can have",
                ids.len()
            )));
        }
        let mut pen = Pen::new(SEGMENTS[0] + SEGMENTS[1] * ids.len());
        let mut glyphs = BTreeMap::new();
        for (character, id) in &ids {
            face.outline_glyph(*id, &mut pen);
            if pen.far {
                return Err(FontFault::from(format!(
                    "its U+{:04X} reaches more than {} units from its origin",
                    u32::from(*character),
                    i16::MAX
                )));
            }
            let contours = std::mem::take(&mut pen.contours);
            let points: usize = contours.iter().map(Vec::len).sum();
            if points > usize::from(u16::MAX) || contours.len() > i16::MAX as usize {
                return Err(FontFault::from(format!(
                    "its U+{:04X} has more points than a glyph can have",
                    u32::from(*character)
                )));
            }
            let advance = face.glyph_hor_advance(*id).unwrap_or(0);
            glyphs.insert(*character, Drawn { advance, contours });
        }
        let most = EMS[0] + EMS[1] * ids.len() as f32;
        if pen.length > f32::from(em) * most {
            return Err(FontFault::from(format!("its outlines are longer than {most} ems together")));
        }
        Ok(Self { face, ids, glyphs })
    }

    /// The characters that the font has, in order.
    pub fn characters(&self) -> impl Iterator<Item = char> + '_ {
        self.glyphs.keys().copied()
    }

    /// Each character with its glyph's number in the file and its advance in ems, in order.
    pub fn ids(&self) -> impl Iterator<Item = (char, u16, f32)> + '_ {
        let em = f32::from(self.face.units_per_em());
        self.ids.iter().map(move |(character, id)| {
            (*character, id.0, f32::from(self.face.glyph_hor_advance(*id).unwrap_or(0)) / em)
        })
    }

    /// How far a line reaches above and below the baseline, in ems.
    pub fn line(&self) -> [f32; 2] {
        let em = f32::from(self.face.units_per_em());
        [f32::from(self.face.ascender()) / em, -f32::from(self.face.descender()) / em]
    }

    /// What is added to the advance between two characters, in ems.
    pub fn kerning(&self, left: char, right: char) -> f32 {
        let pair = self.ids.get(&left).zip(self.ids.get(&right));
        let tables = self.face.tables().kern.into_iter().flat_map(|kern| kern.subtables).take(KERNS);
        let mut plain = tables.filter(|table| table.horizontal && !table.has_cross_stream && !table.has_state_machine);
        let units = pair.and_then(|(left, right)| plain.find_map(|table| table.glyphs_kerning(*left, *right)));
        f32::from(units.unwrap_or(0)) / f32::from(self.face.units_per_em())
    }

    /// A font file with these glyphs.
    pub fn file(&self) -> Vec<u8> {
        let line = [self.face.ascender(), self.face.descender(), self.face.line_gap()];
        font_file::write(self.face.units_per_em(), line, &self.glyphs)
    }
}

/// The glyph of a character; maps that give many characters one glyph, for last resort, are left out.
fn glyph(face: &Face<'_>, character: char) -> Option<GlyphId> {
    let maps = face.tables().cmap?.subtables.into_iter().take(MAPS);
    let mut maps = maps.filter(|map| map.is_unicode() && !matches!(map.format, Format::ManyToOneRangeMappings(_)));
    let found = maps.find_map(|map| map.glyph_index(u32::from(character)))?;
    (found.0 != 0 && found.0 < face.number_of_glyphs()).then_some(found)
}
