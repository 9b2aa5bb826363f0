//! A starter project in a folder of its own, as `inkjoule new` writes it, to be changed by a test.
#![allow(dead_code)]

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use tempfile::TempDir;

pub struct Project {
    folder: TempDir,
}

pub struct Shown {
    pub status: i32,
    pub stdout: String,
    pub stderr: String,
}

/// Runs the program.
pub fn run(arguments: &[&str]) -> Shown {
    shown(Command::new(env!("CARGO_BIN_EXE_inkjoule")).args(arguments).env_remove("COLUMNS"))
}

/// Runs the program for lines of so many characters.
pub fn run_within(columns: usize, arguments: &[&str]) -> Shown {
    shown(Command::new(env!("CARGO_BIN_EXE_inkjoule")).args(arguments).env("COLUMNS", columns.to_string()))
}

/// The same once for all tests: of a project whose files nobody changes.
pub fn kept_within(columns: usize, arguments: &[&str]) -> Arc<Shown> {
    type Kept = BTreeMap<(usize, Vec<String>), Arc<OnceLock<Arc<Shown>>>>;
    static KEPT: Mutex<Kept> = Mutex::new(BTreeMap::new());
    let key = (columns, arguments.iter().map(ToString::to_string).collect());
    let place = KEPT.lock().unwrap_or_else(PoisonError::into_inner).entry(key).or_default().clone();
    place.get_or_init(|| Arc::new(run_within(columns, arguments))).clone()
}

/// The page of a project's report.
pub fn report(project: &str, extra: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("report.html");
    let arguments = [&["report", project, "--out", path.to_str().expect("a plain path")], extra].concat();
    let shown = run(&arguments);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    std::fs::read_to_string(path).expect("the report is there")
}

/// The demo's report, made once for all tests.
pub fn demo_report() -> &'static str {
    static REPORT: OnceLock<String> = OnceLock::new();
    REPORT.get_or_init(|| report("screens-demo", &[]))
}

/// The report of the demo with another panel, beside the demo as it stands; made once for all tests.
pub fn changed_report() -> &'static str {
    static REPORT: OnceLock<String> = OnceLock::new();
    REPORT.get_or_init(|| report("screens-demo", &[&CHANGE[..], &["--against", "screens-demo"]].concat()))
}

/// What is changed in it.
pub const CHANGE: [&str; 2] = ["--set", "panel.sleep=40 uA"];

fn shown(command: &mut Command) -> Shown {
    let output = command.output().expect("the program starts");
    Shown {
        status: output.status.code().expect("the program was not killed"),
        stdout: String::from_utf8(output.stdout).expect("UTF-8 on standard output"),
        stderr: String::from_utf8(output.stderr).expect("UTF-8 on standard error"),
    }
}

impl Project {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let shown = run(&["new", folder.path().to_str().expect("a plain path")]);
        assert_eq!(shown.status, 0, "{}", shown.stderr);
        let project = Self { folder };
        // The product is called like its folder, whose name is another one each time.
        let name = project.folder().file_name().expect("a name").to_str().expect("a plain name").to_owned();
        project.edit("device.toml", &format!("name = \"{name}\""), "name = \"My instrument\"");
        project
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn path(&self) -> &str {
        self.folder.path().to_str().expect("a plain path")
    }

    /// Replaces a text that must be there.
    pub fn edit(&self, file: &str, from: &str, to: &str) {
        let path = self.folder.path().join(file);
        let text = std::fs::read_to_string(&path).expect("the file is there");
        assert!(from == to || text.contains(from), "{file} does not contain {from:?}");
        std::fs::write(path, text.replace(from, to)).expect("the file can be written");
    }

    pub fn write(&self, file: &str, bytes: &[u8]) {
        let path = self.folder.path().join(file);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("the folder can be made");
        std::fs::write(path, bytes).expect("the file can be written");
    }
}

/// A PNG that declares a size and holds no pixels.
pub fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut header = [width.to_be_bytes(), height.to_be_bytes()].concat();
    header.extend([8, 0, 0, 0, 0]);
    // An empty zlib stream: header, one empty stored block, Adler-32 of nothing.
    let nothing = [0x78, 0x01, 0x01, 0, 0, 0xff, 0xff, 0, 0, 0, 1];
    let chunk = |name: &[u8], data: &[u8]| {
        let named = [name, data].concat();
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(&named);
        [&(data.len() as u32).to_be_bytes(), named.as_slice(), &crc.to_be_bytes()].concat()
    };
    let chunks = [chunk(b"IHDR", &header), chunk(b"IDAT", &nothing), chunk(b"IEND", &[])].concat();
    [b"\x89PNG\r\n\x1a\n".as_slice(), &chunks].concat()
}
