//! The supplies of one device: each battery voltage's is made once, however often a life asks for it.
//!
//! Not for what one of them gives: see [`super::supply`].

use super::always_on::{AlwaysOn, always_on_of};
use super::supply::Supply;
use crate::device::Device;
use crate::parameters::ParameterSample;
use crate::units::Volts;
use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

/// One device and its supplies at the battery voltages that were asked for.
#[derive(Debug)]
pub struct Supplies<'a> {
    /// The device.
    pub device: &'a Device,
    /// Its inputs.
    pub parameters: &'a ParameterSample,
    known: RefCell<Vec<(Volts, Rc<Supply<'a>>)>>,
    always_on: RefCell<Vec<(Volts, Rc<[AlwaysOn]>)>>,
    /// The least battery voltage that it needs: see [`super::reserve`].
    pub(super) least: OnceCell<Volts>,
}

impl<'a> Supplies<'a> {
    /// For a device; none is made yet.
    pub fn new(device: &'a Device, parameters: &'a ParameterSample) -> Self {
        let (known, always_on) = (RefCell::default(), RefCell::default());
        Self { device, parameters, known, always_on, least: OnceCell::new() }
    }

    /// At a battery voltage, on which the efficiency of a switching rail may depend.
    pub fn at(&self, volts: Volts) -> Rc<Supply<'a>> {
        once(&self.known, volts, || Rc::new(Supply::new(self.device, self.parameters, volts)))
    }

    /// What is always on at a battery voltage: see [`super::always_on::always_on`].
    pub fn always_on(&self, volts: Volts) -> Rc<[AlwaysOn]> {
        once(&self.always_on, volts, || always_on_of(self.device, self.parameters, &self.at(volts)).into())
    }

    /// At the battery's nominal voltage.
    pub fn nominal(&self) -> Rc<Supply<'a>> {
        self.at(self.device.battery.nominal())
    }
}

/// What is known of a voltage, or is made for it.
fn once<T: Clone>(known: &RefCell<Vec<(Volts, T)>>, volts: Volts, make: impl FnOnce() -> T) -> T {
    let found = known.borrow().iter().find(|(at, _)| *at == volts).map(|(_, known)| known.clone());
    found.unwrap_or_else(|| {
        let made = make();
        known.borrow_mut().push((volts, made.clone()));
        made
    })
}
