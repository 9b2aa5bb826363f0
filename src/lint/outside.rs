//! `outside`: an element that reaches out of the group that holds it, or off the display.

use super::Subject;
use super::report::Report;
use crate::source::fault::Fault;
use embedded_graphics::primitives::Rectangle;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    let display = subject.display();
    for view in subject.views() {
        for item in view.items {
            if let Some(crowd) = &item.crowd {
                let fault = Fault::at(crowd.span.clone(), crowd.message());
                let fault = fault.label(format!("takes {} px", crowd.takes)).help(crowd.help());
                report.see(view.shown(view.showing(item), vec![display]), f64::from(crowd.takes), fault);
                continue;
            }
            let (off, out) = (excess(item.area, display), excess(item.area, item.room));
            let message = match (off, out) {
                (Some((px, side)), _) => format!("{} reaches {px} px off the display, {side}", item.called()),
                (None, Some((px, side))) => format!("{} reaches {px} px out of its area, {side}", item.called()),
                (None, None) => continue,
            };
            let [x, y] = [item.area.top_left.x, item.area.top_left.y];
            let fault = Fault::at(item.span.clone(), message)
                .label(format!("at {x}, {y}, {} x {} px", item.area.size.width, item.area.size.height))
                .help("make it smaller, move it, or let it take what is left with `grow`");
            let weight = off.or(out).map_or(0, |(px, _)| px);
            report.see(
                view.shown(view.showing(item), vec![item.area.intersection(&display)]),
                f64::from(weight),
                fault,
            );
        }
    }
}

/// By how much and where a rectangle reaches out of another, most first.
fn excess(inner: Rectangle, outer: Rectangle) -> Option<(i32, &'static str)> {
    let end = |area: Rectangle| (area.top_left.x + area.size.width as i32, area.top_left.y + area.size.height as i32);
    let ((right, bottom), (outer_right, outer_bottom)) = (end(inner), end(outer));
    let sides = [
        (outer.top_left.x - inner.top_left.x, "to the left"),
        (right - outer_right, "to the right"),
        (outer.top_left.y - inner.top_left.y, "upwards"),
        (bottom - outer_bottom, "downwards"),
    ];
    sides.into_iter().filter(|(px, _)| *px > 0).max_by_key(|(px, _)| *px)
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::prelude::{Point, Size};

    #[test]
    fn the_largest_excess_is_named() {
        let outer = Rectangle::new(Point::new(10, 10), Size::new(20, 20));
        let inner = |x, y, w, h| Rectangle::new(Point::new(x, y), Size::new(w, h));
        assert_eq!(excess(inner(10, 10, 20, 20), outer), None);
        assert_eq!(excess(inner(8, 10, 25, 20), outer), Some((3, "to the right")));
        assert_eq!(excess(inner(12, 5, 4, 4), outer), Some((5, "upwards")));
    }
}
