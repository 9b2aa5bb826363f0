//! A program in C that runs scripts, and the comparison of what it tells with what the machine here tells.

use super::machine_occurrences::Seen;
use super::machine_script::Script;
use crate::firmware::{C99, cc, compile, export, object, order};
use inkjoule::device::Device;
use inkjoule::export::c::live::CODE;
use inkjoule::firmware::rules::Rules;
use std::io::Write;
use std::process::{Command, Stdio};

const SANITIZED: [&str; 3] = ["-g1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];
/// The machine's files.
pub const MACHINE: &str = "ink_machine.c";

/// A program in C that runs scripts of any design.
pub struct Program(tempfile::TempDir);

impl Program {
    /// For any design: the pictures come in with the scripts.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        for (file, text) in CODE {
            std::fs::write(folder.path().join(file), text).expect("written");
        }
        Self::build(folder, &[])
    }

    /// For one design, which draws its own pictures; the panel may remember them for its strips.
    pub fn drawing(device: &Device, remembers: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(device), "c-live", folder.path());
        let memo = if remembers { "-DINK_MEMO=1" } else { "-DINK_MEMO=0" };
        Self::build(folder, &["-DINK_DESIGN", "-DINK_PICTURES", memo, "ink_draw.c", "screens_live.c"])
    }

    /// For one design, of which the pictures come in with the scripts: the machine is built for it alone.
    pub fn stated(device: &Device) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        export(&order(device), "c-live", folder.path());
        Self::build(folder, &["-DINK_DESIGN", "-DINK_MEMO=0", "screens_live.c"])
    }

    fn build(folder: tempfile::TempDir, more: &[&str]) -> Self {
        std::fs::write(folder.path().join("scripts.c"), include_str!("../firmware/machine_scripts.c"))
            .expect("written");
        let (flags, files): (Vec<&str>, Vec<&str>) = more.iter().partition(|word| word.starts_with('-'));
        let flags = [&C99[..], &SANITIZED, &flags].concat();
        let names = [&[MACHINE, "scripts.c"], &files[..]].concat();
        // What is the same for every design is compiled once, and worth optimising.
        let level = |name: &str| if name == "ink_draw.c" || !flags.contains(&"-DINK_DESIGN") { "-O1" } else { "-O0" };
        let object = |name: &&str| object(&cc(), folder.path(), name, &[&flags[..], &[level(name)]].concat());
        let objects: Vec<String> = names.iter().map(object).collect();
        let objects: Vec<&str> = objects.iter().map(String::as_str).collect();
        compile(&cc(), folder.path(), &[&flags[..], &objects, &["-o", "scripts"]].concat());
        Self(folder)
    }

    fn run(&self, input: Vec<u8>) -> (Vec<u8>, String) {
        let mut child = Command::new(self.0.path().join("scripts"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        let mut stdin = child.stdin.take().expect("piped");
        let writer = std::thread::spawn(move || {
            let _ = stdin.write_all(&input);
        });
        let output = child.wait_with_output().expect("ends");
        let _ = writer.join();
        (output.stdout, format!("{} {}", output.status, String::from_utf8_lossy(&output.stderr)))
    }
}

/// What scripts came to: updates, and how often each thing of the flow occurred.
#[derive(Default)]
pub struct Ran {
    /// Updates.
    pub updates: usize,
    /// How often each thing occurred.
    pub seen: Seen,
}

/// Runs so many scripts of a device in one process; gives how many updates they had.
pub fn scripts(program: &Program, device: &Device, seed: u64, count: u64, steps: usize, about: &str) -> Ran {
    run_scripts(program, device, 0, seed, count, steps, about)
}

/// As [`scripts`], where charts keep their past in so many bytes.
pub fn run_scripts(
    program: &Program,
    device: &Device,
    past: usize,
    seed: u64,
    count: u64,
    steps: usize,
    about: &str,
) -> Ran {
    let packing = &device.panel.packing;
    let rules = Rules::of(device, packing, past).expect("the rules can be written");
    let size = device.panel.size();
    let stride = packing.stride_of(size.width, size.height).expect("fits");
    let lines = packing.plane().size(size.width, size.height).expect("fits") as u32 / stride;
    let mut input = (rules.bytes.len() as u32).to_le_bytes().to_vec();
    input.extend(&rules.bytes);
    input.extend((lines as u16).to_le_bytes());
    input.extend((stride as u16).to_le_bytes());
    input.push(packing.pixel_polarity.into());
    input.extend((device.fields.len() as u16).to_le_bytes());
    input.extend((device.screens.len() as u16).to_le_bytes());
    [rules.cells, rules.panel_cells]
        .as_flattened()
        .iter()
        .for_each(|cells| input.extend((*cells as u32).to_le_bytes()));
    let mut expected: Vec<u8> = Vec::new();
    let mut marks = Vec::new();
    let mut ran = Ran::default();
    for script in 0..count {
        let mut run = Script::new(device, seed + script);
        if script > 0 {
            // The frames that the program holds are those of the script before.
            run.sent = [None, None];
        }
        for _ in 0..steps {
            run.step();
        }
        input.extend(&run.input);
        marks.extend(run.marks.into_iter().map(|(at, what)| (expected.len() + at, what)));
        expected.extend(&run.expected);
        ran.updates += run.updates;
        ran.seen.add(&run.seen);
    }
    // For processors that are emulated; see `tests/firmware/emulated.sh`.
    if let Ok(folder) = std::env::var("INK_SCRIPTS") {
        let name = about.replace(' ', "-");
        for (ending, bytes) in [("in", &input), ("out", &expected)] {
            std::fs::write(format!("{folder}/{name}.{ending}"), bytes).expect("written");
        }
    }
    let (told, said) = program.run(input);
    if told != expected {
        let differs = told.iter().zip(&expected).position(|(a, b)| a != b).unwrap_or(told.len().min(expected.len()));
        let at = marks.partition_point(|(at, _)| *at <= differs) - 1;
        let end = marks.get(at + 1).map_or(expected.len(), |(at, _)| *at);
        let begin = marks[at].0;
        let history: Vec<&str> = marks[at.saturating_sub(12)..=at].iter().map(|(_, what)| what.as_str()).collect();
        panic!(
            "{about}: {said}\n{history:#?}\nat byte {} of the answer\n expected {:?}\n told     {:?}",
            differs - begin,
            &expected[begin..end],
            told.get(begin..end.min(told.len()))
        );
    }
    ran
}
