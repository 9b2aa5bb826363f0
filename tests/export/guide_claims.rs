//! Every sentence of the guide's page on firmware is held by a test, or promises nothing: the table names which. Examples in
//! fences are run by `tests/house/guide.rs`.

use crate::firmware::drawn::SANITIZED;
use crate::firmware::{C99, c_compilers, cc, compile, export, orchard, order, run};
use inkjoule::guide::PAGES;
use std::process::Command;

/// How sentences begin, and what holds them: a file of tests and a test in it. None where nothing is promised.
const HELD: &[(&str, &str, &str)] = &[
    ("With this page and a C compiler", "tests/house/guide.rs", "every_example_of_the_guide_works"),
    ("Export the design", "", ""),
    ("The program says what it refreshes", "tests/house/guide.rs", "every_example_of_the_guide_works"),
    ("`frames/0000.pbm` is the home screen", "tests/house/guide.rs", "every_example_of_the_guide_works"),
    ("A line of the script", "tests/export/export_main.rs", "the_program_runs_a_design"),
    ("Without `INK_HOST` the same", "tests/export/export_main.rs", "the_program_runs_a_design"),
    ("Where the policy buffers the image", "tests/export/export_main.rs", "an_update_goes_through_the_external_memory"),
    ("It compiles before you fill", "tests/house/guide.rs", "every_example_of_the_guide_works"),
    ("The order that works", "", ""),
    ("`ink_draw.c` with its headers", "tests/export/guide_claims.rs", "the_code_has_no_memory_and_asks_nothing"),
    ("`screens_live.c` with its header", "tests/export/export_live.rs", "every_screen_of_the_orchard"),
    ("Parts of the interpreter and of the machine", "tests/export/guide_claims.rs", "what_is_not_used_is_left_out"),
    ("On parts that keep constants", "tests/export/export_live.rs", "tables_stay_in_flash_on_a_harvard_part"),
    ("**Drawing only.**", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("`ink_past_clear` and `ink_past_add`", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("The frame is equal to that of", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("Where RAM holds no whole frame", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("Build with `-DINK_MEMO=1`", "tests/export/export_costs.rs", "drawing_the_demo_costs_what_is_recorded"),
    ("The size of the memo", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("Drawing trusts its tables", "tests/export/guide_claims.rs", "damaged_tables_are_found"),
    ("Where flash may be damaged", "tests/export/guide_claims.rs", "damaged_tables_are_found"),
    ("Values, times and the past may be anything", "tests/export/export_live.rs", "ten_thousand_random_values"),
    ("**Running the design.**", "tests/export/machine_scripts.rs", "the_machine_in_c_runs_random_projects"),
    ("`ink_value` tells", "tests/export/machine_scripts.rs", "the_machine_in_c_runs_random_projects"),
    ("The code is built for the one design", "tests/export/machine_scripts.rs", "the_machine_built_for_one_design"),
    ("Where several designs are in one program", "tests/export/machine_designs.rs", "two_designs_run_in_one_program"),
    ("It needs a strip of two lines", "tests/export/machine_scripts.rs", "random_projects_draw_in_c"),
    ("With `-DINK_MEMO=1`, `ink_panel_memo`", "tests/export/machine_scripts.rs", "random_projects_draw_in_c"),
    ("With `memo = 500` under", "tests/export/export_main.rs", "the_program_runs_a_design"),
    ("With `max-windows` above 1", "tests/export/export_windows.rs", "several_windows_at_once_are_refused_by_name"),
    ("Values that keys change in several units", "tests/export/header.rs", "it_says_the_ends_of_fields"),
    ("**What it cannot do**", "tests/export/export_settings.rs", "what_is_left_is_named_with_its_cause"),
    ("A number in a unit", "tests/export/export_settings.rs", "what_is_left_is_named_with_its_cause"),
    ("A chart in such a unit counts", "tests/export/export_settings.rs", "charts_count_in_parts"),
    ("Flash of this export", "tests/export/export_stack.rs", "state_and_stack_take_as_much_as_is_stated"),
    ("`rust-live` is the same design", "tests/export/rust_live.rs", "a_program_in_rust_runs_the_demo"),
    ("The rules stay in the C", "tests/export/rust_live.rs", "a_program_in_rust_runs_the_demo"),
    ("It allocates nothing", "tests/export/rust_live.rs", "the_crate_asks_for_nothing"),
    ("Name the folder in your firmware", "tests/export/rust_live.rs", "the_crate_is_written_as_by_hand"),
    ("What the firmware brings", "tests/export/rust_device.rs", "the_program_of_the_guide_runs"),
    ("Fields, keys, events, screens and locales", "tests/export/rust_live.rs", "its_numbers_are_those_of_the_header"),
    ("A `Store` is all the RAM", "tests/export/rust_live.rs", "the_state_has_its_bytes_and_no_more"),
    ("What `budget` says of `c-live`", "tests/export/rust_live.rs", "the_calls_between_the_languages_are_small"),
    ("One program can have one such crate", "tests/export/rust_device.rs", "two_devices_run_in_one_program"),
    ("`cargo run --example host", "tests/export/rust_live.rs", "a_program_in_rust_runs_the_demo"),
    ("For a device that shows fixed images", "tests/export/export_c.rs", "a_c_program_prints_the_frames"),
];

/// The sentences of a page outside its fences and headings.
fn sentences(page: &str) -> Vec<String> {
    let (mut text, mut inside) = (String::new(), false);
    for line in page.lines() {
        if line.starts_with("```") {
            inside = !inside;
            text.push('\n');
        } else if !inside && !line.starts_with('#') {
            text.push_str(if line.is_empty() { "\n" } else { line });
            text.push(' ');
        }
    }
    let paragraphs = text.split('\n').map(str::trim).filter(|paragraph| !paragraph.is_empty());
    let mut all = Vec::new();
    for paragraph in paragraphs {
        let mut rest = paragraph;
        while let Some(at) = rest.find(". ") {
            all.push(rest[..=at].to_owned());
            rest = rest[at + 2..].trim_start();
        }
        all.push(rest.to_owned());
    }
    all.into_iter().filter(|sentence| sentence.len() > 1).collect()
}

#[test]
fn every_sentence_of_the_page_is_held() {
    let page = PAGES.iter().find(|page| page.name == "firmware").expect("the page");
    let said = sentences(page.text);
    for sentence in &said {
        let held = HELD.iter().find(|(begin, ..)| sentence.starts_with(begin));
        let Some((_, file, test)) = held else { panic!("nothing holds the sentence {sentence:?}") };
        if !file.is_empty() {
            let source = std::fs::read_to_string(file).unwrap_or_else(|_| panic!("{file} for {sentence:?}"));
            assert!(source.contains(&format!("fn {test}")), "{file} has no {test}");
        }
    }
    for (begin, ..) in HELD {
        assert!(said.iter().any(|sentence| sentence.starts_with(begin)), "the page no longer says {begin:?}");
    }
}

#[test]
fn the_code_has_no_memory_and_asks_nothing_of_a_library() {
    let folder = tempfile::tempdir().expect("a folder");
    let written = export(&order(&orchard()), "c-live", folder.path());
    let sources = written.iter().filter(|path| path.extension().is_some_and(|ending| ending == "c"));
    for source in sources {
        let name = source.file_name().and_then(|name| name.to_str()).expect("a name");
        compile(
            &cc(),
            folder.path(),
            &[&C99[..], &["-Os", "-fno-stack-protector", "-c", name, "-o", "part.o"]].concat(),
        );
        let tool = |program: &str, arguments: &[&str]| {
            let output = Command::new(program).current_dir(folder.path()).args(arguments).output().expect("binutils");
            String::from_utf8_lossy(&output.stdout).into_owned()
        };
        for line in tool("nm", &["-u", "part.o"]).lines() {
            let symbol = line.trim().trim_start_matches("U ").trim_start_matches('_');
            let own =
                symbol.starts_with("ink_") || symbol.starts_with("screens_live_") || symbol.starts_with("GLOBAL_");
            assert!(own || ["memcpy", "memmove", "memset"].contains(&symbol), "{name} asks for {symbol}");
        }
        let sizes = tool("size", &["part.o"]);
        let row: Vec<&str> = sizes.lines().nth(1).unwrap_or_default().split_whitespace().collect();
        if name.starts_with("ink_") {
            assert_eq!(row.get(1..3), Some(&["0", "0"][..]), "{name} has memory of its own: {sizes}");
        }
    }
}

#[test]
fn what_is_not_used_is_left_out() {
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&orchard()), "c-live", folder.path());
    let read = |file: &str| std::fs::read_to_string(folder.path().join(file)).expect("written");
    for (file, part) in [("ink_draw.h", "INK_ARCS"), ("ink_machine.h", "INK_PICKS")] {
        assert!(read(file).contains(&format!("#define {part} 0\n")), "{file}: {part}");
    }
    let stated = |name: &str| {
        let header = read("ink_draw.h");
        let rest =
            header.split(&format!("#define {name} ")).nth(1).and_then(|rest| rest.lines().next().map(str::to_owned));
        rest.and_then(|number| number.parse::<usize>().ok()).expect("a number")
    };
    assert!((16..=127).contains(&stated("INK_TEXT")) && (1..=512).contains(&stated("INK_WIDEST")));
}

const DAMAGES: &str = r#"
#include "screens_live.h"
#include <string.h>
int main(void)
{
    static uint8_t copies[INK_TABLES][60000];
    struct ink_design design = screens_live_design;
    struct ink_seal seal = screens_live_seal;
    const uint8_t **tables[INK_TABLES] = { &design.screens, &design.code,       &design.code_pairs,
                                           &design.texts,   &design.text_pairs, &design.bits };
    uint32_t table, at, step;
    if (!ink_sound(&screens_live_seal)) {
        return 1;
    }
    seal.design = &design;
    for (table = 0; table < INK_TABLES; table++) {
        memcpy(copies[table], *tables[table], seal.sizes[table]);
        *tables[table] = copies[table];
    }
    if (!ink_sound(&seal)) {
        return 2;
    }
    for (table = 0; table < INK_TABLES; table++) {
        step = seal.sizes[table] / 40 + 1;
        for (at = 0; at < seal.sizes[table]; at += step) {
            copies[table][at] ^= (uint8_t)(1 << at % 8);
            if (ink_sound(&seal)) {
                return 3;
            }
            copies[table][at] ^= (uint8_t)(1 << at % 8);
        }
    }
    return ink_sound(&seal) ? 0 : 4;
}
"#;

#[test]
fn damaged_tables_are_found() {
    let folder = tempfile::tempdir().expect("a folder");
    export(&order(&orchard()), "c-live", folder.path());
    std::fs::write(folder.path().join("damages.c"), DAMAGES).expect("written");
    let files = ["ink_seal.c", "screens_live.c", "damages.c", "-o", "damages"];
    compile(&cc(), folder.path(), &[&SANITIZED[..], &["-std=c99"], &files].concat());
    run(folder.path(), "damages", &[]);
    for compiler in c_compilers() {
        let strict = ["-Wconversion", "-Os", "-c", "ink_seal.c", "-o", "seal.o"];
        compile(&compiler, folder.path(), &[&C99[..], &strict].concat());
    }
}
