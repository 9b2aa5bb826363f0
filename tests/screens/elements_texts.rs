//! What elements say about their texts agrees with what they draw.

use crate::sheet::Sheet;
use embedded_graphics::prelude::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use inkjoule::frame::Frame;
use inkjoule::screen::inspect::SetText;

fn texts(sheet: &Sheet) -> Vec<SetText> {
    let items = &sheet.device.screens[0].pictures[0];
    items.iter().flat_map(|item| item.texts()).collect()
}

#[test]
fn a_text_is_cut_when_its_widest_value_needs_one_pixel_more() {
    let sheet = |width: u32| {
        Sheet::new(&format!(
            "size = [160, 20]
            fields.dew = {{ decimals = 1, range = [-20, 45], sample = 4 }}
            screen.content = [ {{ text = 'Dew {{dew}} °C', at = [0, 0], size = [{width}, 20] }} ]"
        ))
    };
    let widest = &texts(&sheet(150))[0];
    assert_eq!((widest.text.as_str(), widest.is_cut()), ("Dew −88.8 °C", false));
    assert!(!texts(&sheet(widest.needs.width))[0].is_cut());
    assert!(texts(&sheet(widest.needs.width - 1))[0].is_cut());
}

#[test]
fn no_value_of_the_range_needs_more_than_the_widest() {
    let mut sheet = Sheet::new(
        "size = [200, 40]
        fields.dew = { decimals = 1, range = [-20, 45] }
        screen.content = [ { text = 'Dew {dew} °C', at = [0, 0], size = [200, 20] } ]",
    );
    let needs = texts(&sheet)[0].needs;
    for tenths in -200..=450 {
        let frame: Frame = sheet.set("dew", f64::from(tenths) / 10.0).draw();
        let beyond = Rectangle::new(Point::new(needs.width as i32, 0), Size::new(200, 40));
        assert_eq!(frame.ink_count_in(beyond), 0, "{tenths}\n{frame}");
    }
}

#[test]
fn a_shrunk_text_needs_the_room_of_its_smaller_face() {
    let sheet = |smaller: &str| {
        let text = format!(
            "size = [90, 20]
            screen.content = [ {{ text = 'Lower orchard gate'{smaller} }} ]"
        );
        texts(&Sheet::new(&text))[0].is_cut()
    };
    assert!(sheet(""));
    assert!(!sheet(", overflow = 'shrink', smaller = 'small'"));
}

#[test]
fn key_labels_name_their_key_and_stand_over_its_centre() {
    let sheet = Sheet::new(
        "size = [160, 20]
        keys = ['7 mm', '33 mm']
        fields.x = { range = [0, 9] }
        screen.content = [ { keys = 'ticks', bottom = 15 } ]
        screen.keys.1 = { label = 'Back' }
        screen.keys.2 = { label = 'A label that is far too long', change = { field = 'x', by = 1 } }",
    );
    let texts = texts(&sheet);
    let seen: Vec<_> =
        texts.iter().map(|text| (text.key, text.room.top_left.x, text.room.size.width, text.is_cut())).collect();
    // Centres at 28 and 132 pixels, 7 mm are 28 pixels.
    assert_eq!(seen, [(Some(0), 14, 28, false), (Some(1), 118, 28, true)]);
}

#[test]
fn cells_of_lists_and_tables_are_known_with_their_columns() {
    let sheet = Sheet::new(
        "size = [100, 60]
        fields.sel = { range = [0, 1] }
        screen.content = [ { list = 'sel', rows = [['Shed', '1.0'], ['A very long name of a place', '2.0']] } ]",
    );
    let cut: Vec<_> = texts(&sheet).into_iter().filter(SetText::is_cut).map(|text| text.text).collect();
    assert_eq!(cut, ["A very long name of a place"]);
}
