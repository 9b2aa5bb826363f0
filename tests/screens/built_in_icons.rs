//! Built-in icons in `icon` and `icons`: named, sized, counted in flash, and refused where they cannot be meant.

use crate::sheet::Sheet;
use inkjoule::screen::icons;
use inkjoule::source::fault::Fault;

/// A screen of one element.
fn screen(element: &str) -> Result<Sheet, Vec<Fault>> {
    Sheet::read(&format!(
        "size = [64, 32]\nfields.kind = {{ choices = [\"a\", \"b\"], sample = 0 }}\nscreen.content = [ {{ {element} }} ]\n"
    ))
}

/// The one fault of a screen of one element: what it says and the help to it.
fn fault(element: &str) -> String {
    let mut faults = screen(element).err().unwrap_or_else(|| panic!("{element} has no fault"));
    // The sheet's pictures are there for other tests.
    faults.retain(|fault| !fault.message.starts_with("nothing uses the file"));
    assert_eq!(faults.len(), 1, "{faults:#?}");
    format!("{:?}", faults[0])
}

#[test]
fn every_icon_can_be_used_in_every_size() {
    for name in icons::names() {
        for size in icons::SIZES {
            let drawn = screen(&format!("icon = \"{name}\", size = {size}, at = [2, 3]")).unwrap().draw();
            let icon = icons::icon(name, size).unwrap();
            assert_eq!(drawn.ink_count(), icon.ink_count(), "{name} {size}");
            let differs = (0..size).flat_map(|y| (0..size).map(move |x| (x, y)));
            let differs = differs.filter(|(x, y)| drawn.ink(x + 2, y + 3) != icon.ink(*x, *y)).count();
            assert_eq!(differs, 0, "{name} {size}");
        }
    }
}

#[test]
fn a_size_of_two_numbers_is_still_the_place() {
    let sheet = screen("icon = \"bell\", size = [40, 20]").unwrap();
    let area = sheet.device.screens[0].pictures[0][0].area.size;
    assert_eq!((area.width, area.height), (40, 20));
    let usual = icons::icon("bell", icons::USUAL).unwrap();
    assert_eq!(sheet.draw().ink_count(), usual.ink_count());
}

#[test]
fn icons_take_flash_once() {
    let images = |element: &str| screen(element).unwrap().device.stock.images;
    assert_eq!(images("icon = \"bell\", size = 24"), 72); // 24 rows of 3 bytes
    assert_eq!(images("icons = [\"bell\", \"bell\"], by = \"kind\", size = 12"), 24); // 12 rows of 2 bytes
}

#[test]
fn faults_say_what_to_write() {
    let near = fault("icon = \"batery-half\", size = 16");
    assert!(near.contains("no built-in icon `batery-half`") && near.contains("did you mean `battery-half`?"), "{near}");
    let far = fault("icon = \"submarine\"");
    assert!(far.contains("inkjoule fonts --out FOLDER") && far.contains("extension"), "{far}");
    assert!(fault("icon = \"bell\", size = 20").contains("expected 12, 16 or 24"));
    assert!(fault("icon = \"bell\", scale = [20, 20]").contains("size = 12, 16 or 24"));
    assert!(fault("icon = \"icons/drop.pbm\", size = 16").contains("scale = [16, 16]"));
    assert!(fault("icons = [\"bell\", \"bel\"], by = \"kind\"").contains("did you mean `bell`?"));
}

#[test]
fn a_built_in_icon_is_not_scaled_with_or_without_a_size() {
    for element in ["icon = \"bell\", scale = [48, 48]", "icon = \"bell\", size = 24, scale = [48, 48]"] {
        assert!(fault(element).contains("a built-in icon is not scaled"), "{element}");
    }
}
