//! How a frame's pixels lie in bytes: the order that a display controller or a firmware expects.
//!
//! Not for sending bytes or for writing them as source text; the moving of the bits itself is in `stream`.

use super::bits::{Frame, LARGEST_SIDE};
use super::planes::{Corner, Interleave, Planes};
use super::stream;
use super::turn::{Rotation, Turn};
use crate::units::ValueFault;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::fmt;

/// The most bytes that a packed image may take. A stride from a file could otherwise ask for any amount.
pub const LARGEST_STREAM: u64 = 1 << 28;

/// The order of successive bytes over the image.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Scan {
    /// From left to right, then the next line below.
    #[default]
    Rows,
    /// From top to bottom, then the next line to the right.
    Columns,
}

/// A direction of the image.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum Axis {
    /// From left to right.
    #[default]
    X,
    /// From top to bottom.
    Y,
}

/// Which bit of a byte holds the first of its eight pixels (the leftmost or the topmost).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
#[serde(rename_all = "kebab-case")]
pub enum BitOrder {
    /// The most significant bit, 0x80.
    #[default]
    MsbFirst,
    /// The least significant bit, 0x01.
    LsbFirst,
}

/// The value of one bit; in text the number 0 or 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub enum Bit {
    /// 0.
    Zero,
    /// 1.
    One,
}

impl From<Bit> for u8 {
    fn from(bit: Bit) -> Self {
        u8::from(bit == Bit::One)
    }
}

impl From<bool> for Bit {
    fn from(one: bool) -> Self {
        if one { Self::One } else { Self::Zero }
    }
}

impl TryFrom<u8> for Bit {
    type Error = ValueFault;

    fn try_from(value: u8) -> Result<Self, ValueFault> {
        match value {
            0 => Ok(Self::Zero),
            1 => Ok(Self::One),
            other => Err(ValueFault(format!("expected a bit, 0 or 1, found {other}"))),
        }
    }
}

impl JsonSchema for Bit {
    fn schema_name() -> Cow<'static, str> {
        "Bit".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "description": "The value of one bit.", "type": "integer", "enum": [0, 1] })
    }
}

/// How pixels lie in bytes.
///
/// The image is first mirrored left-right if `mirror` is set, then rotated clockwise by `rotation`; everything below
/// speaks of the image so turned. Its pixels are taken eight by eight along the axis `along`, so that one byte is a strip
/// of eight pixels side by side (`x`) or one above the other (`y`); `bits` says which bit holds the strip's first pixel. Bytes
/// follow each other in the direction of `scan`. The bytes of one run in that direction are a *line*: a pixel row for `rows`
/// along `x`, a strip of eight pixel rows for `rows` along `y`, a pixel column for `columns` along `y`, a column of strips
/// for `columns` along `x`. Each line takes `stride` bytes. Bits past the last pixel, and bytes between the end of a line
/// and its stride, have the value `padding`.
///
/// All this is one plane. Where a controller takes the image before as well, `planes` says which of the two comes first
/// and `interleave` how they lie; an image packed alone has paper before it. `origin` and `origin-at` change no byte: they
/// say from which corner of the turned image the controller counts the addresses of its windows.
///
/// The default is the body of a Netpbm P4 file: rows, along x, most significant bit first, 1 is ink, padding 0.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
pub struct Packing {
    /// The order of successive bytes over the turned image: "rows" (to the right first) or "columns" (down first).
    pub scan: Scan,
    /// The axis along which the eight pixels of one byte lie: "x" (side by side) or "y" (one above the other).
    pub along: Axis,
    /// Which bit of a byte is its leftmost or topmost pixel: "msb-first" or "lsb-first".
    pub bits: BitOrder,
    /// The bit value that stands for ink (black): 1 or 0.
    pub pixel_polarity: Bit,
    /// Bytes from the start of one line to the start of the next. Without it lines follow each other without a gap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stride: Option<u32>,
    /// The value of bits and bytes that belong to no pixel: 0 or 1.
    pub padding: Bit,
    /// The clockwise rotation, in degrees, from the image as a person sees it to the image in memory.
    pub rotation: Rotation,
    /// Whether left and right are exchanged; done before the rotation.
    pub mirror: bool,
    /// Which planes are held, in the order they are sent: "new", "old-new" or "new-old".
    pub planes: Planes,
    /// How two planes lie: one behind the other ("planes"), line by line ("lines") or byte by byte ("bytes").
    pub interleave: Interleave,
    /// The corner of the image in memory from which window addresses count: "top-left", "top-right", "bottom-left",
    /// "bottom-right".
    pub origin: Corner,
    /// The address of that corner: column in pixels, a multiple of 8, and line.
    pub origin_at: [u32; 2],
}

impl Default for Packing {
    fn default() -> Self {
        Self {
            scan: Scan::Rows,
            along: Axis::X,
            bits: BitOrder::MsbFirst,
            pixel_polarity: Bit::One,
            stride: None,
            padding: Bit::Zero,
            rotation: Rotation::None,
            mirror: false,
            planes: Planes::New,
            interleave: Interleave::Planes,
            origin: Corner::TopLeft,
            origin_at: [0, 0],
        }
    }
}

/// Why an image cannot be packed or unpacked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PackFault {
    /// The stride is shorter than a line.
    StrideTooShort {
        /// The stride asked for, in bytes.
        stride: u32,
        /// The bytes that a line needs.
        needed: u32,
    },
    /// A side is beyond [`LARGEST_SIDE`], or the stream is beyond [`LARGEST_STREAM`].
    TooLarge,
    /// The bytes to unpack are not as many as the size and the packing make.
    WrongLength {
        /// The bytes that belong to the size and the packing.
        expected: usize,
        /// The bytes given.
        found: usize,
    },
}

impl fmt::Display for PackFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::StrideTooShort { stride, needed } => {
                write!(f, "a stride of {stride} bytes is shorter than the {needed} bytes that one line needs")
            }
            Self::TooLarge => write!(
                f,
                "the image is too large: at most {LARGEST_SIDE} pixels a side and {LARGEST_STREAM} bytes packed"
            ),
            Self::WrongLength { expected, found } => write!(f, "expected {expected} bytes, found {found}"),
        }
    }
}

impl std::error::Error for PackFault {}

/// The lines of a packed image of a given size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lines {
    /// Lines.
    pub count: u32,
    /// Bytes of pixels in one line.
    pub bytes: u32,
    /// Bytes from line to line; 0 only if there are no bytes at all.
    pub stride: u32,
}

impl Lines {
    fn total(self) -> u64 {
        u64::from(self.count) * u64::from(self.stride)
    }
}

impl Packing {
    /// Bytes that an image of `width` by `height` pixels takes.
    ///
    /// # Errors
    /// If the stride is shorter than a line, or the image is too large.
    pub fn size(&self, width: u32, height: u32) -> Result<usize, PackFault> {
        let total = self.lines(width, height)?.total() * u64::from(self.planes.count());
        usize::try_from(total).map_err(|_| PackFault::TooLarge)
    }

    /// The packing of one plane alone.
    pub fn plane(&self) -> Self {
        Self { planes: Planes::New, interleave: Interleave::Planes, ..self.clone() }
    }

    /// Column and line at which the controller addresses a window that lies at `at` in the turned image of `whole`
    /// pixels, counted from its top left corner, and is `size` large.
    pub fn address(&self, at: [u32; 2], size: [u32; 2], whole: [u32; 2]) -> [u32; 2] {
        self.origin.address(at, size, whole, self.origin_at)
    }

    /// Bytes from the start of one line to the next in an image of `width` by `height` pixels.
    ///
    /// # Errors
    /// As [`Packing::size`].
    pub fn stride_of(&self, width: u32, height: u32) -> Result<u32, PackFault> {
        Ok(self.lines(width, height)?.stride)
    }

    /// Where pixel (`x`, `y`) of an image of `width` by `height` pixels lies: the index of its byte and the mask of its
    /// bit. Of two planes that of the image now. `None` outside the image or where [`Packing::size`] gives an error.
    pub fn place(&self, x: u32, y: u32, width: u32, height: u32) -> Option<(usize, u8)> {
        let lines = self.lines(width, height).ok()?;
        if x >= width || y >= height {
            return None;
        }
        let (x, y) = self.turn().place(x, y, width, height);
        let (column, row, pixel) = match self.along {
            Axis::X => (x / 8, y, x % 8),
            Axis::Y => (x, y / 8, y % 8),
        };
        let (line, byte) = match self.scan {
            Scan::Rows => (row, column),
            Scan::Columns => (column, row),
        };
        let mask = match self.bits {
            BitOrder::MsbFirst => 0x80 >> pixel,
            BitOrder::LsbFirst => 1 << pixel,
        };
        let at = line as usize * lines.stride as usize + byte as usize;
        Some((self.in_stream(at, self.planes.positions().0, lines), mask))
    }

    /// Where byte `at` of the image now lies among all bytes of a packed image of `width` by `height` pixels; `None`
    /// beyond its end, or where [`Packing::size`] gives an error.
    pub fn byte_now(&self, at: usize, width: u32, height: u32) -> Option<usize> {
        let lines = self.lines(width, height).ok()?;
        (at as u64 <= lines.total().checked_sub(1)?).then(|| self.in_stream(at, self.planes.positions().0, lines))
    }

    /// Where a byte of the plane at a position lies among all bytes.
    fn in_stream(&self, at: usize, position: usize, lines: Lines) -> usize {
        if self.planes == Planes::New {
            return at;
        }
        // The total is bounded by [`LARGEST_STREAM`].
        self.interleave.place(at, position, lines.total() as usize, lines.stride as usize)
    }

    /// Every byte order of one plane that this type can tell, once, without strides and padding. A transposed image read by columns
    /// gives the bytes of the image read by rows, so each order has two descriptions; the one that turns less is given.
    pub fn all() -> Vec<Self> {
        let mut every = Vec::new();
        for mirror in [false, true] {
            for rotation in Rotation::ALL {
                for scan in [Scan::Rows, Scan::Columns] {
                    for along in [Axis::X, Axis::Y] {
                        for bits in [BitOrder::MsbFirst, BitOrder::LsbFirst] {
                            for pixel_polarity in [Bit::One, Bit::Zero] {
                                every.push(Self {
                                    scan,
                                    along,
                                    bits,
                                    pixel_polarity,
                                    rotation,
                                    mirror,
                                    ..Self::default()
                                });
                            }
                        }
                    }
                }
            }
        }
        // A stable sort: among equals the unmirrored stay in front.
        every.sort_by_key(Self::settings);
        let mut seen = std::collections::HashSet::new();
        every.retain(|packing| {
            seen.insert((packing.line_turn(), packing.strips_lie_in_lines(), packing.bits, packing.pixel_polarity))
        });
        every
    }

    /// Whether two packings give the same bytes for every image, strides and padding aside.
    pub fn same_order(&self, other: &Self) -> bool {
        let order = |packing: &Self| {
            let planes = (packing.planes != Planes::New).then_some((packing.planes, packing.interleave));
            (packing.line_turn(), packing.strips_lie_in_lines(), packing.bits, packing.pixel_polarity, planes)
        };
        order(self) == order(other)
    }

    /// How many settings of geometry differ from the default.
    fn settings(&self) -> usize {
        let changed = [self.scan != Scan::Rows, self.rotation != Rotation::None, self.mirror, self.along != Axis::X];
        changed.into_iter().filter(|changed| *changed).count()
    }

    /// From the image as seen to the image in memory.
    pub fn turn(&self) -> Turn {
        let seen = Turn::default();
        let mirrored = if self.mirror { seen.then_mirror() } else { seen };
        mirrored.then_rotate(self.rotation)
    }

    /// From the image as seen to one whose lines of bytes run to the right.
    pub fn line_turn(&self) -> Turn {
        match self.scan {
            Scan::Rows => self.turn(),
            Scan::Columns => self.turn().then_transpose(),
        }
    }

    /// Whether the eight pixels of a byte lie in the direction of the line, not across it.
    pub fn strips_lie_in_lines(&self) -> bool {
        matches!((self.scan, self.along), (Scan::Rows, Axis::X) | (Scan::Columns, Axis::Y))
    }

    /// The lines of an image of `width` by `height` pixels as seen.
    pub(super) fn lines(&self, width: u32, height: u32) -> Result<Lines, PackFault> {
        if width > LARGEST_SIDE || height > LARGEST_SIDE {
            return Err(PackFault::TooLarge);
        }
        let (across, down) = self.line_turn().size(width, height);
        let (needed, count) =
            if self.strips_lie_in_lines() { (across.div_ceil(8), down) } else { (across, down.div_ceil(8)) };
        let stride = self.stride.unwrap_or(needed);
        if stride < needed {
            return Err(PackFault::StrideTooShort { stride, needed });
        }
        let lines = Lines { count, bytes: needed, stride };
        if lines.total() * u64::from(self.planes.count()) > LARGEST_STREAM {
            Err(PackFault::TooLarge)
        } else {
            Ok(lines)
        }
    }
}

/// The bytes of `frame` in the order of `packing`.
///
/// ```
/// use inkjoule::frame::{Axis, Frame, Packing, pack::pack};
/// let frame = Frame::from_pattern(&["#...", "#...", "##.."]);
/// assert_eq!(pack(&frame, &Packing::default()), Ok(vec![0b1000_0000, 0b1000_0000, 0b1100_0000]));
/// let upright = Packing { along: Axis::Y, ..Packing::default() };
/// assert_eq!(pack(&frame, &upright), Ok(vec![0b1110_0000, 0b0010_0000, 0, 0]));
/// ```
///
/// # Errors
/// If the stride is shorter than a line, or the bytes would be too many.
pub fn pack(frame: &Frame, packing: &Packing) -> Result<Vec<u8>, PackFault> {
    match packing.planes {
        Planes::New => Ok(stream::write(frame, packing, packing.lines(frame.width(), frame.height())?)),
        _ => pack_pair(&Frame::new(frame.width(), frame.height()), frame, packing),
    }
}

/// The bytes of an image `now` behind the image `before`, which has the same size, in the order of `packing`; the
/// image before is left out where the packing holds one plane only.
///
/// # Errors
/// As [`pack`]; [`PackFault::WrongLength`] for images of different sizes.
pub fn pack_pair(before: &Frame, now: &Frame, packing: &Packing) -> Result<Vec<u8>, PackFault> {
    let lines = packing.lines(now.width(), now.height())?;
    let new = stream::write(now, packing, lines);
    if packing.planes == Planes::New {
        return Ok(new);
    }
    if before.size() != now.size() {
        let found = packing.plane().size(before.width(), before.height())?;
        return Err(PackFault::WrongLength { expected: new.len(), found });
    }
    let old = stream::write(before, packing, lines);
    let (first, second) = if packing.planes == Planes::OldNew { (old, new) } else { (new, old) };
    Ok(packing.interleave.join(&first, &second, lines.stride as usize))
}

/// The frame of `width` by `height` pixels that `bytes` hold in the order of `packing`: the inverse of [`pack`]. Bits and
/// bytes of padding are ignored, and so is the plane of the image before.
///
/// # Errors
/// If the stride is shorter than a line, the image is too large, or `bytes` is not as long as [`Packing::size`] says.
pub fn unpack(bytes: &[u8], width: u32, height: u32, packing: &Packing) -> Result<Frame, PackFault> {
    Ok(unpack_pair(bytes, width, height, packing)?.1)
}

/// The images before and now that `bytes` hold: the inverse of [`pack_pair`]. Where the packing holds one plane only
/// there is no image before.
///
/// # Errors
/// As [`unpack`].
pub fn unpack_pair(
    bytes: &[u8],
    width: u32,
    height: u32,
    packing: &Packing,
) -> Result<(Option<Frame>, Frame), PackFault> {
    let lines = packing.lines(width, height)?;
    let expected = packing.size(width, height)?;
    if bytes.len() != expected {
        return Err(PackFault::WrongLength { expected, found: bytes.len() });
    }
    let read = |bytes: &[u8]| stream::read(bytes, width, height, packing, lines);
    let plane = |position: usize| read(&packing.interleave.take(bytes, position, lines.stride as usize));
    Ok(match packing.planes.positions() {
        (_, None) => (None, read(bytes)),
        (new, Some(old)) => (Some(plane(old)), plane(new)),
    })
}
