//! What a viewer can do, and the keys for it: the same in the window and in the terminal.

use super::session::{Reply, SPEEDS, Session};
use super::view::{Note, View, Zoom};
use crate::behaviour::EventId;
use crate::behaviour::states::DeviceState;
use crate::machine::Key;

/// Something a viewer does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// Presses a key and lets it go, the first being 0.
    Press(usize),
    /// Presses a key and keeps it down.
    Down(usize),
    /// Lets a key go.
    Up(usize),
    /// Makes an event happen.
    Inject(usize),
    /// A state of the device changes, where a field holds it.
    State(Turn),
    /// Stops time, or lets it go on.
    Pause,
    /// Lets time go faster.
    Faster,
    /// Lets time go slower.
    Slower,
    /// Changes the temperature at which the panel works.
    Weather,
    /// Shows the next screen in the project's order.
    NextScreen,
    /// Shows the screen before.
    PreviousScreen,
    /// Shows the next locale.
    NextLocale,
    /// Shows the values with the widest texts, or the live ones.
    Worst,
    /// Outlines the elements.
    Boxes,
    /// Outlines the windows of the last update.
    Windows,
    /// Tints what was driven most.
    Activity,
    /// Shades what partial refreshes have left of older images.
    Residue,
    /// Outlines what the lints find.
    Findings,
    /// Shows the panel larger.
    Larger,
    /// Shows the panel smaller.
    Smaller,
    /// Shows the panel as large as it is.
    TrueSize,
    /// Starts from a blank panel.
    Restart,
    /// Writes a picture.
    Save,
    /// Lists the keys.
    Help,
    /// Ends the preview.
    Quit,
}

/// A change of a state of the device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// External power comes or goes; charging with it.
    Usb,
    /// Charging begins or ends.
    Charging,
    /// The link is lost or comes back.
    Link,
    /// The battery is fuller by a step.
    Fuller,
    /// The battery is emptier by a step.
    Emptier,
}

/// The keys of states; they do something where a field of the project holds the state.
pub const STATE_KEYS: &[(char, Turn, DeviceState, &str)] = &[
    ('u', Turn::Usb, DeviceState::Usb, "external power"),
    ('c', Turn::Charging, DeviceState::Charging, "charging"),
    ('k', Turn::Link, DeviceState::Link, "link"),
    ('.', Turn::Fuller, DeviceState::Charge, "more charge"),
    (',', Turn::Emptier, DeviceState::Charge, "less charge"),
];

/// The key of each command that has one of its own, and what it does in a few words.
pub const KEYS: &[(char, Command, &str)] = &[
    (' ', Command::Pause, "pause or go on"),
    ('+', Command::Faster, "time faster"),
    ('-', Command::Slower, "time slower"),
    ('t', Command::Weather, "temperature"),
    ('n', Command::NextScreen, "next screen"),
    ('p', Command::PreviousScreen, "previous screen"),
    ('l', Command::NextLocale, "next locale"),
    ('v', Command::Worst, "worst-case values"),
    ('b', Command::Boxes, "element boxes"),
    ('w', Command::Windows, "update windows"),
    ('a', Command::Activity, "activity map"),
    ('g', Command::Residue, "ghosting residue"),
    ('f', Command::Findings, "findings"),
    ('x', Command::Larger, "larger"),
    ('z', Command::Smaller, "smaller"),
    ('m', Command::TrueSize, "actual size"),
    ('r', Command::Restart, "reset"),
    ('s', Command::Save, "save an image"),
    ('h', Command::Help, "this list"),
    ('q', Command::Quit, "quit"),
];

/// The command of a character typed.
pub fn typed(character: char) -> Option<Command> {
    match character.to_ascii_lowercase() {
        digit @ '1'..='9' => Some(Command::Press(digit as usize - '1' as usize)),
        '=' => Some(Command::Faster),
        '_' => Some(Command::Slower),
        '?' => Some(Command::Help),
        other => {
            let own = KEYS.iter().find(|(key, ..)| *key == other).map(|(_, command, _)| *command);
            own.or_else(|| STATE_KEYS.iter().find(|(key, ..)| *key == other).map(|(_, turn, ..)| Command::State(*turn)))
        }
    }
}

/// How a key is written in the list.
pub fn key_name(key: char) -> String {
    if key == ' ' { "space".into() } else { key.to_string() }
}

/// What the caller must do itself after [`apply`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum After {
    /// Only show the new state.
    Show,
    /// Write a picture.
    Save,
    /// End.
    Quit,
}

/// Carries a command out.
pub fn apply(command: Command, session: &mut Session, view: &mut View) -> After {
    view.note = None;
    match command {
        Command::Press(key) => view.note = remark(session.press(key), key),
        Command::Down(key) => {
            if let Some(other) = view.held.filter(|other| *other != key) {
                session.key(Key::Up(other));
            }
            view.held = Some(key);
            let reply = session.key(Key::Down(key));
            // A key with a hold says later what it does.
            view.note = if reply == Reply::Idle && session.holds(key) { None } else { remark(reply, key) };
        }
        Command::Up(key) => {
            view.held = None;
            session.key(Key::Up(key));
        }
        Command::Inject(event) => session.inject(EventId(event)),
        Command::State(turn) => {
            if !session.turn(turn) {
                view.note = Some(Note::trouble("no field holds this state"));
            }
        }
        Command::Pause => session.set_speed(if session.speed() > 0.0 { 0.0 } else { 1.0 }),
        Command::Faster => {
            session.set_speed(SPEEDS.into_iter().find(|speed| *speed > session.speed()).unwrap_or(SPEEDS[4]))
        }
        Command::Slower => session.set_speed(SPEEDS.into_iter().rfind(|speed| *speed < session.speed()).unwrap_or(0.0)),
        Command::Weather => session.set_weather(session.weather().next()),
        Command::NextScreen => session.jump_by(1),
        Command::PreviousScreen => session.jump_by(-1),
        Command::NextLocale => session.set_locale((session.locale() + 1) % session.device().locales.len().max(1)),
        Command::Worst => session.set_worst(!session.worst()),
        Command::Boxes => view.boxes = !view.boxes,
        Command::Windows => view.windows = !view.windows,
        Command::Activity => view.activity = !view.activity,
        Command::Residue => view.residue = !view.residue,
        Command::Findings => view.findings = !view.findings,
        Command::Larger => view.zoom = Zoom::Times(zoom(view, session).saturating_add(1).min(16)),
        Command::Smaller => view.zoom = Zoom::Times(zoom(view, session).saturating_sub(1).max(1)),
        Command::TrueSize if view.zoom == Zoom::TrueSize => {
            (view.zoom, view.fitted) = view.before.take().unwrap_or((Zoom::Fit, view.fitted));
        }
        Command::TrueSize => {
            view.before = Some((view.zoom, view.fitted));
            view.zoom = Zoom::TrueSize;
        }
        Command::Restart => session.restart(),
        Command::Save => return After::Save,
        Command::Help => view.help = !view.help,
        Command::Quit => return After::Quit,
    }
    After::Show
}

fn zoom(view: &View, session: &Session) -> u32 {
    match view.zoom {
        Zoom::Times(times) => times,
        Zoom::Fit => view.fitted,
        Zoom::TrueSize => view.true_scale(session).round().max(1.0) as u32,
    }
}

fn remark(reply: Reply, key: usize) -> Option<Note> {
    let key = key + 1;
    match reply {
        Reply::Acted => None,
        Reply::Idle => Some(Note::trouble(format!("key {key} does nothing here"))),
        Reply::Queued => Some(Note::done(format!("key {key} waits: panel busy"))),
        Reply::Lost => Some(Note::trouble(format!("key {key} dropped: panel busy"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_has_one_meaning() {
        for (index, (key, command, _)) in KEYS.iter().enumerate() {
            assert_eq!(typed(*key), Some(*command));
            assert!(KEYS[index + 1..].iter().all(|(other, ..)| other != key), "{key} stands twice");
        }
        for (key, turn, ..) in STATE_KEYS {
            assert_eq!(typed(*key), Some(Command::State(*turn)), "{key} stands twice");
        }
        assert_eq!((typed('1'), typed('9'), typed('0')), (Some(Command::Press(0)), Some(Command::Press(8)), None));
        assert_eq!(typed('B'), Some(Command::Boxes));
    }
}
