//! C output through the system's compilers: strict C99, C++17, and the bits printed back by a C program.

use crate::firmware::{
    C99, assert_holds, c_compilers, cc, compile, compile_everywhere, cpp_compilers, different, export, order, run,
    starter,
};
use inkjoule::export::Order;
use inkjoule::frame::pack::{unpack, unpack_pair};
use inkjoule::frame::{Axis, Bit, Interleave, Packing, Planes, Rotation, Scan};

const PRINTER: &str = include_str!("../firmware/print_frames.c");

/// The frames that a C program finds in an export, as bytes.
fn printed(order: &Order<'_>) -> Vec<Vec<u8>> {
    let folder = tempfile::tempdir().expect("a folder");
    export(order, "c", folder.path());
    std::fs::write(folder.path().join("print.c"), PRINTER).expect("written");
    compile(&cc(), folder.path(), &[&C99[..], &["screens.c", "print.c", "-o", "print"]].concat());
    let text = String::from_utf8(run(folder.path(), "print", &[])).expect("text");
    let mut lines = text.lines();
    let geometry: Vec<u32> = lines.next().expect("geometry").split(' ').map(|n| n.parse().expect("a number")).collect();
    let size = order.device.panel.size();
    let bytes = order.packing.size(size.width, size.height).expect("fits") as u32;
    let stride = order.packing.stride_of(size.width, size.height).expect("fits");
    assert_eq!(geometry, [size.width, size.height, stride, bytes, (order.screens.len() * order.locales.len()) as u32]);
    let byte = |line: &str, at: usize| u8::from_str_radix(&line[at..at + 2], 16).expect("hexadecimal");
    lines.map(|line| (0..line.len()).step_by(2).map(|at| byte(line, at)).collect()).collect()
}

fn compare(order: &Order<'_>) {
    let frames = printed(order);
    assert_eq!(frames.len(), order.screens.len() * order.locales.len());
    let mut frames = frames.into_iter();
    for locale in &order.locales {
        for screen in &order.screens {
            let bytes = frames.next().expect("as many as screens");
            let frame = order.device.draw(*screen, *locale, &order.values);
            assert!(frame.ink_count() > 100, "an empty image would prove nothing");
            let unpacked = unpack(&bytes, frame.width(), frame.height(), &order.packing).expect("fits");
            assert!(unpacked == frame, "{}", order.device.screens[screen.0].id);
            assert_holds(&bytes, &order.packing, &frame);
        }
    }
}

#[test]
fn a_c_program_prints_the_frames_in_native_packing() {
    let device = starter();
    compare(&order(&device));
}

#[test]
fn a_c_program_prints_the_frames_in_other_packings() {
    let device = starter();
    let packings = [
        Packing::default(),
        Packing { scan: Scan::Columns, along: Axis::Y, pixel_polarity: Bit::Zero, ..Packing::default() },
        Packing {
            along: Axis::Y,
            rotation: Rotation::Quarter,
            mirror: true,
            stride: Some(301),
            padding: Bit::One,
            ..Packing::default()
        },
    ];
    for packing in packings {
        compare(&Order { packing, ..order(&device) });
    }
}

#[test]
fn every_c_file_compiles_with_every_compiler() {
    let device = starter();
    let two = Packing { planes: Planes::OldNew, interleave: Interleave::Lines, ..device.panel.packing.clone() };
    for packing in [device.panel.packing.clone(), two] {
        let folder = tempfile::tempdir().expect("a folder");
        let order = Order { packing, ..order(&device) };
        let mut files: Vec<String> = Vec::new();
        for to in ["c", "c-live"] {
            let written = export(&order, to, folder.path());
            let names = written.iter().filter_map(|path| Some(path.file_name()?.to_str()?.to_owned()));
            files.extend(names.filter(|name| name.ends_with(".c")));
        }
        let files: Vec<&str> = files.iter().map(String::as_str).collect();
        assert_eq!(files.len(), 5, "frames, tables, drawing, machine: {files:?}");
        let present = |names: [&str; 2]| different(names.into_iter().map(str::to_owned)).len();
        let least = files.len() * (present(["gcc", "clang"]).max(1) + present(["g++", "clang++"]));
        for optimised in ["-O0", "-Os"] {
            assert!(compile_everywhere(folder.path(), &files, &[optimised]) >= least);
        }
    }
}

#[test]
fn two_planes_hold_the_picture_behind_paper() {
    let device = starter();
    let packing = Packing { planes: Planes::OldNew, ..device.panel.packing.clone() };
    let order = Order { packing: packing.clone(), ..order(&device) };
    for (bytes, screen) in printed(&order).iter().zip(&order.screens) {
        let frame = device.draw(*screen, 0, &order.values);
        let (before, now) = unpack_pair(bytes, frame.width(), frame.height(), &packing).expect("fits");
        assert!(now == frame && before.is_some_and(|before| before.ink_count() == 0));
        assert_holds(&bytes[bytes.len() / 2..], &packing, &frame);
    }
    let folder = tempfile::tempdir().expect("a folder");
    export(&order, "c", folder.path());
    let header = std::fs::read_to_string(folder.path().join("screens.h")).expect("there");
    let plane = packing.plane().size(296, 128).expect("fits");
    assert!(header.contains(&format!("#define SCREENS_PLANES 2\n#define SCREENS_PLANE_SIZE {plane}\n")), "{header}");
    assert!(header.contains(&format!("#define SCREENS_FRAME_SIZE {}\n", 2 * plane)), "{header}");
}

#[test]
fn strict_compilers_accept_the_files_in_every_storage() {
    let device = starter();
    for section in [None, Some(".rodata.screens".to_owned())] {
        let folder = tempfile::tempdir().expect("a folder");
        export(&Order { section, ..order(&device) }, "c", folder.path());
        for compiler in c_compilers() {
            compile(&compiler, folder.path(), &[&C99[..], &["-c", "screens.c", "-o", "c99.o"]].concat());
        }
        for compiler in cpp_compilers() {
            let flags = [
                "-std=c++17",
                "-Wall",
                "-Wextra",
                "-Werror",
                "-pedantic",
                "-x",
                "c++",
                "-c",
                "screens.c",
                "-o",
                "cpp.o",
            ];
            compile(&compiler, folder.path(), &flags);
            // A C++ program links with the C object: the header gives it C linkage.
            std::fs::write(
                folder.path().join("use.cpp"),
                "#include \"screens.h\"\nint main() { return screens_frames[0] == nullptr; }\n",
            )
            .expect("written");
            compile(&compiler, folder.path(), &["-std=c++17", "use.cpp", "c99.o", "-o", "use"]);
        }
    }
}
