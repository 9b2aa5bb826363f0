//! Lints of the flow against what they must not object to, and planted faults that they must find: each case was met while
//! the product of `tests/product` was written.

use crate::exploration::said;
use crate::plain::try_device;
use inkjoule::lint::{Subject, findings};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;

const A: &str = "content = [ { text = \"a\" } ]\n";

/// A base with a key at the right that is called, one that is not, and one elsewhere.
const KEYS: &str = "keys = [ { centre = \"5 mm\", width = \"8 mm\" }, { centre = \"20 mm\", width = \"8 mm\" }, \
                    { at = \"right\", centre = \"3 mm\", width = \"4 mm\" }, \
                    { at = \"right\", name = \"down\", centre = \"9 mm\", width = \"4 mm\" }, { at = \"none\", name = \"power\" } ]";

/// What one lint says of a project with such keys, in all of its locales.
fn said_with_keys(screen: &str, lint: &str) -> Vec<String> {
    let base = crate::plain::BASE;
    let keys = base.lines().find(|line| line.starts_with("keys = ")).expect("the base has keys");
    let root = base.replace(keys, KEYS)
        + "[fields.n]\nrange = [0, 4]\n[anywhere.keys]\n5 = { hold = { after = \"2 s\", go = \"a\" } }\n\
           [usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ntemperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";
    let files = Files::from_memory([
        ("device.toml", root.as_str()),
        ("screens/a.toml", screen),
        ("strings/de.toml", "stop = \"Abbrechen und zurück\"\nstart = \"Los\"\n"),
        ("strings/en.toml", "stop = \"Stop\"\nstart = \"Go\"\n"),
    ]);
    let device = load_files(files).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    let found = findings(&Subject::new(&device, vec![0, 1]));
    found.into_iter().filter(|finding| finding.fault.id == Some(lint)).map(|finding| finding.fault.message).collect()
}

#[test]
fn keys_that_are_called_or_lie_elsewhere_need_no_label() {
    let change = "{ change = { field = \"n\", by = 1, wrap = true } }";
    let idle = |keys: &str| said_with_keys(&format!("{A}[keys]\n{keys}\n"), "key-idle");
    assert!(idle(&format!("4 = {change}\n5 = {change}")).is_empty());
    assert_eq!(idle(&format!("3 = {change}")), ["key 3 acts without a label"]);
}

#[test]
fn an_exception_to_what_holds_anywhere_is_no_idle_key() {
    let idle = |keys: &str| said_with_keys(&format!("{A}[keys]\n{keys}\n"), "key-idle");
    assert!(idle("5 = {}").is_empty());
    assert_eq!(idle("4 = {}"), ["key 4 has neither a label nor an action"]);
}

#[test]
fn a_label_at_a_side_without_its_element_is_not_drawn() {
    let screen = |more: &str| {
        format!(
            "content = [ {{ keys = \"ticks\", bottom = 14 }}{more} ]\n[keys]\n3 = {{ label = \"+\", change = {{ field = \"n\", by = 1 }} }}\n"
        )
    };
    assert_eq!(said_with_keys(&screen(""), "key-idle"), ["key 3 has a label that is not drawn"]);
    assert!(said_with_keys(&screen(", { keys = \"ticks\", side = \"right\", right = 14 }"), "key-idle").is_empty());
}

/// A planted fault: one of two labels of a key is too wide in one of two locales, and only under a condition.
#[test]
fn a_label_too_wide_in_any_condition_and_locale_is_found() {
    let screen = |element: &str, key: usize, first: &str| {
        format!(
            "content = [ {{ {element} }}, {{ text = \"{{n}}\" }} ]\n[keys]\n{key} = {{ labels = [ {{ text = \"{first}\", when = {{ field = \"n\", is = 1 }} }}, \
             {{ text = \"@start\" }} ], change = {{ field = \"n\", by = 1, wrap = true }} }}\n"
        )
    };
    let wide = |first: &str| said_with_keys(&screen("keys = \"ticks\", bottom = 14", 1, first), "key-label-wide");
    let found = wide("@stop");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with("the label `Abbrechen und zurück` of key 1 is"), "{found:?}");
    assert!(wide("@start").is_empty());
    // Beside the display a label has the room of its element, less its tick of three pixels.
    let cut = |first: &str| {
        said_with_keys(&screen("keys = \"ticks\", side = \"right\", right = 26", 3, first), "key-label-wide")
    };
    let found = cut("@stop");
    assert!(
        found.len() == 1 && found[0].contains("of key 3 is") && found[0].contains("the room beside it 23 px"),
        "{found:?}"
    );
    assert!(cut("@start").is_empty());
}

#[test]
fn a_way_back_counts_whatever_led_to_the_screen() {
    let event = "[events.alarm]\nper-day = 1\n";
    let back = "content = [ { text = \"b\" } ]\n[keys]\n1 = { back = true }\n";
    let by_event = format!("{A}[on]\nalarm = {{ go = \"b\" }}\n");
    assert!(said(event, &[("a", &by_event), ("b", back)], "dead-end").is_empty());
    let stays = "content = [ { text = \"b\" } ]\n";
    assert_eq!(said(event, &[("a", &by_event), ("b", stays)], "dead-end").len(), 1);
}

#[test]
fn the_screen_of_a_power_up_may_go_on_by_itself() {
    let start = |name: &str, more: &str| {
        let screens = [
            ("a", format!("{A}[keys]\n1 = {{ go = \"{name}\" }}\n")),
            ("s", "content = [ { text = \"s\" } ]\n[[after]]\nwait = \"2 s\"\ngo = \"a\"\n".to_owned()),
        ];
        let screens: Vec<(&str, &str)> = screens.iter().map(|(id, text)| (*id, text.as_str())).collect();
        said_at(more, &screens, "dead-end")
    };
    assert!(start("s", "start-up = \"s\"\n").is_empty());
    assert_eq!(start("s", "").len(), 1, "any other screen is a person's");
}

/// As [`said`], with more in the table of the usage.
fn said_at(usage: &str, screens: &[(&str, &str)], lint: &str) -> Vec<String> {
    let more = format!(
        "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n{usage}temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
    );
    let device = try_device(&more, screens).unwrap_or_else(|said| panic!("{said}"));
    let found = findings(&Subject::new(&device, vec![0]));
    found.into_iter().filter(|finding| finding.fault.id == Some(lint)).map(|finding| finding.fault.message).collect()
}

#[test]
fn a_clock_in_the_pattern_of_a_setting_dates_a_value_and_a_number_of_rows_needs_no_date() {
    let fields = "[fields.hours]\nchoices = [\"24 h\", \"12 h\"]\n[fields.at]\nclock = { by = \"hours\", patterns = [\"%H:%M\", \"%-I:%M %p\"] }\nevery = \"1 h\"\n\
                  [fields.rows]\nrange = [0, 5]\nevery = \"1 h\"\n[fields.row]\nrange = [0, 4]\nwithin = \"rows\"\n\
                  [fields.air]\nrange = [0, 30]\nevery = \"1 h\"\n";
    let found =
        |text: &str| said(fields, &[("a", &format!("content = [ {{ text = \"{text}\" }} ]\n"))], "no-timestamp");
    assert!(found("{air} {at}").is_empty());
    assert!(found("{at}").is_empty(), "a time is no value that needs one");
    assert!(found("{rows}").is_empty());
    assert_eq!(found("{air}").len(), 1);
}

/// A number of ten thousand values is not followed value by value, and neither is a state of the device: conditions on
/// them are tried both ways, so that the alternatives are met and the states are few.
#[test]
fn wide_numbers_and_states_of_the_device_are_tried_both_ways() {
    let fields =
        "[fields.wide]\nrange = [0, 9999]\n[fields.charge]\nrange = [0, 100]\nsample = 80\nholds = \"charge\"\n";
    let b = "content = [ { text = \"b\" } ]\n[keys]\n1 = { back = true }\n";
    let a = |field: &str, limit: u32| {
        format!(
            "{A}[keys]\n1 = {{ change = {{ field = \"wide\", by = 1 }} }}\n\
             2 = {{ first = [ {{ when = {{ field = \"{field}\", below = {limit} }}, do = [ {{ go = \"b\" }} ] }}, {{ do = [ {{ go = \"c\" }} ] }} ] }}\n"
        )
    };
    for (field, limit) in [("wide", 9000), ("charge", 15)] {
        let text = a(field, limit);
        let screens = [("a", text.as_str()), ("b", b), ("c", b)];
        assert!(said(fields, &screens, "never-acts").is_empty(), "{field}");
        let device = crate::plain::device(
            &format!(
                "{fields}[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ntemperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
            ),
            &screens,
        );
        let found = inkjoule::machine::explore::explore(&device, inkjoule::machine::explore::STATES);
        assert_eq!((found.states, found.complete), (3, true), "{field}: a, b over a, c over a");
    }
}
