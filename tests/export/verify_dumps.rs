//! Dumps from a device: the packing of random ones is found, damage is named with its elements, every form is read.

use crate::firmware::{order, starter};
use inkjoule::device::Device;
use inkjoule::frame::pack::{pack, pack_pair};
use inkjoule::frame::{Bit, Interleave, Packing, Planes};
use inkjoule::output::Overwrite;
use inkjoule::screen::ScreenId;
use inkjoule::verify::transport::{Damage, Swap, transported};
use inkjoule::verify::{Question, baseline, verify};
use rand::{RngExt, SeedableRng};
use std::process::{Command, Output};

fn question(device: &Device) -> Question<'_> {
    let order = order(device);
    Question { device, screens: order.screens, locales: order.locales, values: order.values, packing: order.packing }
}

#[test]
fn the_packing_of_a_thousand_random_dumps_is_found() {
    let device = starter();
    let question = question(&device);
    let size = device.panel.size();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(3);
    let all = Packing::all();
    for _ in 0..1000 {
        let mut packing = all[random.random_range(0..all.len())].clone();
        packing.padding = Bit::from(random.random_bool(0.5));
        if random.random_bool(0.3) {
            let needed = packing.stride_of(size.width, size.height).expect("fits");
            packing.stride = Some(needed + random.random_range(0..9));
        }
        let screen = ScreenId(random.random_range(0..device.screens.len()));
        let frame = device.draw(screen, 0, &question.values);
        let answer = verify(&question, &pack(&frame, &packing).expect("fits")).expect("a size that fits");
        assert_eq!((answer.changed, answer.screen), (0, screen), "{packing:?}");
        // The packing found packs the picture into the same bytes, padding aside.
        let found = Packing { padding: packing.padding, ..answer.packing.clone() };
        assert!(pack(&frame, &found) == pack(&frame, &packing), "{packing:?} was taken for {found:?}");
        let native = packing.same_order(&question.packing) && packing.stride.is_none_or(|stride| stride == 16);
        assert_eq!(answer.equal(), native);
    }
}

#[test]
fn two_planes_are_found_in_a_dump() {
    let device = starter();
    let question = question(&device);
    let home = device.screen("home").expect("the starter has it");
    let frame = device.draw(home, 0, &question.values);
    let before = device.draw(device.screen("empty").expect("the starter has it"), 0, &question.values);
    for planes in [Planes::OldNew, Planes::NewOld] {
        for interleave in Interleave::ALL {
            let sent = Packing { planes, interleave, ..question.packing.clone() };
            let dump = pack_pair(&before, &frame, &sent).expect("fits");
            let expecting = Question { packing: sent.clone(), screens: vec![home], ..self::question(&device) };
            let answer = verify(&expecting, &dump).expect("a size that fits");
            assert!(answer.equal(), "{sent:?} was taken for {:?}", answer.packing);
            // Who expects one plane is told how the two lie, or how one of them lies with a wider stride.
            let one = Question { screens: vec![home], ..self::question(&device) };
            let answer = verify(&one, &dump).expect("a size that fits");
            assert!(answer.changed == 0 && !answer.as_packed, "{sent:?}");
            assert!(answer.packing.same_order(&sent) || answer.packing.stride.is_some(), "{:?}", answer.packing);
        }
    }
}

#[test]
fn damage_is_named_with_its_elements() {
    let device = starter();
    let question = question(&device);
    let home = device.screen("home").expect("the starter has it");
    let mut frame = device.draw(home, 0, &question.values);
    // The figure is the element whose text follows a field in the large face.
    let items = &device.screens[home.0].pictures[0];
    let figure =
        items.iter().position(|item| item.shown() == [device.field("level").expect("a field")]).expect("an element");
    let spot = items[figure].area.center();
    frame.set(spot.x as u32, spot.y as u32, !frame.ink(spot.x as u32, spot.y as u32));
    let answer = verify(&question, &pack(&frame, &question.packing).expect("fits")).expect("fits");
    assert!(!answer.equal() && answer.as_packed);
    assert_eq!((answer.changed, answer.regions.len(), answer.screen), (1, 1, home));
    assert!(answer.regions[0].items.contains(&figure) && answer.regions[0].area.top_left == spot);
    assert!(verify(&question, &[0; 7]).is_none());
}

#[test]
fn a_baseline_shows_what_changed() {
    let device = starter();
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("accepted");
    assert!(baseline::compare(&device, &place).is_err());
    assert_eq!(baseline::accept(&device, &place, Overwrite::Own).expect("accepted"), device.screens.len());
    let same = baseline::compare(&device, &place).expect("compared");
    assert!(same.same == device.screens.len() && same.changes.is_empty() && same.gone.is_empty());
    std::fs::rename(place.join("home.pbm"), place.join("gone.pbm")).expect("renamed");
    let empty = device.screen("empty").expect("the starter has it");
    let mut frame = device.draw(empty, 0, &device.sample());
    frame.set(3, 100, !frame.ink(3, 100));
    std::fs::write(place.join("empty.pbm"), inkjoule::frame::files::pbm(&frame)).expect("written");
    let changed = baseline::compare(&device, &place).expect("compared");
    assert_eq!((changed.same, changed.gone.as_slice()), (0, &["gone.pbm".to_owned()][..]));
    let [first, second] = &changed.changes[..] else { panic!("{:?}", changed.changes.len()) };
    assert_eq!((first.file.as_str(), first.changed, second.file.as_str()), ("empty.pbm", 1, "home.pbm"));
    assert!(second.accepted.is_none());
    assert_eq!(baseline::pictures(&changed, 2).len(), 2);
}

fn inkjoule(folder: &std::path::Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_inkjoule")).current_dir(folder).args(arguments).output().expect("starts")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn the_command_reads_every_form_and_tells_by_its_status() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    assert!(inkjoule(at, &["new", "p"]).status.success());
    assert!(inkjoule(at, &["export", "p", "--to", "raw,c", "--out", "f"]).status.success());
    let raw = std::fs::read(at.join("f/home.bin")).expect("exported");
    let hex: String =
        raw.chunks(16).map(|line| line.iter().map(|byte| format!("{byte:02x} ")).collect::<String>() + "\n").collect();
    let c: String = format!(
        "static const unsigned char dump[] = {{ /* read back */ {} }};",
        raw.iter().map(|byte| format!("{byte}, ")).collect::<String>()
    );
    let record = |(index, data): (usize, &[u8])| {
        let mut bytes = vec![data.len() as u8, ((index * 16) >> 8) as u8, (index * 16) as u8, 0];
        bytes.extend(data);
        bytes.push(bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)).wrapping_neg());
        ":".to_owned() + &bytes.iter().map(|byte| format!("{byte:02X}")).collect::<String>() + "\n"
    };
    let records: String = raw.chunks(16).enumerate().map(record).collect::<String>() + ":00000001FF\n";
    for (name, content) in
        [("d.bin", raw.clone()), ("d.txt", hex.into_bytes()), ("d.c", c.into_bytes()), ("d.hex", records.into_bytes())]
    {
        std::fs::write(at.join(name), content).expect("written");
        let output = inkjoule(at, &["verify", name, "p"]);
        assert_eq!((output.status.code(), said(&output).as_str()), (Some(0), "equal to `home`\n"), "{name}");
    }
    let turned: Vec<u8> = raw.iter().map(|byte| byte.reverse_bits()).collect();
    std::fs::write(at.join("lsb.bin"), turned).expect("written");
    let output = inkjoule(at, &["verify", "lsb.bin", "p"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("bits = \"lsb-first\""), "{}", said(&output));
    let mut damaged = raw;
    damaged[700] ^= 0x18;
    std::fs::write(at.join("bad.bin"), &damaged).expect("written");
    let output = inkjoule(at, &["verify", "bad.bin", "p", "--format", "json", "--out", "diff"]);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!((output.status.code(), &answer["changed_px"], &answer["screen"]), (Some(1), &2.into(), &"home".into()));
    assert!(at.join("diff/difference.png").exists());
    for (dump, status) in [("missing.bin", 2), ("p/device.toml", 2)] {
        let output = inkjoule(at, &["verify", dump, "p"]);
        assert_eq!(output.status.code(), Some(status), "{}", said(&output));
    }
}

/// Noise was once taken for a screen in another packing: 49 % of its pixels differed.
#[test]
fn nothing_is_said_to_resemble_noise() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    inkjoule(folder.path(), &["new", "p"]);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    for length in [37 * 128, 4736, 2 * 4736, 40 * 128] {
        let noise: Vec<u8> = (0..length).map(|_| random.random_range(0..=255)).collect();
        std::fs::write(folder.path().join("noise.bin"), noise).expect("written");
        let output = inkjoule(folder.path(), &["verify", "noise.bin", "p"]);
        assert_eq!(output.status.code(), Some(1), "{}", said(&output));
        assert!(said(&output).contains("nothing resembles the dump"), "{}", said(&output));
        assert!(!said(&output).contains("in this order"), "{}", said(&output));
        let json = inkjoule(folder.path(), &["verify", "noise.bin", "p", "--format", "json"]);
        let value: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
        assert_eq!((&value["resembles"], &value["packing"]), (&false.into(), &serde_json::Value::Null));
    }
    std::fs::write(folder.path().join("text.txt"), "Nothing but words. ".repeat(250)).expect("written");
    let output = inkjoule(folder.path(), &["verify", "text.txt", "p"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("this is plain text"));
}

/// Opening a pipe that nobody writes to waits for ever.
#[cfg(unix)]
#[test]
fn a_pipe_is_refused_before_it_is_opened() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    inkjoule(folder.path(), &["new", "p"]);
    let made = Command::new("mkfifo").arg(folder.path().join("pipe")).status().expect("mkfifo");
    assert!(made.success());
    for arguments in [["verify", "pipe", "p"].as_slice(), &["trace", "pipe"]] {
        let output = inkjoule(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&output.stderr).contains("not a plain file"), "{arguments:?}");
    }
}

/// Each fault that a transport makes, at random places of a frame, is named as what it is.
#[test]
fn faults_of_the_transport_are_named() {
    let device = starter();
    let question = question(&device);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    let frame = |random: &mut rand_chacha::ChaCha8Rng| {
        let screen = ScreenId(random.random_range(0..device.screens.len()));
        (screen, pack(&device.draw(screen, 0, &question.values), &question.packing).expect("fits"))
    };
    let told = |dump: &[u8], screen: ScreenId| {
        let plain = verify(&question, dump).map(|answer| answer.changed);
        assert_ne!(plain, Some(0), "nothing happened to it");
        let found = transported(&question, dump, plain).expect("it is explained");
        assert_eq!((found.screen.map(|(screen, _)| screen), found.differ), (Some(screen), 0), "{found:?}");
        (found.way, found.words("it", &question.packing))
    };
    for _ in 0..8 {
        let (screen, bytes) = frame(&mut random);
        let stride = 16;
        // Bytes in which something stands, so that what happens there can be seen.
        let lively: Vec<usize> = (1..bytes.len() / 2).filter(|at| bytes[*at] != bytes[at - 1]).collect();
        let at = lively[random.random_range(0..lively.len())];
        for swap in Swap::ALL {
            assert_eq!(told(&swap.apply(&bytes), screen).0, Damage::Swapped(swap));
        }
        let mut lost = bytes.clone();
        lost.remove(at);
        lost.push(0xFF);
        let (way, said) = told(&lost, screen);
        let Damage::Shifted { from: (first, last), bits: -8 } = way else { panic!("{way:?}") };
        assert!(first <= at && at <= last + 1, "byte {at}: {way:?}");
        assert!(said.contains("1 byte is missing"), "{said}");
        let mut doubled = bytes.clone();
        doubled.insert(at, bytes[at]);
        doubled.truncate(bytes.len());
        let (way, said) = told(&doubled, screen);
        let Damage::Shifted { from: (first, last), bits: 8 } = way else { panic!("{way:?}") };
        assert!(first <= at + 1 && at <= last + 1 && said.contains("1 byte is too many"), "byte {at}: {way:?} {said}");
        // The whole stream some bits late: the clock's first edges were counted, or missed.
        let slip = random.random_range(1..8);
        let late: Vec<u8> = std::iter::once(0xFF)
            .chain(bytes.iter().copied())
            .zip(&bytes)
            .map(|(before, now)| (before << (8 - slip)) | (now >> slip))
            .collect();
        let (way, said) = told(&late, screen);
        assert!(matches!(way, Damage::Shifted { bits, .. } if bits == i64::from(slip)), "{way:?}");
        assert!(said.contains("bit"), "{said}");
        let lines = random.random_range(3..40);
        let mut moved = vec![0xA5; lines * stride];
        moved.extend(&bytes[..bytes.len() - lines * stride]);
        let (way, _) = told(&moved, screen);
        assert_eq!(way, Damage::Shifted { from: (0, 0), bits: 8 * (lines * stride) as i64 }, "{lines} lines");
    }
}

#[test]
fn parts_of_a_frame_are_found() {
    let device = starter();
    let question = question(&device);
    let bytes = pack(&device.draw(ScreenId(0), 0, &question.values), &question.packing).expect("fits");
    let found = |dump: &[u8]| transported(&question, dump, None).expect("it is explained");
    assert_eq!(found(&[0xFF; 4736]).way, Damage::Blank(0xFF));
    assert_eq!(found(&[0; 100]).way, Damage::Blank(0));
    assert_eq!(found(&bytes[..bytes.len() - 5]).way, Damage::Truncated);
    let mut longer = bytes.clone();
    longer.extend([1, 2, 3]);
    assert_eq!(found(&longer).way, Damage::Longer(3));
    let mut dummy = vec![0x5A];
    dummy.extend(&bytes);
    assert_eq!(found(&dummy).way, Damage::Shifted { from: (0, 0), bits: 8 });
    // A strip and a window in which something stands.
    let row = |line: usize| &bytes[line * 16..][..16];
    let line = (40..bytes.len() / 16 - 40).find(|line| row(*line) != row(line - 1)).expect("a lively line");
    let strip = found(&bytes[line * 16..][..512]);
    let Damage::Part { byte: 0, bytes: 16, line: first, lines: 32, .. } = strip.way else { panic!("{strip:?}") };
    assert_eq!(first, line);
    let window: Vec<u8> = (line..line + 24).flat_map(|line| bytes[line * 16 + 3..][..7].to_vec()).collect();
    let one = found(&window);
    assert_eq!(one.way, Damage::Part { byte: 3, bytes: 7, line, lines: 24, places: 1 });
    assert!(one.words("it", &question.packing).starts_with("a window of it: bytes 3 to 9 of lines"), "{one:?}");
    // Noise is none of it.
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
    for length in [100, 4736, 4000, 5000] {
        let noise: Vec<u8> = (0..length).map(|_| random.random()).collect();
        assert_eq!(transported(&question, &noise, None), None);
    }
}
