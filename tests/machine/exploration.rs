//! Exploring the states of a flow: how many there are, which are never left; lints that follow from it.

use crate::plain::{self, BASE, device};
use inkjoule::budget::transition::transitions;
use inkjoule::limits;
use inkjoule::lint::{Subject, findings};
use inkjoule::machine::explore::{STATES, explore};
use inkjoule::project::load;
use inkjoule::refresh::update::Mode;
use std::path::Path;

const USAGE: &str = "[fields.n]\nrange = [0, 4]\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                     temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

pub(crate) fn said(more: &str, screens: &[(&str, &str)], lint: &str) -> Vec<String> {
    let device = device(&format!("{USAGE}{more}"), screens);
    let found = findings(&Subject::new(&device, vec![0]));
    found.into_iter().filter(|finding| finding.fault.id == Some(lint)).map(|finding| finding.fault.message).collect()
}

#[test]
fn the_states_of_a_small_flow_are_those_counted_by_hand() {
    // On a the field decides where key 2 leads, so its five values count: 5 states of a, each leads to b or, at 4, to c,
    // with a behind them on the way back. b is entered with n from 0 to 3, c with 4.
    let a = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1, wrap = true } }\n\
             2 = { first = [ { when = { field = \"n\", is = 4 }, do = [ { go = \"c\" } ] }, { do = [ { go = \"b\" } ] } ] }\n";
    let back = "content = [ { text = \"b\" } ]\n[keys]\n1 = { back = true }\n";
    let device = device(USAGE, &[("a", a), ("b", back), ("c", back)]);
    let found = explore(&device, STATES);
    assert_eq!((found.states, found.complete, found.trapped.len()), (5 + 4 + 1, true, 0));
    assert_eq!(found.shown, [true; 3]);
    let bounded = explore(&device, 4);
    assert_eq!(
        (bounded.states, bounded.complete, bounded.trapped.len()),
        (4, false, 0),
        "a bound is told, nothing is made up"
    );
}

/// `z` opens from `y` while n is 4, and `y` is reached by cancelling only: the editor that was entered with 4 is another
/// state than the one in which n was changed to 4.
#[test]
fn what_cancel_leads_to_hangs_on_the_value_before() {
    let a =
        "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { go = \"e\" }\n2 = { change = { field = \"n\", by = 1 } }\n";
    let e = "edit = [\"n\"]\ncontent = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n\
             2 = { cancel = true, go = \"y\" }\n";
    let y = "content = [ { text = \"y\" } ]\n[keys]\n1 = { go = \"a\" }\n\
             2 = { first = [ { when = { field = \"n\", is = 4 }, do = [ { go = \"z\" } ] } ] }\n";
    let z = "content = [ { text = \"z\" } ]\n[keys]\n1 = { go = \"a\" }\n";
    assert_eq!(said("", &[("a", a), ("e", e), ("y", y), ("z", z)], "unreachable"), [""; 0]);
}

#[test]
fn a_planted_trap_is_found_and_a_way_out_takes_it_away() {
    // The screen c leads back only while n is below 2, and nothing changes n there.
    let a =
        "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n2 = { go = \"c\" }\n";
    let c = "content = [ { text = \"c\" } ]\n[keys]\n1 = { first = [ { when = { field = \"n\", below = 2 }, do = [ { go = \"a\" } ] } ] }\n";
    let found = said("", &[("a", a), ("c", c)], "trapped");
    assert_eq!(found, ["a state of `c` is never left: nothing leads from it back to `a`"]);
    let out = format!("{c}[[after]]\nwait = \"60 s\"\ngo = \"a\"\n");
    assert!(said("", &[("a", a), ("c", &out)], "trapped").is_empty());
}

/// The press of `a` sets what its release sets otherwise, and leads to `c`: only a key that is let go there shuts the way.
#[test]
fn a_trap_behind_a_key_that_is_let_go_on_the_next_screen_is_found() {
    let c = "content = [ { text = \"c\" } ]\n[keys]\n2 = { first = [ { when = { field = \"n\", below = 2 }, do = [ { go = \"a\" } ] } ] }\n";
    let key = |more: &str| {
        format!(
            "content = [ {{ text = \"{{n}}\" }} ]\n[keys]\n1 = {{ {more}, release = {{ change = {{ field = \"n\", to = 4 }} }} }}\n"
        )
    };
    let does = "[ { change = { field = \"n\", to = 0 } }, { go = \"c\" } ]";
    for press in [format!("do = {does}"), format!("hold = {{ after = \"1 s\", do = {does} }}")] {
        let found = said("", &[("a", &key(&press)), ("c", c)], "trapped");
        assert_eq!(found, ["a state of `c` is never left: nothing leads from it back to `a`"], "{press}");
    }
    // What the release sets leaves the way open; or another key of `c` does.
    let open = key("do = [ { change = { field = \"n\", to = 0 } }, { go = \"c\" } ]").replace("to = 4", "to = 1");
    assert!(said("", &[("a", &open), ("c", c)], "trapped").is_empty());
    let entry = c.replace("[keys]\n", "[keys]\n1 = { change = { field = \"n\", to = 0 } }\n");
    assert!(said("", &[("a", &key(&format!("do = {does}"))), ("c", &entry)], "trapped").is_empty(), "a way out");
}

/// Keys whose release changes nothing on which it depends what is shown tell no states apart.
#[test]
fn a_release_that_decides_nothing_makes_no_states() {
    let a = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { go = \"c\" }\n";
    let lit = "content = [ { text = \"{n}\" } ]\n[keys]\n1 = { do = [ { change = { field = \"n\", to = 1 } }, { go = \"c\" } ], release = { change = { field = \"n\", to = 0 } } }\n";
    let c = "content = [ { text = \"c\" } ]\n[keys]\n1 = { back = true }\n";
    let states = |a: &str| explore(&device(USAGE, &[("a", a), ("c", c)]), STATES).states;
    assert_eq!((states(a), states(lit)), (2, 2));
}

#[test]
fn a_box_without_a_way_out_is_a_trap() {
    let a = "content = [ { text = \"a\" } ]\n[keys]\n1 = { open = \"x\" }\n";
    let shut = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n";
    assert_eq!(said("", &[("a", a), ("x", shut)], "trapped").len(), 1);
    let open = format!("{shut}[keys]\n1 = {{ close = true }}\n");
    assert!(said("", &[("a", a), ("x", &open)], "trapped").is_empty());
}

/// A power key that works on every screen leads to one that leads on: it hid every trap, though nobody switches a device
/// off to leave a screen.
#[test]
fn switching_off_is_no_way_out() {
    let power = "[anywhere.keys]\n2 = { hold = { after = \"1 s\", go = \"off\" } }\n[anywhere]\nexcept = [\"off\"]\n";
    let off =
        |role: &str| format!("role = \"{role}\"\n{}", text("[keys]\n2 = { hold = { after = \"1 s\", go = \"a\" } }\n"));
    let a = text(
        "[keys]\n1 = { change = { field = \"n\", by = 1 }, hold = { after = \"1 s\", go = \"c\" } }\n[[after]]\nwait = \"60 s\"\nopen = \"x\"\n",
    );
    // Left only while n is below 2; a screen without a key; a box without one.
    let c = text(
        "[keys]\n1 = { first = [ { when = { field = \"n\", below = 2 }, do = [ { go = \"a\" } ] } ], hold = { after = \"1 s\", go = \"d\" } }\n",
    );
    let over = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n";
    for role in ["off", "battery-empty"] {
        let off = off(role);
        let screens = [("a", a.as_str()), ("c", &c), ("d", &text("")), ("x", over), ("off", &off)];
        let found = |lint| said(power, &screens, lint);
        let trapped = found("trapped");
        for name in ["c", "d", "x"] {
            let named = format!("a state of `{name}` is never left: nothing leads from it back to `a`");
            assert!(trapped.contains(&named), "{role}: {trapped:#?}");
        }
        assert_eq!(found("dead-end"), ["no keys lead from the screen `d` back to `a`"], "{role}");
    }
    // A power key of the box itself.
    let shut = format!("{over}[keys]\n1 = {{ go = \"off\" }}\n");
    let off = off("off");
    let found =
        |over: &str| said("", &[("a", &a), ("c", &c), ("d", &text(ENDS)), ("x", over), ("off", &off)], "box-no-exit");
    assert_eq!(found(&shut), ["the box `x` has no way out"]);
    assert!(found(&shut.replace("go = \"off\"", "go = \"d\"")).is_empty());
}

#[test]
fn journeys_that_derail_and_screens_that_strand_them_are_named() {
    let event = "[events.fault]\nper-day = 1\n";
    let a = "content = [ { text = \"a\" } ]\n[keys]\n1 = { change = { field = \"n\", by = 1 } }\n\
             2 = { first = [ { when = { field = \"n\", below = 1 }, do = [ { go = \"b\" } ] } ] }\n[on]\nfault = { go = \"stuck\" }\n";
    let b = "content = [ { text = \"b\" } ]\n[keys]\n1 = { go = \"a\" }\n";
    let stuck = "content = [ { text = \"stuck\" } ]\n";
    let journey = "[usage.journeys.round]\nper-day = 1\nsteps = [ { press = 1, look = \"1 s\" }, { press = 2, look = \"1 s\" } ]\n";
    let screens = [("a", a), ("b", b), ("stuck", stuck)];
    let both = format!("{journey}{event}");
    assert_eq!(
        said(&both, &screens, "journey-derails"),
        ["the journey `round` stops at its step 2: key 2 does nothing on `a`"]
    );
    assert_eq!(
        said(&both, &screens, "journey-stranded"),
        ["from `stuck` nothing leads to where the journey `round` begins"]
    );
    let fine = journey
        .replace("press = 1, look", "press = 2, look")
        .replace("press = 2, look = \"1 s\" } ]", "press = 1, look = \"1 s\" } ]");
    let led =
        [("a", a), ("b", b), ("stuck", "content = [ { text = \"stuck\" } ]\n[[after]]\nwait = \"60 s\"\ngo = \"a\"\n")];
    assert!(said(&format!("{fine}{event}"), &led, "journey-derails").is_empty());
    assert!(said(&format!("{fine}{event}"), &led, "journey-stranded").is_empty());
}

#[test]
fn the_demo_is_explored_to_the_end() {
    let Ok(loaded) = load(Path::new("screens-demo"), &[]) else { panic!("the demo does not load") };
    let found = explore(&loaded.device, STATES);
    assert!(found.complete && found.states >= loaded.device.screens.len() - 2, "{} states", found.states);
}

const ENDS: &str = "[keys]\n1 = { back = true }\n";

fn text(rules: &str) -> String {
    format!("content = [ {{ text = \"x\" }} ]\n{rules}")
}

#[test]
fn an_alternative_that_no_state_carries_out_is_named() {
    // n is from 0 to 4 and nothing but key 1 changes it, to 1: it is never 3, and can never be 9.
    let a = |at: u32| {
        text(&format!(
            "[keys]\n1 = {{ change = {{ field = \"n\", to = 1 }} }}\n\
             2 = {{ first = [ {{ when = {{ field = \"n\", is = {at} }}, do = [ {{ go = \"b\" }} ] }}, {{ do = [ {{ go = \"b\" }} ] }} ] }}\n"
        ))
    };
    let found = |at| said("", &[("a", &a(at)), ("b", &text(ENDS))], "never-acts");
    assert_eq!(found(3), ["on `a`, alternative 1 of key 2 is never carried out"]);
    assert_eq!(found(9), ["on `a`, alternative 1 of key 2 is never carried out"]);
    assert!(found(1).is_empty() && found(0).is_empty());
    // A rule that holds anywhere is carried out somewhere: that is enough.
    let anywhere = "[events.e]\nper-day = 1\n[anywhere.on]\n\
                    e = { first = [ { when = { field = \"n\", is = 1 }, do = [ { go = \"b\" } ] } ] }\n";
    assert!(said(anywhere, &[("a", &a(1)), ("b", &text(ENDS))], "never-acts").is_empty());
}

#[test]
fn an_action_that_a_later_one_undoes_is_named() {
    let over = "box = { size = [60, 30] }\ncontent = [ { text = \"x\" } ]\n[keys]\n1 = { close = true }\n";
    let found = |list: &str| {
        let a = text(&format!("[keys]\n1 = {{ do = [ {list} ] }}\n2 = {{ open = \"x\" }}\n"));
        said("", &[("a", &a), ("b", &text("[keys]\n1 = { go = \"a\" }\n")), ("x", over)], "moot-action")
    };
    let set = "{ change = { field = \"n\", by = 1 } }, { change = { field = \"n\", to = 2 } }";
    assert_eq!(found(set), ["on `a`, key 1 has an action without effect: `n` is set again at once"]);
    assert!(
        found("{ change = { field = \"n\", to = 2 } }, { change = { field = \"n\", by = 1 } }, { go = \"b\" }")
            .is_empty()
    );
}

#[test]
fn a_hold_that_hides_its_press_is_named() {
    let found = |key: &str| said("", &[("a", &text(&format!("[keys]\n1 = {{ {key} }}\n")))], "hold-hides-press");
    let add = "change = { field = \"n\", by = 1 }";
    let hold = |after: &str| format!("hold = {{ after = \"{after}\", change = {{ field = \"n\", to = 0 }} }}");
    assert_eq!(
        found(&format!("{add}, {}", hold("300 ms"))),
        ["on `a`, the hold of key 1 begins after 300 ms: an unhurried press is taken for it"]
    );
    assert!(found(&format!("{add}, {}", hold("1 s"))).is_empty());
    assert!(found(&hold("300 ms")).is_empty(), "without a press there is nothing to hide");
}

#[test]
fn a_box_that_only_an_event_takes_away_has_no_way_out() {
    let a = text("[keys]\n1 = { open = \"x\" }\n");
    let over = |rules: &str| format!("box = {{ size = [60, 30] }}\ncontent = [ {{ text = \"x\" }} ]\n{rules}");
    let event = "[events.e]\nper-day = 1\n";
    let found = |rules: &str| said(event, &[("a", &a), ("x", &over(rules))], "box-no-exit");
    assert_eq!(found("[on]\ne = { close = true }\n"), ["the box `x` has no way out"]);
    assert_eq!(found(""), ["the box `x` has no way out"]);
    assert!(found("[[after]]\nwait = \"5 s\"\nclose = true\n").is_empty());
    assert!(found("[keys]\n2 = { back = true }\n").is_empty());
}

/// Half a value beside a white box was read as another value, and nothing said so.
#[test]
fn a_box_without_an_outline_that_cuts_a_value_is_named() {
    let a = "content = [ { value = \"m\", font = \"text\", at = [0, 20], size = [80, 16] } ]\n[keys]\n1 = { open = \"x\" }\n";
    let fields = "[fields.m]\nrange = [100000, 999999]\nsample = 123456\n";
    let found = |at: &str, outline: &str| {
        let over = format!(
            "box = {{ at = {at}, size = [60, 24] }}\ncontent = [ {outline} {{ text = \"x\", at = [20, 10], size = [20, 12] }} ]\n\
             [keys]\n1 = {{ close = true }}\n"
        );
        said(fields, &[("a", a), ("x", &over)], "box-cuts")
    };
    let named = ["the box `x` leaves only part of this value on `a` visible"];
    assert_eq!(found("[20, 16]", ""), named, "digits are left beside it");
    assert_eq!(found("[0, 28]", ""), named, "their upper halves are left");
    assert!(found("[20, 16]", "{ box = 1, at = [0, 0], size = [60, 24] },").is_empty(), "outlined");
    assert!(found("[0, 38]", "").is_empty(), "below it");
}

#[test]
fn changes_that_leave_their_range_are_named() {
    let fields = "[fields.limit]\nrange = [0, 99]\n[fields.digit]\nrange = [0, 2]\n[fields.fine]\nrange = [0, 1]\n";
    let found = |change: &str| {
        let a = text(&format!("[keys]\n1 = {{ change = {{ {change} }} }}\n"));
        said(fields, &[("a", &a)], "editor-range")
    };
    assert_eq!(found("field = \"limit\", to = 100"), ["on `a`, key 1 leaves the range of `limit`: 100 is outside it"]);
    assert_eq!(
        found("field = \"limit\", by = -100"),
        ["on `a`, key 1 leaves the range of `limit`: -100 is more than it is wide"]
    );
    assert_eq!(
        found("field = \"limit\", digit = \"digit\", by = 1"),
        ["on `a`, key 1 leaves the range of `limit`: at `digit` = 2 its digit counts 100"]
    );
    assert!(found("field = \"limit\", digit = \"fine\", by = 1").is_empty());
    assert!(found("field = \"limit\", to = 99").is_empty());
}

#[test]
fn a_key_that_answers_after_more_than_a_second_is_named_with_its_reason() {
    let full = "[policy]\nfull-on = [\"b\"]\n";
    let a = text("[keys]\n1 = { go = \"b\" }\n");
    let b = "content = [ { text = \"other\" } ]\n[keys]\n1 = { go = \"a\" }\n";
    let device = device(&format!("{full}{USAGE}"), &[("a", &a), ("b", b)]);
    let found = findings(&Subject::new(&device, vec![0]));
    let slow: Vec<_> = found.iter().filter(|finding| finding.fault.id == Some("slow-key")).collect();
    // The full waveform takes 3 s at 20 °C (4 s at -20 °C, 2 s at 60 °C); the partial one half a second.
    assert_eq!(slow.len(), 1);
    let said = &slow[0].fault.message;
    assert!(said.starts_with("`b` has an update latency of 3.") && said.contains("after key 1 on `a`"), "{said}");
    assert!(slow[0].fault.label.starts_with("full refresh: full on entry"), "{}", slow[0].fault.label);
}

/// Strips of a few lines: what takes so long is the drawing of the exported machine, and what helps is said.
#[test]
fn a_key_that_waits_for_strips_is_told_of_more_lines_and_a_memo() {
    let slow = ["board.mcu.clock=8 MHz", "policy.buffer.external-lines=8"].map(str::to_owned);
    let device = load(Path::new("screens-demo"), &slow).unwrap_or_else(|failed| panic!("{:?}", failed.faults)).device;
    let found = findings(&Subject::new(&device, vec![0]));
    let slow: Vec<_> = found.iter().filter(|finding| finding.fault.id == Some("slow-key")).collect();
    let told = slow.iter().filter(|finding| finding.fault.label.starts_with("render alone takes")).count();
    assert!(told > 5, "{told} of {}", slow.len());
    let help = slow.iter().filter_map(|finding| finding.fault.help.as_ref());
    assert_eq!(help.filter(|help| help.contains("memo = 500")).count(), told);
}

#[test]
fn a_full_refresh_that_the_partial_limit_forces_every_few_presses_is_named() {
    let found = |limit: u32| {
        let more = format!("[policy]\nmax-partials = {limit}\n");
        let a = text("[keys]\n1 = { go = \"b\" }\n");
        said(&more, &[("a", &a), ("b", "content = [ { text = \"other\" } ]\n[keys]\n1 = { go = \"a\" }\n")], "slow-key")
    };
    // One of three refreshes takes 3 s at 20 °C, the others half a second.
    let forced = found(2);
    assert_eq!(forced.len(), 1);
    assert!(forced[0].starts_with("one refresh in 3 is full and takes 3."), "{}", forced[0]);
    assert!(forced[0].contains("of 2 transitions"), "{}", forced[0]);
    // Now and then it is the display's own.
    assert!(found(20).is_empty());
}

#[test]
fn a_load_of_usb_that_the_battery_feeds_is_named() {
    let found = |rail: &str| {
        let fields = format!(
            "[board.rails.host]\nsource = \"usb\"\nregulator = \"ldo\"\noutput = \"3 V\"\ndropout = \"100 mV\"\n\
             [board.loads.copier]\nrail = \"{rail}\"\ncurrent = \"5 mA\"\nwhile = {{ field = \"usb\", is = 1 }}\n\
             [fields.usb]\nrange = [0, 1]\nholds = \"usb\"\n{USAGE}"
        );
        let fed = BASE.replace("[panel]\n", "[panel]\nrail = \"main\"\n");
        let fed = fed.replace("[board.mcu]\n", "[board.mcu]\nrail = \"main\"\n");
        let loaded = plain::load(fed + &fields, &[("a", "content = [ { text = \"{usb}\" } ]\n")]);
        let device = loaded.unwrap_or_else(|said| panic!("{said}"));
        let found = findings(&Subject::new(&device, vec![0]));
        found
            .into_iter()
            .filter(|one| one.fault.id == Some("usb-load"))
            .map(|one| one.fault.message)
            .collect::<Vec<_>>()
    };
    assert_eq!(found("main"), ["the load `copier` draws current only while USB is attached, and the battery feeds it"]);
    assert!(found("host").is_empty());
}

#[test]
fn closing_a_box_enters_no_screen_so_it_is_answered_by_a_partial_refresh() {
    // The box opens over b, whose entry asks for a full refresh; the box's key only takes the box away.
    let more = format!("[policy]\nfull-on = [\"b\"]\n[events.e]\nper-day = 1\n{USAGE}");
    let a = text("[[after]]\nwait = \"60 s\"\ngo = \"b\"\n");
    let b = text("[[after]]\nwait = \"60 s\"\ngo = \"a\"\n[on]\ne = { open = \"x\" }\n");
    let over =
        "box = { size = [60, 30] }\ncontent = [ { box = 2, top = 0, bottom = 0 } ]\n[keys]\n1 = { close = true }\n";
    let device = device(&more, &[("a", &a), ("b", &b), ("x", over)]);
    let found = findings(&Subject::new(&device, vec![0]));
    let slow: Vec<_> = found.iter().filter(|finding| finding.fault.id == Some("slow-key")).collect();
    assert!(slow.is_empty(), "{}", slow[0].fault.message);
    let parameters = device.inputs.typical();
    let [closing] = transitions(&device, &parameters, device.usage.climate.mean())
        .into_iter()
        .filter(|way| device.screens[way.from.0].id == "x")
        .collect::<Vec<_>>()
        .try_into()
        .expect("one way leads from the box");
    assert_eq!((device.screens[closing.to.0].id.as_str(), closing.change.mode), ("b", Mode::Partial));
}

/// Values beyond 64 were once "tried both ways" without a word, and the trap was missed.
#[test]
fn a_trap_behind_a_hundred_values_is_found() {
    let fields = "[fields.w]\nrange = [0, 99]\n";
    let a =
        "content = [ { text = \"{w}\" } ]\n[keys]\n1 = { change = { field = \"w\", by = 1 } }\n2 = { go = \"c\" }\n";
    let c = "content = [ { text = \"c\" } ]\n[keys]\n1 = { first = [ { when = { field = \"w\", below = 2 }, do = [ { go = \"a\" } ] } ] }\n";
    assert_eq!(said(fields, &[("a", a), ("c", c)], "trapped").len(), 1);
    // Where each value would make too many states, that is said.
    let device = device(&format!("{USAGE}{}", fields.replace("99", "99999")), &[("a", a), ("c", c)]);
    let found = explore(&device, STATES);
    assert!(found.complete && found.states < 10, "{} states", found.states);
    assert_eq!(found.loose.iter().map(|field| device.fields[field.0].name.as_str()).collect::<Vec<_>>(), ["w"]);
}

/// Once only circles on one screen by `to` were found; at run time they ended at a bound, without a word.
#[test]
fn events_that_make_one_another_happen_through_two_screens_or_by_amounts_are_an_error() {
    let events = "[events.e1]\nwhen = { field = \"n\", is = 1 }\n[events.e2]\nwhen = { field = \"n\", is = 2 }\n";
    let screen = |rules: &str| {
        format!("content = [ {{ text = \"{{n}}\" }} ]\n[keys]\n1 = {{ change = {{ field = \"n\", by = 1 }} }}\n{rules}")
    };
    let a = screen("[on]\ne1 = { do = [ { change = { field = \"n\", to = 2 } }, { go = \"b\" } ] }\n");
    let b = screen("[on]\ne2 = { do = [ { change = { field = \"n\", to = 1 } }, { go = \"a\" } ] }\n");
    let found = said(events, &[("a", &a), ("b", &b)], "endless-events");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("e1") || found[0].contains("e2"), "{found:?}");
    let by =
        screen("[on]\ne1 = { change = { field = \"n\", by = 1 } }\ne2 = { change = { field = \"n\", by = -1 } }\n");
    assert_eq!(said(events, &[("a", &by)], "endless-events").len(), 1);
    // A chain that ends is none.
    let chain =
        screen("[on]\ne1 = { change = { field = \"n\", by = 1 } }\ne2 = { change = { field = \"n\", to = 0 } }\n");
    assert!(said(events, &[("a", &chain)], "endless-events").is_empty());
}

#[test]
fn keys_that_never_do_anything_are_named() {
    let box_of =
        |keys: &str| format!("box = {{ size = [60, 30] }}\ncontent = [ {{ text = \"x\" }} ]\n[keys]\n{keys}\n");
    // A way back that every way in cuts off: going home shortens it.
    let a = text("[keys]\n1 = { go = \"b\" }\n2 = { back = true }\n");
    let b = text("[keys]\n1 = { go = \"a\" }\n");
    assert_eq!(said("", &[("a", &a), ("b", &b)], "never-acts"), ["on `a`, key 2 never changes anything"]);
    // A box over itself by way of another.
    let a = text("[keys]\n1 = { open = \"x\" }\n");
    let x = box_of("1 = { open = \"y\" }\n2 = { close = true }");
    let y = box_of("1 = { open = \"x\" }\n2 = { close = true }");
    assert_eq!(said("", &[("a", &a), ("x", &x), ("y", &y)], "never-acts"), ["on `y`, key 1 never changes anything"]);
    // A box beyond the depth is never shown; the page `behaviour` of the guide says these numbers.
    assert_eq!((limits::BOX_DEPTH, limits::BACK_DEPTH), (4, 16));
    let chain = |next: &str| box_of(&format!("1 = {{ open = \"{next}\" }}\n2 = {{ close = true }}"));
    let boxes = [("v", chain("w")), ("w", chain("x")), ("x", chain("y")), ("y", chain("z")), ("z", chain("v"))];
    let a = text("[keys]\n1 = { open = \"v\" }\n");
    let screens: Vec<(&str, &str)> =
        [("a", a.as_str())].into_iter().chain(boxes.iter().map(|(id, text)| (*id, text.as_str()))).collect();
    assert_eq!(said("", &screens, "unreachable"), ["nothing leads from `a` to the box `z`"]);
    assert_eq!(said("", &screens, "never-acts"), ["on `y`, key 1 never changes anything"]);
}

#[test]
fn a_screen_behind_a_condition_that_never_holds_is_unreachable() {
    // By a key and by an event.
    let m = "[fields.m]\nrange = [0, 4]\n[events.e]\nwhen = { field = \"m\", is = 2 }\n";
    let by_key = text("[keys]\n1 = { first = [ { when = { field = \"m\", is = 2 }, do = [ { go = \"b\" } ] } ] }\n");
    let by_event = text("[on]\ne = { go = \"b\" }\n");
    let b = text("[keys]\n1 = { go = \"a\" }\n");
    for a in [by_key, by_event] {
        assert_eq!(said(m, &[("a", &a), ("b", &b)], "unreachable"), ["nothing leads from `a` to the screen `b`"]);
        let moved = format!("{a}{}", if a.contains("[keys]") { "" } else { "[keys]\n" });
        let moved = format!("{moved}2 = {{ change = {{ field = \"m\", by = 1 }} }}\n");
        assert!(said(m, &[("a", &moved), ("b", &b)], "unreachable").is_empty());
    }
}

/// A key that leads back was once taken for one that does nothing: for figures, the report and the lints of journeys.
#[test]
fn what_lies_behind_a_screen_counts_for_its_transitions_and_journeys() {
    let journey = "[usage.journeys.look]\nper-day = 2\nfrom = \"a\"\nsteps = [ { press = 1, look = \"5 s\" } ]\n";
    let a = text("[keys]\n1 = { go = \"b\" }\n");
    let b = "content = [ { text = \"something else\" } ]\n[keys]\n1 = { back = true }\n";
    let device = device(&format!("{USAGE}{journey}"), &[("a", &a), ("b", b)]);
    let found = findings(&Subject::new(&device, vec![0]));
    assert!(found.iter().all(|finding| finding.fault.id != Some("journey-stranded")), "{found:?}");
    let all = transitions(&device, &device.inputs.typical(), device.usage.climate.mean());
    let back = all.iter().find(|way| way.from.0 == 1).expect("key 1 of b");
    assert!(back.to.0 == 0 && back.change.changed > 0, "{back:?}");
}
