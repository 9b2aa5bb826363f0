//! What `check` finds, with picture, place and remedy.

use super::picture::address;
use crate::evaluation::Evaluation;
use crate::lint::Finding;
use crate::lint::picture::picture;
use crate::source::fault::Level;
use maud::{Markup, html};

/// Findings that are shown with a picture; the others say where they are.
const PICTURES: usize = 30;

/// The section.
pub fn section(side: &Evaluation) -> Markup {
    html! {
        section id="findings" aria-labelledby="h-findings" {
            h2 id="h-findings" { "Findings" }
            @if side.findings.is_empty() {
                p.prose { "The project meets all of its limits, and no lint has a finding." }
            } @else {
                p.prose { (count(side.count(Level::Error), "error")) " and " (count(side.count(Level::Warning), "warning")) "." }
                ol.findings { @for (index, found) in side.findings.iter().enumerate() { (finding(side, index, found)) } }
            }
        }
    }
}

/// `1 error`, `2 errors`.
pub fn count(number: usize, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

fn finding(side: &Evaluation, index: usize, found: &Finding) -> Markup {
    let fault = &found.fault;
    let word = if fault.level == Level::Error { "error" } else { "warning" };
    let id = fault.id.unwrap_or("");
    let shown = found.shown.as_ref().filter(|_| index < PICTURES);
    let drawn = shown.and_then(|shown| picture(&side.device, shown, id).ok().map(|png| (shown, address(&png))));
    html! {
        li class=(word) {
            p {
                strong.tag { (word) } " "
                @if !id.is_empty() { code { (id) } " " }
                (fault.message) @if !fault.message.ends_with('.') { "." }
                @if !fault.label.is_empty() && !fault.whole_file { span.faint { " (" (fault.label) ")" } }
            }
            @if let Some(help) = &fault.help { p { "Remedy: " (help) @if !help.ends_with(['.', '?']) { "." } } }
            @if let Some(span) = &fault.span { p.faint { (side.sources.place(span)) } }
            @if let Some((shown, address)) = drawn {
                img.found src=(address) alt=(format!("{}: {}", side.device.screens[shown.screen.0].id, fault.message));
            }
        }
    }
}
