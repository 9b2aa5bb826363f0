//! The crate of `rust-live`: it compiles without the standard library and without a warning, its C is that of `c-live`, and a
//! program in Rust that drives it tells and shows the same as the program in C.
//!
//! Not for what a design does: that is compared in `machine_scripts.rs`. The crate's build by cargo needs the network; what it
//! does (compile the C, compile the Rust, link both) is done here by hand.

use super::export_costs::demo;
use crate::firmware::{C99, cc, compile, export, object, orchard, order, product, starter};
use inkjoule::device::Device;
use inkjoule::export::{Order, target};
use inkjoule::project::load_files;
use inkjoule::screen::ScreenId;
use inkjoule::source::files::Files;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use tempfile::TempDir;

/// What the C standard leaves undefined stops the program.
const FLAGS: [&str; 4] = ["-std=c99", "-O1", "-fsanitize=undefined", "-fsanitize-undefined-trap-on-error"];

/// The compiler of Rust beside the cargo that runs this.
fn rust(program: &str) -> Command {
    let beside = Path::new(env!("CARGO")).with_file_name(program);
    Command::new(if beside.exists() { beside } else { program.into() })
}

/// The compiler of Rust in a folder; every warning is an error.
pub fn rustc(folder: PathBuf, arguments: &[&str]) -> std::process::Output {
    let always = ["--edition", "2021", "-D", "warnings"];
    rust("rustc").current_dir(folder).args(always).args(arguments).output().expect("the compiler of Rust")
}

fn compiled(folder: &Path, arguments: &[&str]) {
    let output = rustc(folder.to_owned(), arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// The crate of an order, written and compiled: its C as an archive, its Rust as a library.
pub struct Crate {
    folder: TempDir,
    /// Its name.
    pub name: String,
}

impl Crate {
    fn written(order: &Order<'_>) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        export(order, "rust-live", folder.path());
        Self { folder, name: format!("{}_live", order.prefix) }
    }

    /// Written and compiled.
    pub fn of(order: &Order<'_>) -> Self {
        let written = Self::written(order);
        let c = written.path("c");
        std::fs::copy(written.path("src/store.c"), c.join("store.c")).expect("copied");
        let sources = ["ink_draw.c", "ink_machine.c", "ink_seal.c", "store.c", &format!("{}.c", written.name)];
        let objects = sources.map(|source| object(&cc(), &c, source, &FLAGS));
        let archive = Command::new("ar").current_dir(&c).args(["rcs", "libdevice.a"]).args(objects).status();
        assert!(archive.expect("an archive").success());
        let name = written.name.as_str();
        let library = ["--crate-type", "rlib", "--crate-name", name, "src/lib.rs", "-o", &format!("lib{name}.rlib")];
        compiled(written.folder.path(), &library);
        written
    }

    /// A file of it.
    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    fn text(&self, file: &str) -> String {
        std::fs::read_to_string(self.path(file)).expect("written")
    }

    /// A program of its own over the crate.
    pub fn program(&self, source: &str, program: &str) -> PathBuf {
        let library = format!("{0}=lib{0}.rlib", self.name);
        let link = ["-L", "c", "-l", "static=device"];
        compiled(
            self.folder.path(),
            &[&[source, "--crate-name", program, "--extern", &library, "-o", program], &link[..]].concat(),
        );
        self.path(program)
    }
}

/// The demo's crate, compiled once.
fn demo_crate() -> &'static Crate {
    static CRATE: OnceLock<Crate> = OnceLock::new();
    CRATE.get_or_init(|| Crate::of(&order(&demo())))
}

/// The orchard's crate, compiled once. No field chooses its locale.
pub fn orchard_crate() -> &'static Crate {
    static CRATE: OnceLock<Crate> = OnceLock::new();
    CRATE.get_or_init(|| Crate::of(&order(&orchard())))
}

/// The second product's crate, compiled once. It remembers what it draws, so that its state has a memo.
pub fn product_crate() -> &'static Crate {
    static CRATE: OnceLock<Crate> = OnceLock::new();
    CRATE.get_or_init(|| {
        let device = product();
        assert!(device.policy.memo.is_some());
        Crate::of(&order(&device))
    })
}

/// What a program says to a script, and the images that it writes.
pub fn play(program: &Path, script: &str) -> (String, BTreeMap<String, Vec<u8>>) {
    use std::io::Write;
    let folder = tempfile::tempdir().expect("a folder");
    let child = Command::new(program).arg(folder.path()).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let mut child = child.expect("starts");
    child.stdin.take().expect("piped").write_all(script.as_bytes()).expect("written");
    let output = child.wait_with_output().expect("ends");
    assert!(output.status.success(), "{}: {:?}\n{script}", program.display(), output.status);
    let images = std::fs::read_dir(folder.path()).expect("a folder").map(|entry| {
        let entry = entry.expect("an entry");
        (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).expect("an image"))
    });
    (String::from_utf8(output.stdout).expect("text"), images.collect())
}

/// Keys, holds, events, values and temperatures, some of which the design does not have or know.
fn script(device: &Device, random: &mut ChaCha8Rng) -> String {
    let mut text = String::new();
    for _ in 0..50 {
        let wait = [0, 1, 60, 400, 1_500, 20_000, 300_000, 3_000_000][random.random_range(0..8)];
        let field = random.random_range(0..=device.fields.len());
        let number = match random.random_range(0..8) {
            0 => i64::from(i32::MIN),
            1 => i64::from(i32::MAX),
            2 => random.random_range(-40_000..40_000),
            _ => random.random_range(0..120),
        };
        let key = random.random_range(1..=device.keys() + 1);
        let what = match random.random_range(0..14) {
            0..=4 => format!("press {key}"),
            5 => format!("down {key}"),
            6 => format!("up {key}"),
            7 | 8 => format!("event {}", random.random_range(0..=device.events.len())),
            9 | 10 => format!("measure {field} {number}"),
            11 => format!("arrive {field} {number}"),
            12 => format!("temperature {}", [-300, -20, 80, 200, 200, 200, 450, 700][random.random_range(0..8)]),
            _ => "wait".to_owned(),
        };
        text += &format!("{wait} {what}\n");
    }
    text
}

/// The programs in both languages over the same objects of C.
fn programs(device: &Device, built: &Crate) -> [PathBuf; 2] {
    export(&order(device), "c-main", &built.path("c"));
    let c = built.path("c");
    let main = object(&cc(), &c, "screens_main.c", &[&FLAGS[..], &["-DINK_HOST"]].concat());
    compile(&cc(), &c, &[main.as_str(), "libdevice.a", "-o", "../in-c"]);
    [built.path("in-c"), built.program("examples/host.rs", "host")]
}

/// Random scripts tell the same lines and write the same images in both languages.
fn runs_alike(device: &Device, built: &Crate, scripts: u64) {
    export(&order(device), "c-live", &built.path("of-c-live"));
    for entry in std::fs::read_dir(built.path("of-c-live")).expect("a folder") {
        let name = entry.expect("an entry").file_name();
        let read = |folder: &str| std::fs::read(built.path(folder).join(&name)).expect("written");
        assert!(read("of-c-live") == read("c"), "{name:?} is not that of c-live");
    }
    let [in_c, in_rust] = programs(device, built);
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let (mut partial, mut full) = (0, 0);
    for _ in 0..scripts {
        let script = script(device, &mut random);
        let ((told, images), (other_told, other_images)) = (play(&in_c, &script), play(&in_rust, &script));
        assert_eq!(told, other_told, "{}:\n{script}", device.name);
        assert!(images == other_images && !images.is_empty(), "{}: images differ\n{script}", device.name);
        partial += told.matches(": partial").count();
        full += told.matches(": full").count();
    }
    assert!(partial > 20 && full > 5, "{}: {partial} partial, {full} full", device.name);
}

#[test]
fn a_program_in_rust_runs_the_demo_as_the_program_in_c() {
    runs_alike(&demo(), demo_crate(), 4);
}

#[test]
fn a_program_in_rust_runs_the_orchard_as_the_program_in_c() {
    runs_alike(&orchard(), orchard_crate(), 4);
}

#[test]
fn a_program_in_rust_runs_the_second_product_as_the_program_in_c() {
    runs_alike(&product(), product_crate(), 16);
}

/// The files are formatted as they should be, and nothing of a template is left in them.
#[test]
fn the_crate_is_written_as_by_hand() {
    let built = demo_crate();
    let files = ["--edition", "2021", "--check", "src/lib.rs", "examples/host.rs", "build.rs"];
    // The formatter comes with most installations of Rust, not with all.
    if rust("rustfmt").arg("--version").output().is_ok_and(|output| output.status.success()) {
        let output = rust_in(built, rust("rustfmt").args(files));
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    }
    let unsafes = |file: &str| built.text(file).matches("unsafe {").count();
    for file in ["src/lib.rs", "src/device.rs", "src/task.rs", "examples/host.rs"] {
        assert_eq!(unsafes(file), 0, "{file}");
    }
    assert_eq!(unsafes("src/ffi.rs"), built.text("src/ffi.rs").matches("// SAFETY: ").count() - 1, "one is of Send");
    for file in ["Cargo.toml", "build.rs", "src/lib.rs", "src/ffi.rs", "src/store.c", "examples/host.rs"] {
        assert!(!built.text(file).contains('@'), "{file}");
    }
    let manifest: toml::Table = built.text("Cargo.toml").parse().expect("TOML");
    assert_eq!(manifest["package"]["name"].as_str(), Some("screens_live"));
    assert_eq!(manifest["build-dependencies"]["cc"].as_str(), Some("1"));
    let script = built.text("build.rs");
    for entry in std::fs::read_dir(built.path("c")).expect("a folder") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        let written = name.starts_with("ink_") || name.starts_with("screens_live");
        assert!(!(written && name.ends_with(".c")) || script.contains(&format!("\"c/{name}\"")), "{name}");
    }
}

/// Without the standard library, without allocation: of other code it asks for C of its own and for `core`, and its C asks for
/// what `c-live` does.
#[test]
fn the_crate_asks_for_nothing() {
    let built = demo_crate();
    let library = built.text("src/lib.rs");
    assert!(library.contains("\n#![no_std]\n"));
    for file in ["src/lib.rs", "src/device.rs", "src/task.rs", "src/ffi.rs"] {
        assert!(!["extern crate", "std::", "alloc::"].iter().any(|word| built.text(file).contains(word)), "{file}");
    }
    let store = Command::new("nm").current_dir(built.path("c")).args(["-u", "store.o"]).output().expect("binutils");
    let asked = String::from_utf8_lossy(&store.stdout).into_owned();
    for symbol in asked.lines().map(|line| line.trim().trim_start_matches("U ").trim_start_matches('_')) {
        let own = ["ink_", "screens_live_", "GLOBAL_"].iter().any(|own| symbol.starts_with(own));
        assert!(own, "store.c asks for {symbol}");
    }
}

fn rust_in(built: &Crate, command: &mut Command) -> std::process::Output {
    command.current_dir(built.folder.path()).output().expect("runs")
}

/// What stands in Rust for the numbers of the header: the same.
#[test]
fn its_numbers_are_those_of_the_header() {
    let (built, device) = (demo_crate(), demo());
    let (header, library) = (built.text("c/screens_live.h"), built.text("src/lib.rs"));
    let number = |name: &str| {
        let line = header.lines().find(|line| line.contains(&format!("SCREENS_LIVE_{name} ")))?;
        line.split(['=', ' ', ',', '(', ')', 'L']).filter_map(|word| word.parse::<i64>().ok()).next_back()
    };
    for name in ["WIDTH", "HEIGHT", "STRIDE", "LINES", "MIN_INTERVAL_MS", "FULL_FROM", "PARTIAL_TO", "MAX_PARTIALS"] {
        let value = number(name).unwrap_or_else(|| panic!("{name} in\n{header}"));
        assert!(
            library
                .lines()
                .any(|line| line.starts_with(&format!("pub const {name}: ")) && line.ends_with(&format!("= {value};"))),
            "{name} is {value}"
        );
    }
    let said = |about: &str| library.contains(&format!("    /// {about}"));
    for (screen, about) in device.screens.iter().zip(header.lines().filter(|line| line.contains("_SCREEN_"))) {
        let about = about.split_once("/* ").map(|(_, about)| about.trim_end_matches(" */"));
        assert!(about.is_none_or(&said), "{} in\n{library}", screen.id);
    }
    let fields = header.lines().filter(|line| line.contains("LIVE_FIELD_") && line.contains("/*"));
    let mut count = 0;
    for line in fields {
        let about = line.split_once("/* ").map_or("", |(_, about)| about.trim_end_matches(" */"));
        assert!(said(&about.replace("ink_arrived", "`Device::arrived`")), "{about}");
        count += 1;
    }
    assert_eq!(count, device.fields.len());
}

/// Rust keeps as many bytes for the state as C takes, here and on a processor with 32-bit addresses, and C does not compile
/// where they are too few.
#[test]
fn the_state_has_its_bytes_and_no_more() {
    for mut device in [demo(), orchard(), product(), starter()] {
        for memo in [None, Some(300)] {
            device.policy.memo = memo;
            let built = Crate::written(&order(&device));
            let (c, store) = (built.path("c"), built.text("src/store.c"));
            let compiles = |compiler: &str, text: String| {
                std::fs::write(c.join("store.c"), text).expect("written");
                let flags = ["-std=c99", "-Wall", "-Wextra", "-Wconversion", "-pedantic", "-Werror", "-c", "store.c"];
                Command::new(compiler)
                    .current_dir(&c)
                    .args(flags)
                    .stderr(Stdio::null())
                    .status()
                    .expect("runs")
                    .success()
            };
            let exact = store.replace("<= STATE_BYTES", "== STATE_BYTES");
            assert_ne!(exact, store);
            assert!(compiles(&cc(), exact.clone()), "{}", device.name);
            if crate::firmware::runs("arm-none-eabi-gcc") {
                assert!(compiles("arm-none-eabi-gcc", exact), "{}", device.name);
            }
            if memo.is_none() {
                continue;
            }
            // A structure that grows, tasks with a gap and numbers of another meaning are noticed.
            for (at, to) in [
                ("    struct ink_panel panel;", "    struct ink_panel panel;\n    uint8_t more[8];"),
                ("    uint16_t x, y, width", "    uint32_t x, y, width"),
                ("INK_LIMIT == 6", "INK_LIMIT == 7"),
            ] {
                let other = store.replace(at, to);
                assert_ne!(other, store);
                assert!(!compiles(&cc(), other), "{at} as {to} is not noticed");
            }
        }
    }
}

/// Flash on a Cortex-M0 beside that of `c-live`, as the compiler counts it.
#[test]
fn the_calls_between_the_languages_are_small() {
    if !crate::firmware::runs("arm-none-eabi-gcc") {
        println!("no compiler for Cortex-M0 here");
        return;
    }
    let built = product_crate();
    let flags = ["-mcpu=cortex-m0", "-mthumb", "-Os", "-std=c99", "-Ic", "-c", "src/store.c", "-o", "m0.o"];
    compile("arm-none-eabi-gcc", built.folder.path(), &flags);
    let sizes =
        Command::new("arm-none-eabi-size").current_dir(built.folder.path()).arg("m0.o").output().expect("binutils");
    let sizes = String::from_utf8_lossy(&sizes.stdout).into_owned();
    let row: Vec<usize> =
        sizes.lines().nth(1).unwrap_or_default().split_whitespace().map_while(|n| n.parse().ok()).collect();
    assert!(matches!(row[..], [400..=550, 0, 0, ..]), "{sizes}");
}

/// What `c-live` refuses is refused in the same words, and so is a part of a design, which has no rules.
#[test]
fn designs_that_cannot_run_are_refused_by_name() {
    let write = |to: &str, order: &Order<'_>| (target(to).expect("a target").write)(order);
    let mut device = starter();
    let part = Order { screens: vec![ScreenId(0)], ..order(&device) };
    let failed = write("rust-live", &part).expect_err("a part has no rules");
    assert!(format!("{failed:?}").contains("every screen and every locale"), "{failed:?}");
    device.panel.max_windows = 3;
    let [crate_, c] = ["rust-live", "c-live"].map(|to| write(to, &order(&device)).expect_err("one window at a time"));
    assert_eq!(format!("{crate_:?}"), format!("{c:?}"));
}

/// Names that are keywords, that become one in Rust, or that would leave a comment.
#[test]
fn names_stay_names_and_notes_stay_comments() {
    let mut device = product();
    for (field, name) in
        device.fields.iter_mut().zip(["self", "Self", "a-1", "a1", "α", "2nd", "all", "some", "*/ x", "a\u{202e}b"])
    {
        field.name = name.into();
    }
    for (event, name) in device.events.iter_mut().zip(["type", "Type", "*/ fn", "ALL"]) {
        event.name = name.into();
    }
    for (screen, id) in device.screens.iter_mut().zip(["fn", "home", "HOME", "b-1", "b1"]) {
        screen.id = id.into();
    }
    device.name = "x */ \n}} fn main() { @NAME@ [link] <b>".into();
    device.note = "\r\n#![feature] \u{2028}\"\\".into();
    let order = Order { prefix: "crate".into(), ..order(&device) };
    let mut built = Crate::written(&order);
    built.name = "x_crate_live".into();
    compiled(
        built.folder.path(),
        &["--crate-type", "rlib", "--crate-name", &built.name, "--emit", "metadata", "src/lib.rs"],
    );
    let library = built.text("src/lib.rs");
    assert!(
        library.starts_with("// Written by inkjoule")
            && library.contains("\n//! x \\*/  }} fn main() { @NAME@ \\[link\\] \\<b\\>.\n")
    );
    for name in ["XSelf", "XSelf2", "A1", "A1_2", "X", "X2nd", "All", "Some", "B1", "B1_2"] {
        assert!(library.lines().any(|line| line.trim().starts_with(&format!("{name} = "))), "{name} in\n{library}");
    }
    let docs = ["--crate-name", "x_crate_live", "--edition", "2021", "-D", "warnings", "src/lib.rs", "-o", "docs"];
    let output = rust_in(&built, rust("rustdoc").args(docs));
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// A sign with nothing but what it shows: the crate has no keys, no fields and no events. Its long text is one that the C does
/// not set, so that an area is left to the firmware.
#[test]
fn a_design_that_only_shows_something_is_a_crate() {
    let starter = include_str!("../../src/cli/starter/device.toml");
    let without = |text: &str, key: &str| {
        let mut table: toml::Table = text.parse().expect("TOML");
        table.remove(key);
        table.to_string()
    };
    let device = ["fields", "events"].iter().fold(starter.to_owned(), |text, key| without(&text, key));
    let mut table: toml::Table = device.parse().expect("TOML");
    table["display"].as_table_mut().expect("a table").remove("keys");
    table["display"].as_table_mut().expect("a table").remove("keys-at");
    table["usage"].as_table_mut().expect("a table").remove("journeys");
    let long = "Keep the lid of the well shut. ".repeat(5);
    let screen = format!("content = [ {{ text = \"Well 7\" }}, {{ text = \"{long}\", wrap = true }} ]\n");
    let files =
        Files::from_memory([("device.toml", table.to_string().as_str()), ("screens/home.toml", screen.as_str())]);
    let device = load_files(files).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device;
    assert!(device.fields.is_empty() && device.events.is_empty() && device.keys() == 0);
    let built = Crate::of(&order(&device));
    let [in_c, in_rust] = programs(&device, &built).map(|program| play(&program, "100 wait\n20000 wait\n"));
    assert!(in_c == in_rust && in_c.1.len() == 1, "{in_c:?}");
    assert!(built.text("src/lib.rs").contains("pub const OWN_AREAS: [OwnArea; 1] = ["));
    // The program in C is as strict as those of other designs.
    let strict = ["-DINK_HOST", "-c", "screens_main.c", "-o", "strict.o"];
    compile(&cc(), &built.path("c"), &[&C99[..], &strict].concat());
}
