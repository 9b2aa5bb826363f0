//! Controllers that take two pictures for one refresh, the one before and the one now, and the corner from which the
//! addresses of their windows count.
//!
//! Not for the bits inside one plane; see [`super::pack`].

use super::turn::Turn;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which planes a packed image holds, and which of two is sent first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Planes {
    /// The image now, and nothing else.
    #[default]
    New,
    /// The image before, then the image now.
    OldNew,
    /// The image now, then the image before.
    NewOld,
}

impl Planes {
    /// How many.
    pub fn count(self) -> u32 {
        if self == Self::New { 1 } else { 2 }
    }

    /// The same planes sent in the other order.
    #[must_use]
    pub fn exchanged(self) -> Self {
        match self {
            Self::New => Self::New,
            Self::OldNew => Self::NewOld,
            Self::NewOld => Self::OldNew,
        }
    }

    /// As written in a profile.
    pub fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::OldNew => "old-new",
            Self::NewOld => "new-old",
        }
    }

    /// The position of the image now, and of the image before where it is held.
    pub(super) fn positions(self) -> (usize, Option<usize>) {
        match self {
            Self::New => (0, None),
            Self::OldNew => (1, Some(0)),
            Self::NewOld => (0, Some(1)),
        }
    }
}

/// How two planes lie among one another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Interleave {
    /// The whole second plane behind the whole first.
    #[default]
    Planes,
    /// A line of the first, the same line of the second, the next line of the first.
    Lines,
    /// A byte of the first, the same byte of the second, the next byte of the first.
    Bytes,
}

impl Interleave {
    /// Every way.
    pub const ALL: [Self; 3] = [Self::Planes, Self::Lines, Self::Bytes];

    /// Bytes that stay together before the other plane's follow, of a plane of `plane` bytes in lines of `stride`.
    fn piece(self, plane: usize, stride: usize) -> usize {
        match self {
            Self::Planes => plane,
            Self::Lines => stride,
            Self::Bytes => 1,
        }
        .max(1)
    }

    /// Where byte `at` of one of two planes lies; the plane's position is 0 or 1.
    pub(super) fn place(self, at: usize, position: usize, plane: usize, stride: usize) -> usize {
        let piece = self.piece(plane, stride);
        (at / piece * 2 + position) * piece + at % piece
    }

    /// Two planes of the same length as one stream.
    pub(super) fn join(self, first: &[u8], second: &[u8], stride: usize) -> Vec<u8> {
        let piece = self.piece(first.len(), stride);
        first.chunks(piece).zip(second.chunks(piece)).flat_map(|(first, second)| [first, second].concat()).collect()
    }

    /// One of the planes of a stream.
    pub(super) fn take(self, stream: &[u8], position: usize, stride: usize) -> Vec<u8> {
        let piece = self.piece(stream.len() / 2, stride);
        stream.chunks(piece).skip(position).step_by(2).flatten().copied().collect()
    }
}

/// A corner of the image in the controller's memory.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Corner {
    /// Columns count to the right, lines downwards.
    #[default]
    TopLeft,
    /// Columns count to the left, lines downwards.
    TopRight,
    /// Columns count to the right, lines upwards.
    BottomLeft,
    /// Columns count to the left, lines upwards.
    BottomRight,
}

impl Corner {
    /// Every corner.
    pub const ALL: [Self; 4] = [Self::TopLeft, Self::TopRight, Self::BottomLeft, Self::BottomRight];

    /// Whether columns count from the right.
    pub fn right(self) -> bool {
        matches!(self, Self::TopRight | Self::BottomRight)
    }

    /// Whether lines count from the bottom.
    pub fn bottom(self) -> bool {
        matches!(self, Self::BottomLeft | Self::BottomRight)
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::TopLeft => "top left",
            Self::TopRight => "top right",
            Self::BottomLeft => "bottom left",
            Self::BottomRight => "bottom right",
        }
    }

    /// The corner of the upright image that `turn` brings to this corner of the memory.
    pub fn as_seen(self, turn: Turn) -> Self {
        let (width, height) = (2, 2);
        let mine = (u32::from(self.right()), u32::from(self.bottom()));
        let lands =
            |corner: &Self| turn.place(u32::from(corner.right()), u32::from(corner.bottom()), width, height) == mine;
        Self::ALL.into_iter().find(lands).unwrap_or(self)
    }

    /// Where a stretch that begins at `start` and is `length` long begins when it is counted from the other end of
    /// `whole`; unchanged from this end.
    fn counted(reversed: bool, start: u32, length: u32, whole: u32) -> u32 {
        if reversed { whole.saturating_sub(start.saturating_add(length)) } else { start }
    }

    /// Column and line at which a window begins, as this corner counts: the window lies at `at`, counted from the top
    /// left, and is `size` large, in a memory of `whole` pixels; `first` is the address of the corner itself. The
    /// memory's width is taken up to whole bytes, as the controller holds it.
    pub fn address(self, at: [u32; 2], size: [u32; 2], whole: [u32; 2], first: [u32; 2]) -> [u32; 2] {
        let across = whole[0].div_ceil(8) * 8;
        [
            Self::counted(self.right(), at[0], size[0], across).saturating_add(first[0]),
            Self::counted(self.bottom(), at[1], size[1], whole[1]).saturating_add(first[1]),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn planes_lie_as_they_are_told() {
        let (old, new) = ([1, 2, 3, 4], [11, 12, 13, 14]);
        assert_eq!(Interleave::Planes.join(&old, &new, 2), [1, 2, 3, 4, 11, 12, 13, 14]);
        assert_eq!(Interleave::Lines.join(&old, &new, 2), [1, 2, 11, 12, 3, 4, 13, 14]);
        assert_eq!(Interleave::Bytes.join(&old, &new, 2), [1, 11, 2, 12, 3, 13, 4, 14]);
        for way in Interleave::ALL {
            let stream = way.join(&old, &new, 2);
            assert_eq!((way.take(&stream, 0, 2), way.take(&stream, 1, 2)), (old.to_vec(), new.to_vec()));
            for at in 0..4 {
                assert_eq!((stream[way.place(at, 0, 4, 2)], stream[way.place(at, 1, 4, 2)]), (old[at], new[at]));
            }
        }
    }

    #[test]
    fn addresses_count_from_their_corner() {
        // 122 columns are held as 128; a window of 16 x 10 at column 8, line 20 of 250.
        let address = |corner: Corner, first| corner.address([8, 20], [16, 10], [122, 250], first);
        assert_eq!(address(Corner::TopLeft, [0, 0]), [8, 20]);
        assert_eq!(address(Corner::TopRight, [0, 0]), [104, 20]);
        assert_eq!(address(Corner::BottomLeft, [8, 1]), [16, 221]);
        assert_eq!(address(Corner::BottomRight, [0, 0]), [104, 220]);
    }

    #[test]
    fn a_corner_is_seen_where_the_turn_brings_it() {
        use crate::frame::Rotation;
        let quarter = Turn::default().then_rotate(Rotation::Quarter);
        // Turned clockwise, what is seen at the bottom left lies at the top left of the memory.
        assert_eq!(Corner::TopLeft.as_seen(quarter), Corner::BottomLeft);
        assert_eq!(Corner::TopLeft.as_seen(Turn::default().then_mirror()), Corner::TopRight);
    }
}
