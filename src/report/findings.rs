//! What `check` finds, with place and remedy.

use crate::compare::Side;
use crate::design::fault::{Fault, Level};
use maud::{Markup, html};

/// The section.
pub fn section(side: &Side) -> Markup {
    html! {
        section id="findings" aria-labelledby="h-findings" {
            h2 id="h-findings" { "Findings" }
            @if side.findings.is_empty() {
                p.prose { "The project keeps all of its limits, and nothing is to be said against its screens." }
            } @else {
                p.prose { (side.count(Level::Error)) " errors and " (side.count(Level::Warning)) " warnings." }
                ol.findings { @for fault in &side.findings { (finding(side, fault)) } }
            }
        }
    }
}

fn finding(side: &Side, fault: &Fault) -> Markup {
    let (class, word) = if fault.level == Level::Error { ("error", "error") } else { ("warning", "warning") };
    html! {
        li class=(class) {
            p {
                strong.tag { (word) } " "
                @if let Some(id) = fault.id { code { (id) } " " }
                (fault.message)
                @if !fault.label.is_empty() { span.faint { " (" (fault.label) ")" } }
            }
            @if let Some(help) = &fault.help { p { "Remedy: " (help) "." } }
            @if let Some(span) = &fault.span { p.faint { (side.sources.place(span)) } }
        }
    }
}
