//! Rails that are on while a condition holds, said again in what the rest knows: a rail that is on while it is used, a
//! load of nothing that uses it while the condition holds, and the rail's loads bound to the same condition.

use crate::hardware::rail::Enabled;
use crate::project::device::ProjectSpec;
use crate::project::hardware::{LoadSpec, RailSpec};
use crate::screen::condition::WhileSpec;
use crate::source::amount::{Amount, At};
use crate::source::fault::Fault;
use crate::units::Amps;

/// The project with such rails said again.
pub fn rails(project: &mut ProjectSpec, faults: &mut Vec<Fault>) {
    let board = &mut project.board;
    let only = board.rails.keys().next().filter(|_| board.rails.len() == 1).cloned();
    let mut holds = Vec::new();
    for (name, at) in &mut board.rails {
        let Some(only) = at.value.only.take() else { continue };
        if at.value.enabled == Enabled::WhileUsed {
            let fault = Fault::at(only.span.clone(), format!("the rail `{name}` is enabled in two ways"));
            faults.push(fault.help("remove `enabled`: it is on while the condition holds"));
        }
        at.value.enabled = Enabled::WhileUsed;
        holds.push((name.clone(), only));
    }
    for (rail, condition) in holds {
        let on_it = |load: &LoadSpec| load.rail.as_ref().map(|rail| &rail.value).or(only.as_ref()) == Some(&rail);
        for load in board.loads.values_mut().filter(|load| load.value.only.is_none() && on_it(&load.value)) {
            load.value.only = Some(At { span: condition.span.clone(), value: condition.value.clone() });
            load.value.with_rail = true;
        }
        let hold = hold(&rail, condition);
        let span = board.rails.get(&rail).map_or(0..0, |rail: &At<RailSpec>| rail.span.clone());
        board.loads.insert(format!("{rail} switched on"), At { span, value: hold });
    }
}

/// What keeps a rail on: it draws nothing itself.
fn hold(rail: &str, only: At<WhileSpec>) -> LoadSpec {
    LoadSpec {
        rail: Some(At { span: only.span.clone(), value: rail.to_owned() }),
        current: Some(Amount::exact(Amps(0.0))),
        power: None,
        profile: None,
        mcu_awake: None,
        only: Some(only),
        never_with: Vec::new(),
        on: None,
        period: None,
        supply: None,
        needed: true,
        with_rail: false,
    }
}
