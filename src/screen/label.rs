//! The labels of the keys on one screen: words under conditions, in their places.

use super::guard::Guard;
use super::template::Template;
use super::values::Values;
use crate::hardware::display::Side;
use crate::source::spans::Span;

/// A key's label on one screen.
#[derive(Clone, Debug)]
pub struct KeyLabel {
    /// The key's number, the first being 0.
    pub key: usize,
    /// Where it is written; empty where it is not.
    pub span: Span,
    /// Its words, and when they are shown; at most one of them is at a time.
    pub words: Vec<(Guard, Template)>,
    /// The side at which the key lies, if it lies at one.
    pub side: Option<Side>,
    /// The key's centre in pixels along its side.
    pub centre: i32,
    /// The key's width in pixels.
    pub width: u32,
    /// Whether the key does anything on this screen.
    pub acts: bool,
}

impl KeyLabel {
    /// The words of the moment; empty where there are none.
    pub fn text(&self, values: &Values) -> String {
        let shown = self.words.iter().find(|(guard, _)| guard.holds(values));
        shown.map_or(String::new(), |(_, template)| template.text(values).into_owned())
    }
}
