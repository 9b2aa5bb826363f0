//! Who takes energy: by kind and position; names only where they are printed.

use super::phases::Cause;
use crate::behaviour::EventId;
use crate::device::Device;
use crate::hardware::rail::RailId;

/// What takes energy from the battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Consumer {
    /// A part of refreshing the display.
    Refresh(Cause),
    /// What regulators lose while the display is refreshed.
    RefreshLoss,
    /// The sleeping microcontroller.
    McuSleep,
    /// The sleeping panel.
    PanelSleep,
    /// The waiting external memory.
    MemoryStandby,
    /// A regulator's own current.
    Quiescent(RailId),
    /// A load of the board, by its position.
    Load(usize),
    /// An event, beside its drawing.
    Event(EventId),
    /// The battery's protection circuit.
    Protection,
    /// The leakage of the capacitor beside the battery.
    Leakage,
    /// The microcontroller's work for presses of keys.
    KeyWork,
    /// The microcontroller's work for renewals of fields.
    SampleWork,
}

/// Kinds of consumers, as a person tells them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ConsumerKind {
    /// Refreshing the display, regulator losses included.
    Refresh,
    /// Events.
    Event,
    /// A part that sleeps or waits.
    Sleep,
    /// A regulator's own current.
    Quiescent,
    /// A load of the board.
    Load,
    /// Work of the microcontroller beside the drawing.
    Work,
}

impl ConsumerKind {
    /// Its name in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::Refresh => "refresh",
            Self::Event => "event",
            Self::Sleep => "sleep",
            Self::Quiescent => "quiescent",
            Self::Load => "load",
            Self::Work => "work",
        }
    }
}

impl Consumer {
    /// Its kind.
    pub fn kind(self) -> ConsumerKind {
        match self {
            Self::Refresh(_) | Self::RefreshLoss => ConsumerKind::Refresh,
            Self::McuSleep | Self::PanelSleep | Self::MemoryStandby | Self::Protection | Self::Leakage => {
                ConsumerKind::Sleep
            }
            Self::Quiescent(_) => ConsumerKind::Quiescent,
            Self::Load(_) => ConsumerKind::Load,
            Self::Event(_) => ConsumerKind::Event,
            Self::KeyWork | Self::SampleWork => ConsumerKind::Work,
        }
    }

    /// What it is called within its kind: a project's own name for loads, rails and events.
    pub fn name(self, device: &Device) -> String {
        match self {
            Self::Refresh(cause) => cause.name().to_owned(),
            Self::RefreshLoss => "regulator loss".to_owned(),
            Self::McuSleep => "MCU sleep".to_owned(),
            Self::PanelSleep => "panel sleep".to_owned(),
            Self::MemoryStandby => "SRAM standby".to_owned(),
            Self::Quiescent(rail) => device.board.rails[rail.0].name.clone(),
            Self::Load(load) => device.board.loads[load].name.clone(),
            Self::Protection => "battery protection".to_owned(),
            Self::Leakage => "capacitor leakage".to_owned(),
            Self::KeyWork => "MCU at keys".to_owned(),
            Self::SampleWork => "MCU at samples".to_owned(),
            Self::Event(event) => device.events[event.0].name.clone(),
        }
    }

    /// What it is called in a table of all kinds.
    pub fn label(self, device: &Device) -> String {
        let name = self.name(device);
        match self.kind() {
            ConsumerKind::Refresh => format!("refresh: {name}"),
            ConsumerKind::Event => format!("event {name}"),
            ConsumerKind::Quiescent => format!("{name} rail, quiescent"),
            ConsumerKind::Sleep | ConsumerKind::Load | ConsumerKind::Work => name,
        }
    }
}
