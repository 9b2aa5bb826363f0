//! `box-cuts`: a box that has no outline on a side where it covers only a part of a value below. What is left can be read
//! as another value. Not for boxes with a line along that side: there everybody sees that something lies over the screen.

use super::Subject;
use super::black::{Bench, bounds};
use super::report::{Evidence, Report};
use super::subject::View;
use crate::frame::Frame;
use crate::screen::values::Values;
use crate::screen::{Item, ScreenId};
use crate::source::fault::Fault;
use embedded_graphics::prelude::{Point, PointsIter, Size};
use embedded_graphics::primitives::Rectangle;
use std::collections::BTreeSet;
use std::sync::Arc;

/// How far inside the box its line may stand, in pixels.
const DEPTH: i32 = 6;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let mut bench = Bench::new(subject.device.panel.size());
    let mut tried = BTreeSet::new();
    for passage in &subject.explored().passages {
        let (below, state) = (passage.after.screen, &passage.after);
        for open in state.boxes.iter().filter(|open| open.screen != below) {
            if tried.insert((below.0, open.screen.0)) {
                let values = open.below.as_ref().unwrap_or(&state.values);
                pair(subject, below, open.screen, values, &mut bench, report);
            }
        }
    }
}

/// One box over one screen.
fn pair(
    subject: &Subject<'_>,
    below: ScreenId,
    over: ScreenId,
    values: &Values,
    bench: &mut Bench,
    report: &mut Report<'_>,
) {
    let view = |id: ScreenId| subject.screens().find(|view| view.id == id);
    let (Some(below), Some(over)) = (view(below), view(over)) else { return };
    let Some(area) = over.screen.over.as_ref().map(|over| over.area) else { return };
    let drawn = alone(subject, &over, values);
    for item in below.items.iter().filter(|item| is_value(item) && item.shows(values)) {
        let runs = bench.draw(item, values);
        let Some(ink) = bounds(&runs, |run| run.ink) else { continue };
        let Some(side) = Side::ALL.into_iter().find(|side| side.cuts(area, ink) && !side.has_line(area, ink, &drawn))
        else {
            continue;
        };
        let place = over.screen.span.start..over.screen.span.start;
        let (name, screen) = (item.called(), &below.screen.id);
        let message = format!("the box `{}` leaves only part of {name} on `{screen}` visible", over.screen.id);
        let fault = Fault::at(place, message).label(format!("no line along its {} side", side.name()));
        let fault = fault.help("let the box cover all or nothing of it, or give the box an outline");
        let shown = Evidence {
            screen: over.id,
            locale: over.locale,
            values: Arc::new(values.clone()),
            areas: vec![ink],
            in_words: false,
        };
        report.see(shown, f64::from(ink.size.width * ink.size.height), fault);
    }
}

/// Whether an element shows a field in letters or digits.
fn is_value(item: &Item) -> bool {
    item.crowd.is_none() && !item.shown().is_empty() && !item.texts().is_empty()
}

/// The box without the screen below it.
fn alone(subject: &Subject<'_>, over: &View<'_>, values: &Values) -> Frame {
    let size = subject.device.panel.size();
    let mut frame = Frame::new(size.width, size.height);
    over.screen.draw_over(over.locale, values, &mut frame);
    frame
}

/// A side of a box.
#[derive(Clone, Copy)]
enum Side {
    Top,
    Bottom,
    Left,
    Right,
}

impl Side {
    const ALL: [Self; 4] = [Self::Top, Self::Bottom, Self::Left, Self::Right];

    fn name(self) -> &'static str {
        match self {
            Self::Top => "upper",
            Self::Bottom => "lower",
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// Whether ink lies on both sides of this side of the area.
    fn cuts(self, area: Rectangle, ink: Rectangle) -> bool {
        let meets = !area.intersection(&ink).is_zero_sized();
        let (from, to) = (ink.top_left, ink.top_left + ink.size);
        let end = area.top_left + area.size;
        meets
            && match self {
                Self::Top => from.y < area.top_left.y,
                Self::Bottom => to.y > end.y,
                Self::Left => from.x < area.top_left.x,
                Self::Right => to.x > end.x,
            }
    }

    /// Whether the box has a black line along this side where it covers the ink.
    fn has_line(self, area: Rectangle, ink: Rectangle, drawn: &Frame) -> bool {
        let covered = area.intersection(&ink);
        let end = area.top_left + area.size - Point::new(1, 1);
        let strip = |depth: i32| match self {
            Self::Top => Rectangle::new(
                Point::new(covered.top_left.x, area.top_left.y + depth),
                Size::new(covered.size.width, 1),
            ),
            Self::Bottom => {
                Rectangle::new(Point::new(covered.top_left.x, end.y - depth), Size::new(covered.size.width, 1))
            }
            Self::Left => Rectangle::new(
                Point::new(area.top_left.x + depth, covered.top_left.y),
                Size::new(1, covered.size.height),
            ),
            Self::Right => {
                Rectangle::new(Point::new(end.x - depth, covered.top_left.y), Size::new(1, covered.size.height))
            }
        };
        let black =
            |line: Rectangle| line.points().all(|at| at.x >= 0 && at.y >= 0 && drawn.ink(at.x as u32, at.y as u32));
        (0..DEPTH).any(|depth| black(strip(depth)))
    }
}
