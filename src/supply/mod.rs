//! What stands between the battery and the rails.
//!
//! Not for the battery itself: see [`crate::cell`].
//!
//! ```
//! use inkjoule::cell::life::CutOff;
//! use inkjoule::supply::{Efficiency, Regulator, Topology};
//! use inkjoule::units::{Amps, Ratio, Volts};
//!
//! let efficiency = Efficiency::Fixed(Ratio(0.9));
//! let rail = Regulator::switching(Topology::BuckBoost, Volts(3.3), efficiency, Amps(1e-6), Volts(2.0)..=Volts(5.5))?;
//! assert_eq!(rail.battery_current(Amps(0.01), Volts(4.0))?.to_string(), "9.17 mA");
//! // The peak of the rail as a reason to stop a discharge: the regulator must still run at its lowest input.
//! let minimum = rail.input_range().0;
//! let cut_off = CutOff { peak: rail.pull(Amps(0.05), minimum)?, minimum };
//! assert_eq!(cut_off.peak.power.to_string(), "183 mW");
//! # Ok::<(), inkjoule::supply::SupplyFault>(())
//! ```

pub mod rail;

pub use rail::{Efficiency, Ldo, Regulator, SupplyFault, Switching, Topology};
