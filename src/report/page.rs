//! The page: head, contents, sections in their order, foot.

use super::picture::Shelf;
use super::{
    Content, against, display, energy, findings, flow, inputs, life, memory, over_time, screens, sheet, summary,
    supply, sweeps, walk,
};
use crate::plot::palette;
use crate::visible::visible;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// What the page may load: nothing. Pictures, style and script are in it.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// Widest picture of a screen that is shown enlarged, in pixels of the page.
const STAGE: u32 = 620;

/// The whole page.
pub fn page(content: &Content<'_>) -> String {
    let side = content.side;
    let device = &side.device;
    let mut shelf = Shelf::default();
    let sheet = sheet::section(side, content.locale, &mut shelf);
    let flow = flow::section(side, content.locale, &mut shelf);
    let screens = screens::section(side, content.locale, &mut shelf);
    let compared = (content.against.len() > 1)
        .then(|| against::section(content.against, &device.locales[content.locale], &mut shelf));
    let alternatives = (content.alternatives.len() > 1).then(|| against::alternatives(content.alternatives));
    let sections = [
        summary::section(side),
        sheet,
        flow,
        summary::in_words(side),
        walk::section(side, content.locale),
        screens,
        over_time::section(side, content.locale),
        energy::section(side),
        display::section(side),
        life::section(side),
        sweeps::section(side),
        supply::section(side),
        memory::section(side),
        findings::section(side),
    ];
    let size = device.panel.size();
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(concat!("inkjoule ", env!("CARGO_PKG_VERSION")));
                title { (device.name) ": screens, energy and life" }
                link rel="icon" href="data:,";
                style { (PreEscaped(palette::css())) (PreEscaped(include_str!("page.css"))) (PreEscaped(enlarged(size.width))) }
            }
            body {
                a.skip href="#short" { "To the result" }
                header.top {
                    p.kind { "Screens, energy and battery life" }
                    h1 { (device.name) }
                    @if !device.note.is_empty() { p.lead { (device.note) } }
                    p.faint {
                        (super::figure::typeset(format!("{} x {} px", size.width, size.height)))
                        @if !device.panel.note.is_empty() { ", " (device.panel.note.replace(" x ", " × ")) }
                    }
                    @if !content.changes.is_empty() {
                        p { strong { "Not the project as it stands: " } "changed for this report were "
                            @for (index, change) in content.changes.iter().enumerate() { @if index > 0 { ", " } code { (change) } } "." }
                    }
                    @if content.locale > 0 {
                        p.faint { "Images in the locale " (device.locales[content.locale]) "; figures are those of " (device.locales[0]) "." }
                    }
                }
                nav aria-label="Contents" { (contents(alternatives.is_some(), compared.is_some())) }
                main {
                    (shelf.markup())
                    @for section in &sections { (section) }
                    @if let Some(alternatives) = &alternatives { (alternatives) }
                    @if let Some(compared) = &compared { (compared) }
                    (inputs::section(side))
                }
                footer {
                    p.faint { "Written by inkjoule " (env!("CARGO_PKG_VERSION")) ". All figures are estimates from the inputs listed; measure the first board." }
                }
                script { (PreEscaped(include_str!("walk.js"))) }
            }
        }
    };
    // Names and notes of the project stand in many places; the page's own text has nothing that steers.
    super::signs::set(&visible(&page.into_string()))
}

fn contents(alternatives: bool, compared: bool) -> Markup {
    let mut entries = vec![
        ("short", "Summary"),
        ("sheet", "All screens"),
        ("flow", "Map of the flow"),
        ("result", "Result in words"),
        ("walk", "Click through"),
        ("screens", "Screens"),
        ("over-time", "Over time"),
        ("energy", "Energy"),
        ("policy", "Refresh policy"),
        ("display", "The display in use"),
        ("life", "Battery life"),
        ("sweeps", "If one thing changed"),
        ("supply", "Supply"),
        ("memory", "Memory"),
        ("findings", "Findings"),
    ];
    if alternatives {
        entries.push(("alternatives", "Alternatives"));
    }
    if compared {
        entries.push(("against", "Comparison"));
    }
    entries.extend([("inputs", "Inputs"), ("cautions", "Cautions")]);
    html! { ul { @for (id, name) in entries { li { a href=(format!("#{id}")) { (name) } } } } }
}

/// Screens are enlarged by the largest whole number that fits, fewer on narrow pages.
fn enlarged(width: u32) -> String {
    let most = (STAGE / width.max(1)).clamp(1, 4);
    let mut style =
        format!(":root{{--scale:{most};--across:{width};--thumb:{}px}}", super::picture::thumb_width(width) + 4);
    for scale in (1..most).rev() {
        style += &format!("@media (max-width:{}px){{:root{{--scale:{scale}}}}}", width * (scale + 1) + 88);
    }
    style
}
