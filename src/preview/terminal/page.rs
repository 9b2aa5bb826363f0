//! What the terminal shows, as lines of styled text: picture, soft keys, facts. Writes nothing itself.

use super::cells::Cells;
use crate::hardware::display::Side;
use crate::preview::command::{KEYS, key_name};
use crate::preview::facts::{Fact, facts};
use crate::preview::session::{Seen, Session};
use crate::preview::view::{Note, View};
use crate::preview::words::{key_label, said};
use crate::visible::one_line;
use embedded_graphics::primitives::Rectangle;

/// How a piece of text looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// As the terminal writes.
    Plain,
    /// Names of groups and keys.
    Strong,
    /// Names of values.
    Faint,
    /// What needs attention.
    Alert,
    /// The panel: ink on paper.
    Screen,
}

/// A line of styled text.
pub type Line = Vec<(Look, String)>;

/// The room that a terminal has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Characters across.
    pub columns: u32,
    /// Lines.
    pub rows: u32,
    /// Whether more than ASCII can be shown.
    pub unicode: bool,
}

/// Columns of facts beside the picture.
const BESIDE: u32 = 38;

/// Lines of facts that are kept below the picture at least.
const LEAST: u32 = 6;

/// The whole page.
pub fn page(session: &Session, view: &View, room: Room) -> Vec<Line> {
    let size = session.device().panel.size();
    let shrink = |columns: u32, rows: u32| Cells::fitting(size, columns, rows, room.unicode).shrink;
    let roomy = room.columns >= 3 * BESIDE;
    let below = paragraph(&facts(session, view), room.columns as usize);
    // Where there is little room the picture comes first, and of the facts the first lines.
    let above = room.rows.saturating_sub((below.len() as u32 + 1).min(LEAST)).max(room.rows / 2);
    let mut page = match roomy && shrink(room.columns - BESIDE, room.rows) <= shrink(room.columns, above) {
        true => side_by_side(session, view, room),
        false => stacked(session, view, Room { rows: above, ..room }, below),
    };
    page.iter_mut().flatten().for_each(|(_, text)| *text = one_line(text));
    if !room.unicode {
        page.iter_mut().flatten().for_each(|(_, text)| *text = ascii(text));
    }
    page.iter_mut().for_each(|line| cut(line, room.columns as usize));
    page.truncate(room.rows as usize);
    page
}

fn side_by_side(session: &Session, view: &View, room: Room) -> Vec<Line> {
    let width = room.columns - BESIDE;
    let mut left = upper(session, view, Room { columns: width, ..room });
    let right = column(&facts(session, view), BESIDE as usize - 2);
    let rows = left.len().max(right.len());
    left.resize(rows, Vec::new());
    let taken = left.iter().map(length).max().unwrap_or(0).min(width as usize);
    let mut right = right.into_iter();
    for line in &mut left {
        let gap = (taken + 2).saturating_sub(length(line));
        line.push((Look::Plain, " ".repeat(gap)));
        line.extend(right.next().unwrap_or_default());
    }
    left
}

/// The facts below the picture, which has `room`.
fn stacked(session: &Session, view: &View, room: Room, below: Vec<Line>) -> Vec<Line> {
    let mut page = upper(session, view, room);
    page.extend(below);
    page
}

/// Picture, soft keys and remarks; or the list of keys.
fn upper(session: &Session, view: &View, room: Room) -> Vec<Line> {
    let messages: Vec<Line> = messages(view, room.columns as usize);
    let rows = room.rows.saturating_sub(messages.len() as u32);
    let mut lines = if view.help { help() } else { device(session, view, Room { rows, ..room }) };
    lines.extend(messages);
    lines
}

fn messages(view: &View, columns: usize) -> Vec<Line> {
    let mut lines: Vec<Line> = view.note.iter().map(remark).collect();
    if !view.errors.is_empty() {
        lines.push(vec![(Look::Alert, "The project has errors; this is its last good image".into())]);
        let all = view.errors.iter().flat_map(|trouble| {
            let message = pieces(&trouble.message, columns).into_iter().map(|text| vec![(Look::Plain, text)]);
            let more = trouble.place.iter().chain(&trouble.hint);
            message.chain(more.flat_map(move |text| pieces(text, columns)).map(|text| vec![(Look::Faint, text)]))
        });
        lines.extend(all.take(9));
    }
    lines
}

fn remark(note: &Note) -> Line {
    vec![(if note.alert { Look::Alert } else { Look::Plain }, note.text.clone())]
}

/// A text in pieces of at most so many characters.
fn pieces(text: &str, most: usize) -> Vec<String> {
    let characters: Vec<char> = text.chars().collect();
    characters.chunks(most.max(1)).map(|piece| piece.iter().collect()).collect()
}

fn device(session: &Session, view: &View, room: Room) -> Vec<Line> {
    let device = session.device();
    let size = device.panel.size();
    let at = |side| u32::from(device.display.keys_at(side).next().is_some());
    let aside = 4 * (at(Side::Left) + at(Side::Right));
    let above = at(Side::Top) + at(Side::Bottom) + u32::from(device.display.unplaced().next().is_some());
    let cells = Cells::fitting(size, room.columns.saturating_sub(aside), room.rows.saturating_sub(above), room.unicode);
    let mut seen = outlined(session, view);
    let words = said(session);
    // While a refresh is under way the marks alone tell what is seen.
    let spelt = if cells.shrink > 1 && !session.busy() { words.as_slice() } else { &[] };
    cells.clear(&mut seen.frame, spelt);
    let mut drawn = cells.lines(&seen);
    cells.write_over(&mut drawn, spelt);
    let mut lines: Vec<Line> = drawn.into_iter().map(|line| vec![(Look::Screen, line)]).collect();
    let actions = &device.wirings[session.front().0].keys;
    let cell = cells.of_panel();
    let look = |index: usize| {
        let acts = actions.get(index).is_some_and(|action| action.acts());
        if acts { Look::Strong } else { Look::Faint }
    };
    let keys = |side| -> Vec<(usize, Look, String)> {
        let keys = device.display.keys_at(side);
        let name = |index: usize| match key_label(session, &words, index).filter(|_| side.is_level()) {
            Some(label) => format!("[{}] {label}", index + 1),
            None => format!("[{}]", index + 1),
        };
        keys.map(|(index, key)| (key.centre_px.max(0) as usize, look(index), name(index))).collect()
    };
    for side in [Side::Left, Side::Right].into_iter().filter(|side| at(*side) > 0) {
        let left = side == Side::Left;
        let rows = lines.len();
        let mut beside = vec![(Look::Plain, "    ".to_owned()); rows];
        for (centre, look, name) in keys(side) {
            let place = (centre / cell.height as usize).min(rows.saturating_sub(1));
            if let Some(slot) = beside.get_mut(place) {
                *slot = (look, if left { format!("{name} ") } else { format!(" {name}") });
            }
        }
        for (line, key) in lines.iter_mut().zip(beside) {
            line.insert(if left { 0 } else { line.len() }, key);
        }
    }
    // Keys above and below begin where the screen does.
    let start = if at(Side::Left) > 0 { 4 } else { 0 };
    let row = |side| {
        let mut row = key_row(&keys(side), cell.width as usize);
        if start > 0 {
            row.insert(0, (Look::Plain, " ".repeat(start)));
        }
        row
    };
    if at(Side::Top) > 0 {
        lines.insert(0, row(Side::Top));
    }
    if at(Side::Bottom) > 0 {
        lines.push(row(Side::Bottom));
    }
    if device.display.unplaced().next().is_some() {
        let mut line = Line::new();
        for (index, key) in device.display.unplaced() {
            let label = key_label(session, &words, index).unwrap_or_default();
            let name = [key.name.as_str(), label.as_str()].into_iter().filter(|part| !part.is_empty());
            let name: String = name.map(|part| format!(" {part}")).collect();
            line.push((look(index), format!("[{}]{name}  ", index + 1)));
        }
        lines.push(line);
    }
    lines
}

fn key_row(keys: &[(usize, Look, String)], pixels: usize) -> Line {
    let mut line = Line::new();
    for (centre, look, name) in keys {
        let start = (centre / pixels.max(1)).saturating_sub(name.chars().count() / 2);
        let gap = start.saturating_sub(length(&line)).max(usize::from(!line.is_empty()));
        line.push((Look::Plain, " ".repeat(gap)));
        line.push((*look, name.clone()));
    }
    line
}

/// The panel with dotted outlines of elements and update windows, where they are asked for.
fn outlined(session: &Session, view: &View) -> Seen {
    let mut seen = session.seen();
    let mut areas: Vec<Rectangle> = Vec::new();
    if view.boxes {
        let items = &session.device().screens[session.screen().0].pictures[session.locale()];
        areas.extend(items.iter().map(|item| item.area));
    }
    if view.windows
        && let Some(update) = session.last_update().filter(|update| update.screen == session.screen())
    {
        areas.extend(&update.windows);
    }
    for area in areas {
        let (Some(last), (w, h)) = (area.bottom_right(), (area.size.width, area.size.height)) else { continue };
        let dots = (0..w).flat_map(|x| [(x, 0), (x, h - 1)]).chain((0..h).flat_map(|y| [(0, y), (w - 1, y)]));
        for (x, y) in dots.filter(|(x, y)| (x + y) % 4 < 2) {
            let (x, y) = (area.top_left.x + x as i32, area.top_left.y + y as i32);
            if x >= 0 && y >= 0 && x <= last.x && y <= last.y {
                let (x, y) = (x as u32, y as u32);
                let ink = seen.frame.ink(x, y);
                seen.frame.set(x, y, !ink);
            }
        }
    }
    seen
}

fn help() -> Vec<Line> {
    let first = [
        ("1-9".to_owned(), "soft keys"),
        ("Alt+1-9".to_owned(), "hold a key; again: let go"),
        ("F1-F12".to_owned(), "events"),
    ];
    let others = KEYS.iter().filter(|(key, ..)| !"xzmag".contains(*key)).map(|(key, _, what)| (key_name(*key), *what));
    let all = first.into_iter().chain(others);
    all.map(|(key, what)| vec![(Look::Strong, format!("{key:8}")), (Look::Plain, what.to_owned())]).collect()
}

/// Facts one below the other.
fn column(facts: &[Fact], width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    for fact in facts {
        match fact {
            Fact::Heading(text) => {
                if !lines.is_empty() {
                    lines.push(Line::new());
                }
                lines.push(vec![(Look::Strong, text.clone())]);
            }
            Fact::Pair { label, value, alert } => {
                let gap = width.saturating_sub(label.chars().count() + value.chars().count()).max(1);
                let look = if *alert { Look::Alert } else { Look::Plain };
                lines.push(vec![
                    (Look::Faint, (*label).to_owned()),
                    (Look::Plain, " ".repeat(gap)),
                    (look, value.clone()),
                ]);
            }
            Fact::Action { key, text, .. } => {
                lines.push(vec![(Look::Strong, format!("{key:4}")), (Look::Plain, text.clone())])
            }
            Fact::Remark(text) => lines.push(vec![(Look::Faint, text.clone())]),
        }
    }
    lines
}

/// Facts one after the other, a new line for each heading and where the line is full.
fn paragraph(facts: &[Fact], width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut line = Line::new();
    for fact in facts {
        let words: Line = match fact {
            Fact::Heading(text) => vec![(Look::Strong, text.clone())],
            Fact::Pair { label, value, alert } => {
                let look = if *alert { Look::Alert } else { Look::Plain };
                vec![(Look::Faint, format!("{label} ")), (look, value.clone())]
            }
            Fact::Action { key, text, .. } => vec![(Look::Strong, format!("{key} ")), (Look::Plain, text.clone())],
            Fact::Remark(text) => vec![(Look::Faint, text.clone())],
        };
        let new = matches!(fact, Fact::Heading(_)) || length(&line) + 3 + length(&words) > width;
        if new && !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push((Look::Plain, "   ".into()));
        }
        line.extend(words);
    }
    lines.push(line);
    lines
}

fn length(line: &Line) -> usize {
    line.iter().map(|(_, text)| text.chars().count()).sum()
}

fn cut(line: &mut Line, columns: usize) {
    let mut left = columns;
    for (_, text) in line.iter_mut() {
        if text.chars().count() > left {
            *text = text.chars().take(left).collect();
        }
        left -= text.chars().count();
    }
}

/// A text in ASCII: units and punctuation spelt out, other characters as question marks.
fn ascii(text: &str) -> String {
    let plain = |character: char| match character {
        '°' => "deg ".to_owned(),
        'µ' | 'μ' => "u".to_owned(),
        '…' => "...".to_owned(),
        '–' | '—' | '−' => "-".to_owned(),
        '’' | '‘' => "'".to_owned(),
        character if character.is_ascii() => character.to_string(),
        _ => "?".to_owned(),
    };
    text.chars().map(plain).collect()
}
