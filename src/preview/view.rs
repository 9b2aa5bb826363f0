//! How a session is looked at: scale, overlays, messages. What the viewer chooses, nothing of the device.

use super::session::Session;
use super::watch::Reload;
use crate::project::ProjectFault;
use crate::source::fault::Level;
use crate::units::Ratio;

/// Pixels per inch of a monitor whose own are not known.
const USUAL_PPI: f64 = 96.0;

/// How the panel's pixels are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zoom {
    /// As large as whole pixels fit.
    Fit,
    /// This many of the monitor's pixels for each of the panel's.
    Times(u32),
    /// As large as the panel is in millimetres.
    TrueSize,
}

/// A remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// What is to be said.
    pub text: String,
    /// Something did not go as asked.
    pub alert: bool,
}

impl Note {
    /// Something went as asked.
    pub fn done(text: impl Into<String>) -> Self {
        Self { text: text.into(), alert: false }
    }

    /// Something did not.
    pub fn trouble(text: impl Into<String>) -> Self {
        Self { text: text.into(), alert: true }
    }
}

/// Something that is wrong with the project.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// What is wrong.
    pub message: String,
    /// File, line and column, if it has a place.
    pub place: Option<String>,
    /// What stands there, and what to write instead.
    pub hint: Vec<String>,
}

/// The share of the contrast above which residue is shaded unless another is asked for: nothing is left out.
const RESIDUE: Ratio = Ratio(0.0);

/// How a session is looked at.
#[derive(Clone, Debug)]
pub struct View {
    /// How the panel's pixels are shown.
    pub zoom: Zoom,
    /// Scale of the last picture drawn, for larger and smaller.
    pub fitted: u32,
    /// Outlines of the elements.
    pub boxes: bool,
    /// Outlines of the last update's windows.
    pub windows: bool,
    /// How often each part of the panel was driven.
    pub activity: bool,
    /// Shades what partial refreshes have left of older images.
    pub residue: bool,
    /// The share of the contrast above which it is shaded.
    pub residue_above: Ratio,
    /// Outlines of what the lints find.
    pub findings: bool,
    /// The list of keys.
    pub help: bool,
    /// A soft key that is held, the first being 0.
    pub held: Option<usize>,
    /// Pixel of the panel under the mouse.
    pub pointed: Option<(u32, u32)>,
    /// What is wrong with the project as it is on the disk now.
    pub errors: Vec<Trouble>,
    /// A remark that stands until the next key.
    pub note: Option<Note>,
    /// What was shown before the actual size, to go back to: how, and at which scale.
    pub before: Option<(Zoom, u32)>,
    /// Pixels per inch of the monitor, where they were given.
    pub monitor_ppi: Option<f64>,
    /// Pixels of the monitor for each of the preview's own text and lines.
    pub text_scale: u32,
}

impl Default for View {
    fn default() -> Self {
        Self {
            zoom: Zoom::Fit,
            fitted: 1,
            boxes: false,
            windows: true,
            activity: false,
            residue: false,
            residue_above: RESIDUE,
            findings: false,
            help: false,
            held: None,
            pointed: None,
            errors: Vec::new(),
            note: None,
            before: None,
            monitor_ppi: None,
            text_scale: 1,
        }
    }
}

impl View {
    /// Pixels of the monitor for each of the panel's at true size.
    pub fn true_scale(&self, session: &Session) -> f64 {
        let pitch = session.device().panel.pitch[1].0;
        let ppi = self.monitor_ppi.unwrap_or(USUAL_PPI * f64::from(self.text_scale));
        (pitch * ppi / 0.0254).clamp(0.1, 32.0)
    }

    /// Takes a project that was loaded again: the session goes on with it, or its faults are kept over the last good
    /// picture.
    pub fn take(&mut self, session: &mut Session, reload: Reload) {
        match reload {
            Ok(loaded) => {
                session.reload(loaded);
                self.errors.clear();
            }
            Err(failed) => self.failed(&failed),
        }
    }

    /// Keeps what is wrong with a project that could not be loaded: place, message and what to write instead.
    pub fn failed(&mut self, failed: &ProjectFault) {
        let errors = failed.faults.iter().filter(|fault| fault.level == Level::Error);
        let trouble = errors.map(|fault| Trouble {
            message: fault.message.clone(),
            place: fault.span.as_ref().map(|span| failed.sources.place(span)),
            hint: Some(fault.label.to_string())
                .filter(|label| !label.is_empty())
                .into_iter()
                .chain(fault.help.clone())
                .collect(),
        });
        self.errors = trouble.collect();
    }
}
