//! The machine and its panel: when it is looked at, what is sent to it, and what the policy says of that.
//!
//! Not for the pictures themselves; see [`super::canvas`].

use super::note::{Origin, PanelStep, Update, UpdateCause, World};
use super::{Machine, Micros, micros, seconds};
use crate::device::Device;
use crate::refresh::policy::{Reason, full_due, must_be_full};
use crate::refresh::update::{Change, Mode, Planner, work};
use crate::units::Celsius;

impl Machine {
    /// When the panel is to be looked at, if it is.
    pub(super) fn look_at(&self, device: &Device) -> Option<Micros> {
        let full = self.full_due(device).map(|due| due.max(self.busy_until));
        let picture = match self.stale {
            _ if !self.waiting.is_empty() => Some(self.busy_until),
            Some(_) => Some(self.distant(device).unwrap_or(0).max(self.busy_until)),
            None => None,
        };
        [full, picture].into_iter().flatten().min()
    }

    /// Until when an update that only the device caused keeps its distance from the refresh before.
    fn distant(&self, device: &Device) -> Option<Micros> {
        let by_itself = self.stale.is_some_and(|cause| cause.origin() == Origin::Device) && self.entered.is_none();
        self.last_refresh.filter(|_| by_itself).map(|last| last + micros(device.policy.min_interval))
    }

    fn full_due(&self, device: &Device) -> Option<Micros> {
        full_due(&device.policy, self.memory).filter(|_| self.full_awaited).map(micros)
    }

    /// Carries out keys that waited, compares the picture with the panel and tells what is to be sent, if the panel is
    /// free and anything is.
    pub fn look(
        &mut self,
        device: &Device,
        temperature: Celsius,
        planner: &mut Planner,
        world: &mut impl World,
    ) -> PanelStep {
        if self.busy() {
            return PanelStep::Nothing;
        }
        while let Some((made, key)) = self.waiting.pop_front() {
            self.carry_out(device, made, key, world);
        }
        let due = self.distant(device).is_none_or(|until| self.now >= until);
        if let Some(cause) = self.stale.filter(|_| due) {
            self.stale = None;
            let entered = self.entered.take();
            if let Some(locale) = device.locale_of(&self.state.values) {
                self.canvas.set_locale(locale);
            }
            self.canvas.draw(device, &self.state, self.instead.as_ref());
            let change = self.canvas.change(device, planner);
            if change.pixels > 0 || self.memory.last_full.is_none() {
                let reason = must_be_full(device, self.memory, seconds(self.now), temperature, entered);
                return self.send(device, temperature, cause, reason, change);
            }
            self.canvas.adopt();
            self.pressed.clear();
        }
        match self.full_due(device) {
            Some(due) if due <= self.now => {
                self.full_awaited = false;
                self.send(device, temperature, UpdateCause::Schedule, Some(Reason::Age), Change::NONE)
            }
            _ => PanelStep::Nothing,
        }
    }

    fn send(
        &mut self,
        device: &Device,
        temperature: Celsius,
        cause: UpdateCause,
        reason: Option<Reason>,
        change: Change,
    ) -> PanelStep {
        let mode = if reason.is_some() { Mode::Full } else { Mode::Partial };
        let scenes = *self.canvas.scenes();
        let Some(mut work) = work(device, device.policy.buffer, &change, &scenes, mode, temperature) else {
            return PanelStep::Refused;
        };
        if let Some(hold) = device.panel.hold {
            // Each update pays for its own time of the booster; one that comes meanwhile, for what it prolongs that.
            let gone = seconds(self.now.saturating_sub(self.busy_until));
            let warm = self.last_refresh.is_some() && gone <= hold.time;
            (work.warm, work.held) = if warm { (1.0, gone) } else { (0.0, hold.time) };
        }
        if cause != UpdateCause::Schedule {
            self.canvas.adopt();
        }
        self.memory.note(mode, seconds(self.now));
        self.last_refresh = Some(self.now);
        self.full_awaited |= mode == Mode::Full && device.policy.full_every.is_some();
        let answers = std::mem::take(&mut self.pressed);
        PanelStep::Send(Box::new(Update { cause, origin: cause.origin(), mode, reason, change, scenes, work, answers }))
    }

    /// The panel is busy with what was sent until then.
    pub fn sent(&mut self, until: Micros) {
        self.busy_until = until;
    }
}
