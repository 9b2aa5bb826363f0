//! What happens over time, as pictures: the current of one update phase by phase, beside a measured one where there is
//! one, and a day of use as a strip.
//!
//! Phases and energies come from [`crate::cost`], a day from [`crate::simulate`]; here they are only laid out as a
//! [`crate::plot::scene::Scene`]. Not for sweeps: see [`crate::figures`].

mod axes;
pub mod day;
pub mod update;
