//! States of the device that its firmware reports and conditions can name: each held by a field of the project, where one
//! asks for it. Not for what they follow from: that is the world's (see [`crate::usage`]) or a designer's choice.

use crate::screen::values::FieldId;

/// A state of the device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DeviceState {
    /// 1 while external power is attached.
    Usb,
    /// 1 while the battery is being charged.
    Charging,
    /// The state of charge in percent.
    Charge,
    /// 1 while the link holds, 0 once it is lost.
    Link,
}

impl DeviceState {
    /// Every state.
    pub const ALL: [Self; 4] = [Self::Usb, Self::Charging, Self::Charge, Self::Link];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Usb => "usb",
            Self::Charging => "charging",
            Self::Charge => "charge",
            Self::Link => "link",
        }
    }
}

/// The fields that hold states.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct States {
    held: Vec<(DeviceState, FieldId)>,
}

impl States {
    /// States with the fields that hold them.
    pub fn new(held: Vec<(DeviceState, FieldId)>) -> Self {
        Self { held }
    }

    /// The field that holds a state, where one does.
    pub fn field(&self, state: DeviceState) -> Option<FieldId> {
        self.held.iter().find(|(held, _)| *held == state).map(|(_, field)| *field)
    }
}
