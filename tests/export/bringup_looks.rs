//! The orientation sheet tells all packings apart, and its answers lead to the packing on the panel.

use crate::firmware::{C99, cc, compile, run, starter};
use inkjoule::bringup::orientation::orientation;
use inkjoule::bringup::questions::{QUESTIONS, best, keep};
use inkjoule::bringup::sheet::html;
use inkjoule::bringup::windows::{every_origin, other_order};
use inkjoule::bringup::{every_look, patterns::patterns};
use inkjoule::frame::pack::pack;
use inkjoule::frame::{Corner, Interleave, Packing, Planes};
use inkjoule::hardware::packing::{mounted_packing, profile_packing};
use std::collections::{HashMap, HashSet};
use std::path::Path;

/// Sizes of panels, upright: usual ones, odd ones, small ones, square ones.
const SIZES: [(u32, u32); 11] = [
    (296, 128),
    (128, 296),
    (250, 122),
    (400, 300),
    (200, 200),
    (152, 152),
    (101, 180),
    (64, 48),
    (33, 47),
    (24, 24),
    (648, 480),
];

#[test]
fn no_two_packings_show_the_same_picture() {
    for (width, height) in SIZES {
        let picture = orientation(width, height);
        // The panel's own order may be any; each is tried on one size, a few on all.
        let own = Packing::all();
        let tried = if (width, height) == (101, 180) { own.len() } else { 5 };
        for sent in own.iter().step_by(own.len() / tried) {
            let looks = every_look(&picture, sent);
            assert_eq!(looks.len(), 64);
            let mut seen = HashMap::new();
            for look in &looks {
                if let Some(other) = seen.insert(look.frame.clone(), look.number) {
                    panic!("{width} x {height}, sent {sent:?}: {other} and {} look the same", look.number);
                }
                assert_eq!(look.right, look.frame == picture, "{width} x {height}, {}", look.number);
            }
        }
    }
}

#[test]
fn a_glass_that_takes_bytes_otherwise_shows_the_picture_on_the_sheet() {
    // An independent walk: each pixel of the panel takes the bit that its own order says.
    let picture = orientation(296, 128);
    let sent = Packing::default();
    let bytes = pack(&picture, &sent).expect("fits");
    for look in every_look(&picture, &sent) {
        for (x, y) in [(0, 0), (5, 3), (150, 64), (295, 127), (291, 123), (40, 100), (263, 9)] {
            let ink = crate::firmware::ink_in(&bytes, &look.packing, 296, 128, x, y);
            assert_eq!(ink, look.frame.ink(x, y), "image {} at {x}, {y}", look.number);
        }
    }
}

#[test]
fn answers_lead_to_the_packing() {
    let picture = orientation(296, 128);
    let mut left = Vec::new();
    for truth in every_look(&picture, &Packing::default()) {
        let mut looks = every_look(&picture, &Packing::default());
        let mut asked = 0;
        while let Some(question) = best(&looks, &picture).filter(|_| looks.len() > 1) {
            looks = keep(looks, &picture, question, question.answer_for(&truth, &picture));
            asked += 1;
            assert!(asked <= QUESTIONS.len());
        }
        assert!(looks.iter().any(|look| look.number == truth.number));
        left.push((looks.len(), asked));
    }
    // A few questions leave at most four pictures to compare by eye on the sheet: those that differ in the order of bits only.
    let most = left.iter().map(|(left, _)| *left).max().unwrap_or(0);
    let single = left.iter().filter(|(left, _)| *left == 1).count();
    assert!(most <= 4 && single >= 16, "{left:?}");
}

#[test]
fn what_is_pasted_into_the_profile_gives_the_order_that_was_found() {
    let device = starter();
    for look in every_look(&orientation(296, 128), &device.panel.packing) {
        let own = profile_packing(&device.panel, &look.packing).expect("every order can be written in a profile");
        assert!(mounted_packing(&own, device.panel.mounted, device.panel.mirrored).same_order(&look.packing));
    }
}

#[test]
fn no_two_corners_show_the_first_window_at_the_same_place() {
    let mut device = starter();
    for corner in Corner::ALL {
        device.panel.packing.origin = corner;
        device.panel.packing.origin_at = [8, 3];
        let landed = every_origin(&device);
        let pictures: HashSet<_> = landed.iter().map(|landed| landed.frame.clone()).collect();
        assert_eq!((landed.len(), pictures.len()), (4, 4));
        // Counted as the profile says, the window is where the step's own picture has it.
        let own = landed.iter().find(|landed| landed.right).expect("one of four");
        let set = patterns(&device);
        let step = set.iter().find(|pattern| pattern.window.is_some()).expect("steps");
        assert_eq!((own.corner, &own.frame), (corner, &step.frame));
        // A panel that takes the old plane for the new shows none of them: the step before is all paper.
        device.panel.packing.planes = Planes::New;
        assert!(other_order(&device).is_none(), "one plane has no order");
        device.panel.packing.planes = Planes::OldNew;
        let (planes, still) = other_order(&device).expect("two planes have");
        assert_eq!((planes, still.ink_count()), (Planes::NewOld, 0));
        assert!(!pictures.contains(&still));
        let page = html(&device, &[], &set);
        assert!(page.contains("origin/other-order.png") && page.contains("planes = \"new-old\""), "{page}");
    }
}

#[test]
fn the_sheet_is_the_same_for_two_planes() {
    let picture = orientation(101, 180);
    let two = Packing { planes: Planes::NewOld, interleave: Interleave::Lines, ..Packing::default() };
    for (one, two) in every_look(&picture, &Packing::default()).iter().zip(every_look(&picture, &two)) {
        assert_eq!((&one.frame, one.right), (&two.frame, two.right));
    }
}

#[test]
fn window_steps_change_nothing_outside_their_window() {
    let device = starter();
    let set = patterns(&device);
    assert!(set.len() >= 14);
    let steps: Vec<_> = set.iter().filter(|pattern| pattern.window.is_some()).collect();
    assert_eq!(steps.len(), 5);
    let size = device.panel.size();
    let mut before = inkjoule::frame::Frame::new(size.width, size.height);
    for step in steps {
        let window = step.window.expect("a step");
        assert!(window.x % 8 == 0 && window.w % 8 == 0);
        let area = inkjoule::refresh::update::upright(&device, &window);
        let changed = before.changed_bounds(&step.frame).expect("something changes");
        assert_eq!(changed.intersection(&area), changed, "{}", step.name);
        before = step.frame.clone();
    }
}

#[test]
fn the_command_line_packs_shows_origins_and_planes_alike() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let made = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"))
        .args(["bringup", "screens-demo", "--planes", "old-new", "--origin", "bottom-right", "--out"])
        .arg(&out)
        .output()
        .expect("starts");
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(out.join("origin/other-order.png").exists());
    let page = std::fs::read_to_string(out.join("sheet.html")).expect("a page");
    let (_, origins) = page.split_once("first window").expect("the part about windows");
    let right = origins.split("<figure").find(|figure| figure.starts_with(" class=\"right\"")).expect("one as sent");
    assert!(right.contains("bottom-right"), "{right}");
    assert!(origins.contains("planes = \"new-old\""), "{origins}");
}

/// The pictures in C fit a part with little flash, and give the bytes that a whole picture has, in parts of any size.
#[test]
fn the_pictures_in_c_are_small_and_give_every_byte() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let made = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"))
        .args(["bringup", "screens-demo", "--out"])
        .arg(&out)
        .output()
        .expect("starts");
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let main = "#include <stdio.h>\n#include \"bringup.h\"\nint main(void)\n{\n    uint8_t part[97];\n    uint8_t image;\n\
                \x20   for (image = 0; image < BRINGUP_SCREENS; image++) {\n        uint32_t at = 0;\n        uint16_t size = 1;\n\
                \x20       while (at < BRINGUP_FRAME_SIZE) {\n            uint16_t got = bringup_read(image, at, part, size);\n\
                \x20           fwrite(part, 1, got, stdout);\n            at += got;\n            size = (uint16_t)(size % 97 + 1);\n        }\n\
                \x20   }\n    return bringup_read(BRINGUP_SCREENS, 0, part, 1) + bringup_read(0, BRINGUP_FRAME_SIZE, part, 1);\n}\n";
    std::fs::write(out.join("main.c"), main).expect("written");
    compile(&cc(), &out, &[&C99[..], &["bringup.c", "main.c", "-o", "images"]].concat());
    let bytes = run(&out, "images", &[]);
    let header = std::fs::read_to_string(out.join("bringup.h")).expect("a header");
    let names: Vec<&str> = header.lines().filter_map(|line| line.trim().strip_prefix("BRINGUP_SCREEN_")).collect();
    let mut whole = Vec::new();
    for name in &names {
        let file = name.split_once(' ').expect("a number").0.to_lowercase().replace('_', "-");
        whole.extend(std::fs::read(out.join("patterns").join(format!("{file}.bin"))).expect(&file));
    }
    assert!(names.len() > 10 && bytes == whole);
    compile(&cc(), &out, &[&C99[..], &["-Os", "-c", "bringup.c", "-o", "small.o"]].concat());
    let object = std::fs::metadata(out.join("small.o")).expect("compiled").len();
    assert!(
        object < 12_000,
        "{object} B of an object file for {} images of {} B",
        names.len(),
        whole.len() / names.len()
    );
}

/// What `export --explain` prints of the packing, put on the command line or into the project again, is the same packing,
/// however the panel is mounted.
#[test]
fn a_printed_packing_pastes_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let explain = |more: &[&str]| {
        let out = tempfile::tempdir().unwrap();
        let run = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"))
            .current_dir(root)
            .args(["export", "screens-demo", "--explain", "--out", out.path().join("e").to_str().unwrap()])
            .args(more)
            .output()
            .unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        String::from_utf8(run.stdout).unwrap()
    };
    let plain = explain(&[]);
    // The demo's panel is mounted turned; its own rotation is none.
    assert_eq!(plain, explain(&["--rotation", "0"]));
    for options in [["--rotation", "90", "--mirror"], ["--rotation", "270", "--bits=lsb-first"]] {
        let shown = explain(&options);
        assert_ne!(shown, plain);
        let written = shown.lines().last().unwrap().split_once("packing = ").unwrap().1;
        assert_eq!(explain(&["--set", &format!("panel.packing={written}")]), shown);
    }
}
