//! A simulation that is too long is refused everywhere, with what to do; nothing is taken for the rest of its days.

use crate::plain::device;
use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::limits;
use inkjoule::source::fault::Level;

/// Two screens that alternate each second: 86,400 refreshes a day are more than 2,000,000 in 30 days. The panel takes
/// longer than a second for a full one, so partials decide.
fn alternating(days: u32) -> inkjoule::device::Device {
    let screen = |other: &str, text: &str| {
        format!(
            "content = [ {{ text = \"{text}\" }} ]\n[[after]]\nwait = \"1 s\"\nsince = \"entry\"\ngo = \"{other}\"\n"
        )
    };
    let usage = format!(
        "[policy]\nmax-partials = 1000000\nfull-every = \"300 d\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\ndays = {days}\n\
         temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
    );
    device(&usage, &[("a", &screen("b", "A")), ("b", &screen("a", "B"))])
}

#[test]
fn more_refreshes_than_are_simulated_are_refused_by_budget_and_check() {
    let device = alternating(40);
    let found = budget(&device);
    assert_eq!(found.tally.full + found.tally.partial, limits::UPDATES);
    let refusal = found.refusal(&device).expect("it must be refused");
    assert!(refusal.message.contains("40 days are too many to simulate"), "{}", refusal.message);
    assert!(refusal.help.as_deref().is_some_and(|help| help.contains("usage.days = 11")), "{:?}", refusal.help);
    let findings = check(&device, vec![0]);
    assert!(findings.iter().any(|one| one.fault.level == Level::Error && one.fault.message == refusal.message));
}

#[test]
fn what_is_simulated_to_its_end_is_not_refused() {
    let device = alternating(1);
    let found = budget(&device);
    assert!(found.tally.partial > 80_000 && found.refusal(&device).is_none(), "{}", found.tally.partial);
}
