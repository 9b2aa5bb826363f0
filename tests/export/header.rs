//! The header of an export says what firmware wants to know of the design; its names stay when a locale is added.

use super::export_costs::demo;
use crate::firmware::{export, orchard, order};
use inkjoule::device::Device;

fn header(device: &Device) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(device), "c-live", folder.path());
    std::fs::read_to_string(folder.path().join("screens_live.h")).expect("written")
}

/// The number behind a name.
fn number(header: &str, name: &str) -> i64 {
    let words = |line: &str| line.replace(['=', ',', '(', ')'], " ").replace("#define", " ");
    let found = header.lines().find_map(|line| {
        let line = words(line);
        let mut words = line.split_whitespace();
        (words.next() == Some(name)).then(|| words.next().map(|word| word.trim_end_matches('L').parse::<i64>()))
    });
    found.flatten().unwrap_or_else(|| panic!("{name} in\n{header}")).expect("a number")
}

/// The comment behind a name.
fn about<'h>(header: &'h str, name: &str) -> &'h str {
    let line = header.lines().find(|line| line.trim().starts_with(&format!("{name} = "))).unwrap_or_default();
    line.split_once("/*").map_or("", |(_, comment)| comment.trim_end_matches("*/").trim())
}

#[test]
fn it_says_where_the_device_begins_and_what_screens_are_for() {
    let (device, header) = (demo(), header(&demo()));
    let home = &device.screens[device.usage.home.0].id;
    assert_eq!(
        number(&header, "SCREENS_LIVE_HOME"),
        number(&header, &format!("SCREENS_LIVE_SCREEN_{}", home.to_uppercase()))
    );
    let roles = [("BATTERY_EMPTY", "EMPTY"), ("LINK_LOST", "LOST"), ("OFF", "OFF"), ("ALARM", "ALARM")];
    for (role, screen) in roles {
        let (role, screen) = (format!("SCREENS_LIVE_{role}"), format!("SCREENS_LIVE_SCREEN_{screen}"));
        assert_eq!(number(&header, &role), number(&header, &screen), "{role}");
    }
    assert!(about(&header, "SCREENS_LIVE_SCREEN_CONFIRM").contains("a box"), "{header}");
}

#[test]
fn it_says_the_locales_in_their_order() {
    let (device, header) = (demo(), header(&demo()));
    for (place, locale) in device.locales.iter().enumerate() {
        assert_eq!(number(&header, &format!("SCREENS_LIVE_LOCALE_{}", locale.to_uppercase())), place as i64);
    }
    assert_eq!(number(&header, "SCREENS_LIVE_LOCALES"), device.locales.len() as i64);
}

#[test]
fn it_says_size_and_stride() {
    let (device, header) = (demo(), header(&demo()));
    let size = device.panel.size();
    let stride = device.panel.packing.stride_of(size.width, size.height).expect("fits");
    let bytes = device.panel.packing.plane().size(size.width, size.height).expect("fits") as u32;
    let stated = ["WIDTH", "HEIGHT", "STRIDE", "LINES"].map(|name| number(&header, &format!("SCREENS_LIVE_{name}")));
    assert_eq!(stated, [size.width, size.height, stride, bytes / stride].map(i64::from));
}

#[test]
fn it_says_the_ends_of_fields_and_what_happens_there() {
    let header = header(&demo());
    assert_eq!([number(&header, "SCREENS_LIVE_MIN_OF_AIR"), number(&header, "SCREENS_LIVE_MAX_OF_AIR")], [-250, 450]);
    let wraps = header.lines().filter(|line| line.contains("_FIELD_") && line.contains("wraps at its ends")).count();
    let stops = header.lines().filter(|line| line.contains("_FIELD_") && line.contains("stops at its ends")).count();
    assert!(wraps > 0 && stops > 0, "{wraps} {stops}\n{header}");
    assert!(!about(&header, "SCREENS_LIVE_FIELD_AIR").contains("ends"), "no key changes what is measured");
}

#[test]
fn it_says_who_sets_a_field_and_when() {
    let header = header(&demo());
    assert!(about(&header, "SCREENS_LIVE_FIELD_AIR").ends_with("measured at the event report"));
    assert!(about(&header, "SCREENS_LIVE_FIELD_LOW1").ends_with("measured every 3600 s"));
    assert!(about(&header, "SCREENS_LIVE_FIELD_TODAY").ends_with("takes the time every 3600 s"));
    assert!(about(&header, "SCREENS_LIVE_FIELD_LANGUAGE").contains("set by keys, or stored"));
    // States of the device were once "set by keys, or stored" too.
    assert!(about(&header, "SCREENS_LIVE_FIELD_CHARGE").ends_with("reported by ink_arrived"));
}

#[test]
fn it_says_when_events_happen() {
    let (device, header) = (demo(), header(&demo()));
    for event in &device.events {
        let about = about(&header, &format!("SCREENS_LIVE_EVENT_{}", event.name.to_uppercase()));
        assert!(about.contains("by itself") || about.contains("told by the firmware"), "{}: {about}", event.name);
    }
    let header = self::header(&orchard());
    assert!(header.contains("by itself, when ") || header.contains("by itself, every "), "{header}");
}

#[test]
fn it_says_intervals_temperatures_and_what_keys_do_during_a_refresh() {
    let (device, header) = (demo(), header(&demo()));
    let milliseconds = (device.policy.min_interval.0 * 1e3) as i64;
    assert_eq!(number(&header, "SCREENS_LIVE_MIN_INTERVAL_MS"), milliseconds);
    assert_eq!(number(&header, "SCREENS_LIVE_DROPS_KEYS"), 0);
    let drives = [("FULL", &device.panel.full), ("PARTIAL", device.panel.partial.as_ref().expect("the demo's"))];
    for (name, drive) in drives {
        let ends = [&drive.knots[0], &drive.knots[drive.knots.len() - 1]].map(|knot| (knot.at.0 * 10.0).round() as i64);
        let stated = ["FROM", "TO"].map(|end| number(&header, &format!("SCREENS_LIVE_{name}_{end}")));
        assert_eq!(stated, ends, "{name}");
    }
    assert_eq!(number(&header, "SCREENS_LIVE_MAX_PARTIALS"), i64::from(device.policy.max_partials));
}

/// Everything but the locales and sizes of tables is called, and numbered, as before.
#[test]
fn names_stay_when_a_locale_is_added() {
    let sheet = |strings: &str| {
        let text = format!(
            "size = [200, 120]\nfields.level = {{ range = [0, 9], sample = 3 }}\nfields.air = {{ range = [-5, 5], sample = 1, every = '60 s' }}
             {strings}\nscreen.content = [ {{ text = '{{level}} {{air}}' }} ]"
        );
        header(&crate::sheet::Sheet::new(&text).device)
    };
    let before = sheet("strings.de.a = 'a'\nstrings.pl.a = 'a'");
    let after = sheet("strings.de.a = 'a'\nstrings.nl.a = 'a'\nstrings.pl.a = 'a'");
    let named = |header: &str| -> Vec<String> {
        let told = |line: &&str| !line.contains("_LOCALE") && (line.contains(" = ") || line.starts_with("#define"));
        header.lines().filter(told).map(str::to_owned).collect()
    };
    assert!(after.contains("SCREENS_LIVE_LOCALE_NL"), "{after}");
    assert_eq!(named(&before), named(&after));
}
