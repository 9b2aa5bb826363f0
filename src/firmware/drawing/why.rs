//! Why an element is left to the firmware: one cause each, in its own words.

use super::shapes::WIDEST;
use super::whole;
use super::words::LONGEST;
use crate::screen::chart::count::MOST;
use std::fmt;

/// Operations, or why there are none.
pub(super) type Drawn<T> = Result<T, Why>;

/// What the interpreter in C cannot draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// More characters than it composes.
    LongText,
    /// A part of a clock's pattern that it does not know.
    Pattern,
    /// A factor from one unit to another that takes too many digits.
    Factor,
    /// Numbers of a chart beyond what it counts.
    Chart,
    /// Times of a chart that are not counted in seconds.
    Hours,
    /// Ends of a gauge's scale that it cannot count.
    Ends,
    /// Glyphs that are too large.
    Glyph,
    /// A choice by a field whose numbers are too large.
    Choice,
    /// An image that inverts what lies below.
    Inverted,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::LongText => write!(f, "a text of more than {LONGEST} characters: shorten it, or make two of it"),
            Self::Pattern => {
                f.write_str("a clock pattern beyond dates and times: use parts of the date and the time of day")
            }
            Self::Factor => f.write_str("a unit's factor takes too many digits for its values: round it"),
            Self::Chart => {
                let most = MOST / 1e6;
                write!(
                    f,
                    "a chart's scale of more than {most:.0} million steps of its finest decimal: use fewer decimals"
                )
            }
            Self::Hours => {
                f.write_str("a chart's samples are not whole seconds apart, or reach back more than 30 years")
            }
            Self::Ends => {
                let most = whole::MOST / 1e6;
                write!(
                    f,
                    "ends of a scale with more than 9 decimals, or of more than {most:.0} million steps: round them"
                )
            }
            Self::Glyph => write!(f, "a font with glyphs of more than {WIDEST} pixels: use a smaller size"),
            Self::Choice => f.write_str("a choice by a field of very many decimals: use fewer"),
            Self::Inverted => f.write_str("an image that inverts what lies below it"),
        }
    }
}
