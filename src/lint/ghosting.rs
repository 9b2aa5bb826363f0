//! `ghosting-risk`: single pixels in dithered areas. A partial refresh drives each pixel by itself for a short time; the field
//! of its neighbours blurs lone pixels, so that dithered areas turn grey and leave shadows.

use super::Subject;
use super::report::Report;
use crate::frame::Frame;
use crate::source::fault::Fault;
use embedded_graphics::primitives::Rectangle;

/// Share of an area's pixels that may stand alone (practice).
const MOST_LONE: f64 = 0.05;

pub(super) fn find(subject: &Subject<'_>, report: &mut Report<'_>) {
    for view in subject.screens().filter(|view| subject.partial(view.id)) {
        for item in view.items {
            let values = view.showing(item);
            let areas = item.dithered();
            if areas.is_empty() {
                continue;
            }
            let frame = subject.device.draw(view.id, view.locale, values);
            for area in areas {
                let area = area.intersection(&subject.display());
                let pixels = f64::from(area.size.width) * f64::from(area.size.height);
                let lone = lone(&frame, area);
                if pixels > 0.0 && f64::from(lone) > MOST_LONE * pixels {
                    let message =
                        format!("{} has {lone} lone pixels, a ghosting risk under partial refresh", item.called());
                    let fault = Fault::at(item.span.clone(), message)
                        .label(format!("{:.0} % of its area", 100.0 * f64::from(lone) / pixels));
                    let fault = fault.help("use a plain threshold or a coarser pattern, or enter this screen with a full refresh (policy.full-on)");
                    report.see(view.shown(values, vec![area]), f64::from(lone), fault);
                }
            }
        }
    }
}

/// Pixels in an area that differ from all four neighbours; beyond the panel is white.
fn lone(frame: &Frame, area: Rectangle) -> u32 {
    let ink = |x: i32, y: i32| x >= 0 && y >= 0 && frame.ink(x as u32, y as u32);
    let alone = |x: i32, y: i32| {
        let own = ink(x, y);
        [(1, 0), (-1, 0), (0, 1), (0, -1)].iter().all(|(dx, dy)| ink(x + dx, y + dy) != own)
    };
    area.rows().map(|y| area.columns().filter(|x| alone(*x, y)).count() as u32).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_graphics::prelude::Point;

    #[test]
    fn lone_pixels_are_black_or_white() {
        let frame = Frame::from_pattern(&["#....", "..##.", "..##.", "....."]);
        assert_eq!(lone(&frame, Rectangle::new(Point::zero(), frame.size())), 1);
        let frame = Frame::from_pattern(&["####", "#.##", "####"]);
        assert_eq!(lone(&frame, Rectangle::new(Point::zero(), frame.size())), 1);
    }
}
