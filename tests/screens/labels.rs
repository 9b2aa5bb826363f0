//! Labels of keys: under conditions, at any side, at their widest in every condition.

use crate::sheet::Sheet;
use inkjoule::hardware::display::Side;

const LABELS: &str = "
    size = [40, 12]
    keys = ['5 mm']
    fields.running = { range = [0, 1] }
    screen.content = [ { keys = 'bars', bottom = 12, font = 'small' } ]
    screen.keys.1 = { labels = [ { text = 'II', when = { field = 'running', is = 1 } }, { text = 'L' } ], change = { field = 'running', by = 1, wrap = true } }
";

#[test]
fn a_label_follows_its_field() {
    let mut sheet = Sheet::new(LABELS);
    let at_rest = sheet.draw();
    let running = sheet.set("running", 1.0).draw();
    let plain = |label: &str| {
        let from = LABELS.find("labels = [").unwrap();
        let to = LABELS.find("], change").unwrap() + 1;
        Sheet::new(&format!("{}label = '{label}'{}", &LABELS[..from], &LABELS[to..])).draw()
    };
    assert!(at_rest != running);
    assert_eq!(at_rest, plain("L"), "\n{at_rest}");
    assert_eq!(running, plain("II"), "\n{running}");
    // The field is among those that redraw it.
    let item = &sheet.device.screens[0].pictures[0][0];
    assert!(item.fields().contains(&sheet.device.field("running").unwrap()));
    let label = &sheet.device.screens[0].labels[0][0];
    assert_eq!(label.text(&sheet.values), "II");
}

#[test]
fn a_label_is_measured_in_every_condition() {
    let wide = LABELS.replace("'II'", "'A long word'");
    let sheet = Sheet::new(&wide);
    let findings = inkjoule::check::check(
        &inkjoule::lint::Subject::new(&sheet.device, vec![0]),
        &inkjoule::budget::summary::budget(&sheet.device),
    );
    let found = findings.iter().find(|one| one.fault.message.contains("the label `A long word` of key 1 is"));
    assert!(found.is_some(), "{:?}", findings.iter().map(|one| &one.fault.message).collect::<Vec<_>>());
    let plain = Sheet::new(LABELS).device;
    let calm = inkjoule::check::check(
        &inkjoule::lint::Subject::new(&plain, vec![0]),
        &inkjoule::budget::summary::budget(&plain),
    );
    assert!(!calm.iter().any(|one| one.fault.message.contains("the label")));
}

#[test]
fn a_label_shows_a_field_at_its_widest() {
    let sheet = Sheet::new(
        &LABELS
            .replace("{ text = 'L' }", "{ text = '{n}' }")
            .replace("fields.running", "fields.n = { range = [0, 500], sample = 7 }\nfields.running"),
    );
    let widest: Vec<String> =
        sheet.device.screens[0].pictures[0][0].texts().into_iter().map(|text| text.text).collect();
    assert_eq!(widest, ["II", "888"]);
    assert_eq!(sheet.device.screens[0].labels[0][0].text(&sheet.values), "7");
}

#[test]
fn keys_lie_at_any_side_or_at_none() {
    let sheet = Sheet::new(
        "size = [40, 24]
        display-keys = [
            { centre = '5 mm', width = '4 mm' },
            { at = 'left', centre = '3 mm', width = '4 mm' },
            { at = 'right', centre = '3 mm', width = '4 mm' },
            { at = 'none', name = 'power' },
        ]
        fields.n = { range = [0, 9] }
        screen.content = [
            { keys = 'bars', side = 'left', left = 9, font = 'small' },
            { keys = 'bars', side = 'right', right = 9, font = 'small' },
        ]
        [screen.keys]
        2 = { label = '-', change = { field = 'n', by = -1 } }
        3 = { label = '+', change = { field = 'n', by = 1 } }
        4 = { label = 'Off', change = { field = 'n', to = 0 } }",
    );
    let keys = &sheet.device.display.keys;
    let sides: Vec<Option<Side>> = keys.iter().map(|key| key.side).collect();
    assert_eq!(sides, [Some(Side::Bottom), Some(Side::Left), Some(Side::Right), None]);
    assert_eq!((keys[3].called(3).as_str(), keys[1].centre_px), ("key 4 (power)", 12));
    let blank = "#########......................#########";
    let edge = "........................................";
    let minus = sheet.draw();
    // Bars of 4 mm, 16 pixels, around row 12 at either side.
    assert_eq!(
        (minus.row_text(3).as_str(), minus.row_text(4).as_str(), minus.row_text(19).as_str()),
        (edge, blank, blank)
    );
    assert_eq!(minus.row_text(20), edge);
    assert_eq!(sheet.device.screens[0].labels[0][3].text(&sheet.values), "Off");
}

#[test]
fn keys_and_labels_that_cannot_be_meant_are_refused() {
    let refused = |text: &str, expected: &str| {
        let faults = Sheet::read(text).err().unwrap_or_default();
        assert!(faults.iter().any(|fault| fault.message.contains(expected)), "{expected}: {faults:?}");
    };
    let keys = |keys: &str| format!("size = [40, 12]\ndisplay-keys = [{keys}]\nscreen.content = [ {{ text = 'x' }} ]");
    refused(&keys("{ centre = '5 mm' }"), "a key beside the display has a `centre` and a `width`");
    refused(&keys("{ at = 'none', centre = '5 mm' }"), "a key at no side of the display has no centre along it");
    refused(
        &keys("{ at = 'left', centre = '5 mm', width = '4 mm' }"),
        "this key's centre is not beside the active area",
    );
    refused(&LABELS.replace("'running', is", "'runing', is"), "there is no field `runing`");
    refused(
        &LABELS.replace(", when = { field = 'running', is = 1 }", ""),
        "what stands after this label can never be shown",
    );
}

#[test]
fn a_pressed_label_is_drawn_pressed_in_every_condition() {
    let pressed =
        LABELS.replace("font = 'small' } ]", "font = 'small', pressed = 'held' } ]\n fields.held = { range = [0, 1] }");
    let mut sheet = Sheet::new(&pressed);
    let plain = Sheet::new(LABELS).set("running", 1.0).draw();
    assert_eq!(sheet.set("running", 1.0).draw(), plain);
    let down = sheet.set("held", 1.0).draw();
    assert!(down.row_text(6).matches('#').count() < plain.row_text(6).matches('#').count(), "{down}\n{plain}");
}

/// The preview and the filmstrip have a place for every key; unplaced ones have none there and answer the keyboard.
#[test]
fn a_bezel_has_keys_at_each_side() {
    let sheet = Sheet::new(
        "size = [40, 24]
        display-keys = [ { centre = '5 mm', width = '4 mm' }, { at = 'left', centre = '3 mm', width = '4 mm' }, { at = 'none' } ]
        screen.content = [ { text = 'x' } ]",
    );
    let bezel = inkjoule::preview::bezel::Bezel::new(&sheet.device, 4.0);
    let [below, beside, nowhere] = bezel.keys[..] else { panic!("{:?}", bezel.keys) };
    assert!(below.top_left.y > bezel.active.top_left.y + bezel.active.size.height as i32);
    assert!(beside.top_left.x + (beside.size.width as i32) < bezel.active.top_left.x);
    assert!(nowhere.is_zero_sized());
    let body = |key: &embedded_graphics::primitives::Rectangle| bezel.body.intersection(key) == *key;
    assert!(body(&below) && body(&beside));
}
