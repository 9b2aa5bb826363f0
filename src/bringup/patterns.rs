//! The test set: pictures that show one thing each that can be wrong on a new board.

use super::orientation::orientation;
use crate::device::Device;
use crate::frame::Frame;
use crate::frame::pack::unpack;
use crate::refresh::update::upright;
use crate::refresh::windows::Window;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// One picture of the set.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// Its name in files.
    pub name: String,
    /// What to look for.
    pub about: String,
    /// The upright picture.
    pub frame: Frame,
    /// For steps of partial windows: the window of the panel that changes from the picture before.
    pub window: Option<Window>,
}

/// The whole set, in the order in which to look at it.
pub fn patterns(device: &Device) -> Vec<Pattern> {
    let size = device.panel.size();
    let make =
        |name: &str, about: &str, frame: Frame| Pattern { name: name.into(), about: about.into(), frame, window: None };
    let drawn = |ink: &dyn Fn(u32, u32) -> bool| {
        let mut frame = Frame::new(size.width, size.height);
        for (x, y) in (0..size.height).flat_map(|y| (0..size.width).map(move |x| (x, y))) {
            frame.set(x, y, ink(x, y));
        }
        frame
    };
    let (last_x, last_y) = (size.width.saturating_sub(1), size.height.saturating_sub(1));
    let mut set = vec![
        make("orientation", "find it on the sheet; the packing stands beside it", orientation(size.width, size.height)),
        make("white", "no spot, no ghost of the image before", Frame::new(size.width, size.height)),
        make("black", "an even black up to all four edges", drawn(&|_, _| true)),
        make(
            "edges",
            "a line of one pixel along every edge, a dot three pixels inside each corner",
            drawn(&|x, y| {
                let edge = x == 0 || y == 0 || x == last_x || y == last_y;
                edge || ((x == 3 || x + 3 == last_x) && (y == 3 || y + 3 == last_y))
            }),
        ),
        make(
            "checkers-1",
            "an even grey; stripes mean that columns or rows stick together",
            drawn(&|x, y| (x + y) % 2 == 1),
        ),
        make(
            "checkers-8",
            "squares of eight pixels, black in the top left corner",
            drawn(&|x, y| (x / 8 + y / 8) % 2 == 0),
        ),
        make("columns", "single columns, every second", drawn(&|x, _| x % 2 == 0)),
        make("rows", "single rows, every second", drawn(&|_, y| y % 2 == 0)),
        make(
            "dots",
            "single pixels, sixteen apart, from the top left corner on",
            drawn(&|x, y| x % 16 == 0 && y % 16 == 0),
        ),
    ];
    set.extend(ramp(device));
    set.extend(steps(device));
    set
}

/// The bytes 0, 1, 2, ... 255, 0, ... in the panel's own order.
fn ramp(device: &Device) -> Option<Pattern> {
    let size = device.panel.size();
    let packing = &device.panel.packing;
    let bytes: Vec<u8> = (0..packing.size(size.width, size.height).ok()?).map(|byte| byte as u8).collect();
    let frame = unpack(&bytes, size.width, size.height, packing).ok()?;
    let about = "the bytes 0, 1, 2 and so on in the order they are sent; a lost or doubled byte shifts the slopes";
    Some(Pattern { name: "byte-ramp".into(), about: about.into(), frame, window: None })
}

/// The windows of the steps, counted from the top left of the picture in memory.
pub(super) fn step_windows(native: Size) -> [Window; 5] {
    let columns = native.width.div_ceil(8);
    let (wide, tall) = ((columns / 4).max(1) * 8, (native.height / 6).max(1));
    let (far_x, far_y) = ((columns * 8).saturating_sub(wide), native.height.saturating_sub(tall));
    let corners = [(0, 0), (far_x, 0), (0, far_y), (far_x, far_y), (far_x / 16 * 8, far_y / 2)];
    corners.map(|(x, y)| Window { x, y, w: wide, h: tall })
}

/// A black area with a white patch near its upper left corner.
pub(super) fn mark(frame: &mut Frame, area: Rectangle) {
    frame.fill(area, true);
    let patch = Size::new(area.size.width / 3, area.size.height / 3);
    frame.fill(Rectangle::new(area.top_left + Point::new(2, 2), patch), false);
}

/// Steps for partial refreshes: from white on, each turns one window black, at the corners and in the middle.
fn steps(device: &Device) -> Vec<Pattern> {
    let native = device.panel.native;
    let size = device.panel.size();
    let mut frame = Frame::new(size.width, size.height);
    let mut steps = Vec::new();
    for (number, window) in step_windows(native).into_iter().enumerate() {
        mark(&mut frame, upright(device, &window));
        let Window { w, h, .. } = window;
        let [x, y] = device.panel.packing.address([window.x, window.y], [w, h], [native.width, native.height]);
        let about =
            format!("partial refresh of the window x {x}, y {y}, {w} x {h} as the panel counts; nothing else changes");
        steps.push(Pattern {
            name: format!("window-{}", number + 1),
            about,
            frame: frame.clone(),
            window: Some(window),
        });
    }
    steps
}
