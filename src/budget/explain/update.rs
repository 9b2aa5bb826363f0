//! How the energy of one update comes about: every phase with its time, currents, charge and energy.

use crate::cost::phases::{Phase, latency, phases, total};
use crate::device::Device;
use crate::hardware::efficiency::{Efficiency, Rows};
use crate::hardware::rail::{RailId, Regulator};
use crate::parameters::Input;
use crate::refresh::work::Work;
use crate::units::{Ratio, Volts};
use comfy_table::{CellAlignment, Table};

/// The phases of an update as a table, with the formula and inputs of each.
pub fn explain(device: &Device, title: &str, work: &Work) -> String {
    let point = device.inputs.typical();
    let phases = phases(device, &point, work, device.battery.nominal());
    let voltage = device.battery.nominal();
    let mut table = crate::table::table(&["phase", "time", "currents on rails", "charge", "energy", "from"]);
    for phase in &phases {
        let (charge, energy) = (phase.draw.charge_at(voltage), phase.draw.energy_at(voltage));
        table.add_row([
            phase.name.to_owned(),
            phase.time.to_string(),
            currents(device, phase),
            charge.to_string(),
            energy.to_string(),
            phase.how.to_string(),
        ]);
    }
    let sum = total(&phases);
    table.add_row([
        "total".to_owned(),
        crate::cost::phases::duration(&phases).to_string(),
        String::new(),
        sum.charge_at(voltage).to_string(),
        sum.energy_at(voltage).to_string(),
        format!("update latency {}", latency(&phases)),
    ]);
    right(&mut table, &[1, 3, 4]);
    format!(
        "{title}\n{table}\nCharge and energy are at the battery at {voltage} (open circuit, half full). A linear rail passes \
         the current on; a switching rail takes V_rail x I_rail / efficiency, at everything on it at once. Currents are \
         those beyond sleep, which is an always-on load: of a switching rail what it takes for it is taken off.\n{}",
        rails(device)
    )
}

fn currents(device: &Device, phase: &Phase) -> String {
    let one = |load: &crate::cost::phases::Load| {
        format!("{} {} on {}", load.who, load.current, device.board.rails[load.rail.0].name)
    };
    phase.loads.iter().flatten().map(one).collect::<Vec<_>>().join("\n")
}

fn rails(device: &Device) -> String {
    let point = device.inputs.typical();
    let mut text = String::new();
    for (index, rail) in device.board.rails.iter().enumerate() {
        let what = match &rail.regulator {
            Regulator::Direct => "what feeds it, as it is".to_owned(),
            Regulator::Switch { resistance, .. } => format!("load switch, {}", point.of(*resistance)),
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
        text += &format!("Rail {}: {what}; {} on it in sleep.\n", rail.name, device.asleep(&point, RailId(index)));
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
