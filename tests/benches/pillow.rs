//! Packing and dithering against Pillow, which a Python process runs in turn with this one.

use super::frames::{SIZES, tiled};
use super::pair::{Pair, Timed, median, pair, timed};
use super::table::{Table, Target};
use crc::{CRC_32_ISO_HDLC, Crc};
use inkjoule::frame::pack::pack;
use inkjoule::frame::turn::Turn;
use inkjoule::frame::{Bit, BitOrder, Frame, Gray, Method, Packing, dither, files};
use std::cell::RefCell;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::Duration;

/// A Python process with some pictures.
struct Pillow {
    child: Child,
    ask: ChildStdin,
    answers: BufReader<ChildStdout>,
}

impl Pillow {
    /// Begins; `Err` tells what is not there.
    fn begin(pictures: &[&Path]) -> Result<Self, String> {
        let python = std::env::var_os("PYTHON").unwrap_or_else(|| "python3".into());
        let has = Command::new(&python).args(["-c", "import PIL"]).stderr(Stdio::null()).status();
        if !has.is_ok_and(|status| status.success()) {
            return Err("needs python3 with Pillow; PYTHON names another interpreter".into());
        }
        let mut command = Command::new(&python);
        command.arg("tests/benches/pillow.py").args(pictures).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().map_err(|why| why.to_string())?;
        let (ask, answers) = child.stdin.take().zip(child.stdout.take()).ok_or("no pipes")?;
        Ok(Self { child, ask, answers: BufReader::new(answers) })
    }

    fn answer(&mut self, picture: usize, work: &str, times: u64) -> u64 {
        writeln!(self.ask, "{picture} {work} {times}").expect("Pillow listens");
        let mut line = String::new();
        self.answers.read_line(&mut line).expect("Pillow answers");
        line.trim().parse().expect("Pillow answers with a number")
    }
}

impl Drop for Pillow {
    fn drop(&mut self) {
        // It has nothing to save.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// All rows.
pub fn rows(table: &mut Table) {
    const NAMES: [&str; 2] = ["against Pillow: pack, all layouts", "against Pillow: dither"];
    if !NAMES.iter().any(|name| table.wants(name)) {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let frames: Vec<Frame> = SIZES.iter().map(|(width, height)| tiled(*width, *height)).collect();
    let gray = photograph(800, 480);
    let mut paths = Vec::new();
    for (index, frame) in frames.iter().enumerate() {
        paths.push(folder.path().join(format!("{index}.pbm")));
        fs::write(&paths[index], files::pbm(frame)).expect("an image");
    }
    paths.push(folder.path().join("gray.pgm"));
    let pgm = [format!("P5 {} {} 255\n", gray.width, gray.height).into_bytes(), gray.pixels.clone()].concat();
    fs::write(&paths[2], pgm).expect("an image");
    let paths: Vec<&Path> = paths.iter().map(|path| path.as_path()).collect();
    let pillow = match Pillow::begin(&paths) {
        Ok(pillow) => RefCell::new(pillow),
        Err(why) => return NAMES.iter().for_each(|name| table.missing(name, &why)),
    };
    if table.wants(NAMES[0]) {
        frames.iter().enumerate().for_each(|(picture, frame)| layouts(table, &pillow, picture, frame));
    }
    for (name, work, method) in
        [("Floyd-Steinberg", "dither", Method::FloydSteinberg), ("threshold", "threshold", Method::Threshold(128))]
    {
        let ours = timed(|| dither(&gray, method));
        let name = format!("{}, {name}, 800 x 480", NAMES[1]);
        table.pair(&name, Target::Faster(2.0), "Pillow's convert or point", ours, theirs(&pillow, 2, work));
    }
}

fn theirs<'a>(pillow: &'a RefCell<Pillow>, picture: usize, work: &str) -> Timed<'a> {
    let work = work.to_owned();
    Box::new(move |times| Duration::from_nanos(pillow.borrow_mut().answer(picture, &work, times)))
}

/// Every layout there is; the table tells the middle one and the one with the smallest gain.
fn layouts(table: &mut Table, pillow: &RefCell<Pillow>, picture: usize, frame: &Frame) {
    let crc = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let measure = |packing: &Packing| -> Pair {
        let work = in_pillow(packing, frame);
        let bytes = pack(frame, packing).expect("a layout without a stride");
        let same = u64::from(crc.checksum(&bytes)) == pillow.borrow_mut().answer(picture, &work, 0);
        assert!(same, "Pillow packs {packing:?} alike");
        pair(timed(|| pack(frame, packing)), theirs(pillow, picture, &work))
    };
    let all: Vec<Pair> = Packing::all().iter().map(measure).collect();
    let size = format!("{} x {}", frame.width(), frame.height());
    let middle = |of: fn(&Pair) -> f64| median(all.iter().map(of).collect());
    let middle = Pair { ours: middle(|row| row.ours), plain: middle(|row| row.plain), gain: middle(|row| row.gain) };
    let against = "Pillow: transpose, tobytes";
    table.row(&format!("pack, middle of {} layouts, {size}", all.len()), Target::Faster(10.0), against, middle);
    if let Some(least) = all.into_iter().min_by(|a, b| a.gain.total_cmp(&b.gain)) {
        table.row(&format!("pack, the layout with the least gain, {size}"), Target::Faster(10.0), against, least);
    }
}

/// A packing in the words of `pillow.py`.
fn in_pillow(packing: &Packing, frame: &Frame) -> String {
    // Upright strips are those of the transposed picture, whose lines are then taken apart.
    let upright = !packing.strips_lie_in_lines();
    let line = packing.line_turn();
    let turn = if upright { line.then_transpose() } else { line };
    let name = match (turn.transpose, turn.mirror, turn.flip) {
        (false, false, false) => "NONE",
        (false, true, false) => "FLIP_LEFT_RIGHT",
        (false, false, true) => "FLIP_TOP_BOTTOM",
        (false, true, true) => "ROTATE_180",
        (true, false, false) => "TRANSPOSE",
        // Pillow turns against the clock.
        (true, true, false) => "ROTATE_270",
        (true, false, true) => "ROTATE_90",
        (true, true, true) => "TRANSVERSE",
    };
    // In Pillow black is 0.
    let raw = match (packing.pixel_polarity, packing.bits) {
        (Bit::One, BitOrder::MsbFirst) => "1;I",
        (Bit::One, BitOrder::LsbFirst) => "1;IR",
        (Bit::Zero, BitOrder::MsbFirst) => "1",
        (Bit::Zero, BitOrder::LsbFirst) => "1;R",
    };
    let (_, down) = Turn::size(line, frame.width(), frame.height());
    format!("pack:{name}:{raw}:{}", if upright { down.div_ceil(8) } else { 0 })
}

/// A gray picture with soft and hard parts.
fn photograph(width: u32, height: u32) -> Gray {
    let value = |x: u32, y: u32| {
        let wave = (f64::from(x) / 37.0).sin() * (f64::from(y) / 23.0).cos();
        (128.0 + 100.0 * wave + f64::from((x * 7919 + y * 104_729) % 23)).clamp(0.0, 255.0) as u8
    };
    let pixels = (0..height).flat_map(|y| (0..width).map(move |x| value(x, y))).collect();
    Gray::new(width, height, pixels).expect("as many pixels as the size says")
}
