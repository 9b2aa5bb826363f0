//! `no-timestamp`: a live value without a time on the same screen. The panel keeps its picture when the device is
//! dead: without a time, an old value looks like a fresh one.

use super::Subject;
use super::report::Report;
use crate::behaviour::field::Renewal;
use crate::device::Device;
use crate::screen::Item;
use crate::screen::element::Nature;
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::source::fault::Fault;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let device = subject.device;
    for view in subject.screens() {
        let dated = view.items.iter().any(|item| item.shown().iter().any(|field| is_time(device, *field)));
        let live = view.items.iter().filter_map(|item| live(device, item).map(|field| (item, field))).next();
        if let Some((item, field)) = live.filter(|_| !dated) {
            let name = &device.fields[field.0].name;
            let fault = Fault::at(
                item.span.clone(),
                format!("the screen `{}` shows `{name}` without its time", view.screen.id),
            );
            let fault = fault.help("show a field with `clock` that is updated together with the value");
            report.see_by(view.screen.id.clone(), view.shown(view.showing(item), vec![item.area]), 0.0, fault);
        }
    }
}

/// A live field that an element shows. Signs of supply and link say nothing that is taken for a reading.
fn live(device: &Device, item: &Item) -> Option<FieldId> {
    let sign = matches!(item.nature, Nature::SupplySign | Nature::LinkSign);
    item.shown().into_iter().filter(|_| !sign).find(|field| is_live(device, *field))
}

/// Whether a field changes by itself and is no time. How many rows there are is no reading that grows old.
pub(super) fn is_live(device: &Device, field: FieldId) -> bool {
    let counts = device.fields.iter().any(|other| other.within == Some(field));
    device.fields[field.0].renewal != Renewal::Never && !counts && !is_time(device, field)
}

fn is_time(device: &Device, field: FieldId) -> bool {
    fn time(piece: &Piece) -> bool {
        match piece {
            Piece::Clock { .. } => true,
            Piece::Stated { piece, .. } => time(piece),
            // A clock in the pattern of a setting.
            Piece::By { pieces, .. } => pieces.iter().all(time),
            _ => false,
        }
    }
    device.fields[field.0].pieces.iter().any(time)
}
