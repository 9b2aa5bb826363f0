//! Consumers whose supply window is stated, whatever they are.

use crate::behaviour::Event;
use crate::hardware::board::Board;
use crate::hardware::panel::Panel;
use crate::hardware::rail::{RailId, Window};

/// A consumer with its supply window.
#[derive(Clone, Debug)]
pub struct Consumer<'a> {
    /// Who it is.
    pub who: String,
    /// Its rail.
    pub rail: RailId,
    /// Its window.
    pub window: &'a Window,
    /// Whether the device works only as long as it does.
    pub needed: bool,
}

/// Every consumer whose window is stated.
pub fn consumers<'a>(board: &'a Board, panel: &'a Panel, events: &'a [Event]) -> Vec<Consumer<'a>> {
    let one = |who: String, rail: RailId, window: Option<&'a Window>, needed: bool| {
        window.map(|window| Consumer { who, rail, window, needed })
    };
    let mut all = vec![
        one("the panel".into(), panel.rail, panel.supply.as_ref(), true),
        one("the microcontroller".into(), board.mcu.rail, board.mcu.supply.as_ref(), true),
    ];
    if let Some(memory) = &board.memory {
        all.push(one("the memory".into(), memory.rail, memory.supply.as_ref(), true));
    }
    let loads = board.loads.iter();
    all.extend(
        loads.map(|load| one(format!("the load `{}`", load.name), load.rail, load.supply.as_ref(), load.needed)),
    );
    all.extend(events.iter().map(|event| {
        let taken = event.taken.as_ref()?;
        one(format!("the event `{}`", event.name), taken.rail, event.supply.as_ref(), true)
    }));
    all.into_iter().flatten().collect()
}
