//! `key-label-wide` and `key-label-off`: labels of soft keys against the physical keys under them.

use super::Subject;
use super::cut::quoted;
use super::report::Report;
use crate::device::Device;
use crate::hardware::display::{KeyPlace, Side};
use crate::screen::Item;
use crate::screen::inspect::SetText;
use crate::source::fault::Fault;

/// A label's centre may be this share of its key's width away from the key's centre (practice: the eye takes it for the
/// key it is nearest to, and a finger covers it).
const MOST_OFF: f64 = 0.125;

/// Calls `see` with every label that is drawn at a key.
fn labels(subject: &Subject<'_>, mut see: impl FnMut(&super::subject::View<'_>, &Item, &SetText, usize)) {
    for view in subject.views() {
        for item in view.items {
            for text in item.texts() {
                if let Some(key) = text.key.filter(|_| !text.text.is_empty()) {
                    see(&view, item, &text, key);
                }
            }
        }
    }
}

pub(super) fn wide(subject: &Subject<'_>, report: &mut Report<'_>) {
    labels(subject, |view, item, text, key| {
        // Keys beside the picture have no pitch across it.
        let pitch = is_level(subject.device, key).then(|| pitch(subject.device, key));
        let room = pitch.map_or(text.room.size.width, |pitch| text.room.size.width.min(pitch));
        if text.needs.width > room {
            let what = match pitch {
                Some(pitch) if room == pitch => "the pitch of the keys",
                Some(_) => "the room over it",
                None => "the room beside it",
            };
            let message = format!(
                "the label `{}` of key {} is {} px wide, {what} {room} px",
                quoted(&text.text),
                key + 1,
                text.needs.width
            );
            let fault = Fault::at(item.span.clone(), message)
                .help("use a shorter word, a symbol, or a smaller font for the labels");
            let weight = f64::from(text.needs.width - room);
            report.see_by(
                format!("{:?} {key} {}", item.span, view.id.0),
                view.shown(view.sample(), vec![text.room]),
                weight,
                fault,
            );
        }
    });
}

pub(super) fn off(subject: &Subject<'_>, report: &mut Report<'_>) {
    labels(subject, |view, item, text, key| {
        if !is_level(subject.device, key) {
            return;
        }
        let place = &subject.device.display.keys[key];
        let off = (text.room.center().x - place.centre_px).abs();
        if f64::from(off) > f64::from(place.width_px) * MOST_OFF {
            let message = format!("the label `{}` is {off} px off the centre of key {}", quoted(&text.text), key + 1);
            let fault =
                Fault::at(item.span.clone(), message).label(format!("the key's centre is at {} px", place.centre_px));
            let fault =
                fault.help("let the `keys` element reach over the whole width of the display, and check display.keys");
            report.see(view.shown(view.sample(), vec![text.room]), f64::from(off), fault);
        }
    });
}

/// Whether a key lies over or under the picture.
fn is_level(device: &Device, key: usize) -> bool {
    device.display.keys.get(key).and_then(|place| place.side).is_some_and(Side::is_level)
}

/// Distance to the nearest other key at the same side in pixels; of an only key, twice the distance to the nearer edge of the panel.
fn pitch(device: &Device, key: usize) -> u32 {
    let KeyPlace { centre_px: centre, side, .. } = device.display.keys[key];
    let others = device.display.keys.iter().enumerate().filter(|(other, place)| *other != key && place.side == side);
    let nearest = others.map(|(_, place)| place.centre_px.abs_diff(centre)).min();
    let width = device.panel.size().width as i32;
    nearest.unwrap_or_else(|| 2 * centre.min(width - centre).max(0) as u32)
}
