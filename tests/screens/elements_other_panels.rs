//! The demo's home screen, laid out in docked areas, rows and columns, on other panels without an edit.

use inkjoule::check::check;
use inkjoule::project::load;
use inkjoule::screen::ScreenId;
use std::path::Path;

#[test]
fn the_home_screen_suits_other_panels_as_it_is() {
    // Larger and smaller ones; the keys stay where the enclosure has them.
    for panel in ["mono-400x300", "mono-296x152-full", "mono-480x280-full", "mono-648x480-full"] {
        // Some have no partial refresh.
        let partials = if panel.ends_with("-full") { 0 } else { 12 };
        let set =
            [format!("panel.from={panel}"), format!("policy.max-partials={partials}"), "panel.mounted=0".to_owned()];
        let wide =
            |loaded: &inkjoule::project::Loaded| loaded.device.panel.size().width > loaded.device.panel.size().height;
        let upright = load(Path::new("screens-demo"), &set);
        let loaded = match upright {
            Ok(loaded) if wide(&loaded) => loaded,
            // The instrument is wider than tall.
            _ => load(Path::new("screens-demo"), &set[..2])
                .unwrap_or_else(|failed| panic!("{panel}: {:#?}", failed.faults)),
        };
        let device = &loaded.device;
        assert!(wide(&loaded), "{panel}");
        let home: ScreenId = device.usage.home;
        let size = device.panel.size();
        for locale in 0..device.locales.len() {
            for item in &device.screens[home.0].pictures[locale] {
                let (corner, last) = (item.area.top_left, item.area.bottom_right().unwrap_or(item.area.top_left));
                let inside =
                    corner.x >= 0 && corner.y >= 0 && last.x < size.width as i32 && last.y < size.height as i32;
                assert!(inside, "{panel}: {} at {:?}", item.called(), item.area);
            }
        }
        let findings = check(
            &inkjoule::lint::Subject::new(device, (0..device.locales.len()).collect()),
            &inkjoule::budget::summary::budget(device),
        );
        let here = findings.iter().filter(|finding| finding.shown.as_ref().is_some_and(|shown| shown.screen == home));
        let wrong: Vec<_> = here
            .filter(|finding| matches!(finding.fault.id, Some("outside" | "text-cut" | "overlap")))
            .map(|finding| (finding.fault.id, finding.fault.message.clone()))
            .collect();
        assert!(wrong.is_empty(), "{panel}: {wrong:?}");
    }
}
