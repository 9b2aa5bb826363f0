//! Pictures of the elements that follow a field: link, gauge, list, chart.

use crate::sheet::Sheet;
use inkjoule::frame::assert::assert_picture;

#[test]
fn link_has_a_cross_at_the_minimum_and_a_bar_just_above() {
    let mut sheet = Sheet::new(
        "size = [15, 9]
        fields.rssi = { range = [-110, -50] }
        screen.content = [ { link = 'rssi' } ]",
    );
    let none = [
        "...............",
        ".....#...#.....",
        "......#.#......",
        ".......#.......",
        "......#.#......",
        ".....#...#.....",
        "...............",
        "...............",
        "###.###.###.###",
    ];
    assert_picture(&sheet.set("rssi", -110.0).draw(), &none);
    assert_picture(&sheet.set("rssi", f64::NAN).draw(), &none);
    let weak = [
        "...............",
        "...............",
        "...............",
        "...............",
        "...............",
        "...............",
        "###............",
        "###............",
        "###.###.###.###",
    ];
    assert_picture(&sheet.set("rssi", -109.9).draw(), &weak);
    let full = [
        "............###",
        "............###",
        "........###.###",
        "........###.###",
        "....###.###.###",
        "....###.###.###",
        "###.###.###.###",
        "###.###.###.###",
        "###.###.###.###",
    ];
    assert_picture(&sheet.set("rssi", -50.0).draw(), &full);
}

#[test]
fn a_selected_row_is_always_seen() {
    for scroll in ["page", "row"] {
        let mut sheet = Sheet::new(&format!(
            "size = [60, 45]
            fields.sel = {{ range = [0, 7] }}
            screen.content = [ {{ list = 'sel', row-height = 15, scroll = '{scroll}', rows = [['A'], ['B'], ['C'], ['D'], ['E'], ['F'], ['G'], ['H']] }} ]"
        ));
        for selected in 0..8 {
            let frame = sheet.set("sel", f64::from(selected)).draw();
            let rows = (0..3).filter(|row| frame.ink(0, row * 15) && frame.ink(0, row * 15 + 14)).count();
            assert_eq!(rows, 1, "{scroll} {selected}\n{frame}");
        }
    }
}

#[test]
fn a_list_says_which_range_its_field_needs() {
    let faults = Sheet::read(
        "size = [60, 45]
        fields.sel = { range = [0, 3] }
        screen.content = [ { list = 'sel', rows = [['A'], ['B']] } ]",
    );
    let faults = faults.err().expect("refused");
    assert_eq!(faults[0].help.as_deref(), Some("give the field range = [0, 1]"));
}

/// The picture that people see does not change with a mirror in the way; the bits sent to the panel do.
#[test]
fn a_mirrored_panel_gets_mirrored_bits_of_the_same_picture() {
    let text = "size = [32, 16]
        fields.rssi = { range = [-110, -50], sample = -80 }
        screen.content = [ { link = 'rssi', at = [1, 3] } ]";
    let plain = Sheet::new(text);
    let mirrored = Sheet::new(&format!("panel-mirrored = true\n{text}"));
    assert_eq!(plain.draw(), mirrored.draw());
    let sent = |sheet: &Sheet| inkjoule::frame::pack::pack(&sheet.draw(), &sheet.device.panel.packing).expect("packed");
    let as_plain =
        |bytes: &[u8]| inkjoule::frame::pack::unpack(bytes, 32, 16, &plain.device.panel.packing).expect("unpacked");
    let (upright, reversed) = (as_plain(&sent(&plain)), as_plain(&sent(&mirrored)));
    assert_eq!(upright, plain.draw());
    for y in 0..16 {
        let row: String = upright.row_text(y).chars().rev().collect();
        assert_eq!(reversed.row_text(y), row);
    }
}
