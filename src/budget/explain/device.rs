//! How memory, sensitivities and single inputs stand.

use super::account::Account;
use super::{Explanation, Subject};
use crate::budget::figure::{Figure, Topic};
use crate::budget::life::{Habits, life};
use crate::units::{Bytes, DAY, figures, plain_time};

/// Ways to buffer the image.
pub fn memory(subject: &Subject<'_>) -> Option<Explanation> {
    let (device, budget) = (subject.device, subject.budget);
    let panel = &device.panel;
    let formula = "plane = ceil(W / 8) x H bytes in the controller's orientation; a frame keeps as many planes as its largest refresh sends";
    let mut account = Account::new(subject, "Memory of the image", formula);
    let (w, h) = (panel.native.width, panel.native.height);
    account.row("W x H of the controller", format!("{w} x {h} px"), "panel.pixels");
    let plane = u64::from(w.div_ceil(8)) * u64::from(h);
    account.result(Figure::FrameBytes.row().pointer, plane as f64, "one plane", format!("{plane} B"));
    account.row("planes sent", panel.planes_kept(), "the larger of panel.full.planes and panel.partial.planes");
    account.row("RAM for the display", device.board.mcu.ram, "board.mcu.ram");
    if let Some(cells) = device.policy.memo {
        account.row(
            "memo",
            Bytes(2.0 * f64::from(cells)),
            "policy.memo: two bytes for each cell; part of the buffer's RAM",
        );
    }
    account.figure_from(Figure::Ram, "RAM of the buffer", "policy.buffer");
    account.figure_from(Figure::Sram, "external memory", "policy.buffer");
    for scheme in &budget.schemes {
        let fits = if budget.room(device, scheme).is_some() { "fits" } else { "does not fit" };
        account.row(
            &scheme.name,
            scheme.ram,
            format!("RAM, {} outside; {fits}; a full refresh takes {}", scheme.memory, scheme.energy),
        );
    }
    account.note(
        "In external memory every byte crosses the bus twice; in strips the screen is rendered once for each strip.",
    );
    Some(account.done())
}

/// Flash of screens, flash and RAM of the firmware.
pub fn flash(subject: &Subject<'_>) -> Option<Explanation> {
    let formula = "total = images + glyphs + strings; c-live: total = operations + texts + fonts and bitmaps + flow + rules + machine + \
                   interpreter";
    let mut account = Account::new(subject, "Flash and RAM of screens and firmware", formula);
    for figure in Figure::of_topic(Topic::Flash) {
        if figure.value(subject.device, subject.budget).is_some() {
            let from = match figure {
                Figure::Flash | Figure::LiveFlash => "sum",
                Figure::LiveMachine | Figure::LiveCode => "measured with a compiler for Cortex-M0",
                _ => "counted byte by byte",
            };
            account.figure_from(figure, figure.row().title, from);
        }
    }
    account.row("flash for them", subject.device.board.mcu.flash, "board.mcu.flash");
    Some(account.done())
}

/// What moves the life most.
pub fn sensitivity(subject: &Subject<'_>) -> Option<Explanation> {
    let formula = "elasticity = (ln life(x + 1 %) - ln life(x - 1 %)) / (ln 1.01 - ln 0.99), one input at a time, the mean of the random devices around the median (Hong, Operations Research 57 (2009) 118-130)";
    let mut account = Account::new(subject, "What moves the life", formula);
    for entry in subject.budget.sensitivity(subject.device) {
        let row = subject.device.inputs.rows().iter().find(|row| row.path == entry.input)?;
        let source = row.source.as_deref().unwrap_or("assumption");
        account.row(&entry.input, format!("{:+.3}", entry.elasticity), format!("{}: {source}", row.shown));
    }
    let first = subject.budget.sensitivity(subject.device).first()?;
    account.also("/sensitivity/0/elasticity", first.elasticity);
    Some(account.done())
}

/// One input.
pub fn input(subject: &Subject<'_>, path: &str) -> Option<Explanation> {
    let device = subject.device;
    let (index, row) = device.inputs.rows().iter().enumerate().find(|(_, row)| row.path == path)?;
    let shown = |value: f64| row.show(value);
    let mut account =
        Account::new(subject, format!("The input {path}"), "One value for each device, random between min and max");
    account.row("min", shown(row.min), "");
    account.row("typ", row.shown.clone(), row.source.as_deref().unwrap_or("assumption"));
    account.row("max", shown(row.max), "");
    let days = |factor: f64| {
        let parameters = subject.parameters.scaled(index, factor);
        life(device, &parameters, &subject.budget.counts, Habits::USUAL).map(|life| life.time).ok()
    };
    for (name, factor) in [("half of it", 0.5), ("as it is", 1.0), ("twice", 2.0)] {
        if let Some(time) = days(factor) {
            account.row(format!("typical life with {name}"), plain_time(time), format!("{} d", figures(time / DAY)));
        }
    }
    if let Some(entry) = subject.budget.sensitivity(device).iter().find(|entry| entry.input == path) {
        account.row("sensitivity, change of life", format!("{:+.3} %", entry.elasticity), "--explain sensitivity");
    }
    Some(account.done())
}
