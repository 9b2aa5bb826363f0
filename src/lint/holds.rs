//! `hold-hides-press`: a hold that begins so early that a press is taken for it, or that ends repetitions.

use super::Subject;
use super::report::Report;
use crate::source::fault::Fault;
use crate::units::{Seconds, plain_time};

/// An unhurried press keeps a key down for up to some 0.4 s (common practice; holds usually begin after 0.5 to 2 s).
const PRESS: Seconds = Seconds(0.4);

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.screens() {
        let wiring = &subject.device.wirings[view.id.0];
        for (key, rule) in wiring.keys.iter().enumerate() {
            let Some(hold) = rule.hold.as_ref().filter(|_| rule.press.acts()) else { continue };
            let after = plain_time(hold.after);
            let early = hold.after < PRESS;
            let (what, help) = match rule.repeat {
                _ if early => (
                    format!("begins after {after}: an unhurried press is taken for it"),
                    "let the hold begin after 500 ms or more".to_owned(),
                ),
                Some(repeat) if hold.after >= repeat.after => (
                    format!("begins after {after}, when the press has been repeated already"),
                    format!("let it begin before {}, or take out one of the two", plain_time(repeat.after)),
                ),
                _ => continue,
            };
            let span = wiring.written.get(key).and_then(Option::as_ref).map(|written| written.span.clone());
            let span = span.unwrap_or(view.screen.span.start..view.screen.span.start);
            let message = format!("on `{}`, the hold of key {} {what}", view.screen.id, key + 1);
            let fault = Fault::at(span, message).label("the key's press does something else");
            report.see(view.shown(view.sample(), Vec::new()), 0.0, fault.help(help));
        }
    }
}
