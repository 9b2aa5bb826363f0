//! Single transitions of the budget and the report's page to click through are what the preview does: on random projects,
//! the same screens, frames, waveforms and times.

use crate::bench::{FIELDS, USAGE};
use crate::occurrences::Occurred;
use crate::plans::{Plan, Step, timeless};
use crate::runners::{all_occurred, on_plans};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use inkjoule::behaviour::Action;
use inkjoule::behaviour::trigger::Trigger;
use inkjoule::device::Device;
use inkjoule::evaluation::Evaluation;
use inkjoule::frame::{Frame, files};
use inkjoule::preview::session::{Begin, Reply, Session, Update};
use inkjoule::refresh::update::Mode;
use inkjoule::report::walk;
use inkjoule::screen::ScreenId;
use inkjoule::source::files::Files;
use proptest::prelude::*;

/// A press at once, and what the panel was sent for it.
fn press(session: &mut Session, key: usize) -> Option<Update> {
    let before = session.last_update().map(|update| update.time);
    let reply = session.press(key);
    assert!(matches!(reply, Reply::Acted | Reply::Idle), "{reply:?}");
    session.run_to(inkjoule::machine::micros(session.time()), &[]);
    session.last_update().filter(|update| Some(update.time) != before).cloned()
}

/// Whether the way back leads from here: where a device that begins on another screen has none.
fn back(device: &Device, screen: ScreenId, key: usize) -> bool {
    let press = &device.wirings[screen.0].keys[key].press;
    press.alternatives.iter().flat_map(|one| &one.actions).any(|action| matches!(action, Action::Back))
}

/// Every press of the budget's transitions is made by hand on a device that begins there.
fn transitions_are_what_presses_do(
    plan: &Plan,
    side: &Evaluation,
    occurred: &mut Occurred,
) -> Result<(), TestCaseError> {
    for way in &side.budget.transitions {
        let Trigger::Press(key) = way.trigger else { continue };
        if side.device.screens[way.from.0].over.is_some() || back(&side.device, way.from, key) {
            continue;
        }
        let mut loaded = timeless(plan);
        loaded.device.usage.home = way.from;
        let mut session = Session::new(loaded, Begin::Shown);
        let update = press(&mut session, key);
        prop_assert_eq!(session.front(), way.to, "{:?}", way);
        let Some(update) = update else {
            prop_assert_eq!(way.change.changed, 0, "nothing was sent for {:?}", way);
            continue;
        };
        prop_assert_eq!((update.mode, update.changed), (way.change.mode, way.change.changed), "{:?}", way);
        prop_assert_eq!(&update.windows, &way.change.windows);
        prop_assert_eq!(update.latency, way.change.latency);
        prop_assert!((update.energy.0 - way.change.energy.0).abs() <= 1e-9 * update.energy.0, "{:?}", way);
        occurred.note("a transition of the budget", true);
        occurred.note("a transition into a box", side.device.screens[way.to.0].over.is_some());
    }
    Ok(())
}

/// The value of an attribute of the first element in a text.
fn attribute<'a>(html: &'a str, name: &str) -> Option<&'a str> {
    let element = html.split('>').next()?;
    let (_, rest) = element.split_once(&format!(" {name}=\""))?;
    rest.split('"').next()
}

/// The figure of a state.
fn figure<'a>(page: &'a str, id: &str) -> &'a str {
    let place = page.find(&format!(" id=\"{id}\" data-title=")).unwrap_or_else(|| panic!("no state {id}"));
    page[place..].split("</figure>").next().unwrap_or_default()
}

/// The link of a press in a state.
fn link(state: &str, key: usize) -> Option<&str> {
    state.split("<a class=\"key\"").find(|link| attribute(link, "data-key") == Some(&(key + 1).to_string()))
}

/// The picture of a state.
fn picture(state: &str) -> &str {
    let image = state.find("<img").expect("a picture");
    attribute(&state[image..], "src").expect("its source")
}

fn source(frame: &Frame) -> String {
    format!("data:image/png;base64,{}", STANDARD.encode(files::png(frame, 1).expect("a picture")))
}

/// The script's keys are pressed on the page and in the preview, each as soon as the panel is free.
fn the_page_goes_on_as_the_preview(
    plan: &Plan,
    side: &Evaluation,
    occurred: &mut Occurred,
) -> Result<(), TestCaseError> {
    let page = walk::section(side, 0).into_string();
    let mut session = Session::new(timeless(plan), Begin::Shown);
    let mut here = format!("w{}", side.device.usage.home.0);
    let keys = plan.steps.iter().filter_map(|step| match step {
        Step::Press(key, ..) | Step::Either(_, [key, _], _) => Some(*key),
        Step::Turn(..) => None,
    });
    for key in keys {
        let state = figure(&page, &here);
        prop_assert!(picture(state) == source(session.display()).as_str(), "the picture of {}", here);
        // What is done later than on being pressed is a link of its own.
        let link = link(state, key);
        let Some(link) = link.filter(|_| !session.holds(key)) else { continue };
        let pressed = session.time();
        let before = session.last_update().map(|update| update.time);
        let reply = session.press(key);
        prop_assert_eq!(reply, Reply::Acted);
        here = attribute(link, "href").expect("a link").trim_start_matches('#').to_owned();
        let mode = attribute(link, "data-mode").expect("a waveform");
        let time: f64 = attribute(link, "data-time").and_then(|time| time.parse().ok()).expect("a time");
        let update = session.last_update().filter(|update| Some(update.time) != before).cloned();
        match update {
            None => prop_assert_eq!(attribute(link, "data-said"), Some("Nothing changes on the display.")),
            Some(update) => {
                prop_assert_eq!((update.mode.name(), update.latency.0), (mode, time), "key {} on {}", key + 1, here);
                occurred.note("a press on the page", true);
                occurred.note("a full refresh on the page", update.mode == Mode::Full);
            }
        }
        // Until the panel is free; a timer or an event that comes meanwhile ends the walk.
        while session.busy() {
            let Some(wake) = session.wake() else { break };
            session.run_to(wake, &[]);
        }
        if session.last_update().is_some_and(|update| update.time > pressed) {
            break;
        }
    }
    Ok(())
}

#[test]
fn transitions_and_the_page_to_click_through_are_what_the_preview_does() {
    let occurred = on_plans(5, |plan, occurred| {
        let side = Evaluation::of("walked", timeless(plan).files)
            .map_err(|failed| TestCaseError::fail(format!("{:?}", failed.faults)))?;
        transitions_are_what_presses_do(plan, &side, occurred)?;
        the_page_goes_on_as_the_preview(plan, &side, occurred)
    });
    all_occurred(&occurred, &["a transition of the budget", "a transition into a box", "a press on the page"]);
}

/// A screen that was entered with another value is another state, although it shows the same: `cancel` leads elsewhere.
#[test]
fn cancel_on_the_page_leads_back_to_the_value_before() {
    let files = [
        ("device.toml", format!("{}{FIELDS}{USAGE}", crate::plain::BASE)),
        (
            "screens/a.toml",
            "content = [ { value = \"n\" } ]\nkeys.1.go = \"e\"\nkeys.2.change = { field = \"n\", by = 1 }".to_owned(),
        ),
        (
            "screens/e.toml",
            "edit = [\"n\"]\ncontent = [ { value = \"n\", left = 20 } ]\nkeys.1.change = { field = \"n\", by = 1 }\n\
             keys.2 = { cancel = true, back = true }"
                .to_owned(),
        ),
    ];
    let files = Files::from_memory(files.iter().map(|(name, text)| (*name, text.as_str())));
    let side = &Evaluation::of("edited", files).unwrap_or_else(|failed| panic!("{:?}", failed.faults));
    let page = walk::section(side, 0).into_string();
    let walk = |keys: &[usize]| {
        keys.iter().fold(format!("w{}", side.device.usage.home.0), |here, key| {
            let link = link(figure(&page, &here), *key).unwrap_or_else(|| panic!("key {} of {here}", key + 1));
            attribute(link, "href").expect("a link").trim_start_matches('#').to_owned()
        })
    };
    let shown = |keys: &[usize]| picture(figure(&page, &walk(keys)));
    // The value 1 on the screen, entered with 0 and changed there, and entered with 1.
    assert!(shown(&[0, 0]) == shown(&[1, 0]));
    assert!(walk(&[0, 0]) != walk(&[1, 0]));
    assert!(shown(&[0, 0, 1]) == shown(&[]) && shown(&[1, 0, 1]) == shown(&[1]));
    assert!(shown(&[]) != shown(&[1]));
}
