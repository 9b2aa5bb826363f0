//! The other formats: independent decoders give the frames back, Rust compiles without the standard library, the manifest
//! is true, and writing is deterministic, whole or not at all, and never over files of others.

use crate::firmware::{export, order, starter};
use inkjoule::export::{Order, design_hash};
use inkjoule::firmware::tables::flow;
use inkjoule::frame::Frame;
use inkjoule::output::CRC;
use inkjoule::screen::ScreenId;
use std::path::Path;
use std::process::Command;

/// Ink of a picture file as an independent decoder sees it: darker than the middle grey.
fn decoded(path: &Path) -> Vec<Vec<bool>> {
    let picture = image::open(path).expect("decodes").into_luma8();
    picture.rows().map(|row| row.map(|pixel| pixel.0[0] < 128).collect()).collect()
}

fn ink(frame: &Frame) -> Vec<Vec<bool>> {
    (0..frame.height()).map(|y| (0..frame.width()).map(|x| frame.ink(x, y)).collect()).collect()
}

/// An X bitmap as `XReadBitmapFile` reads it (Xlib manual): the numbers of the two lines and of the list; bit 0 is left.
fn x_bitmap(text: &str) -> Vec<Vec<bool>> {
    let side = |name: &str| {
        let line = text.lines().find(|line| line.starts_with("#define") && line.contains(name)).expect("a size");
        line.split_whitespace().last().expect("a number").parse::<usize>().expect("a number")
    };
    let (width, height) = (side("_width "), side("_height "));
    let list = text.split_once('{').expect("a list").1.split_once('}').expect("its end").0;
    let bytes: Vec<u8> = list
        .split(',')
        .map(|word| u8::from_str_radix(word.trim().trim_start_matches("0x"), 16).expect("a byte"))
        .collect();
    let stride = width.div_ceil(8);
    assert_eq!(bytes.len(), stride * height);
    (0..height).map(|y| (0..width).map(|x| bytes[y * stride + x / 8] >> (x % 8) & 1 == 1).collect()).collect()
}

#[test]
fn picture_files_decode_to_the_frames() {
    let device = starter();
    let order = order(&device);
    let folder = tempfile::tempdir().expect("a folder");
    for to in ["pbm", "png", "xbm"] {
        export(&order, to, folder.path());
    }
    for screen in &order.screens {
        let frame = device.draw(*screen, 0, &order.values);
        let path = |ending: &str| folder.path().join(format!("{}.{ending}", device.screens[screen.0].id));
        assert!(frame.ink_count() > 100);
        assert!(decoded(&path("pbm")) == ink(&frame) && decoded(&path("png")) == ink(&frame));
        assert!(x_bitmap(&std::fs::read_to_string(path("xbm")).expect("written")) == ink(&frame));
    }
}

#[test]
fn rust_compiles_without_std_and_draws_the_frames() {
    let mut device = starter();
    // Names that the file has constants of.
    device.screens[0].id = "width".into();
    device.screens[1].id = "size".into();
    let order = order(&device);
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    std::fs::create_dir(at.join("src")).expect("a folder");
    export(&order, "rust", &at.join("src"));
    let manifest = "[package]\nname = \"firmware\"\nversion = \"0.0.0\"\nedition = \"2021\"\n\n[dependencies]\nembedded-graphics = \"0.8\"\n\n[workspace]\n";
    std::fs::write(at.join("Cargo.toml"), manifest).expect("written");
    // The versions that this project is locked to are the ones that are there without a network.
    std::fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.lock"), at.join("Cargo.lock")).expect("copied");
    std::fs::write(at.join("src/lib.rs"), include_str!("../firmware/no_std_lib.rs")).expect("written");
    std::fs::write(at.join("src/main.rs"), include_str!("../firmware/no_std_main.rs")).expect("written");
    let output = Command::new(env!("CARGO"))
        .args(["run", "--offline", "--quiet"])
        .env("CARGO_TARGET_DIR", at.join("target"))
        .env("RUSTFLAGS", "-Dwarnings")
        .current_dir(at)
        .output()
        .expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).expect("text");
    let mut lines = text.lines();
    for screen in &order.screens {
        let frame = device.draw(*screen, 0, &order.values);
        let drawn: String = (0..frame.height()).map(|_| lines.next().unwrap_or("").to_owned() + "\n").collect();
        assert!(drawn == frame.to_string(), "{drawn}");
        let packed = inkjoule::frame::pack::pack(&frame, &order.packing).expect("fits");
        assert_eq!(lines.next(), Some(format!("{:08x}", CRC.checksum(&packed)).as_str()));
    }
    assert_eq!(lines.next(), None);
}

/// Names that lose their underscore in Rust.
#[test]
fn screens_whose_names_become_one_in_rust_stay_apart() {
    let mut device = starter();
    device.screens[0].id = "well-1".into();
    device.screens[1].id = "well1".into();
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&device), "rust", folder.path());
    let text = std::fs::read_to_string(folder.path().join("screens.rs")).expect("written");
    for name in ["Well1", "Well1_2"] {
        assert_eq!(text.lines().filter(|line| line.trim() == format!("{name},")).count(), 1, "{text}");
    }
}

#[test]
fn the_manifest_is_true() {
    let device = starter();
    let order = Order { design: 0x0123_4567_89ab_cdef, ..order(&device) };
    let folder = tempfile::tempdir().expect("a folder");
    export(&order, "raw", folder.path());
    export(&order, "json", folder.path());
    let text = std::fs::read_to_string(folder.path().join("screens.json")).expect("written");
    let manifest: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(manifest["design"], "0123456789abcdef");
    let screens = manifest["screens"].as_array().expect("a list");
    assert_eq!(screens.len(), device.screens.len());
    for screen in screens {
        let bytes = std::fs::read(folder.path().join(format!("{}.bin", screen["screen"].as_str().expect("an id"))))
            .expect("there");
        assert_eq!(screen["frame"]["bytes"], bytes.len());
        assert_eq!(screen["frame"]["crc32"], format!("{:08x}", CRC.checksum(&bytes)));
    }
    let packing: inkjoule::frame::Packing = serde_json::from_value(manifest["packing"].clone()).expect("a packing");
    assert_eq!(packing, order.packing);
    let level = &manifest["fields"][0];
    assert_eq!((&level["name"], &level["decimals"], &level["unit"]), (&"level".into(), &1.into(), &"mm".into()));
    let home = screens.iter().find(|screen| screen["screen"] == "home").expect("the home screen");
    let windows = home["fields"].as_array().expect("a list");
    assert!(windows.iter().any(|field| field["format"][0]["number"] == "level" && field["font"] == "numerals"));
    for field in windows {
        let side = |name: &str| field["window"][name].as_u64().expect("a number");
        assert!(side("x") % 8 == 0 && side("w") % 8 == 0 && side("w") > 0 && side("h") > 0);
    }
    assert_eq!(manifest["flow"][0]["trigger"]["key"], 0);
    assert_eq!(manifest["refresh"]["max_partials"], 10);
}

/// Of some screens alone, in an order of their own, the flow speaks of nothing else: positions are those of the export.
#[test]
fn the_flow_of_some_screens_stays_among_them() {
    let device = starter();
    let all = flow::steps(&device, &order(&device).screens);
    let leading = all.iter().find(|step| step.screen != step.target).expect("a way to another screen");
    for exported in [vec![ScreenId(leading.screen)], vec![ScreenId(leading.target), ScreenId(leading.screen)]] {
        let steps = flow::steps(&device, &exported);
        assert!(steps.iter().all(|step| step.screen < exported.len() && step.target < exported.len()), "{steps:?}");
        let ways = |step: &&flow::FlowStep| {
            let both = [ScreenId(step.screen), ScreenId(step.target)];
            both.iter().all(|screen| exported.contains(screen))
        };
        let expected: Vec<_> = all.iter().filter(ways).map(|step| (step.screen, step.target, step.trigger)).collect();
        let found: Vec<_> =
            steps.iter().map(|step| (exported[step.screen].0, exported[step.target].0, step.trigger)).collect();
        assert_eq!(found, expected);
        let folder = tempfile::tempdir().expect("a folder");
        export(&Order { screens: exported.clone(), ..order(&device) }, "json", folder.path());
        let text = std::fs::read_to_string(folder.path().join("screens.json")).expect("written");
        let manifest: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        let named = manifest["flow"].as_array().expect("a list").iter();
        let named: Vec<_> = named.map(|row| (row["screen"].as_str(), row["target"].as_str())).collect();
        let id = |screen: usize| Some(device.screens[screen].id.as_str());
        assert_eq!(named, expected.iter().map(|step| (id(step.0), id(step.1))).collect::<Vec<_>>());
    }
}

#[test]
fn the_design_hash_tells_texts_apart() {
    // CRC-64/XZ of "123456789" is 995DC9BBDF1939FA (catalogue of parametrised CRC algorithms); a text has its length in front.
    assert_eq!(crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(b"123456789"), 0x995D_C9BB_DF19_39FA);
    assert_ne!(design_hash(["ab", "c"]), design_hash(["a", "bc"]));
    assert_ne!(design_hash(["a", "b"]), design_hash(["b", "a"]));
}

fn inkjoule(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_inkjoule"));
    command.current_dir(folder);
    command
}

fn everything(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let entries = std::fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry"));
    let mut files: Vec<_> = entries
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).expect("a file")))
        .collect();
    files.sort();
    files
}

#[test]
fn exports_are_deterministic_and_leave_equal_files_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    assert!(inkjoule(at).args(["new", "p"]).output().expect("starts").status.success());
    let run = |out: &str| {
        inkjoule(at)
            .args(["export", "p", "--to", "c,c-live,rust,json,raw,pbm,png,xbm", "--out", out])
            .output()
            .expect("starts")
    };
    assert!(run("a").status.success() && run("b").status.success());
    assert!(everything(&at.join("a")) == everything(&at.join("b")));
    assert!(everything(&at.join("a")).len() > 14);
    let times = || -> Vec<_> {
        let entries = std::fs::read_dir(at.join("a")).expect("a folder").map(|entry| entry.expect("an entry"));
        let mut times: Vec<_> = entries
            .map(|entry| (entry.file_name(), entry.metadata().expect("there").modified().expect("a time")))
            .collect();
        times.sort();
        times
    };
    let before = times();
    assert!(run("a").status.success());
    assert_eq!(times(), before);
    std::fs::write(at.join("a/screens.c"), "/* mine */").expect("written");
    let refused = run("a");
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("was not written by inkjoule"));
    assert_eq!(std::fs::read(at.join("a/screens.c")).expect("there"), b"/* mine */");
    let forced = inkjoule(at).args(["export", "p", "--out", "a", "--force"]).output().expect("starts");
    assert!(forced.status.success() && everything(&at.join("a")) == everything(&at.join("b")));
}

#[test]
fn a_killed_export_leaves_whole_files_and_can_be_repeated() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    assert!(inkjoule(at).args(["new", "p"]).output().expect("starts").status.success());
    let run = |values: &str, out: &str| {
        let mut command = inkjoule(at);
        command.args(["export", "p", "--to", "c,rust,raw,png", "--values", values, "--out", out]);
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
        command
    };
    let started = std::time::Instant::now();
    assert!(run("sample", "old").status().expect("starts").success());
    let usual = started.elapsed();
    assert!(run("worst", "new").status().expect("starts").success());
    let (old, new) = (everything(&at.join("old")), everything(&at.join("new")));
    assert!(old != new);
    let record = inkjoule::output::RECORD;
    let mut killed = 0;
    for round in 0..30u32 {
        assert!(run("sample", "x").status().expect("starts").success(), "a broken run is repaired by the next");
        let mut child = run("worst", "x").spawn().expect("starts");
        std::thread::sleep(usual * round / 24);
        killed += u32::from(child.kill().is_ok());
        let _ = child.wait();
        for (name, bytes) in everything(&at.join("x")) {
            // What was being written when the program died lies beside, under a name of its own.
            if name == record || name.starts_with(".inkjoule-") {
                continue;
            }
            let whole = [&old, &new].iter().any(|set| set.contains(&(name.clone(), bytes.clone())));
            assert!(whole, "{name} is broken");
        }
    }
    assert!(killed > 0);
}

/// A clock has no ends, and no number stands for them; every other field has both.
#[test]
fn a_clock_has_no_range_in_the_manifest() {
    let demo = super::export_costs::demo();
    let folder = tempfile::tempdir().expect("a folder");
    let written = crate::firmware::export(&crate::firmware::order(&demo), "json", folder.path());
    let manifest: serde_json::Value =
        serde_json::from_slice(&std::fs::read(&written[0]).expect("a manifest")).expect("JSON");
    let fields = manifest["fields"].as_array().expect("fields");
    assert_eq!(fields.len(), demo.fields.len());
    let mut clocks = 0;
    for (one, field) in fields.iter().zip(&demo.fields) {
        match &one["range"] {
            serde_json::Value::Null => clocks += usize::from(field.is_endless()),
            range => assert!(range.as_array().is_some_and(|ends| ends.len() == 2) && !field.is_endless(), "{one}"),
        }
    }
    assert!(clocks > 0 && clocks == fields.iter().filter(|one| one["range"].is_null()).count());
}
