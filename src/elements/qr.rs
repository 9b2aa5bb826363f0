//! `qr`: a fixed text as a QR code (ISO/IEC 18004). The quiet zone is part of it.
//!
//! Not for live values: the instrument would need an encoder of its own.

use super::{Element, Spec};
use crate::elements::scope::Scope;
use crate::frame::{Frame, Paint};
use crate::screen::operation::{Bitmap, Operation, Shape};
use crate::screen::typeset::Stand;
use crate::source::amount::At;
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use qrcodegen::{QrCode, QrCodeEcc};
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// Keys of `qr`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Qr {
    /// What it says; also an `@string`.
    qr: At<String>,
    /// How much of it may be unreadable. A higher level is used where it makes the code no larger.
    #[serde(default)]
    correction: Correction,
    /// Pixels along the side of a module; absent: as many as the area holds.
    module: Option<At<u32>>,
    /// White modules around it.
    #[serde(default = "quiet")]
    quiet: u32,
    /// Across its area.
    #[serde(default = "middle")]
    align: Stand,
    /// Down its area.
    #[serde(default = "middle")]
    vertical: Stand,
}

/// Four modules: ISO/IEC 18004, quiet zone.
fn quiet() -> u32 {
    4
}
fn middle() -> Stand {
    Stand::Center
}

/// Error correction levels of ISO/IEC 18004.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Correction {
    /// L: about 7 % may be unreadable.
    Low,
    /// M: about 15 %.
    #[default]
    Medium,
    /// Q: about 25 %.
    Quartile,
    /// H: about 30 %.
    High,
}

#[derive(Debug)]
struct Ready {
    /// One pixel a module, without quiet zone.
    code: Arc<Frame>,
    module: Option<u32>,
    quiet: u32,
    align: Stand,
    vertical: Stand,
}

/// Pixels of a module where nothing is stated and the area is not known: one is hard to scan from paper this fine.
const USUAL_MODULE: u32 = 2;

impl Spec for Qr {
    fn resolve(&self, scope: &mut Scope<'_>) -> Option<Box<dyn Element>> {
        let words = scope.words(&self.qr)?;
        let level = match self.correction {
            Correction::Low => QrCodeEcc::Low,
            Correction::Medium => QrCodeEcc::Medium,
            Correction::Quartile => QrCodeEcc::Quartile,
            Correction::High => QrCodeEcc::High,
        };
        let Ok(code) = QrCode::encode_text(&words, level) else {
            let fault = Fault::at(self.qr.span.clone(), "this text is too long for a QR code");
            scope.fault(fault.label(format!("{} bytes", words.len())).help("shorten it, or lower `correction`"));
            return None;
        };
        if self.module.as_ref().is_some_and(|module| module.value == 0) {
            scope.fault(Fault::at(self.qr.span.clone(), "a module has at least one pixel"));
        }
        let side = code.size().max(0) as u32;
        let mut picture = Frame::new(side, side);
        for y in 0..side {
            for x in 0..side {
                picture.set(x, y, code.get_module(x as i32, y as i32));
            }
        }
        let module = self.module.as_ref().map(|module| module.value.clamp(1, 64));
        let quiet = self.quiet.min(64);
        Some(Box::new(Ready { code: Arc::new(picture), module, quiet, align: self.align, vertical: self.vertical }))
    }
}

impl Ready {
    /// Modules along a side, quiet zone included.
    fn modules(&self) -> u32 {
        self.code.width() + 2 * self.quiet
    }
}

impl Element for Ready {
    fn measure(&self, _: Option<u32>) -> Size {
        Size::new_equal(self.modules() * self.module.unwrap_or(USUAL_MODULE))
    }

    fn operations(&self, area: Rectangle) -> Vec<Operation> {
        let room = area.size.width.min(area.size.height) / self.modules();
        let module = self.module.map_or(room, |module| module.min(room));
        if module == 0 {
            // A code that is cut off is none: a crossed box says that there is no room for it.
            return crossed(area);
        }
        let side = self.modules() * module;
        let x = self.align.offset(area.size.width as i32, side as i32);
        let y = self.vertical.offset(area.size.height as i32, side as i32);
        let corner = area.top_left + Point::new(x, y);
        let at = corner + Point::new_equal((self.quiet * module) as i32);
        let code = Bitmap { picture: self.code.clone(), at, scale: module, paint: Paint::Ink, dithered: false };
        vec![
            Operation::fill(Rectangle::new(corner, Size::new_equal(side)), false),
            Operation::new(area, Shape::Bitmap(code)),
        ]
    }
}

/// A box with both diagonals.
fn crossed(area: Rectangle) -> Vec<Operation> {
    let (width, height) = (area.size.width.min(1 << 13), area.size.height.min(1 << 13));
    let mut picture = Frame::new(width, height);
    for step in 0..width.max(height) {
        let along = |side: u32| step * side.saturating_sub(1) / width.max(height).max(1);
        let (x, y) = (along(width), along(height));
        for x in [Some(x), width.checked_sub(1 + x)].into_iter().flatten().filter(|x| *x < width && y < height) {
            picture.set(x, y, true);
        }
    }
    let at = area.top_left;
    let cross = Bitmap { picture: Arc::new(picture), at, scale: 1, paint: Paint::Ink, dithered: false };
    let inside = Operation::fill(area.offset(-1), false);
    vec![Operation::fill(area, true), inside, Operation::new(area, Shape::Bitmap(cross))]
}
