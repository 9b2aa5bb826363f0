//! The preview in a terminal: the same session and commands as in a window, without any window system.

pub mod cells;
pub mod page;

use super::command::{After, Command, apply, typed};
use super::pace::{Pace, until_change};
use super::panel::PanelPicture;
use super::session::Session;
use super::view::{Note, View};
use super::watch::{Reload, watch};
use super::{picture, scene};
use crate::project::watch::WatchedProject;
use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, read};
use crossterm::style::{Attribute, Color, Print, ResetColor, SetAttribute, SetBackgroundColor, SetForegroundColor};
use crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, DisableLineWrap, EnableLineWrap, EndSynchronizedUpdate,
    EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode, size,
};
use crossterm::{cursor, execute, queue};
use page::{Line, Look, Room, page};
use std::io::{self, BufWriter, Stdout, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Instant;

/// Columns of a page that nobody looks at in a terminal, unless `COLUMNS` says otherwise.
const PLAIN_COLUMNS: u32 = 160;

/// Whether the environment's locale has more than ASCII. The first variable that is set decides (POSIX, 8.2).
pub fn unicode() -> bool {
    if cfg!(windows) {
        return true;
    }
    let set = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(|name| std::env::var(name).ok());
    let locale = set.into_iter().find(|value| !value.is_empty()).unwrap_or_default().to_ascii_lowercase();
    locale.contains("utf-8") || locale.contains("utf8")
}

/// One page as plain text, for pipes and files.
pub fn plain(session: &Session, view: &View) -> String {
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let columns = columns.unwrap_or(PLAIN_COLUMNS).clamp(20, 4_000);
    let lines = page(session, view, Room { columns, rows: u32::MAX, unicode: unicode() });
    let texts = lines.into_iter().map(|line| line.into_iter().map(|(_, text)| text).collect::<String>());
    texts.map(|text| text.trim_end().to_owned() + "\n").collect()
}

enum Message {
    Input(io::Result<Event>),
    Reload(Box<Reload>),
}

/// Shows a session in the terminal until it is left.
///
/// # Errors
/// When the terminal cannot be read or written.
pub fn run(session: Session, view: View, place: WatchedProject) -> io::Result<()> {
    let (send, messages) = channel();
    let reloads = send.clone();
    let watching = watch(place, move |reload| drop(reloads.send(Message::Reload(Box::new(reload)))));
    let mut shown = Shown {
        session,
        view,
        pace: Pace::default(),
        screen: Screen::enter()?,
        coloured: std::env::var_os("NO_COLOR").is_none(),
        unicode: unicode(),
    };
    if let Err(why) = &watching {
        shown.view.note = Some(Note::trouble(why.message.clone()));
    }
    listen(send);
    shown.go(&messages)
}

/// Reads the keyboard on a thread of its own, so that the preview can wait for keys and reloads alike.
fn listen(send: Sender<Message>) {
    std::thread::spawn(move || {
        loop {
            let event = read();
            let ended = event.is_err();
            if send.send(Message::Input(event)).is_err() || ended {
                return;
            }
        }
    });
}

struct Shown {
    session: Session,
    view: View,
    pace: Pace,
    screen: Screen,
    coloured: bool,
    unicode: bool,
}

impl Shown {
    fn go(&mut self, messages: &Receiver<Message>) -> io::Result<()> {
        loop {
            self.draw()?;
            let message = match until_change(&self.session) {
                Some(wait) => messages.recv_timeout(wait),
                None => messages.recv().map_err(|_| RecvTimeoutError::Disconnected),
            };
            self.session.advance(self.pace.elapsed(Instant::now()));
            match message {
                Ok(Message::Input(event)) => {
                    if self.input(event?)? == After::Quit {
                        return Ok(());
                    }
                }
                Ok(Message::Reload(reload)) => self.view.take(&mut self.session, *reload),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            }
        }
    }

    fn input(&mut self, event: Event) -> io::Result<After> {
        match event {
            Event::Key(key) if key.kind == KeyEventKind::Press => {
                let Some(command) = self.command(key) else { return Ok(After::Show) };
                let after = apply(command, &mut self.session, &mut self.view);
                if after == After::Save {
                    self.view.note = Some(self.save());
                }
                Ok(after)
            }
            Event::Resize(..) => {
                self.screen.forget()?;
                Ok(After::Show)
            }
            _ => Ok(After::Show),
        }
    }

    fn command(&self, key: KeyEvent) -> Option<Command> {
        match key.code {
            KeyCode::Char('c' | 'd') if key.modifiers.contains(KeyModifiers::CONTROL) => Some(Command::Quit),
            // A terminal does not tell when a key goes up: Alt and a digit keep it down, and again let it go.
            KeyCode::Char(digit @ '1'..='9') if key.modifiers.contains(KeyModifiers::ALT) => {
                let number = digit as usize - '1' as usize;
                let held = self.view.held == Some(number);
                Some(if held { Command::Up(number) } else { Command::Down(number) })
            }
            KeyCode::Char(_) if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) => None,
            KeyCode::Char(character) => typed(character),
            KeyCode::F(number) => Some(Command::Inject(usize::from(number).checked_sub(1)?)),
            KeyCode::Esc if self.view.help => Some(Command::Help),
            KeyCode::Esc => Some(Command::Quit),
            _ => None,
        }
    }

    /// Saves what a window would show.
    fn save(&self) -> Note {
        let size = scene::wanted(&self.session, &self.view, 2.0);
        let scene = scene::draw(&self.session, &self.view, size, &mut PanelPicture::default());
        picture::save(&scene.canvas, &self.session.device().screens[self.session.screen().0].id)
    }

    fn draw(&mut self) -> io::Result<()> {
        let (columns, rows) = size()?;
        let room = Room { columns: columns.into(), rows: rows.into(), unicode: self.unicode };
        let lines = page(&self.session, &self.view, room);
        self.screen.show(lines, rows, self.coloured)
    }
}

/// The terminal while it is ours; it is given back as it was, also after an error.
struct Screen {
    out: BufWriter<Stdout>,
    lines: Vec<Line>,
}

impl Screen {
    fn enter() -> io::Result<Self> {
        enable_raw_mode()?;
        let mut screen = Self { out: BufWriter::new(io::stdout()), lines: Vec::new() };
        execute!(screen.out, EnterAlternateScreen, cursor::Hide, DisableLineWrap, Clear(ClearType::All))?;
        Ok(screen)
    }

    /// Draws everything anew the next time.
    fn forget(&mut self) -> io::Result<()> {
        self.lines.clear();
        queue!(self.out, Clear(ClearType::All))
    }

    /// Writes the lines that are others than before.
    fn show(&mut self, lines: Vec<Line>, rows: u16, coloured: bool) -> io::Result<()> {
        if lines == self.lines {
            return self.out.flush();
        }
        queue!(self.out, BeginSynchronizedUpdate)?;
        for row in 0..rows {
            let (old, new) = (self.lines.get(usize::from(row)), lines.get(usize::from(row)));
            if old == new {
                continue;
            }
            queue!(self.out, cursor::MoveTo(0, row))?;
            for (look, text) in new.into_iter().flatten() {
                write_piece(&mut self.out, *look, text, coloured)?;
            }
            queue!(self.out, Clear(ClearType::UntilNewLine))?;
        }
        queue!(self.out, EndSynchronizedUpdate)?;
        self.lines = lines;
        self.out.flush()
    }
}

fn write_piece(out: &mut impl Write, look: Look, text: &str, coloured: bool) -> io::Result<()> {
    match look {
        Look::Plain => return queue!(out, Print(text)),
        Look::Strong => queue!(out, SetAttribute(Attribute::Bold))?,
        Look::Faint => queue!(out, SetAttribute(Attribute::Dim))?,
        Look::Alert if coloured => queue!(out, SetForegroundColor(Color::Red))?,
        Look::Alert => queue!(out, SetAttribute(Attribute::Bold))?,
        Look::Screen if coloured => queue!(out, SetForegroundColor(Color::Black), SetBackgroundColor(Color::White))?,
        Look::Screen => {}
    }
    queue!(out, Print(text), SetAttribute(Attribute::Reset), ResetColor)
}

impl Drop for Screen {
    fn drop(&mut self) {
        // Nothing more can be done about a terminal that has gone away.
        let _ = execute!(self.out, ResetColor, EnableLineWrap, cursor::Show, LeaveAlternateScreen);
        let _ = disable_raw_mode();
    }
}
