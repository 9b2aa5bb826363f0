//! What is drawn over the panel's picture: element boxes, update windows, the activity map, findings.

use super::canvas::WindowCanvas;
use super::session::Session;
use super::theme;
use super::view::View;
use crate::frame::rectangle;
use crate::refresh::activity::{CELL, RegionCounts};
use crate::screen::Item;
use embedded_graphics::prelude::Point;
use embedded_graphics::primitives::Rectangle;

/// A rectangle of panel pixels in the picture.
fn placed(area: &Rectangle, corner: Point, scale: f64) -> Rectangle {
    let at = |pixels: i32| (f64::from(pixels) * scale).round() as i32;
    let (x, y) = (area.top_left.x, area.top_left.y);
    let (right, bottom) = (x + area.size.width as i32, y + area.size.height as i32);
    rectangle(corner.x + at(x), corner.y + at(y), at(right) - at(x), at(bottom) - at(y))
}

/// Draws the overlays that are on over a panel whose picture's corner is at `corner`.
pub fn draw(session: &Session, view: &View, corner: Point, scale: f64, canvas: &mut WindowCanvas) {
    let thick = view.text_scale.max(1);
    if view.activity {
        activity(session, corner, scale, canvas);
    }
    if view.residue {
        residue(session, view, corner, scale, canvas);
    }
    if view.boxes {
        for item in items(session) {
            canvas.outline(placed(&item.area, corner, scale), thick, theme::BOXES);
        }
    }
    if view.windows
        && let Some(update) = session.last_update().filter(|update| update.screen == session.screen())
    {
        for window in &update.windows {
            canvas.outline(placed(window, corner, scale), thick, theme::WINDOWS);
        }
    }
    if view.findings {
        for area in session.findings().flat_map(|finding| finding.shown.iter()).flat_map(|shown| &shown.areas) {
            canvas.outline(placed(area, corner, scale), 2 * thick, theme::ALERT);
        }
    }
    if let Some(item) = pointed(session, view) {
        canvas.outline(placed(&item.area, corner, scale), thick, theme::BOXES);
    }
}

fn items(session: &Session) -> &[Item] {
    &session.device().screens[session.screen().0].pictures[session.locale()]
}

/// The topmost element under the mouse, while element boxes are shown.
pub fn pointed<'a>(session: &'a Session, view: &View) -> Option<&'a Item> {
    let (x, y) = view.pointed.filter(|_| view.boxes)?;
    let at = Point::new(x as i32, y as i32);
    items(session).iter().rev().find(|item| item.area.contains(at))
}

/// Shades the regions of which more residue than the viewer's share is left.
fn residue(session: &Session, view: &View, corner: Point, scale: f64, canvas: &mut WindowCanvas) {
    let Some((shading, left)) = session.residue(view.residue_above) else { return };
    let panel = Rectangle::new(Point::zero(), session.device().panel.size());
    for region in shading.regions(left) {
        canvas.tint(placed(&region.intersection(&panel), corner, scale), theme::ALERT, 0.4);
    }
}

fn activity(session: &Session, corner: Point, scale: f64, canvas: &mut WindowCanvas) {
    let activity = session.activity();
    let most = activity.most(RegionCounts::drives).map_or(1, |(_, counts)| counts.drives());
    let panel = session.device().panel.size();
    for ((column, row), counts) in activity.regions().filter(|(_, counts)| counts.drives() > 0) {
        let (x, y) = (column as i32 * CELL as i32, row as i32 * CELL as i32);
        let (w, h) = ((panel.width as i32 - x).min(CELL as i32), (panel.height as i32 - y).min(CELL as i32));
        let share = counts.drives() as f32 / most as f32;
        canvas.tint(placed(&rectangle(x, y, w, h), corner, scale), theme::ACTIVITY, 0.12 + 0.48 * share);
    }
}
