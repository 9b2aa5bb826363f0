//! What holds only for a time after something, by hand from the statement of semantics: when such a time begins, that it
//! begins anew, that it holds up to its end and not at it, and what comes of it for events.

use crate::bench::{Bench, refused, text, with};
use inkjoule::behaviour::EventId;
use inkjoule::machine::{Key, Taken, micros};
use inkjoule::units::Seconds;

/// Counts in `n`, every two seconds, while that holds.
fn ticks(only: &str) -> String {
    format!(
        "[events.tick]\nevery = \"2 s\"\nwhile = {only}\n[events.bell]\nper-day = 1\n\
         [anywhere.on]\ntick = {{ change = {{ field = \"n\", by = 1 }} }}\n"
    )
}

#[test]
fn a_time_after_a_key_holds_up_to_its_end_and_begins_anew() {
    let device = with(&ticks("{ for = \"5 s\", after = { key = \"any\" } }"), &[("a", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.run(7.0);
    assert_eq!(bench.field("n"), 0.0, "no key yet");
    // A key that means nothing counts too: from 7 s to 12 s there are ticks at 8 s and 10 s.
    assert_eq!(bench.press(0), Taken::Nothing);
    bench.run(11.0);
    assert_eq!(bench.machine.wake(&device), Some(micros(Seconds(12.0))));
    bench.run(20.0);
    assert_eq!(bench.field("n"), 2.0, "not at 12 s");
    // 22 s and 24 s; anew at 24 s, so 26 s and 28 s.
    bench.press(1);
    bench.run(24.0);
    bench.press(0);
    bench.run(40.0);
    assert_eq!(bench.field("n"), 6.0);
    let wakes = bench.machine.wake(&device).expect("the next tick");
    assert_eq!(wakes, micros(Seconds(42.0)), "nothing runs any more");
}

#[test]
fn at_the_same_moment_a_key_comes_before_the_end_and_the_end_before_the_tick() {
    let device = with(&ticks("{ for = \"4 s\", after = { key = \"any\" } }"), &[("a", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.run(2.0);
    bench.press(0);
    bench.run(5.9);
    assert_eq!(bench.field("n"), 1.0, "4 s");
    // The end at 6 s is put off by a key at 6 s: the tick at 6 s happens.
    bench.machine.pass(micros(Seconds(6.0)));
    bench.press(0);
    bench.run(6.0);
    assert_eq!(bench.field("n"), 2.0);
    bench.run(20.0);
    assert_eq!(bench.field("n"), 3.0, "8 s, and not 10 s");
}

#[test]
fn one_key_counts_alone_and_as_long_as_it_does_something_by_staying_down() {
    let keys = "[keys]\n1 = { change = { field = \"cursor\", by = 1, wrap = true }, repeat = { after = \"600 ms\", every = \"500 ms\" } }\n\
                2 = { hold = { after = \"3 s\", change = { field = \"row\", by = 1 } } }\n";
    let device = with(&ticks("{ for = \"1 s\", after = { key = 1 } }"), &[("a", &text(keys))]);
    let mut bench = Bench::new(&device);
    bench.run(1.5);
    bench.press(1);
    bench.run(3.5);
    assert_eq!(bench.field("n"), 0.0, "another key");
    // Down from 3.5 s, repeated at 4.1 s, 4.6 s and so on to 7.6 s: ticks at 4 s, 6 s and 8 s.
    bench.key(Key::Down(0));
    bench.run(7.9);
    bench.key(Key::Up(0));
    bench.run(20.0);
    assert_eq!(bench.field("n"), 3.0);
}

#[test]
fn entering_counts_and_closing_a_box_does_not() {
    let a = text("[keys]\n1 = { go = \"b\" }\n2 = { open = \"x\" }\n");
    let b = text("[keys]\n1 = { open = \"x\" }\n2 = { go = \"b\" }\n");
    let x =
        format!("box = {{ size = [40, 20] }}\n{}", "content = [ { text = \"x\" } ]\n[keys]\n1 = { close = true }\n");
    let screens = [("a", a.as_str()), ("b", b.as_str()), ("x", x.as_str())];
    let device = with(&ticks("{ for = \"3 s\", after = { screen = \"b\" } }"), &screens);
    let mut bench = Bench::new(&device);
    bench.run(3.0);
    // Entered at 3 s: ticks at 4 s; at 6 s it is over.
    bench.press(0);
    bench.run(7.0);
    assert_eq!((bench.front(), bench.field("n")), ("b", 1.0));
    // A box over it opens and closes: not an entry.
    bench.press(0);
    bench.run(9.0);
    bench.press(0);
    bench.run(13.0);
    assert_eq!((bench.front(), bench.field("n")), ("b", 1.0));
    // The same screen anew is: 14 s.
    bench.press(1);
    bench.run(20.0);
    assert_eq!(bench.field("n"), 2.0);
    // A box counts when it opens: 22 s.
    let device = with(&ticks("{ for = \"3 s\", after = { screen = \"x\" } }"), &screens);
    let mut bench = Bench::new(&device);
    bench.run(21.0);
    bench.press(1);
    bench.run(30.0);
    assert_eq!(bench.field("n"), 1.0);
}

#[test]
fn an_event_counts_and_several_conditions_must_all_hold() {
    let only = "[ { for = \"5 s\", after = { event = \"bell\" } }, { field = \"row\", is = 1 } ]";
    let device = with(&ticks(only), &[("a", &text("[keys]\n1 = { change = { field = \"row\", to = 1 } }\n"))]);
    let mut bench = Bench::new(&device);
    let bell = EventId(0);
    bench.run(3.0);
    bench.machine.happen(&device, bell, &mut bench.watch);
    bench.run(5.0);
    assert_eq!(bench.field("n"), 0.0, "only one of them holds");
    bench.press(0);
    bench.run(20.0);
    assert_eq!(bench.field("n"), 1.0, "6 s, and not 8 s");
}

/// An event that waits for a condition happens when its time begins, if the condition holds, and again with the next time.
#[test]
fn an_event_that_waits_happens_when_its_time_begins() {
    let event = "[events.high]\nwhen = { field = \"n\", below = 50 }\nwhile = { for = \"3 s\", after = { key = 2 } }\n\
                 [anywhere.on]\nhigh = { change = { field = \"row\", by = 1 } }\n";
    let device = with(event, &[("a", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.run(1.0);
    assert_eq!(bench.field("row"), 0.0);
    bench.press(1);
    assert_eq!(bench.field("row"), 1.0, "at once, though the key means nothing");
    bench.run(2.0);
    bench.press(1);
    assert_eq!(bench.field("row"), 1.0, "the time only goes on");
    bench.run(5.0);
    bench.press(1);
    assert_eq!(bench.field("row"), 2.0, "anew after its end");
}

#[test]
fn the_screen_of_the_power_up_is_entered() {
    let device = with(&ticks("{ for = \"5 s\", after = { screen = \"a\" } }"), &[("a", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.run(20.0);
    assert_eq!(bench.field("n"), 2.0, "2 s and 4 s");
}

#[test]
fn what_cannot_be_meant_is_refused_at_its_place() {
    let screens = [("a", "content = [ { text = \"a\" } ]")];
    for (only, said) in [
        ("{ for = \"5 s\" }", "needs `for` and `after`"),
        ("{ after = { key = \"any\" } }", "needs `for` and `after`"),
        ("{ for = \"5 s\", after = { key = 9 } }", "there is no such key"),
        ("{ for = \"5 s\", after = { key = 0 } }", "there is no such key"),
        ("{ for = \"5 s\", after = { screen = \"z\" } }", "there is no screen `z`"),
        ("{ for = \"5 s\", after = { event = \"bel\" } }", "there is no event `bel`"),
        ("{ for = \"0 s\", after = { key = 1 } }", "out of range"),
        ("{ for = \"5 s\", after = { key = 1 }, field = \"n\", is = 1 }", "asks one of"),
        ("{ for = \"5 s\", after = { key = 1 }, screen = \"a\" }", "asks one of"),
        ("{ for = \"5 s\", after = \"key\" }", "key"),
        ("[ { screen = \"a\" }, { screen = \"z\" } ]", "there is no screen `z`"),
    ] {
        let text = refused(&ticks(only), &screens);
        assert!(text.contains(said), "{only}: {text}");
        assert!(text.contains("while = "), "the place is shown: {text}");
    }
    for only in [
        "{ for = \"5 s\", after = { event = \"tick\" } }",
        "[ { screen = \"a\" }, { for = \"5 s\", after = { event = \"tick\" } } ]",
    ] {
        let text = refused(&ticks(only), &screens);
        assert!(text.contains("the event `tick` waits for itself: it never happens"), "{only}: {text}");
    }
    let shown = "content = [ { text = \"a\", when = { for = \"5 s\", after = { key = 1 } } } ]";
    let text = refused(&ticks("{ screen = \"a\" }"), &[("a", shown)]);
    assert!(text.contains("only `while` asks for a time after something"), "{text}");
}
