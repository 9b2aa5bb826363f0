//! `preview`: the running device in a window or a terminal.

use super::args::ProjectArgs;
use super::render::{locales, screens, share};
use super::{Outcome, Result, Stop, open, print};
use crate::limits;
use crate::output::{self, Overwrite};
use crate::preview::command::{After, apply, typed};
use crate::preview::fault::DisplayFault;
use crate::preview::panel::PanelPicture;
use crate::preview::scene;
use crate::preview::session::{Begin, SPEEDS, Session};
use crate::preview::terminal;
use crate::preview::view::{Note, View, Zoom};
use crate::preview::window;
use crate::project::watch::WatchedProject;
use crate::source::fault::Fault;
use crate::units::{Ratio, ValueFault};
use clap::Args;
use embedded_graphics::prelude::Size;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::time::Duration;

/// Arguments of `preview`.
#[derive(Debug, Args)]
pub struct PreviewArgs {
    #[command(flatten)]
    project: ProjectArgs,
    /// Begin on this screen rather than on the usage's home screen.
    #[arg(long, value_name = "ID")]
    screen: Option<String>,
    /// Begin with this locale.
    #[arg(long)]
    locale: Option<String>,
    /// Pixels of the monitor for each pixel of the panel; as many as fit otherwise.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(limits::SCALE)), conflicts_with = "actual_size")]
    scale: Option<u32>,
    /// Show the panel at its actual size, as exactly as --monitor-ppi is known.
    #[arg(long)]
    actual_size: bool,
    /// Pixels per inch of the monitor, for --actual-size.
    #[arg(long, value_name = "PPI")]
    monitor_ppi: Option<f64>,
    /// The share of the contrast above which the key g shades what partial refreshes have left of older images, as in "5 %".
    #[arg(long, value_name = "SHARE", default_value = "0 %", value_parser = share)]
    residue: f64,
    /// Width and height of the window or image in the monitor's pixels.
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = size)]
    size: Option<Size>,
    /// How fast time goes: 1 is real time, 0 stands still, 1000 at most.
    #[arg(long, value_name = "TIMES", default_value_t = 1.0)]
    speed: f64,
    /// Keys typed at the beginning, as in the window; each waits until the panel is free.
    #[arg(long, value_name = "KEYS", default_value = "")]
    typed: String,
    /// Show the device in the terminal; where the output is no terminal, print one image of it.
    #[arg(long, conflicts_with_all = ["screenshot", "scale", "actual_size"])]
    terminal: bool,
    /// Write what the window would show to a PNG file instead of opening one.
    #[arg(long, value_name = "FILE")]
    screenshot: Option<PathBuf>,
    /// Overwrite a file that inkjoule did not write.
    #[arg(long)]
    force: bool,
}

/// The keys of the preview, for its help and manual page.
pub const KEYS_HELP: &str = "\
Keys in the window and in the terminal: 1 to 9 press the soft keys, F1 to F12 make the events happen, space pauses and goes \
on, h lists all keys, q quits. To hold a key, keep it down; in a terminal, which does not report when a key goes up, Alt and the \
digit hold it, and again let it go.";

/// Shows the device.
///
/// # Errors
/// When the project or an argument cannot be used, or there is no window system.
pub fn run(args: &PreviewArgs) -> Result {
    check(args)?;
    let loaded = open(&args.project)?;
    let device = &loaded.device;
    let screen = match &args.screen {
        Some(id) => screens(device, std::slice::from_ref(id))?.first().copied(),
        None => None,
    };
    let locale = match &args.locale {
        Some(name) => locales(device, Some(name))?.first().copied(),
        None => None,
    };
    let mut session = Session::new(loaded, Begin::Shown);
    if let Some(locale) = locale {
        session.set_locale(locale);
    }
    if let Some(screen) = screen {
        session.jump(screen);
    }
    session.set_speed(args.speed);
    let residue_above = Ratio(args.residue);
    let mut view = View { monitor_ppi: args.monitor_ppi, zoom: zoom(args), residue_above, ..View::default() };
    if type_keys(&args.typed, &mut session, &mut view) == After::Quit {
        return Ok(Outcome::Fine);
    }
    if let Some(file) = &args.screenshot {
        return screenshot(&session, &view, args, file);
    }
    let place = WatchedProject { project: args.project.project.clone(), set: args.project.changes() };
    if args.terminal {
        return in_terminal(session, view, place);
    }
    match window::run(session, view, args.size, place) {
        Ok(()) => Ok(Outcome::Fine),
        Err(DisplayFault::Absent { why, unopened }) if interactive() => {
            let (session, mut view, place) = *unopened;
            view.note = Some(Note::trouble(format!("no window: {why}; --terminal asks for this view")));
            in_terminal(session, view, place)
        }
        Err(DisplayFault::Absent { why, .. }) => {
            let fault = Fault::plain(format!("there is no window system to open a window: {why}"));
            Err(fault.help("use --terminal to see the device here, or --screenshot FILE for an image").into())
        }
        Err(DisplayFault::Failed(why)) => Err(Fault::plain(format!("the window system failed: {why}")).into()),
    }
}

/// Whether somebody sits at a terminal.
fn interactive() -> bool {
    std::io::stdout().is_terminal() && std::io::stdin().is_terminal()
}

fn in_terminal(session: Session, mut view: View, place: WatchedProject) -> Result {
    // Dotted outlines hide more of a small picture than they show; the key `w` brings them.
    view.windows = false;
    if !interactive() {
        print(&terminal::plain(&session, &view))?;
        return Ok(Outcome::Fine);
    }
    match terminal::run(session, view, place) {
        Ok(()) => Ok(Outcome::Fine),
        Err(why) => Err(Fault::plain(format!("the terminal cannot be used: {why}")).into()),
    }
}

/// A size as `800x600`.
fn size(text: &str) -> std::result::Result<Size, ValueFault> {
    let sides = text.split_once('x').and_then(|(width, height)| Some((width.parse().ok()?, height.parse().ok()?)));
    let allowed = 100..=8_000;
    match sides {
        Some((width, height)) if allowed.contains(&width) && allowed.contains(&height) => Ok(Size::new(width, height)),
        _ => Err(ValueFault("expected a width and a height from 100 to 8000, such as 800x600".into())),
    }
}

fn check(args: &PreviewArgs) -> std::result::Result<(), Stop> {
    if !(0.0..=SPEEDS[4]).contains(&args.speed) {
        return Err(Fault::plain(format!("--speed must be from 0 to {}", SPEEDS[4])).into());
    }
    if args.monitor_ppi.is_some_and(|ppi| !(20.0..=2000.0).contains(&ppi)) {
        return Err(Fault::plain("--monitor-ppi must be from 20 to 2000").into());
    }
    match args.typed.chars().find(|character| typed(*character).is_none()) {
        Some(character) => Err(Fault::plain(format!("--typed: the key {character:?} does nothing")).into()),
        None => Ok(()),
    }
}

fn zoom(args: &PreviewArgs) -> Zoom {
    match args.scale {
        Some(times) => Zoom::Times(times),
        None if args.actual_size => Zoom::TrueSize,
        None => Zoom::Fit,
    }
}

/// Types keys one after the other, each once the panel is free.
fn type_keys(keys: &str, session: &mut Session, view: &mut View) -> After {
    for command in keys.chars().filter_map(typed) {
        if apply(command, session, view) == After::Quit {
            return After::Quit;
        }
        // A refresh takes seconds; the bound only guards against a panel whose table says otherwise.
        for _ in 0..600 {
            if !session.busy() {
                break;
            }
            session.advance(session.next_change().unwrap_or(Duration::from_millis(100)));
        }
    }
    After::Show
}

fn screenshot(session: &Session, view: &View, args: &PreviewArgs, file: &std::path::Path) -> Result {
    let scale = match view.zoom {
        Zoom::Fit => 2.0,
        Zoom::Times(times) => f64::from(times),
        Zoom::TrueSize => view.true_scale(session),
    };
    let size = args.size.unwrap_or_else(|| scene::wanted(session, view, scale));
    let scene = scene::draw(session, view, size, &mut PanelPicture::default());
    let bytes = scene.canvas.png().ok_or_else(|| Fault::plain("the image has no pixels"))?;
    output::write(file, &bytes, Overwrite::of(args.force))?;
    Ok(Outcome::Fine)
}
