//! Cases derived by hand from the statement of semantics in `inkjoule::machine`: run to completion (Harel 1987; W3C SCXML
//! 1.0, appendix D: a reaction is carried out whole before the next event, exit before entry, history restores the screen
//! that was left), order at equal times, keys that stay down, boxes, the way back.

use crate::bench::{Bench, Watch, refused, text, with};
use inkjoule::behaviour::EventId;
use inkjoule::limits;
use inkjoule::machine::{Key, Note, Taken, micros};
use inkjoule::units::Seconds;

#[test]
fn actions_of_one_press_are_done_in_order_before_anything_else() {
    // The change makes the event's condition true; still the screen is entered first, and the event takes its rule.
    let event = "[events.high]\nwhen = { field = \"n\", from = 5 }\n";
    let a = text(
        "[keys]\n1 = { do = [ { change = { field = \"n\", to = 7 } }, { go = \"b\" }, { change = { field = \"n\", by = 1 } } ] }\n[on]\nhigh = { go = \"c\" }\n",
    );
    let b = text("[on]\nhigh = { change = { field = \"n\", by = 10 } }\n");
    let device = with(event, &[("a", &a), ("b", &b), ("c", &text(""))]);
    let mut bench = Bench::new(&device);
    assert_eq!(bench.press(0), Taken::Acted);
    assert_eq!((bench.front(), bench.field("n")), ("b", 18.0));
    let entered = bench.watch.0.iter().position(|note| matches!(note, Note::Entered(_)));
    let happened = bench.watch.0.iter().position(|note| *note == Note::Event(EventId(0)));
    assert!(entered < happened, "{:?}", bench.watch.0);
}

#[test]
fn a_key_with_a_hold_acts_when_let_go_or_after_its_time() {
    let a = text("[keys]\n1 = { change = { field = \"n\", by = 1 }, hold = { after = \"2 s\", go = \"b\" } }\n");
    let device = with("", &[("a", &a), ("b", &text("[keys]\n1 = { go = \"a\" }\n"))]);
    let mut bench = Bench::new(&device);
    assert_eq!(bench.key(Key::Down(0)), Taken::Nothing);
    bench.run(1.9);
    assert_eq!((bench.front(), bench.field("n")), ("a", 0.0));
    assert_eq!(bench.key(Key::Up(0)), Taken::Acted);
    assert_eq!(bench.field("n"), 1.0, "a short press");
    bench.key(Key::Down(0));
    bench.run(4.0);
    assert_eq!((bench.front(), bench.field("n")), ("b", 1.0), "held");
    // The key is still down, and belongs to the screen before: letting it go does nothing here.
    assert_eq!(bench.key(Key::Up(0)), Taken::Nothing);
    assert_eq!(bench.front(), "b");
    assert_eq!(bench.press(0), Taken::Acted);
    assert_eq!(bench.front(), "a");
}

#[test]
fn a_repeated_press_comes_at_its_times_and_grows() {
    let a = text(
        "[keys]\n1 = { change = { field = \"n\", by = 1 }, repeat = { after = \"600 ms\", every = \"200 ms\", faster = { from = 4, times = 10 } } }\n",
    );
    let device = with("", &[("a", &a)]);
    let mut bench = Bench::new(&device);
    bench.key(Key::Down(0));
    assert_eq!(bench.field("n"), 1.0, "the press itself");
    bench.run(0.599);
    assert_eq!(bench.field("n"), 1.0);
    bench.run(1.0);
    assert_eq!(bench.field("n"), 4.0, "at 0.6, 0.8 and 1.0 s");
    bench.run(1.4);
    assert_eq!(bench.field("n"), 24.0, "the fourth and fifth count ten");
    bench.key(Key::Up(0));
    bench.run(9.0);
    assert_eq!(bench.field("n"), 24.0);
}

#[test]
fn a_release_is_an_action_of_its_own() {
    let a =
        text("[keys]\n1 = { change = { field = \"n\", to = 5 }, release = { change = { field = \"n\", to = 0 } } }\n");
    let device = with("", &[("a", &a)]);
    let mut bench = Bench::new(&device);
    bench.key(Key::Down(0));
    assert_eq!(bench.field("n"), 5.0);
    bench.key(Key::Up(0));
    assert_eq!(bench.field("n"), 0.0);
}

#[test]
fn a_menu_opens_the_screen_of_its_row() {
    let a = text(
        "[keys]\n1 = { change = { field = \"row\", by = 1, wrap = true } }\n2 = { go = { by = \"row\", to = [\"b\", \"c\", \"d\"] } }\n",
    );
    let back = text("[keys]\n1 = { back = true }\n");
    let device = with("", &[("a", &a), ("b", &back), ("c", &back), ("d", &back)]);
    let mut bench = Bench::new(&device);
    for screen in ["b", "c", "d", "b"] {
        bench.press(1);
        assert_eq!(bench.front(), screen);
        bench.press(0);
        assert_eq!(bench.front(), "a", "back to where it was entered from");
        bench.press(0);
    }
}

#[test]
fn the_way_back_goes_through_any_depth_and_circles_shorten_it() {
    let to = |next: &str| text(&format!("[keys]\n1 = {{ go = \"{next}\" }}\n2 = {{ back = true }}\n"));
    let device = with("", &[("a", &to("b")), ("b", &to("c")), ("c", &to("a"))]);
    let mut bench = Bench::new(&device);
    bench.press(0);
    bench.press(0);
    assert_eq!(bench.front(), "c");
    bench.press(1);
    assert_eq!(bench.front(), "b");
    bench.press(1);
    assert_eq!(bench.front(), "a");
    bench.press(1);
    assert_eq!(bench.front(), "a", "nothing is left to go back to");
    for _ in 0..300 {
        bench.press(0);
        assert!(bench.machine.state.back().len() <= 2, "circles do not fill the way back");
    }
}

#[test]
fn the_way_back_is_bounded() {
    let count = limits::BACK_DEPTH + 5;
    let names: Vec<String> = (0..count).map(|index| format!("s{index:02}")).collect();
    let texts: Vec<String> = (0..count)
        .map(|index| {
            let go = names.get(index + 1).map_or(String::new(), |next| format!("1 = {{ go = \"{next}\" }}\n"));
            let back = if index > 0 { "2 = { back = true }\n" } else { "" };
            text(&format!("[keys]\n{go}{back}"))
        })
        .collect();
    let mut screens: Vec<(&str, &str)> =
        names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
    let home = text("[keys]\n1 = { go = \"s00\" }\n");
    screens.insert(0, ("a", &home));
    let device = with("", &screens);
    let mut bench = Bench::new(&device);
    (0..=count).for_each(|_| {
        bench.press(0);
    });
    assert_eq!(bench.front(), names[count - 1]);
    (0..2 * count).for_each(|_| {
        bench.press(1);
    });
    assert_eq!(bench.front(), names[count - 1 - limits::BACK_DEPTH], "the oldest screens are forgotten");
}

const BOX: &str =
    "box = { size = [60, 30] }\ncontent = [ { text = \"sure?\" } ]\n[keys]\n1 = { close = true }\n2 = { go = \"b\" }\n";

#[test]
fn a_box_has_its_own_keys_and_closing_returns() {
    let a = text("[keys]\n1 = { open = \"sure\" }\n2 = { change = { field = \"n\", by = 1 } }\n");
    let device = with("", &[("a", &a), ("b", &text("")), ("sure", BOX)]);
    let mut bench = Bench::new(&device);
    bench.press(0);
    assert_eq!((bench.front(), device.screens[bench.machine.state.screen.0].id.as_str()), ("sure", "a"));
    bench.press(0);
    assert_eq!(bench.front(), "a");
    bench.press(1);
    assert_eq!(bench.field("n"), 1.0);
    bench.press(0);
    bench.press(1);
    assert_eq!((bench.front(), bench.machine.state.boxes.len()), ("b", 0), "going somewhere closes the box");
}

#[test]
fn a_message_goes_by_itself_and_events_reach_what_lies_below() {
    let event = "[events.done]\nper-day = 1\n";
    let message =
        "box = { size = [60, 30] }\ncontent = [ { text = \"saved\" } ]\n[[after]]\nwait = \"3 s\"\nclose = true\n";
    let a = text("[keys]\n1 = { open = \"saved\" }\n[on]\ndone = { go = \"b\" }\n");
    let device = with(event, &[("a", &a), ("b", &text("")), ("saved", message)]);
    let mut bench = Bench::new(&device);
    bench.press(0);
    bench.run(2.9);
    assert_eq!(bench.front(), "saved");
    bench.run(3.0);
    assert_eq!(bench.front(), "a");
    bench.press(0);
    bench.machine.happen(&device, EventId(0), &mut bench.watch);
    assert_eq!((bench.front(), bench.machine.state.boxes.len()), ("b", 0));
}

#[test]
fn what_lies_below_a_frozen_box_stays_as_it_was_and_below_a_live_one_goes_on() {
    let picture = |below: &str| {
        let sure = format!(
            "box = {{ at = [60, 0], size = [60, 30], below = \"{below}\" }}\ncontent = [ {{ text = \"sure?\" }} ]\n[keys]\n1 = {{ change = {{ field = \"n\", by = 1 }} }}\n"
        );
        let a = text("[keys]\n1 = { open = \"sure\" }\n");
        let device = with("", &[("a", &a), ("sure", &sure)]);
        let mut bench = Bench::new(&device);
        bench.press(0);
        let draw = |bench: &mut Bench<'_>| {
            bench.machine.show_at_once(&device);
            bench.machine.canvas.shown.clone()
        };
        let before = draw(&mut bench);
        bench.press(0);
        before == draw(&mut bench)
    };
    assert!(picture("frozen") && !picture("live"));
}

#[test]
fn rules_hold_anywhere_unless_a_screen_says_otherwise() {
    let general = "[events.alarm]\nper-day = 1\n[anywhere]\nexcept = [\"d\"]\n[anywhere.on]\nalarm = { go = \"c\" }\n\
                   [anywhere.keys]\n2 = { hold = { after = \"2 s\", go = \"a\" } }\n";
    let go = text("[keys]\n1 = { go = \"b\" }\n2 = { change = { field = \"n\", by = 1 } }\n");
    let quiet = text("[keys]\n1 = { go = \"d\" }\n[on]\nalarm = {}\n");
    let device = with(
        general,
        &[("a", &go), ("b", &quiet), ("c", &text("[keys]\n2 = {}\n")), ("d", &text("[keys]\n1 = { go = \"a\" }\n"))],
    );
    let mut bench = Bench::new(&device);
    let alarm = |bench: &mut Bench<'_>| bench.machine.happen(&device, EventId(0), &mut Watch::default());
    bench.press(0);
    alarm(&mut bench);
    assert_eq!(bench.front(), "b", "b takes no notice");
    bench.press(0);
    alarm(&mut bench);
    assert_eq!(bench.front(), "d", "d is an exception");
    bench.press(0);
    bench.press(1);
    assert_eq!((bench.front(), bench.field("n")), ("a", 1.0), "a's own press beside the hold that holds anywhere");
    alarm(&mut bench);
    assert_eq!(bench.front(), "c");
    bench.key(Key::Down(1));
    bench.run(9.0);
    assert_eq!(bench.front(), "c", "c lists the key without any action: it does nothing there");
}

#[test]
fn an_editor_changes_the_digit_of_its_cursor_and_cancel_restores() {
    let editor = "edit = [\"temp\", \"cursor\"]\ncontent = [ { value = \"temp\" } ]\n[keys]\n1 = { change = { field = \"temp\", digit = \"cursor\", by = 1 } }\n\
                  2 = { change = { field = \"cursor\", by = 1, wrap = true }, hold = { do = [ { cancel = true }, { back = true } ] } }\n";
    let device = with("", &[("a", &text("[keys]\n1 = { go = \"edit\" }\n")), ("edit", editor)]);
    let mut bench = Bench::new(&device);
    bench.press(0);
    bench.press(0);
    assert!((bench.field("temp") - 0.1).abs() < 1e-9, "the last digit shown: {}", bench.field("temp"));
    bench.press(1);
    bench.press(0);
    assert!((bench.field("temp") - 1.1).abs() < 1e-9, "the digit before it: {}", bench.field("temp"));
    bench.key(Key::Down(1));
    bench.run(1.0);
    assert_eq!((bench.front(), bench.field("temp"), bench.field("cursor")), ("a", 0.0, 0.0), "as it was on entry");
}

#[test]
fn timers_count_from_entry_or_from_the_last_press() {
    let a = text(
        "[keys]\n1 = { change = { field = \"n\", by = 1 } }\n[[after]]\nwait = \"10 s\"\ngo = \"b\"\n\
         [[after]]\nwait = \"15 s\"\nsince = \"entry\"\nchange = { field = \"n\", to = 50 }\n",
    );
    let device = with("", &[("a", &a), ("b", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.run(8.0);
    bench.press(0);
    bench.run(14.9);
    assert_eq!((bench.front(), bench.field("n")), ("a", 1.0));
    bench.run(15.0);
    assert_eq!((bench.front(), bench.field("n")), ("a", 50.0), "counted from entry, whatever is pressed");
    bench.run(18.0);
    assert_eq!(bench.front(), "b", "ten seconds after the press");
}

#[test]
fn at_equal_times_events_come_before_timers() {
    let event = "[events.tick]\nevery = \"10 s\"\n";
    let a = text(
        "[on]\ntick = { change = { field = \"n\", by = 1 } }\n[[after]]\nwait = \"10 s\"\nchange = { field = \"n\", to = 70 }\n",
    );
    let device = with(event, &[("a", &a)]);
    let mut bench = Bench::new(&device);
    bench.run(10.0);
    assert_eq!(bench.field("n"), 70.0, "the event first: 0, 1, 70");
}

#[test]
fn events_and_samples_happen_only_while_their_condition_holds() {
    let more = "[events.tick]\nevery = \"10 s\"\nwhile = { screen = \"b\" }\n[events.slow]\nevery = \"10 s\"\nwhile = { field = \"n\", below = 2 }\n";
    let counts =
        "[on]\ntick = { change = { field = \"row\", by = 1 } }\nslow = { change = { field = \"n\", by = 1 } }\n";
    let device = with(more, &[("a", &text(&format!("[keys]\n1 = {{ go = \"b\" }}\n{counts}"))), ("b", &text(counts))]);
    let mut bench = Bench::new(&device);
    bench.run(30.0);
    assert_eq!((bench.field("row"), bench.field("n")), (0.0, 2.0));
    bench.press(0);
    bench.run(50.0);
    assert_eq!((bench.field("row"), bench.field("n")), (2.0, 2.0));
}

#[test]
fn what_cannot_be_meant_is_refused_at_its_place() {
    let one =
        |keys: &str| refused("", &[("a", &text(keys)), ("b", &text("[keys]\n1 = { go = \"a\" }\n")), ("sure", BOX)]);
    assert!(refused("", &[("a", &text("[keys]\n1 = { back = true }\n"))]).contains("there is no way back"));
    assert!(one("[keys]\n1 = { open = \"b\" }\n").contains("`b` is a screen, not a box"));
    assert!(one("[keys]\n1 = { go = \"sure\" }\n").contains("`sure` is a box"));
    assert!(one("[keys]\n1 = { close = true }\n").contains("there is nothing to close"));
    assert!(one("[keys]\n1 = { cancel = true }\n").contains("there is nothing to cancel"));
    assert!(one("[keys]\n1 = { change = { field = \"nn\", by = 1 } }\n").contains("there is no field `nn`"));
    assert!(one("edit = [\"nn\"]\n").contains("there is no field `nn`"));
    let repeat = |every: &str| {
        one(&format!("[keys]\n1 = {{ change = {{ field = \"n\", by = 1 }}, repeat = {{ every = \"{every}\" }} }}\n"))
    };
    assert!(repeat("0 s").contains("a press is repeated"));
    assert!(one("[[after]]\nwait = \"0.0001 us\"\ngo = \"b\"\n").contains("a timer waits"));
    assert!(one("[[after]]\nwait = \"1 ms\"\ngo = \"b\"\n").contains("a timer waits"));
    assert!(
        one("[keys]\n1 = { go = { by = \"row\", to = [\"a\", \"b\"] } }\n").contains("does not count these screens")
    );
    assert!(one("[keys]\n1 = { go = \"a\", back = true }\n").contains("only one of these actions"));
    assert!(one("[keys]\n1 = { first = [ { do = [ { go = \"b\" } ] }, { do = [] } ] }\n").contains("can never happen"));
    let over = "box = { size = [60, 30] }\ncontent = []\n[keys]\n1 = { open = \"x\" }\n";
    assert!(refused("", &[("a", &text("[keys]\n1 = { open = \"x\" }\n")), ("x", over)]).contains("over itself"));
    let wide = "box = { size = [600, 30] }\ncontent = []\n";
    assert!(
        refused("", &[("a", &text("[keys]\n1 = { open = \"x\" }\n")), ("x", wide)])
            .contains("does not lie on the screen")
    );
}

#[test]
fn a_box_opens_over_the_screen_that_the_same_key_leads_to() {
    let a = "content = [ { text = \"a\" } ]\n[keys]\n1 = { do = [ { go = \"b\" }, { open = \"x\" } ] }\n2 = { open = \"y\" }\n";
    let b = "content = [ { text = \"b\" } ]\n[keys]\n1 = { back = true }\n2 = { back = true, open = \"x\" }\n";
    let x = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n[[after]]\nwait = \"3 s\"\nclose = true\n";
    let y = "box = { size = [60, 30] }\ncontent = [ { text = \"y\" } ]\n[keys]\n1 = { do = [ { close = true }, { open = \"x\" } ] }\n";
    let device = with("", &[("a", a), ("b", b), ("x", x), ("y", y)]);
    let layers = |bench: &Bench<'_>| -> Vec<String> {
        let state = &bench.machine.state;
        let all = [state.screen].into_iter().chain(state.boxes.iter().map(|open| open.screen));
        all.map(|screen| device.screens[screen.0].id.clone()).collect()
    };
    let mut bench = Bench::new(&device);
    bench.run(10.0);
    bench.press(0);
    // The message lies over b, leaves by itself, and b's own way back is as without it.
    assert_eq!(layers(&bench), ["b", "x"]);
    bench.run(14.0);
    assert_eq!(layers(&bench), ["b"]);
    bench.press(1);
    assert_eq!(layers(&bench), ["a", "x"]);
    bench.run(18.0);
    bench.press(1);
    bench.run(19.0);
    assert_eq!(layers(&bench), ["a", "y"]);
    bench.press(0);
    // One box takes the place of another.
    assert_eq!(layers(&bench), ["a", "x"]);
}

#[test]
fn what_comes_over_the_link_does_not_happen_while_it_is_lost() {
    let more = "[fields.linked]\nrange = [0, 1]\nsample = 1\nholds = \"link\"\n[events.report]\nevery = \"10 s\"\nlink = true\n\
                while = { field = \"n\", below = 1 }\n[events.tick]\nevery = \"10 s\"\n";
    let device = with(more, &[("a", "content = [ { text = \"a\" } ]\n")]);
    let [report, tick] = ["report", "tick"].map(|name| device.events.iter().find(|event| event.name == name).unwrap());
    let mut values = device.sample();
    let mut allowed = |linked: f64, n: f64| {
        values.put(device.field("linked").unwrap(), linked);
        values.put(device.field("n").unwrap(), n);
        (report.allowed(&values), tick.allowed(&values))
    };
    assert_eq!(allowed(1.0, 0.0), (true, true));
    assert_eq!(allowed(0.0, 0.0), (false, true));
    assert_eq!(allowed(1.0, 1.0), (false, true));
}

/// Seen in the preview: one press on a panel that was busy for longer than the repetition's time counted twice.
#[test]
fn a_key_let_go_while_the_panel_is_busy_repeats_and_holds_no_more() {
    let a = text(
        "[keys]\n1 = { change = { field = \"n\", by = 1 }, repeat = { after = \"600 ms\", every = \"200 ms\" } }\n\
         2 = { change = { field = \"n\", by = 10 }, hold = { after = \"1 s\", go = \"b\" } }\n",
    );
    let device = with("[policy]\nbusy-presses = \"queue\"\n", &[("a", &a), ("b", &text(""))]);
    let mut bench = Bench::new(&device);
    bench.key(Key::Down(0));
    bench.machine.sent(micros(Seconds(3.0)));
    bench.run(0.1);
    assert_eq!(bench.key(Key::Up(0)), Taken::Queued);
    bench.run(3.5);
    assert_eq!(bench.field("n"), 1.0, "pressed once, for a tenth of a second");
    bench.key(Key::Down(1));
    bench.machine.sent(micros(Seconds(6.0)));
    bench.run(4.2);
    assert_eq!(bench.key(Key::Up(1)), Taken::Queued);
    bench.run(6.5);
    assert_eq!((bench.front(), bench.field("n")), ("a", 11.0), "let go after 0.7 s: a short press");
    // One that was down for long enough holds, though its release waits too.
    bench.key(Key::Down(1));
    bench.machine.sent(micros(Seconds(9.0)));
    bench.run(7.8);
    assert_eq!(bench.key(Key::Up(1)), Taken::Queued);
    bench.run(9.5);
    assert_eq!((bench.front(), bench.field("n")), ("b", 11.0), "down for 1.3 s");
}

/// Where presses during a refresh are dropped, letting go is not: what a key does when it is let go, it does at once, and
/// only after a press that was taken.
#[test]
fn letting_go_counts_while_presses_are_dropped() {
    let a = text(
        "[keys]\n1 = { change = { field = \"n\", by = 1 }, release = { change = { field = \"n\", by = 2 } } }\n\
         2 = { change = { field = \"n\", by = 4 }, release = { change = { field = \"n\", by = 1 } } }\n",
    );
    let device = with("[policy]\nbusy-presses = \"drop\"\n", &[("a", &a)]);
    let mut bench = Bench::new(&device);
    assert_eq!((bench.key(Key::Down(0)), bench.field("n")), (Taken::Acted, 1.0));
    bench.machine.sent(micros(Seconds(3.0)));
    bench.run(0.1);
    assert_eq!((bench.key(Key::Down(1)), bench.field("n")), (Taken::Dropped, 1.0));
    assert_eq!((bench.key(Key::Up(1)), bench.field("n")), (Taken::Nothing, 1.0), "its press was dropped");
    assert_eq!((bench.key(Key::Up(0)), bench.field("n")), (Taken::Acted, 3.0), "at once, not after the refresh");
    assert_eq!((bench.key(Key::Up(0)), bench.field("n")), (Taken::Nothing, 3.0), "once only");
    bench.run(3.5);
    assert_eq!(bench.field("n"), 3.0, "nothing waited");
}
