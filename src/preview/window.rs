//! The preview in a window: events in, the scene's picture out. Waits for the next event or change; never spins.

use super::canvas::WindowCanvas;
use super::command::{After, Command, apply, typed};
use super::fault::DisplayFault;
use super::pace::{Pace, until_change};
use super::panel::PanelPicture;
use super::scene::{self, Scene};
use super::session::Session;
use super::view::{Note, View, Zoom};
use super::watch::{Reload, watch};
use crate::project::watch::{Watch, WatchedProject};
use crate::source::fault::Fault;
use crate::visible::visible;
use embedded_graphics::prelude::{Point, Size};
use std::num::NonZeroU32;
use std::rc::Rc;
use std::time::Instant;
use winit::application::ApplicationHandler;
use winit::dpi::{PhysicalPosition, PhysicalSize};
use winit::event::{ElementState, KeyEvent, MouseButton, StartCause, WindowEvent};
use winit::event_loop::{ActiveEventLoop, ControlFlow, EventLoop};
use winit::keyboard::{Key, KeyCode, NamedKey, PhysicalKey};
use winit::window::{Window, WindowId};

/// Shows a session in a window until it is closed.
///
/// # Errors
/// When there is no window system, or it fails.
pub fn run(session: Session, view: View, size: Option<Size>, place: WatchedProject) -> Result<(), DisplayFault> {
    let events = match absent().map(Fault::plain).map_or_else(event_loop, Err) {
        Ok(events) => events,
        Err(fault) => {
            return Err(DisplayFault::Absent { why: fault.message, unopened: Box::new((session, view, place)) });
        }
    };
    let proxy = events.create_proxy();
    let (mut view, watching) = match watch(place, move |reload| drop(proxy.send_event(Box::new(reload)))) {
        Ok(watching) => (view, Some(watching)),
        Err(why) => (View { note: Some(Note::trouble(why.message)), ..view.clone() }, None),
    };
    view.fitted = match view.zoom {
        Zoom::Times(times) => times,
        _ => 2,
    };
    let mut app = App {
        session,
        view,
        size,
        panel: PanelPicture::default(),
        pace: Pace::default(),
        shown: None,
        scene: None,
        pointer: Point::new(-1, -1),
        failed: None,
        _watching: watching,
    };
    let ended = events.run_app(&mut app);
    match (app.failed, ended) {
        (Some(why), _) => Err(why),
        (None, Err(why)) => Err(DisplayFault::Failed(why.to_string())),
        (None, Ok(())) => Ok(()),
    }
}

/// Why there cannot be a window, where the environment says so.
#[cfg(all(unix, not(target_vendor = "apple")))]
fn absent() -> Option<String> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let any = ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"].into_iter().any(set);
    (!any).then(|| "neither DISPLAY nor WAYLAND_DISPLAY is set".to_owned())
}

#[cfg(not(all(unix, not(target_vendor = "apple"))))]
fn absent() -> Option<String> {
    None
}

/// The window system's event loop. The libraries that speak to it are loaded now, and one that is missing makes the
/// loader panic; that is caught here and told like any other absence.
fn event_loop() -> Result<EventLoop<Box<Reload>>, Fault> {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let made = std::panic::catch_unwind(|| EventLoop::with_user_event().build());
    std::panic::set_hook(usual);
    match made {
        Ok(Ok(events)) => Ok(events),
        Ok(Err(why)) => Err(Fault::plain(why.to_string())),
        Err(_) => Err(Fault::plain("a library of the window system is missing")),
    }
}

type Surface = softbuffer::Surface<Rc<Window>, Rc<Window>>;

struct App {
    session: Session,
    view: View,
    /// The window's first size, where it was asked for.
    size: Option<Size>,
    panel: PanelPicture,
    pace: Pace,
    shown: Option<(Rc<Window>, Surface)>,
    scene: Option<Scene>,
    pointer: Point,
    failed: Option<DisplayFault>,
    _watching: Option<Watch>,
}

impl App {
    fn open(&mut self, events: &ActiveEventLoop) -> Result<(), DisplayFault> {
        let monitor = events.primary_monitor().or_else(|| events.available_monitors().next());
        self.view.text_scale = monitor.as_ref().map_or(1, |monitor| text_scale(monitor.scale_factor()));
        let room = monitor.map(|monitor| monitor.size()).filter(|size| size.width > 0 && size.height > 0);
        let size = self.size.unwrap_or_else(|| first_size(&self.session, &self.view, room));
        let least = PhysicalSize::new(240, 160);
        let attributes = Window::default_attributes()
            .with_title(format!("{} - inkjoule", visible(&self.session.device().name)))
            .with_min_inner_size(least)
            .with_inner_size(PhysicalSize::new(size.width, size.height));
        let window = Rc::new(events.create_window(attributes).map_err(DisplayFault::failed)?);
        let context = softbuffer::Context::new(window.clone()).map_err(DisplayFault::failed)?;
        let surface = Surface::new(&context, window.clone()).map_err(DisplayFault::failed)?;
        self.view.text_scale = text_scale(window.scale_factor());
        self.shown = Some((window, surface));
        Ok(())
    }

    fn fail(&mut self, why: DisplayFault, events: &ActiveEventLoop) {
        self.failed = Some(why);
        events.exit();
    }

    fn changed(&self) {
        if let Some((window, _)) = &self.shown {
            window.request_redraw();
        }
    }

    fn redraw(&mut self) -> Result<(), DisplayFault> {
        let Some((window, surface)) = &mut self.shown else { return Ok(()) };
        let PhysicalSize { width, height } = window.inner_size();
        let (Some(w), Some(h)) = (NonZeroU32::new(width), NonZeroU32::new(height)) else { return Ok(()) };
        surface.resize(w, h).map_err(DisplayFault::failed)?;
        let scene = scene::draw(&self.session, &self.view, Size::new(width, height), &mut self.panel);
        self.view.fitted = scene.scale.round().max(1.0) as u32;
        let mut buffer = surface.buffer_mut().map_err(DisplayFault::failed)?;
        copy(&scene.canvas, &mut buffer);
        window.pre_present_notify();
        buffer.present().map_err(DisplayFault::failed)?;
        self.scene = Some(scene);
        Ok(())
    }

    fn advance(&mut self) {
        if self.session.advance(self.pace.elapsed(Instant::now())) {
            self.changed();
        }
    }

    fn obey(&mut self, command: Command, events: &ActiveEventLoop) {
        self.advance();
        match apply(command, &mut self.session, &mut self.view) {
            After::Show => {}
            After::Quit => events.exit(),
            After::Save => self.view.note = Some(self.save()),
        }
        if matches!(command, Command::Larger | Command::Smaller | Command::TrueSize) {
            self.ask_for_size();
        }
        self.changed();
    }

    /// Asks for a window that fits the scale; window systems may say no.
    fn ask_for_size(&self) {
        let scale = match self.view.zoom {
            Zoom::Times(times) => f64::from(times),
            Zoom::TrueSize => self.view.true_scale(&self.session),
            Zoom::Fit => f64::from(self.view.fitted),
        };
        if let Some((window, _)) = &self.shown {
            let size = scene::wanted(&self.session, &self.view, scale);
            // The new size comes as an event, at once or later.
            let _ = window.request_inner_size(PhysicalSize::new(size.width, size.height));
        }
    }

    fn save(&self) -> Note {
        let id = &self.session.device().screens[self.session.screen().0].id;
        let Some(scene) = &self.scene else { return Note::trouble("nothing to save yet") };
        super::picture::save(&scene.canvas, id)
    }

    fn key(&mut self, event: &KeyEvent, events: &ActiveEventLoop) {
        if event.state != ElementState::Pressed {
            // The key of the keyboard that holds a key of the device is let go.
            if let Some(held) = self.view.held.filter(|held| self.number(event) == Some(*held)) {
                self.obey(Command::Up(held), events);
            }
            return;
        }
        let command = match &event.logical_key {
            Key::Named(NamedKey::Escape) if self.view.help => Some(Command::Help),
            Key::Named(NamedKey::Escape) => Some(Command::Quit),
            Key::Named(NamedKey::Space) => Some(Command::Pause),
            Key::Named(named) => function(*named).map(Command::Inject),
            Key::Character(text) => text.chars().next().and_then(typed),
            _ => None,
        };
        let command = match self.number(event) {
            Some(key) => Some(Command::Down(key)),
            None => command,
        };
        if let Some(command) = command
            && !(event.repeat && matches!(command, Command::Down(_) | Command::Inject(_)))
        {
            self.obey(command, events);
        }
    }

    /// The key of the device that a key of the keyboard stands for. Where the digits need Shift, their keys are known by
    /// their places.
    fn number(&self, event: &KeyEvent) -> Option<usize> {
        let typed = match &event.logical_key {
            Key::Character(text) => text.chars().next().and_then(typed),
            _ => None,
        };
        match typed {
            Some(Command::Press(key)) => Some(key),
            Some(_) => None,
            None => digit(event.physical_key),
        }
    }

    fn moved(&mut self, to: PhysicalPosition<f64>) {
        self.pointer = Point::new(to.x as i32, to.y as i32);
        let pointed = self.scene.as_ref().and_then(|scene| scene.panel_pixel(self.pointer));
        if self.view.pointed != pointed {
            self.view.pointed = pointed;
            if self.view.boxes {
                self.changed();
            }
        }
    }

    fn button(&mut self, state: ElementState, events: &ActiveEventLoop) {
        if state == ElementState::Released {
            if let Some(held) = self.view.held {
                self.obey(Command::Up(held), events);
            }
            return;
        }
        let Some(command) = self.scene.as_ref().and_then(|scene| scene.command_at(self.pointer)) else { return };
        self.obey(if let Command::Press(key) = command { Command::Down(key) } else { command }, events);
    }
}

impl ApplicationHandler<Box<Reload>> for App {
    fn resumed(&mut self, events: &ActiveEventLoop) {
        if self.shown.is_none()
            && let Err(why) = self.open(events)
        {
            self.fail(why, events);
        }
    }

    fn new_events(&mut self, _: &ActiveEventLoop, cause: StartCause) {
        if matches!(cause, StartCause::ResumeTimeReached { .. }) {
            self.advance();
            self.changed();
        }
    }

    fn user_event(&mut self, _: &ActiveEventLoop, reload: Box<Reload>) {
        self.advance();
        self.view.take(&mut self.session, *reload);
        if let Some((window, _)) = &self.shown {
            window.set_title(&format!("{} - inkjoule", visible(&self.session.device().name)));
        }
        self.changed();
    }

    fn window_event(&mut self, events: &ActiveEventLoop, _: WindowId, event: WindowEvent) {
        match event {
            WindowEvent::CloseRequested | WindowEvent::Destroyed => events.exit(),
            WindowEvent::RedrawRequested => {
                if let Err(why) = self.redraw() {
                    self.fail(why, events);
                }
            }
            WindowEvent::Resized(_) => self.changed(),
            WindowEvent::ScaleFactorChanged { scale_factor, .. } => {
                self.view.text_scale = text_scale(scale_factor);
                self.changed();
            }
            WindowEvent::KeyboardInput { event, is_synthetic: false, .. } => self.key(&event, events),
            // A key that goes up elsewhere is not heard of here.
            WindowEvent::Focused(false) => {
                if let Some(held) = self.view.held {
                    self.obey(Command::Up(held), events);
                }
            }
            WindowEvent::CursorMoved { position, .. } => self.moved(position),
            WindowEvent::CursorLeft { .. } => self.moved(PhysicalPosition::new(-1.0, -1.0)),
            WindowEvent::MouseInput { state, button: MouseButton::Left, .. } => self.button(state, events),
            _ => {}
        }
    }

    fn about_to_wait(&mut self, events: &ActiveEventLoop) {
        events.set_control_flow(match until_change(&self.session) {
            Some(wait) => ControlFlow::WaitUntil(Instant::now() + wait),
            None => ControlFlow::Wait,
        });
    }
}

/// Whole pixels for each of the preview's own.
fn text_scale(factor: f64) -> u32 {
    factor.round().clamp(1.0, 8.0) as u32
}

/// The window's first size: the scale asked for, or the largest up to three that the monitor has room for.
fn first_size(session: &Session, view: &View, room: Option<PhysicalSize<u32>>) -> Size {
    let scale = match view.zoom {
        Zoom::Times(times) => return scene::wanted(session, view, f64::from(times)),
        Zoom::TrueSize => return scene::wanted(session, view, view.true_scale(session)),
        Zoom::Fit => 3 * view.text_scale,
    };
    let sizes = (1..=scale).rev().map(|scale| scene::wanted(session, view, f64::from(scale)));
    let fits =
        |size: &Size| room.is_none_or(|room| size.width <= room.width * 9 / 10 && size.height <= room.height * 17 / 20);
    sizes.into_iter().find(fits).unwrap_or_else(|| scene::wanted(session, view, 1.0))
}

fn copy(canvas: &WindowCanvas, buffer: &mut [u32]) {
    buffer.iter_mut().zip(canvas.pixels()).for_each(|(to, from)| *to = *from);
}

fn function(key: NamedKey) -> Option<usize> {
    use NamedKey::{F1, F2, F3, F4, F5, F6, F7, F8, F9, F10, F11, F12};
    [F1, F2, F3, F4, F5, F6, F7, F8, F9, F10, F11, F12].iter().position(|named| *named == key)
}

fn digit(key: PhysicalKey) -> Option<usize> {
    use KeyCode::{Digit1, Digit2, Digit3, Digit4, Digit5, Digit6, Digit7, Digit8, Digit9};
    let PhysicalKey::Code(code) = key else { return None };
    [Digit1, Digit2, Digit3, Digit4, Digit5, Digit6, Digit7, Digit8, Digit9].iter().position(|digit| *digit == code)
}
