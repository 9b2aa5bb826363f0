//! Numbers of the live tables, each against arithmetic done here: windows as the controller counts them, one plane, raised
//! units, limits in whole units, times and modes of the flow.

use crate::firmware::{order, starter};
use inkjoule::export::{Order, target};
use inkjoule::firmware::tables::condition::{Check, Relation};
use inkjoule::firmware::tables::flow::{FlowTrigger, steps};
use inkjoule::firmware::tables::{EntryKind, Tables};
use inkjoule::frame::{Corner, Interleave, Packing, Planes};
use inkjoule::project::load_files;
use inkjoule::refresh::update::Mode;
use inkjoule::refresh::windows::Window;
use inkjoule::screen::ScreenId;
use inkjoule::screen::values::{Condition, FieldId, Limit, Test};
use inkjoule::source::files::Files;

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

#[test]
fn a_limit_is_the_least_number_of_units_that_reaches_it() {
    let device = starter();
    let field = device.field("level").expect("the starter has it");
    let decimals = inkjoule::firmware::tables::condition::decimals(&device, field.0);
    let scale = 10f64.powi(decimals as i32);
    let check = |test| Check::of(&device, &Condition { field: FieldId(field.0), test });
    for units in [-31, 0, 7, 120] {
        let limit = f64::from(units) / scale;
        for (test, relation) in [
            (Test::From(Limit::Number(limit)), Relation::From),
            (Test::Below(Limit::Number(limit)), Relation::Below),
            (Test::Is(limit), Relation::Is),
        ] {
            let made = check(test);
            assert_eq!((made.test, made.limit), (relation, units), "{limit}");
        }
        // Between two units the upper one is the first that reaches the limit.
        assert_eq!(check(Test::From(Limit::Number(limit + 0.3 / scale))).limit, units + 1);
    }
    assert_eq!(check(Test::Is(0.3 / scale)).test, Relation::Never);
}

#[test]
fn a_raised_unit_stands_level_with_the_tops_of_the_digits() {
    let device = starter();
    let tables = Tables::of(&order(&device)).expect("exports");
    let runs: Vec<_> = tables
        .sheets
        .iter()
        .flat_map(|sheet| &sheet.entries)
        .filter_map(|entry| if let EntryKind::Run(run) = &entry.kind { Some(run) } else { None })
        .collect();
    let cap = |name: &str| device.faces.iter().find(|used| used.face.name == name).expect("in use").face.cap_height;
    let name = |face: usize| tables.faces.subsets[face].name.as_str();
    let digits = runs.iter().find(|run| name(run.face) == "numerals").expect("the starter's level");
    let unit = runs.iter().find(|run| name(run.face) == "bold" && run.room == 0).expect("its unit");
    assert_eq!(digits.rise - unit.rise, cap("numerals") - cap("bold"));
}

#[test]
fn steps_tell_their_times_and_modes() {
    let root = include_str!("../../src/cli/starter/device.toml")
        .replace("from = \"mono-296x128-full\"", "from = \"mono-296x128\"")
        .replace("max-partials = 10", "full-on = [\"empty\"]\nmax-partials = 10");
    let home =
        include_str!("../../src/cli/starter/home.toml").to_owned() + "\n[[after]]\nwait = \"90 s\"\ngo = \"empty\"\n";
    let files = Files::from_memory([
        ("device.toml", root.as_str()),
        ("screens/home.toml", home.as_str()),
        ("screens/empty.toml", include_str!("../../src/cli/starter/empty.toml")),
    ]);
    let device = load_files(files).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    assert!(device.panel.partial.is_some());
    let (home, empty) = (device.screen("home").expect("there").0, device.screen("empty").expect("there").0);
    let every: Vec<_> = (0..device.screens.len()).map(inkjoule::screen::ScreenId).collect();
    let made = steps(&device, &every);
    let timer = made.iter().find(|step| matches!(step.trigger, FlowTrigger::After(_))).expect("a timer");
    assert!(matches!(timer.trigger, FlowTrigger::After(90_000)), "{timer:?}");
    assert_eq!((timer.screen, timer.target, timer.mode), (home, empty, Mode::Full));
    let back = made.iter().find(|step| step.screen == empty).expect("the way back");
    assert_eq!((back.target, back.mode), (home, Mode::Partial));
}

#[test]
fn several_windows_at_once_are_refused_by_name() {
    let mut device = starter();
    device.panel.max_windows = 3;
    let failed =
        (target("c-live").expect("a target").write)(&order(&device)).expect_err("the machine sends one window");
    assert!(format!("{failed:?}").contains("`max-windows = 1`"), "{failed:?}");
    let part = Order { screens: vec![ScreenId(0)], ..order(&device) };
    (target("c-live").expect("a target").write)(&part).expect("a part is run by code of one's own");
}
