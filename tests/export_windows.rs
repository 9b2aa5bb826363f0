//! Windows of live fields are told as the controller counts them, and live drawing keeps to one plane.

mod firmware;

use firmware::{order, starter};
use inkjoule::export::Order;
use inkjoule::export::tables::Tables;
use inkjoule::frame::{Corner, Interleave, Packing, Planes};
use inkjoule::refresh::windows::Window;

fn windows(order: &Order<'_>) -> Vec<Window> {
    let tables = Tables::of(order).expect("exports");
    tables.sheets.iter().flat_map(|sheet| sheet.entries.iter().map(|entry| entry.window)).collect()
}

#[test]
fn windows_count_from_the_profile_s_corner() {
    let device = starter();
    let native = device.panel.native;
    let usual = windows(&order(&device));
    assert!(usual.len() > 2 && usual.iter().any(|window| window.x > 0));
    for origin in Corner::ALL {
        let packing = Packing { origin, origin_at: [16, 5], ..device.panel.packing.clone() };
        for (from, told) in usual.iter().zip(windows(&Order { packing, ..order(&device) })) {
            let x = if origin.right() { native.width.div_ceil(8) * 8 - from.x - from.w } else { from.x };
            let y = if origin.bottom() { native.height - from.y - from.h } else { from.y };
            assert_eq!((told.x, told.y, told.w, told.h), (x + 16, y + 5, from.w, from.h), "{origin:?}");
            assert_eq!(told.x % 8, 0);
        }
    }
}

#[test]
fn windows_hold_their_areas_and_no_byte_more() {
    let device = starter();
    let order = order(&device);
    let tables = Tables::of(&order).expect("exports");
    let size = device.panel.size();
    for entry in tables.sheets.iter().flat_map(|sheet| &sheet.entries) {
        let last = entry.area.bottom_right().expect("has pixels");
        let place = |x: i32, y: i32| device.panel.turn().place(x as u32, y as u32, size.width, size.height);
        let corners = [place(entry.area.top_left.x, entry.area.top_left.y), place(last.x, last.y)];
        let (left, right) = (corners[0].0.min(corners[1].0), corners[0].0.max(corners[1].0));
        let (top, bottom) = (corners[0].1.min(corners[1].1), corners[0].1.max(corners[1].1));
        let Window { x, y, w, h } = entry.window;
        assert!(x % 8 == 0 && w % 8 == 0 && x <= left && left < x + 8 && right < x + w && x + w <= right + 8);
        assert_eq!((y, y + h - 1), (top, bottom));
    }
}

#[test]
fn live_drawing_keeps_to_one_plane() {
    let device = starter();
    let one = Tables::of(&order(&device)).expect("exports");
    for interleave in Interleave::ALL {
        let packing = Packing { planes: Planes::NewOld, interleave, ..device.panel.packing.clone() };
        let two = Tables::of(&Order { packing, ..order(&device) }).expect("exports");
        for (one, two) in one.sheets.iter().zip(&two.sheets) {
            assert!(one.bytes == two.bytes);
        }
    }
}
