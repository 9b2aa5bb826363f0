//! Cycles that the exported machine takes to draw the scenes of an update. Not for how they come about; see
//! [`crate::refresh::drawing`].

use std::ops::AddAssign;

/// How the frame is drawn in strips.
#[derive(Clone, Copy, Debug)]
pub struct Strips {
    /// Lines of the packed frame.
    pub lines: f64,
    /// Bytes of each.
    pub line_bytes: f64,
    /// Lines that are drawn at a time when two frames are compared.
    pub compared: f64,
    /// Lines that are drawn at a time when they are sent.
    pub sent: f64,
}

/// Cycles of passes over a scene, layers added up: when it is compared, and when its lines are sent.
#[derive(Clone, Copy, Debug, Default)]
pub struct Passes {
    /// When it is compared.
    pub compared: Pass,
    /// When its lines are sent.
    pub sent: Pass,
}

/// Cycles before the first strip, of each strip, of each line.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pass {
    /// Before the first strip.
    pub once: f64,
    /// Of each strip.
    pub each: f64,
    /// Of each line.
    pub line: f64,
}

impl Pass {
    /// Over so many lines, some at a time.
    pub fn over(&self, lines: f64, at_a_time: f64) -> f64 {
        self.once + self.each * (lines / at_a_time).ceil() + self.line * lines
    }
}

impl Passes {
    /// A share of both.
    pub fn share(&self, share: f64) -> Self {
        let part = |pass: &Pass| Pass { once: pass.once * share, each: pass.each * share, line: pass.line * share };
        Self { compared: part(&self.compared), sent: part(&self.sent) }
    }
}

impl AddAssign for Pass {
    fn add_assign(&mut self, other: Self) {
        self.once += other.once;
        self.each += other.each;
        self.line += other.line;
    }
}

impl AddAssign for Passes {
    fn add_assign(&mut self, other: Self) {
        self.compared += other.compared;
        self.sent += other.sent;
    }
}

/// What an update leads from and to: passes over what is shown, none where the panel shows nothing yet, and over what is to
/// be shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Scenes {
    /// What is shown.
    pub shown: Option<Passes>,
    /// What is to be shown.
    pub next: Passes,
}
