//! Pictures of the elements that follow a field: link, gauge, list, chart.

mod sheet;

use inkjoule::frame::assert::assert_picture;
use sheet::Sheet;

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
