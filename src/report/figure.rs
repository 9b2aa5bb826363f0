//! A figure of the budget in the page, and numbers as they are typeset.

use crate::budget::figure::{Figure, Unit};
use crate::evaluation::Evaluation;
use crate::units::DAY;
use maud::{Markup, html};
use std::fmt::Display;

/// A figure: its text for people, its bare value and its place in the budget's JSON for programs.
pub fn figure(pointer: &str, value: impl Into<f64>, text: impl Display) -> Markup {
    let value: f64 = value.into();
    html! { data value=(value) data-figure=(pointer) { (typeset(text)) } }
}

/// A figure of the budget's table, as a life in full days.
pub fn of(side: &Evaluation, which: Figure) -> Markup {
    let row = which.row();
    match which.value(&side.device, &side.budget) {
        None => html! { "none" },
        Some(value) if row.unit == Unit::Days => figure(row.pointer, value, days(DAY * value)),
        Some(value) => figure(row.pointer, value, which.text(&side.device, &side.budget)),
    }
}

/// Figures of the table as a list of facts, each under its title.
pub fn facts(side: &Evaluation, which: impl Fn(Figure) -> bool) -> Markup {
    let listed = Figure::ALL.iter().filter(|figure| which(**figure));
    html! { @for figure in listed { div { dt { (figure.row().heading()) } dd { (of(side, *figure)) } } } }
}

/// A life as it is read aloud: days in full.
pub fn days(time: crate::units::Seconds) -> String {
    let text = crate::units::plain_time(time);
    text.strip_suffix(" d").map_or(text.clone(), |number| format!("{number} days"))
}

/// A quantity as it is typeset: a no-break space before the unit, the micro and minus signs, the times sign.
pub fn typeset(text: impl Display) -> String {
    let text = text.to_string().replace("Ohm", "Ω");
    let mut out = String::with_capacity(text.len() + 4);
    let mut rest = text.chars().peekable();
    let mut before = None;
    while let Some(c) = rest.next() {
        let next = rest.peek().copied();
        let number_before = before.is_some_and(|b: char| b.is_ascii_digit());
        out.push(match c {
            ' ' => '\u{a0}',
            'u' if before == Some(' ') && next.is_some_and(|n| n.is_ascii_uppercase() || n == 's') => 'µ',
            '-' if !number_before && next.is_some_and(|n| n.is_ascii_digit()) => '−',
            'x' if before == Some(' ') && next == Some(' ') => '×',
            other => other,
        });
        before = Some(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_get_their_signs_and_stay_on_one_line() {
        assert_eq!(typeset("12.4 uA"), "12.4\u{a0}µA");
        assert_eq!(typeset("-3 °C"), "−3\u{a0}°C");
        assert_eq!(typeset("296 x 128 px"), "296\u{a0}×\u{a0}128\u{a0}px");
        assert_eq!(typeset("2 units"), "2\u{a0}units");
        assert_eq!(typeset("685 mOhm"), "685\u{a0}mΩ");
    }

    #[test]
    fn a_figure_is_escaped_and_carries_its_value() {
        let markup = figure("/a/\"b", 0.1, "1 < 2").into_string();
        assert_eq!(markup, "<data value=\"0.1\" data-figure=\"/a/&quot;b\">1\u{a0}&lt;\u{a0}2</data>");
    }
}
