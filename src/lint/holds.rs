//! `hold-hides-press`: a hold that begins so early that a press is taken for it. (A key with both a hold and
//! repetitions is refused when the project is read.)

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
            let hold = rule.hold.as_ref().filter(|hold| rule.press.acts() && hold.after < PRESS);
            let Some(hold) = hold else { continue };
            let span = wiring.written.get(key).and_then(Option::as_ref).map(|written| written.span.clone());
            let span = span.unwrap_or(view.screen.span.start..view.screen.span.start);
            let (screen, after) = (&view.screen.id, plain_time(hold.after));
            let message = format!(
                "on `{screen}`, the hold of key {} begins after {after}: an unhurried press is taken for it",
                key + 1
            );
            let fault = Fault::at(span, message).label("the key's press does something else");
            report.see(
                view.shown(view.sample(), Vec::new()),
                0.0,
                fault.help("let the hold begin after 500 ms or more"),
            );
        }
    }
}
