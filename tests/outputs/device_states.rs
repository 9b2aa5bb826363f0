//! States of the device that fields hold: the preview sets them, events follow, the facts tell them; the start-up screen;
//! the report's click-through with boxes, holds and ways back.

use crate::plain::BASE;
use inkjoule::budget::summary::budget;
use inkjoule::check::check;
use inkjoule::evaluation::Evaluation;
use inkjoule::lint::Subject;
use inkjoule::preview::command::{After, Command, Turn, apply, typed};
use inkjoule::preview::facts::{Fact, facts};
use inkjoule::preview::session::{Begin, Session};
use inkjoule::preview::view::{Note, View};
use inkjoule::project::{Loaded, load_files};
use inkjoule::report::{Content, page};
use inkjoule::simulate::simulate;
use inkjoule::source::fault::render;
use inkjoule::source::files::Files;
use inkjoule::units::Seconds;

fn files() -> Files {
    let root = format!(
        "{BASE}[fields.usb]\nchoices = [\"battery\", \"usb\"]\nholds = \"usb\"\n[fields.charge]\nrange = [0, 100]\nsample = 20\nholds = \"charge\"\n\
         [events.plugged]\nwhen = {{ field = \"usb\", is = 1 }}\n[events.low]\nwhen = {{ field = \"charge\", below = 15 }}\n\
         [anywhere.on]\nplugged = {{ go = \"power\" }}\nlow = {{ open = \"warn\" }}\n\
         [usage]\nhome = \"a\"\nstart-up = \"hello\"\nstart = \"2031-01-01\"\ndays = 1\n\
         temperature = {{ low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }}\n"
    );
    let screens = [
        (
            "a",
            "content = [ { text = \"a {charge}\" } ]\n[keys]\n1 = { go = \"power\" }\n2 = { hold = { after = \"1 s\", open = \"warn\" } }\n",
        ),
        ("power", "content = [ { text = \"{usb}\" } ]\n[keys]\n1 = { back = true }\n"),
        ("hello", "content = [ { text = \"hello\" } ]\n[[after]]\nwait = \"3 s\"\ngo = \"a\"\n"),
        ("gone", "role = \"off\"\ncontent = [ { text = \"off\" } ]\n"),
        ("warn", "box = { size = [60, 30] }\ncontent = [ { text = \"low\" } ]\n[keys]\n1 = { close = true }\n"),
    ];
    let mut files = vec![("device.toml".to_owned(), root)];
    files.extend(screens.iter().map(|(id, text)| (format!("screens/{id}.toml"), (*text).to_owned())));
    Files::from_memory(files.iter().map(|(name, text)| (name.as_str(), text.as_str())))
}

fn loaded() -> Loaded {
    load_files(files()).unwrap_or_else(|failed| panic!("{}", render(&failed.faults, &failed.sources, false)))
}

#[test]
fn power_and_charge_are_injected_by_keys() {
    let mut session = Session::new(loaded(), Begin::Shown);
    let mut view = View::default();
    let id = |session: &Session| session.device().screens[session.front().0].id.clone();
    assert_eq!(apply(typed('u').expect("a command"), &mut session, &mut view), After::Show);
    assert_eq!(id(&session), "power", "the event follows from the state");
    apply(Command::State(Turn::Emptier), &mut session, &mut view);
    assert_eq!(id(&session), "power", "15 % is not below 15 %");
    apply(Command::State(Turn::Emptier), &mut session, &mut view);
    assert_eq!(id(&session), "warn");
    let told: Vec<String> = facts(&session, &view)
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::Action { text, command: Command::State(_), .. } => Some(text),
            _ => None,
        })
        .collect();
    assert_eq!(told, ["external power: yes", "more charge: 10 %", "less charge: 10 %"]);
    // A state that no field holds is told so.
    apply(typed('k').expect("a command"), &mut session, &mut view);
    assert_eq!(view.note, Some(Note::trouble("no field holds this state")));
}

#[test]
fn the_start_up_screen_is_shown_first_and_leads_home() {
    let loaded = loaded();
    let device = &loaded.device;
    let counts = simulate(device, &device.inputs.typical());
    let hello = device.screen("hello").expect("a screen");
    assert_eq!((counts.shown[hello.0].0, counts.entries[hello.0]), (3.0, 0));
    let session = Session::new(loaded, Begin::Blank(Seconds(0.0)));
    assert_eq!(session.screen(), hello);
}

#[test]
fn an_off_screen_and_a_start_up_screen_are_not_called_unreachable() {
    let loaded = loaded();
    let device = &loaded.device;
    let found = check(&Subject::new(device, vec![0]), &budget(device));
    let wrong: Vec<&str> = found
        .iter()
        .filter(|finding| matches!(finding.fault.id, Some("unreachable" | "dead-end" | "trapped")))
        .filter(|finding| !finding.fault.message.contains("hello"))
        .map(|finding| finding.fault.message.as_str())
        .collect();
    assert_eq!(wrong, [] as [&str; 0]);
    assert!(!found.iter().any(|finding| finding.fault.id == Some("unreachable")));
}

#[test]
fn the_report_clicks_through_boxes_holds_and_ways_back() {
    let side = Evaluation::of("plain", files());
    let side = side.unwrap_or_else(|failed| panic!("{}", render(&failed.faults, &failed.sources, false)));
    let html = page(&Content { side: &side, changes: &[], locale: 0, against: &[], alternatives: &[] });
    let walk = html.split("id=\"walk\"").nth(1).and_then(|rest| rest.split("</section>").next()).expect("the section");
    let at = |id: &str| side.device.screen(id).expect("a screen").0;
    let figure = |id: &str| {
        let begin = format!("id=\"{id}\" data-title");
        walk.split("<figure").find(|part| part.contains(&begin)).unwrap_or_else(|| panic!("no figure {id}"))
    };
    let home = figure(&format!("w{}", at("a")));
    assert!(home.contains(&format!("href=\"#w{}", at("power"))), "{home}");
    assert!(home.contains("hold key 2: ") && home.contains(&format!("href=\"#w{}", at("warn"))), "{home}");
    // The cable leads to the screen of its event; of the charge there is a value in each stretch: 57 % and 7 % about 15 %.
    assert!(home.contains("USB plugged in: "), "{home}");
    assert!(home.contains("charge 57 %: ") && home.contains("charge 7 %: "), "{home}");
    let way = |words: &str| {
        let link = home.split("<a ").find(|link| link.contains(words)).unwrap_or_else(|| panic!("no link {words}"));
        let to = link.split("href=\"#").nth(1).and_then(|rest| rest.split('"').next()).expect("a place");
        to.split('-').next().map(str::to_owned)
    };
    assert_eq!(way("USB plugged in: "), Some(format!("w{}", at("power"))));
    assert_eq!(way("charge 7 %: "), Some(format!("w{}", at("warn"))), "the event of a low charge");
    assert_eq!(way("charge 57 %: "), Some(format!("w{}", at("a"))));
    // The box over the home screen closes to it.
    assert!(figure(&format!("w{}", at("warn"))).contains(&format!("href=\"#w{}\"", at("a"))));
    // Every screen leads back to what lies behind it after the shortest way from the home screen.
    let power = figure(&format!("w{}", at("power")));
    assert!(power.contains(&format!("href=\"#w{}\"", at("a"))), "{power}");
}
