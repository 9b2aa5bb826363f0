//! What the tests of firmware files share: a small project, the system's compilers, an independent walk over packed bytes.
#![allow(dead_code)]

pub mod cortex_m0;
pub mod drawn;

use inkjoule::device::Device;
use inkjoule::export::{Order, target};
use inkjoule::firmware::names;
use inkjoule::frame::{Axis, Bit, BitOrder, Frame, Packing, Scan};
use inkjoule::project::{load, load_files};
use inkjoule::screen::ScreenId;
use inkjoule::source::files::Files;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// The starter project.
pub fn starter() -> Device {
    let files = Files::from_memory([
        ("device.toml", include_str!("../../src/cli/starter/device.toml")),
        ("screens/home.toml", include_str!("../../src/cli/starter/home.toml")),
        ("screens/empty.toml", include_str!("../../src/cli/starter/empty.toml")),
    ]);
    load_files(files).expect("the starter project is sound").device
}

/// The demo in a plainer form, of which the C files run and draw everything.
pub fn orchard() -> Device {
    of_folder("tests/firmware/orchard")
}

/// The second product, which uses every feature of behaviour.
pub fn product() -> Device {
    of_folder("tests/product")
}

fn of_folder(folder: &str) -> Device {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    load(&folder, &[]).unwrap_or_else(|failed| panic!("{:#?}", failed.faults)).device
}

/// An order for everything of a device.
pub fn order(device: &Device) -> Order<'_> {
    Order {
        device,
        screens: (0..device.screens.len()).map(ScreenId).collect(),
        locales: (0..device.locales.len()).collect(),
        values: device.sample(),
        packing: device.panel.packing.clone(),
        prefix: "screens".into(),
        section: None,
        design: 0,
    }
}

/// Writes a target's files into a folder.
pub fn export(order: &Order<'_>, to: &str, folder: &Path) -> Vec<PathBuf> {
    let files = (target(to).expect("a known target").write)(order).expect("exports");
    let write = |(name, bytes): (String, Vec<u8>)| {
        let path = folder.join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(&path, bytes).expect("written");
        path
    };
    files.into_iter().map(write).collect()
}

/// The C compiler: `CC`, else `cc`. There is no test of C without one.
pub fn cc() -> String {
    std::env::var("CC").unwrap_or_else(|_| "cc".into())
}

/// C compilers to try: the usual one, and gcc and clang where present.
pub fn c_compilers() -> Vec<String> {
    let all = different([cc()].into_iter().chain(["gcc", "clang"].map(str::to_owned)));
    println!("C compilers: {all:?}");
    all
}

/// C++ compilers that are present.
pub fn cpp_compilers() -> Vec<String> {
    let named = std::env::var("CXX").ok();
    different(named.into_iter().chain(["c++", "g++", "clang++"].map(str::to_owned)))
}

/// Those of some compilers that are present, each once: `cc` is `gcc` by another name on most machines.
pub fn different(names: impl Iterator<Item = String>) -> Vec<String> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    // The file behind the name, and what it says of itself after its name: one wrapper may stand for several compilers.
    let compiler = |name: &str| {
        let output = Command::new(name).arg("--version").output().ok().filter(|output| output.status.success())?;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let found = std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file());
        let file = found.and_then(|file| file.canonicalize().ok()).unwrap_or_else(|| name.into());
        Some((file, said.split_once(' ').map(|(_, rest)| rest.to_owned())))
    };
    let mut known = Vec::new();
    let mut all = Vec::new();
    for name in names {
        let Some(compiler) = compiler(&name) else { continue };
        if !known.contains(&compiler) {
            known.push(compiler);
            all.push(name);
        }
    }
    all
}

/// Compiles C files of a folder with every compiler that is present, as strict C99 and as C++17; tells how often.
pub fn compile_everywhere(folder: &Path, files: &[&str], more: &[&str]) -> usize {
    let mut times = 0;
    for file in files {
        for compiler in c_compilers() {
            object(&compiler, folder, file, &[&C99[..], more].concat());
            times += 1;
        }
        for compiler in cpp_compilers() {
            let cpp = ["-std=c++17", "-Wall", "-Wextra", "-Werror", "-pedantic", "-x", "c++"];
            object(&compiler, folder, file, &[&cpp[..], more].concat());
            times += 1;
        }
    }
    times
}

/// Objects that were made already: by compiler, flags, the text of the file and of all that it includes.
static OBJECTS: Mutex<BTreeMap<String, Arc<OnceLock<Vec<u8>>>>> = Mutex::new(BTreeMap::new());

/// Compiles a C file of a folder and gives its object's name there. The same text with the same flags and compiler is
/// compiled once, however many designs it is exported with.
pub fn object(compiler: &str, folder: &Path, file: &str, flags: &[&str]) -> String {
    let mut texts = BTreeMap::new();
    with_included(folder, file, &mut texts);
    let key = format!("{compiler} {flags:?} {file} {texts:?}");
    let name = file.replace(".c", ".o");
    let made = OBJECTS.lock().unwrap_or_else(PoisonError::into_inner).entry(key).or_default().clone();
    let bytes = made.get_or_init(|| {
        compile(compiler, folder, &[flags, &["-c", file, "-o", &name]].concat());
        std::fs::read(folder.join(&name)).expect("an object")
    });
    std::fs::write(folder.join(&name), bytes).expect("written");
    name
}

/// The text of a file of a folder and of those that it includes from there, by name.
fn with_included(folder: &Path, file: &str, texts: &mut BTreeMap<String, String>) {
    if texts.contains_key(file) {
        return;
    }
    // A design's own header may lack where a condition leaves it out.
    let text = std::fs::read_to_string(folder.join(file)).unwrap_or_else(|error| error.to_string());
    texts.insert(file.to_owned(), text.clone());
    for included in text.lines().filter_map(|line| line.trim_start().strip_prefix("#include")) {
        match included.trim().split(['"', '<', '>']).collect::<Vec<_>>()[..] {
            [_, name, _] if included.contains('"') => with_included(folder, name, texts),
            [_, _, _] => (),
            _ => panic!("{file} includes what cannot be told: {included}"),
        }
    }
}

/// Whether a compiler is present.
pub fn runs(name: &str) -> bool {
    Command::new(name).arg("--version").output().is_ok_and(|output| output.status.success())
}

/// The strict flags of C99.
pub const C99: [&str; 5] = ["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic"];

/// Runs a compiler in a folder; on failure shows what it says.
pub fn compile(compiler: &str, folder: &Path, arguments: &[&str]) {
    let output = Command::new(compiler).current_dir(folder).args(arguments).output().expect("the compiler runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{compiler} {arguments:?}: {said}");
}

/// Runs a program in a folder and gives its output.
pub fn run(folder: &Path, program: &str, input: &[u8]) -> Vec<u8> {
    use std::io::Write;
    use std::process::Stdio;
    let mut child = Command::new(folder.join(program))
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts");
    let mut stdin = child.stdin.take().expect("piped");
    let input = input.to_vec();
    let writer = std::thread::spawn(move || {
        let _ = stdin.write_all(&input);
    });
    let output = child.wait_with_output().expect("ends");
    let _ = writer.join();
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// The name that a screen's array has.
pub fn array_name(id: &str) -> String {
    names::identifier(id)
}

/// Whether a pixel is ink in packed bytes, worked out from the description of [`Packing`] and nothing else: the point is
/// mirrored and rotated by hand, then strip, line and bit are counted.
pub fn ink_in(bytes: &[u8], packing: &Packing, width: u32, height: u32, x: u32, y: u32) -> bool {
    let (mut x, mut y, mut w, mut h) = (x, y, width, height);
    if packing.mirror {
        x = w - 1 - x;
    }
    for _ in 0..packing.rotation.degrees() / 90 {
        // A quarter turn clockwise: what was on the left is on top.
        (x, y) = (h - 1 - y, x);
        (w, h) = (h, w);
    }
    let (strip, line_length, line, pixel) = match (packing.scan, packing.along) {
        (Scan::Rows, Axis::X) => (x / 8, w.div_ceil(8), y, x % 8),
        (Scan::Rows, Axis::Y) => (x, w, y / 8, y % 8),
        (Scan::Columns, Axis::X) => (y, h, x / 8, x % 8),
        (Scan::Columns, Axis::Y) => (y / 8, h.div_ceil(8), x, y % 8),
    };
    let stride = packing.stride.unwrap_or(line_length);
    let byte = bytes[(line * stride + strip) as usize];
    let bit = match packing.bits {
        BitOrder::MsbFirst => 7 - pixel,
        BitOrder::LsbFirst => pixel,
    };
    (byte >> bit) & 1 == u8::from(packing.pixel_polarity == Bit::One)
}

/// Every pixel of packed bytes against a frame.
pub fn assert_holds(bytes: &[u8], packing: &Packing, frame: &Frame) {
    for y in 0..frame.height() {
        for x in 0..frame.width() {
            let found = ink_in(bytes, packing, frame.width(), frame.height(), x, y);
            assert_eq!(found, frame.ink(x, y), "pixel {x}, {y} under {packing:?}");
        }
    }
}
