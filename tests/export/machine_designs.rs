//! Two designs in one program: the same code runs both, with what the tables of each say.
//!
//! Not for what a design does: that is compared in `machine_scripts.rs`.

use crate::firmware::{C99, cc, compile, export, orchard, order, product, run};
use inkjoule::behaviour::field::Renewal;
use inkjoule::device::Device;
use inkjoule::export::Order;
use inkjoule::frame::Frame;
use inkjoule::frame::pack::pack;
use std::collections::BTreeSet;

/// Each design is begun at midnight; its first frame is written as it is sent.
const PROGRAM: &str = r#"
#include "first_live.h"
#include "second_live.h"
#include <stdio.h>
#include <stdlib.h>

static void show(const struct ink_design *design, const struct ink_rules *rules)
{
    uint32_t count = ink_cells(rules), more = ink_panel_cells(rules), size = ink_strip_size(rules);
    int32_t *cells = malloc(4 * count), *shown = malloc(4 * more);
    uint8_t *strip = malloc(size);
    struct ink_machine machine;
    struct ink_panel panel;
    struct ink_task task;
    if (!cells || !shown || !strip || !ink_init(&machine, design, rules, cells, count) ||
        !ink_panel_init(&panel, &machine, shown, more, strip, size)) {
        exit(1);
    }
    ink_begin(&machine, 0);
    for (ink_next(&panel, 0, 200, &task); task.kind == INK_SEND; ink_next(&panel, 0, 200, &task)) {
        if (task.plane == INK_PLANE_NEW) {
            fwrite(task.bytes, task.stride, task.lines, stdout);
        }
    }
    if (task.kind != INK_REFRESH) {
        exit(2);
    }
    free(cells), free(shown), free(strip);
}

int main(void)
{
    show(&first_live_design, &first_live_rules);
    show(&second_live_design, &second_live_rules);
    return 0;
}
"#;

/// The home screen as it is before anything was measured.
fn first_frame(device: &Device) -> Vec<u8> {
    let mut values = device.sample();
    for (field, settled) in device.fields.iter().enumerate() {
        if settled.renewal != Renewal::Never {
            values.now[field] = f64::NAN;
        }
        std::sync::Arc::make_mut(&mut values.past)[field].fill(f64::NAN);
    }
    let size = device.panel.size();
    let mut frame = Frame::new(size.width, size.height);
    let locale = device.locale_of(&values).unwrap_or(0);
    device.screens[device.usage.home.0].draw(locale, &values, &mut frame);
    pack(&frame, &device.panel.packing.plane()).expect("the packing fits the panel")
}

/// Switches of the code, which the exporter of one design may have turned off.
fn switches(text: &str) -> impl Iterator<Item = &str> {
    let defined = text.lines().filter_map(|line| line.strip_prefix("#define INK_"));
    defined.filter_map(|rest| rest.strip_suffix(" 0").or(rest.strip_suffix(" 1")))
}

#[test]
fn two_designs_run_in_one_program() {
    let folder = tempfile::tempdir().expect("a folder");
    let designs = [orchard(), product()];
    for (device, prefix) in designs.iter().zip(["second", "first"]) {
        let order = Order { prefix: prefix.into(), ..order(device) };
        export(&order, "c-live", folder.path());
    }
    let read = |file: &str| std::fs::read_to_string(folder.path().join(file)).expect("written");
    let (draw, machine) = (read("ink_draw.h"), read("ink_machine.h"));
    let own = ["PACKED_", "STATED", "NARROW", "ONE_BYTE", "TWO_BYTES", "MEMO"];
    let all: BTreeSet<String> = switches(&draw)
        .chain(switches(&machine))
        .filter(|name| !own.iter().any(|own| name.contains(own)))
        .map(|name| format!("-DINK_{name}=1"))
        .collect();
    assert!(all.len() > 40, "{all:?}");
    std::fs::write(folder.path().join("both.c"), PROGRAM).expect("written");
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let sizes = ["-DINK_ANY_PACKING", "-DINK_TEXT=127", "-DINK_WIDEST=512"];
    let files = ["both.c", "ink_machine.c", "ink_draw.c", "first_live.c", "second_live.c", "-o", "both"];
    let checked = ["-O1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];
    compile(&cc(), folder.path(), &[&C99[..], &checked, &sizes, &all, &files].concat());
    let shown = run(folder.path(), "both", &[]);
    let [second, first] = designs.each_ref().map(first_frame);
    assert!(shown == [first, second].concat(), "both home screens, {} bytes", shown.len());
}
