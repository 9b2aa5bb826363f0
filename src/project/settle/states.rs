//! The fields that hold states of the device.

use crate::behaviour::Event;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::states::{DeviceState, States};
use crate::project::device::{FieldSpec, HoldsSpec};
use crate::screen::values::{Condition, FieldId, Test};
use crate::source::amount::Named;
use crate::source::fault::Fault;

/// Finds them; `fields` are the settled ones in the order of `specs`.
pub fn states(specs: &Named<FieldSpec>, fields: &[Field], faults: &mut Vec<Fault>) -> States {
    let mut held: Vec<(DeviceState, FieldId)> = Vec::new();
    for (index, at) in specs.values().enumerate() {
        let Some(holds) = &at.value.holds else { continue };
        let (state, range) = match holds.value {
            HoldsSpec::Usb => (DeviceState::Usb, [0.0, 1.0]),
            HoldsSpec::Charging => (DeviceState::Charging, [0.0, 1.0]),
            HoldsSpec::Charge => (DeviceState::Charge, [0.0, 100.0]),
            HoldsSpec::Link => (DeviceState::Link, [0.0, 1.0]),
        };
        let field = &fields[index];
        let name = state.name();
        if held.iter().any(|(known, _)| *known == state) {
            faults.push(Fault::at(holds.span.clone(), format!("another field holds the state `{name}` already")));
        } else if field.range != range {
            let message = format!("the state `{name}` goes from {} to {}", range[0], range[1]);
            let fault = Fault::at(holds.span.clone(), message);
            let fault = fault.label(format!("the field goes from {} to {}", field.range[0], field.range[1]));
            faults.push(fault.help(format!("write range = [{}, {}], or two choices", range[0], range[1])));
        } else if field.renewal != Renewal::Never || !matches!(field.motion, Motion::Still) {
            let fault = Fault::at(holds.span.clone(), "a field that holds a state is set by the device alone");
            faults.push(fault.help("remove `every`, `on` and `signal`"));
        } else {
            held.push((state, FieldId(index)));
        }
    }
    States::new(held)
}

/// What comes over the link does not happen while it is lost, where a field knows that.
pub fn over_the_link(states: &States, events: &mut [Event]) {
    let Some(field) = states.field(DeviceState::Link) else { return };
    for event in events.iter_mut().filter(|event| event.link) {
        event.only.push(Condition { field, test: Test::Is(1.0) });
    }
}
