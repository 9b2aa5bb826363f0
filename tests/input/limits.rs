//! Every limit of `limits.rs`: what passes it is refused with a clear error, what does not is taken.

use inkjoule::limits;
use inkjoule::project::load_files;
use inkjoule::simulate::simulate;
use inkjoule::source::files::Files;
use std::fmt::Write as _;
use std::process::Command;

const DEVICE: &str = include_str!("../../src/cli/starter/device.toml");
const HOME: &str = "content = [ { text = \"A\" } ]\n";

/// What is said about a project of these files; empty if nothing is wrong with it at error level.
fn said(files: &[(String, Vec<u8>)]) -> String {
    match load_files(Files::from_memory(files.to_vec())) {
        Ok(_) => String::new(),
        Err(failed) => inkjoule::source::fault::render(&failed.faults, &failed.sources, false),
    }
}

fn file(name: &str, text: impl Into<String>) -> (String, Vec<u8>) {
    (name.to_owned(), text.into().into_bytes())
}

fn with(device: &str) -> String {
    said(&[file("device.toml", device), file("screens/home.toml", HOME), file("screens/empty.toml", HOME)])
}

fn plain() -> Vec<(String, Vec<u8>)> {
    vec![file("device.toml", DEVICE), file("screens/home.toml", HOME), file("screens/empty.toml", HOME)]
}

#[test]
fn too_many_screens_locales_and_pictures_of_them() {
    let screens = |count: usize| (2..count).map(|n| file(&format!("screens/s{n}.toml"), HOME)).collect::<Vec<_>>();
    let locales = |count: usize| (0..count).map(|n| file(&format!("strings/l{n}.toml"), "")).collect::<Vec<_>>();
    let many = said(&[plain(), screens(limits::SCREENS + 1)].concat());
    assert!(many.contains("1001 screens; at most 1000"), "{many}");
    let many = said(&[plain(), locales(limits::LOCALES + 1)].concat());
    assert!(many.contains("101 locales; at most 100"), "{many}");
    let many = said(&[plain(), screens(limits::PICTURES / 50 + 1), locales(50)].concat());
    assert!(many.contains("images of screens"), "{many}");
    assert!(!said(&[plain(), screens(60), locales(10)].concat()).contains("at most"));
}

#[test]
fn too_many_fields_events_and_journeys_point_at_the_first_beyond() {
    let mut device = DEVICE.to_owned();
    for n in 0..=limits::FIELDS {
        let _ = writeln!(device, "[fields.f{n:05}]\nrange = [0, 1]");
    }
    let many = with(&device);
    assert!(many.contains("fields; at most 2000 are taken") && many.contains("device.toml:"), "{many}");
    let mut device = DEVICE.to_owned();
    for n in 0..=limits::EVENTS {
        let _ = writeln!(device, "[events.e{n:05}]\nper-day = 1");
    }
    assert!(with(&device).contains("events; at most 500 are taken"));
    let mut device = DEVICE.to_owned();
    for n in 0..=limits::JOURNEYS {
        let _ = writeln!(device, "[usage.journeys.j{n:05}]\nper-day = 1\nsteps = []");
    }
    assert!(with(&device).contains("journeys; at most 500 are taken"));
}

#[test]
fn too_large_files_and_projects() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, bytes).expect("written");
    };
    for (name, bytes) in plain() {
        write(&name, &bytes);
    }
    let read = || Files::read(folder.path()).err().map(|fault| fault.message).unwrap_or_default();
    assert_eq!(read(), "");
    write("icons/large.pbm", &vec![b' '; limits::FILE_BYTES as usize + 1]);
    assert!(read().contains("MiB"), "{}", read());
    let part = vec![b' '; limits::FILE_BYTES as usize];
    write("icons/large.pbm", &part);
    for n in 0..(limits::PROJECT_BYTES / limits::FILE_BYTES) {
        write(&format!("icons/l{n}.pbm"), &part);
    }
    assert!(read().contains("MiB"), "{}", read());
}

#[test]
fn too_many_pixels_keys_days_and_steps() {
    let pixels = DEVICE.replacen("[panel]", "[panel]\npixels = [4097, 16]\nactive = [\"90 mm\", \"4 mm\"]", 1);
    let many = with(&pixels);
    assert!(many.contains(&format!("1 to {} pixels", limits::PANEL_SIDE)), "{many}");
    let key = "{ centre = \"5 mm\", width = \"3 mm\" },";
    let start = DEVICE.find("keys = [").expect("the starter has keys") + "keys = [".len();
    let keys = format!("{}{}{}", &DEVICE[..start], key.repeat(limits::KEYS + 1), &DEVICE[start..]);
    assert!(with(&keys).contains(&format!("at most {} soft keys", limits::KEYS)));
    let days = with(&DEVICE.replacen("[usage]", &format!("[usage]\ndays = {}", limits::DAYS + 1), 1));
    assert!(days.contains("expected 1 to 366 days") || days.contains("duplicate"), "{days}");
    let steps = format!(
        "{DEVICE}\n[usage.journeys.long]\nper-day = 1\nsteps = [ {{ look = \"1 s\", times = 900 }}, {{ look = \"1 s\", times = 900 }} ]\n"
    );
    assert!(with(&steps).contains(&format!("at most {} steps", limits::STEPS)));
}

#[test]
fn a_simulation_stops_at_its_limit_of_refreshes_and_says_so() {
    // A field that is renewed ten times a second on a panel that follows: the limit comes before the days are over.
    let device = format!(
        "{}\n[fields.fast]\nrange = [0, 9]\nevery = \"0.1 s\"\nsignal = {{ count = {{ step = 1 }} }}\n",
        DEVICE.replacen("[usage]", "[usage]\ndays = 366", 1)
    );
    let files = [file("device.toml", device), file("screens/home.toml", HOME), file("screens/empty.toml", HOME)];
    let Ok(loaded) = load_files(Files::from_memory(files.to_vec())) else { return };
    let counts = simulate(&loaded.device, &loaded.device.inputs.typical());
    assert!(counts.full + counts.partial <= limits::UPDATES);
    assert_eq!(counts.stopped_early, counts.full + counts.partial == limits::UPDATES);
}

#[test]
fn too_large_scales_are_wrong_usage() {
    let scale = (limits::SCALE + 1).to_string();
    let output = Command::new(env!("CARGO_BIN_EXE_inkjoule"))
        .args(["render", "screens-demo", "--scale", &scale, "--out", "unused"])
        .output()
        .expect("started");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("16"));
}

#[test]
fn a_face_of_too_many_glyphs_is_refused() {
    let mut face = "STARTFONT 2.1\nFONT x\nSIZE 8 75 75\nFONTBOUNDINGBOX 1 1 0 0\nSTARTPROPERTIES 2\nFONT_ASCENT 1\nFONT_DESCENT 0\nENDPROPERTIES\n".to_owned();
    let _ = writeln!(face, "CHARS {}", limits::GLYPHS + 1);
    for n in 0..=limits::GLYPHS {
        let _ = writeln!(face, "STARTCHAR c{n}\nENCODING {}\nDWIDTH 1 0\nBBX 1 1 0 0\nBITMAP\n80\nENDCHAR", n + 32);
    }
    face += "ENDFONT\n";
    let error = inkjoule::screen::face::bdf::read("x", &face).err().map(|error| error.message).unwrap_or_default();
    assert!(error.contains("65536"), "{error}");
}

#[test]
fn dumps_beyond_the_limit_are_refused_in_every_form() {
    use inkjoule::verify::dump::{Form, read};
    let one_more = limits::DUMP_BYTES + 1;
    assert!(read(&vec![0; one_more - 1], Form::Raw).is_ok());
    let refused = |bytes: &[u8], form| read(bytes, form).expect_err("too many bytes").message;
    let most = format!("at most {}", limits::DUMP_BYTES);
    assert!(refused(&vec![0; one_more], Form::Raw).contains(&most));
    assert!(refused("0 ".repeat(one_more).as_bytes(), Form::Hex).contains(&most));
    // 65,537 records of 256 bytes less one each, the sum of every record's bytes being a multiple of 256.
    let record = format!(":FF000000{}01\n", "00".repeat(255));
    let records = one_more / 255 + 1;
    assert!(refused(record.repeat(records).as_bytes(), Form::IntelHex).contains(&most));
}

#[test]
fn a_trace_of_too_many_updates_is_refused_with_a_remedy() {
    use inkjoule::trace::{Settings, read_from};
    use std::fmt::Write as _;
    // Each update is a single step up of 40 ms, a fifth of a second after the one before.
    let mut text = String::from("time s,current A\n");
    for update in 0..limits::TRACE_UPDATES + 3 {
        let start = update as f64 * 0.2;
        let _ = writeln!(text, "{start:.2},0.000002\n{:.2},0.005\n{:.2},0.000002", start + 0.03, start + 0.07);
    }
    let settings = Settings { min_duration: inkjoule::units::Seconds(0.03), ..Settings::default() };
    let refused = read_from("trace.csv", std::io::Cursor::new(text.as_bytes()), text.len() as u64, &settings);
    let refused = refused.map(|trace| trace.updates.len());
    let said = format!("{:?}", refused.expect_err("some updates too many"));
    assert!(said.contains(&format!("more than {} updates", limits::TRACE_UPDATES)), "{said}");
    assert!(said.contains("--threshold"), "{said}");
}
