//! What wakes the microcontroller beside an update, and what it draws then.
//!
//! Not for what that costs in a day: see [`crate::cost::always_on`].

use super::Device;
use super::party::Party;
use crate::behaviour::field::Renewal;
use crate::behaviour::{EventId, KeyRule};
use crate::cell::peak::LoadCurrent;
use crate::hardware::load::Amount;
use crate::hardware::rail::RailId;
use crate::parameters::{Input, ParameterSample};
use crate::units::Seconds;

impl Device {
    /// The microcontroller's rail, and what it draws there beyond sleep while it runs.
    pub fn awake(&self, parameters: &ParameterSample) -> (RailId, LoadCurrent) {
        let mcu = &self.board.mcu;
        (mcu.rail, LoadCurrent::current(parameters.of(mcu.active) - parameters.of(mcu.sleep)))
    }

    /// How long the microcontroller runs at most, its wake-up included, for something that may come while these draw: a
    /// key that does something, a timer, a field's sample, an event, or one of them itself. `None` where nothing wakes
    /// it.
    pub fn woken(&self, parameters: &ParameterSample, with: &[Party]) -> Option<Seconds> {
        let mcu = &self.board.mcu;
        let time = |stated: Option<Input<Seconds>>| stated.map_or(Seconds(0.0), |time| parameters.of(time));
        let keys = self.wirings.iter().any(|wiring| wiring.keys.iter().any(KeyRule::acts));
        let keys = (keys || mcu.key_time.is_some()).then(|| time(mcu.key_time));
        let timers = self.wirings.iter().any(|wiring| !wiring.timers.is_empty()).then_some(Seconds(0.0));
        let sampled = self.fields.iter().any(|field| matches!(field.renewal, Renewal::Every(_)));
        let samples = sampled.then(|| time(mcu.sample_time));
        // Events with a profile may be excluded; of the others nothing is known but that they come.
        let apart = |index: usize| {
            let steps = self.events[index].taken.as_ref().is_some_and(|taken| matches!(taken.what, Amount::Steps(_)));
            steps && !with.contains(&Party::Event(index))
        };
        let events = self.events.iter().enumerate().filter(|(index, _)| !apart(*index));
        let events = events.filter(|(index, _)| self.reacts(EventId(*index))).map(|(_, event)| time(event.awake));
        let loads = with.iter().filter_map(|party| match party {
            Party::Load(index) => self.board.loads[*index].awake.map(|awake| parameters.of(awake)),
            Party::Update | Party::Event(_) => None,
        });
        let all = [keys, timers, samples].into_iter().flatten().chain(events).chain(loads);
        let longest = all.max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(parameters.of(mcu.wake) + longest)
    }

    /// Whether the microcontroller has anything to do for an event.
    fn reacts(&self, event: EventId) -> bool {
        let renews = |renewal: &Renewal| matches!(renewal, Renewal::On(on) if *on == event);
        self.events[event.0].awake.is_some()
            || self.fields.iter().any(|field| renews(&field.renewal))
            || self.wirings.iter().any(|wiring| wiring.events.iter().any(|(on, _)| *on == event))
    }
}
