//! Faces cut down to the glyphs that live texts can need, with their metrics and kerning.

use crate::screen::face::{Face, Glyph};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The faces in use.
#[derive(Debug, Default)]
pub struct Stock {
    faces: Vec<(Arc<Face>, BTreeSet<char>)>,
    /// The cut-down faces, once all characters are known.
    pub subsets: Vec<Subset>,
}

/// A face with only the glyphs in use.
#[derive(Debug)]
pub struct Subset {
    /// Its name in the project.
    pub name: String,
    /// Pixels from line to line.
    pub pitch: i32,
    /// The glyph that stands for missing ones, then those in use, by code point.
    pub glyphs: Vec<(Option<char>, Glyph)>,
    /// Distances between pairs in use, in order.
    pub kerning: Vec<(char, char, i32)>,
}

impl Stock {
    /// The position of a face.
    pub fn face(&mut self, face: &Arc<Face>) -> usize {
        let found = self.faces.iter().position(|(known, _)| Arc::ptr_eq(known, face) || known.name == face.name);
        found.unwrap_or_else(|| {
            self.faces.push((face.clone(), BTreeSet::new()));
            self.faces.len() - 1
        })
    }

    /// Notes characters that a face must have.
    pub fn need(&mut self, face: &Arc<Face>, characters: impl IntoIterator<Item = char>) {
        let at = self.face(face);
        self.faces[at].1.extend(characters.into_iter().filter(|c| *c != '\n'));
    }

    /// Cuts the faces down.
    pub(super) fn close(&mut self) {
        self.subsets = self.faces.iter().map(|(face, used)| Subset::of(face, used)).collect();
    }

    /// Bytes of flash of all glyphs, metrics and kerning as the C tables hold them.
    pub fn flash_bytes(&self) -> usize {
        self.subsets
            .iter()
            .map(|face| {
                face.glyphs.iter().map(|(_, glyph)| 20 + rows(glyph).len()).sum::<usize>() + face.kerning.len() * 6
            })
            .sum()
    }
}

impl Subset {
    fn of(face: &Face, used: &BTreeSet<char>) -> Self {
        let own: Vec<char> = used.iter().copied().filter(|c| face.has(*c)).collect();
        let missing = (Option::<char>::None, face.glyph('\u{fffd}').clone());
        let mut kerning = Vec::new();
        for left in &own {
            for right in &own {
                match face.kern(*left, *right) {
                    0 => {}
                    distance => kerning.push((*left, *right, distance)),
                }
            }
        }
        Self {
            name: face.name.clone(),
            pitch: face.line_height(),
            glyphs: std::iter::once(missing).chain(own.iter().map(|c| (Some(*c), face.glyph(*c).clone()))).collect(),
            kerning,
        }
    }
}

/// A glyph's rows, each padded to bytes, leftmost pixel in the top bit.
pub fn rows(glyph: &Glyph) -> Vec<u8> {
    glyph.ink.to_rows_msb()
}
