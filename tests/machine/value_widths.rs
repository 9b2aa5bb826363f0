//! In how many bytes the machine in C keeps each field's value.

use inkjoule::firmware::rules::Rules;
use inkjoule::project::load;
use std::path::Path;

#[test]
fn values_stand_in_the_bytes_that_they_need() {
    let loaded = load(Path::new("screens-demo"), &[]);
    let device = loaded.unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    let rules = Rules::of(&device, &device.panel.packing, 0).expect("the rules can be written");
    let widths = rules.widths.expect("it is worth it");
    let place = |name: &str| widths.places[device.field(name).expect("a field").0];
    // A share in percent, a temperature with one decimal, a time in seconds.
    assert!(place("charge") < widths.ends[0], "{widths:?}");
    assert!((widths.ends[0]..widths.ends[1]).contains(&place("air")), "{widths:?}");
    assert!(place("read-at") >= widths.ends[1], "{widths:?}");
    // A temperature that a report brings is kept a second time, what keys set is not.
    assert!((widths.fresh[0]..widths.fresh[1]).contains(&place("air")), "{widths:?}");
    let measured = widths.fresh[0] + 4..=widths.fresh[1] - 4;
    for own in ["limit", "armed"] {
        assert!(!measured.contains(&place(own)), "{own} is kept once, but for the rest of a cell: {widths:?}");
    }
    let mut places = widths.places.clone();
    places.sort_unstable();
    places.dedup();
    assert_eq!(places.len(), device.fields.len(), "each has its own");
}
