//! `large-black`: large black areas under partial refresh. The short waveform drives a large area unevenly, and after
//! it has turned white again a grey shadow stays until the next full refresh.

use super::Subject;
use super::report::Report;
use super::subject::View;
use crate::screen::{Item, ScreenId};
use crate::source::fault::Fault;

/// Share of the panel that may be black on a screen that is drawn, or wiped out, by a partial refresh (practice).
const MOST_BLACK: f64 = 0.35;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let size = subject.device.panel.size();
    for view in subject.screens() {
        let frame = subject.device.draw(view.id, view.locale, view.sample());
        let share = frame.ink_count() as f64 / (f64::from(size.width) * f64::from(size.height)).max(1.0);
        let way = match () {
            () if subject.partial(view.id) => "drawn by a partial refresh".to_owned(),
            () => match left_for(subject, view.id) {
                Some(next) => format!("erased by a partial refresh to {}", subject.device.screens[next.0].id),
                None => continue,
            },
        };
        if share > MOST_BLACK {
            let Some((item, _)) = blackest(&view, subject) else { continue };
            let message = format!("{:.0} % of this screen is black, and it is {way}", share * 100.0);
            let fault = Fault::at(item.span.clone(), message).label("most of it is here");
            let fault = fault.help(
                "enter this screen, and those it leads to, with a full refresh (policy.full-on), or use less black",
            );
            report.see(view.shown(view.sample(), vec![item.area.intersection(&subject.display())]), share, fault);
        }
    }
}

/// A screen that is entered by a partial refresh.
fn left_for(subject: &Subject<'_>, screen: ScreenId) -> Option<ScreenId> {
    let wiring = &subject.device.wirings[screen.0];
    let mut ways = wiring.reactions().flat_map(|reaction| reaction.targets());
    ways.find(|next| *next != screen && subject.partial(*next))
}

/// The element with most ink of its own.
fn blackest<'v>(view: &View<'v>, subject: &Subject<'_>) -> Option<(&'v Item, u64)> {
    let size = subject.device.panel.size();
    let mut bench = super::black::Bench::new(size);
    let ink = |item: &Item, bench: &mut super::black::Bench| -> u64 {
        bench.draw(item, view.sample()).iter().map(|run| u64::from(run.ink.count_ones())).sum()
    };
    let shown = view.items.iter().filter(|item| item.shows(view.sample()));
    shown.map(|item| (item, ink(item, &mut bench))).max_by_key(|(_, ink)| *ink)
}
