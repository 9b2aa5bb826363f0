//! How the energy of one update comes about: every phase with its time, currents, charge and energy.

use crate::cost::pauses;
use crate::cost::phases::{Maker, Phase, latency, phases, total};
use crate::cost::supply::Supply;
use crate::device::Device;
use crate::hardware::efficiency::{Efficiency, Rows};
use crate::hardware::panel::Between;
use crate::hardware::rail::{RailId, Regulator};
use crate::parameters::Input;
use crate::refresh::work::Work;
use crate::units::column::Scale;
use crate::units::{Coulombs, Joules, Quantity, Ratio, Seconds, Volts};
use comfy_table::{CellAlignment, Table};

/// The phases of an update as a table, with the formula and inputs of each.
pub fn explain(device: &Device, title: &str, work: &Work) -> String {
    let parameters = device.inputs.typical();
    let phases = phases(device, &parameters, work, device.battery.nominal());
    let voltage = device.battery.nominal();
    let maker = Maker::new(device, &parameters, voltage);
    let mut table = crate::table::table(&["phase", "time", "currents on rails", "charge", "energy", "from"]);
    let sum = total(&phases);
    let duration = crate::cost::phases::duration(&phases);
    let times = Scale::fine(phases.iter().map(|phase| phase.time.0).chain([duration.0]), Seconds::SI);
    let part = |of: &dyn Fn(&Phase) -> f64, all: f64, si: &str| Scale::fine(phases.iter().map(of).chain([all]), si);
    let charges = part(&|phase| phase.draw.charge_at(voltage).0, sum.charge_at(voltage).0, Coulombs::SI);
    let energies = part(&|phase| phase.draw.energy_at(voltage).0, sum.energy_at(voltage).0, Joules::SI);
    for phase in &phases {
        let (charge, energy) = (phase.draw.charge_at(voltage), phase.draw.energy_at(voltage));
        table.add_row([
            phase.name.to_owned(),
            times.show(phase.time.0),
            currents(device, &maker, phase),
            charges.show(charge.0),
            energies.show(energy.0),
            phase.how.to_string(),
        ]);
    }
    table.add_row([
        "total".to_owned(),
        times.show(duration.0),
        String::new(),
        charges.show(sum.charge_at(voltage).0),
        energies.show(sum.energy_at(voltage).0),
        format!("update latency {}", latency(&phases)),
    ]);
    right(&mut table, &[1, 3, 4]);
    format!(
        "{title}\n{table}\nCharge and energy are at the battery at {voltage} (open circuit, half full). A linear rail passes \
         the current on; a switching rail takes V_rail x I_rail / efficiency, at everything on it at once. Currents \
         are those above sleep, which counts as an always-on load; a switching rail's share of it is subtracted.\n{}",
        rails(device) + &pauses(device)
    )
}

/// When keeping the booster on and switching the panel off pay, where the project says what they cost.
fn pauses(device: &Device) -> String {
    let parameters = device.inputs.typical();
    let mut text = String::new();
    if let (Some(hold), Some(even)) = (device.panel.hold, pauses::held(device, &parameters)) {
        let pause = even.pause().map_or("any pause".to_owned(), |pause| format!("pauses of less than {pause}"));
        text += &format!(
            "Booster kept on for {}: an update meanwhile saves {}, keeping it on takes {}: less in all for {pause}.\n",
            hold.time, even.energy, even.power
        );
    }
    if let Some(even) = pauses::switched_off(device, &parameters) {
        let now = if matches!(device.panel.between, Between::Off(_)) { "power-off" } else { "deep-sleep" };
        let pause = even.pause().map_or("no pause".to_owned(), |pause| format!("pauses of more than {pause}"));
        text += &format!(
            "Panel switched off between updates (now {now}): each update takes {} more, each pause {} less: less in all for \
             {pause}. Compare with --set panel.between-updates.\n",
            even.energy, even.power
        );
    }
    text
}

fn currents(device: &Device, maker: &Maker<'_>, phase: &Phase) -> String {
    let one = |load: &crate::cost::phases::PhaseLoad| {
        format!("{} {} on {}", load.who.name(), maker.current(load), device.board.rails[load.rail.0].name)
    };
    phase.loads.iter().flatten().map(one).collect::<Vec<_>>().join("\n")
}

fn rails(device: &Device) -> String {
    let parameters = device.inputs.typical();
    let supply = Supply::new(device, &parameters, device.battery.nominal());
    let mut text = String::new();
    for (index, rail) in device.board.rails.iter().enumerate() {
        let what = match &rail.regulator {
            Regulator::Direct => "what feeds it, as it is".to_owned(),
            Regulator::Switch { resistance, .. } => format!("load switch, {}", parameters.of(*resistance)),
            Regulator::Linear { output, .. } => format!("linear, {output}"),
            Regulator::Switching { output, efficiency, .. } => {
                let efficiency = match efficiency {
                    Efficiency::OverCurrent(rows) => shares(device, rows),
                    Efficiency::OverInput(columns) => {
                        let column = |(input, rows): &(Volts, Rows)| format!("from {input} {}", shares(device, rows));
                        columns.iter().map(column).collect::<Vec<_>>().join("; ")
                    }
                };
                format!("switching, {output}, efficiency {efficiency}")
            }
        };
        let (on, asleep) = (supply.rest().nodes[index].on, device.asleep(&parameters, RailId(index)));
        let asleep = if on { format!("{asleep} on it in sleep") } else { "off in sleep".to_owned() };
        text += &format!("Rail {}: {what}; {asleep}.\n", rail.name);
    }
    text
}

/// The rows of an efficiency, as they are written in the project.
fn shares(device: &Device, rows: &Rows) -> String {
    let shown = |share: &Input<Ratio>| device.inputs.row(*share).shown.clone();
    match rows.as_slice() {
        [row] => shown(&row.share),
        rows => rows.iter().map(|row| format!("{} at {}", shown(&row.share), row.at)).collect::<Vec<_>>().join(", "),
    }
}

fn right(table: &mut Table, columns: &[usize]) {
    for column in columns {
        if let Some(column) = table.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
}
