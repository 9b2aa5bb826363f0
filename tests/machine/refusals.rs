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
    assert_eq!(found.counts.full + found.counts.partial, limits::UPDATES);
    let refusal = found.refusal(&device).expect("it must be refused");
    assert!(refusal.message.contains("40 days are too many to simulate"), "{}", refusal.message);
    assert!(refusal.help.as_deref().is_some_and(|help| help.contains("usage.days = 11")), "{:?}", refusal.help);
    let findings = check(&inkjoule::lint::Subject::new(&device, vec![0]), &budget(&device));
    assert!(findings.iter().any(|one| one.fault.level == Level::Error && one.fault.message == refusal.message));
}

#[test]
fn what_is_simulated_to_its_end_is_not_refused() {
    let device = alternating(1);
    let found = budget(&device);
    assert!(found.counts.partial > 80_000 && found.refusal(&device).is_none(), "{}", found.counts.partial);
}

const PLACE: &str = "[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

/// What is said of a device with this much more in device.toml and these rules on its first screen.
fn refused(more: &str, rules: &str) -> String {
    let a = format!("content = [ {{ text = \"a\" }} ]\n{rules}");
    let over = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n[keys]\n1 = { open = \"x\" }\n";
    let plain = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n[keys]\n1 = { close = true }\n";
    let over = if rules.contains("itself") { over } else { plain };
    match crate::plain::try_device(&format!("{PLACE}{more}"), &[("a", &a), ("x", over)]) {
        Ok(_) => "accepted".to_owned(),
        Err(said) => said,
    }
}

/// Each bad input of the flow is refused where it stands.
#[test]
fn what_cannot_be_meant_is_refused_at_its_place() {
    let cases = [
        ("a back without a way", "", "[keys]\n1 = { back = true }\n", "there is no way back", "screens/a.toml:3"),
        (
            "a box over itself",
            "",
            "# itself\n[keys]\n1 = { open = \"x\" }\n",
            "cannot open over itself",
            "screens/x.toml:4",
        ),
        ("an editor of a missing field", "", "edit = [\"gone\"]\n", "no field `gone`", "screens/a.toml:2"),
        (
            "a change of a missing field",
            "",
            "[keys]\n1 = { change = { field = \"gone\", by = 1 } }\n",
            "no field `gone`",
            "screens/a.toml:3",
        ),
        (
            "a digit that no field names",
            "[fields.n]\nrange = [0, 9]\n",
            "[keys]\n1 = { change = { field = \"n\", digit = \"gone\", by = 1 } }\n",
            "no field `gone`",
            "screens/a.toml:3",
        ),
        (
            "a repeat of zero",
            "[fields.n]\nrange = [0, 9]\n",
            "[keys]\n1 = { change = { field = \"n\", by = 1 }, repeat = { every = \"0 s\" } }\n",
            "0 s",
            "screens/a.toml:3",
        ),
        (
            "two that decide",
            "",
            "[keys]\n1 = { do = [ { open = \"x\" }, { go = \"a\" } ] }\n",
            "only one of these actions can decide",
            "screens/a.toml:3",
        ),
        (
            "two that decide under a condition",
            "",
            "[keys]\n1 = { first = [ { do = [ { open = \"x\" }, { go = \"a\" } ] } ] }\n",
            "only one of these actions can decide",
            "screens/a.toml:3",
        ),
        ("a timer of zero", "", "[[after]]\nwait = \"0 s\"\ngo = \"a\"\n", "0 s", "screens/a.toml:3"),
    ];
    for (what, more, rules, message, place) in cases {
        let said = refused(more, rules);
        assert!(said.contains(message), "{what}: {said}");
        assert!(said.contains(place), "{what}: {said}");
    }
}

#[test]
fn events_that_make_one_another_happen_are_refused_and_those_that_end_are_not() {
    let events = |second: u32| {
        format!(
            "[fields.n]\nrange = [0, 9]\n[events.up]\nwhen = {{ field = \"n\", is = 0 }}\n\
             [events.down]\nwhen = {{ field = \"n\", is = {second} }}\n"
        )
    };
    let rules = "[on]\nup = { change = { field = \"n\", to = 1 } }\ndown = { change = { field = \"n\", to = 0 } }\n";
    let said = refused(&events(1), rules);
    assert!(said.contains("these events trigger one another endlessly: down, up"), "{said}");
    assert!(said.contains("device.toml"), "{said}");
    // Nothing sets 2: the second never follows from the first.
    assert_eq!(refused(&events(2), rules), "accepted");
    // A counter that starts anew is no circle.
    let over = "[fields.n]\nrange = [0, 9]\n[events.over]\nwhen = { field = \"n\", from = 5 }\n";
    assert_eq!(refused(over, "[on]\nover = { change = { field = \"n\", to = 0 } }\n"), "accepted");
}
